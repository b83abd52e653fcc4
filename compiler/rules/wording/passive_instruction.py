"""An instruction is put in the passive voice."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import kind, told, words

RULE = Rule("passive-instruction", Severity.WARNING, "An instruction is put in the passive voice.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words (those it is about)."""
    return told(
        RULE,
        problem,
        f"{kind(problem)} says that something is to be done, and not who does it: {words(problem)}.",
        "passive",
        "in the passive, who is to do it has to be guessed",
        "write it as a command: the verb first",
    )
