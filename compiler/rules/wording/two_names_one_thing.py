"""A thing is called by a name that has been put aside."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import kind, quoted, told, words

RULE = Rule("two-names-one-thing", Severity.WARNING, "A thing is called by a name that has been put aside.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words (the name put aside), name (the one to be written), listed (where)."""
    return told(
        RULE,
        problem,
        f"{kind(problem)} says {words(problem)}; elsewhere it is called {quoted(problem.facts['name'])}.",
        f"write {quoted(problem.facts['name'])}",
        "a reader who meets a second name looks for a second thing",
        f"write {quoted(problem.facts['name'])}",
        (Label(problem.facts["listed"], "put aside here"),),
    )
