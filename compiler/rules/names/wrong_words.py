"""The words of a step do not fit any way of saying it."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Edit, Fix, Problem, Severity
from jackstay.rules.names._words import finding, label, listed, written
from jackstay.rules.records import Rule

RULE = Rule("wrong-words", Severity.ERROR, "The words of a step do not fit any way of saying it.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: found (the word), too_short, too_long, patterns (text, place), instead (words that would fit there)."""
    facts = problem.facts
    found, patterns, instead = facts["found"], facts["patterns"], facts["instead"]
    if facts["too_short"]:
        message, note = "The step breaks off before it is complete.", "something is missing after this"
    elif facts["too_long"]:
        message, note = "The step goes on after it is complete.", "complete before this"
    else:
        message, note = f"“{found}” does not belong here.", "does not fit"
    ways = list(dict.fromkeys(text for text, _ in patterns))
    fixes = tuple(
        Fix(f"write {word}", (Edit(problem.at, word),))
        for word in instead
        if not facts["too_short"] and written(plan, problem.at) == found
    )
    first = patterns[0]
    return finding(
        RULE,
        problem,
        message,
        note,
        f"it is said: {listed(ways, 'or')}",
        label(first[1], "one way to say it"),
        fixes or tuple(Fix(f"say it as: {way}") for way in ways[:3]),
    )
