"""An instruction is no command."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import kind, told, words

RULE = Rule("not-imperative", Severity.WARNING, "An instruction is no command.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words (those it is about)."""
    return told(
        RULE,
        problem,
        f"{kind(problem)} tells of an instruction instead of giving it: {words(problem)}.",
        "no command",
        "a reader has to find out whether this is a duty, an advice or a piece of news",
        "write it as a command: the verb first",
    )
