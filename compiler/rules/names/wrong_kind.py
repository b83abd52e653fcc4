"""A name stands where only something of another kind can."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.model.words import with_article
from jackstay.rules.names._words import finding, label, replace, suggested, written
from jackstay.rules.records import Rule

RULE = Rule("wrong-kind", Severity.ERROR, "A name stands where only something of another kind can.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name (or empty), found, wanted (in words), decl, action, action_at (whose slot it is), candidates."""
    facts = problem.facts
    name, found, wanted = facts["name"] or written(plan, problem.at), facts["found"], facts["wanted"]
    what = found if found.startswith(("a ", "an ", "one ")) else with_article(found)
    labels = label(facts["decl"], f"{what}, declared here")
    because = f"{wanted} belongs here"
    if "action" in facts:
        labels += label(facts["action_at"], "the action")
        because = f"“{facts['action']}” takes {wanted}"
    if found == "a group":
        fixes = tuple(replace(other, name, problem) for other, _, _ in facts["candidates"][:2])
    else:
        fixes = suggested(problem, name, facts["candidates"])[1]
    return finding(RULE, problem, f"{name} is {what}, not {wanted}.", f"not {wanted}", because, labels, fixes)
