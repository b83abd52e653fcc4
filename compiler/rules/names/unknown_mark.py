"""Something waits for a mark that is never said."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding, label, suggested
from jackstay.rules.records import Rule

RULE = Rule("unknown-mark", Severity.ERROR, "Something waits for a mark that is never said.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name, candidates, fallback (the title of the fallback that alone says it), said (where)."""
    name, fallback = problem.facts["name"], problem.facts["fallback"]
    if fallback:
        return finding(
            RULE,
            problem,
            f"{name} is said only in the fallback “{fallback}”.",
            "may never be said",
            "a fallback is taken when something goes wrong, and this waits whatever happens",
            label(problem.facts["said"], "said here"),
            (Fix("wait for something that the plan itself says"),),
        )
    labels, fixes = suggested(problem, name, problem.facts["candidates"])
    return finding(
        RULE,
        problem,
        f"Nobody says {name}.",
        "waits for ever",
        "no step of this excursion ends with that mark",
        labels,
        fixes or (Fix(f"write `says {name}` on the step that this waits for"),),
    )
