"""A line that is not one of the language."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("unreadable-line", Severity.ERROR, "A line cannot be read.")

_MOST = 8  # of what could stand there; a longer list helps nobody

# What each hint of the parser means: why the line does not read, and what to do.
HINTS = {
    "bound-needs-comma": ("a bound begins after a comma", "put a comma before it"),
    "bracket-order": ("the bracket with the time stands after the words and before the bounds", "move the bracket"),
    "clause-needs-comma": ("clauses are set apart by commas", "put a comma before it"),
    "formula-too-long": ("a formula has at most 64 operators", "name its parts with `let`"),
    "hole-alone": ("the three dots of a hole stand on a line of their own", "give them their own line"),
    "missing-colon": ("a colon is missing", "put a colon before it"),
    "missing-unit": ("a time needs its unit", "write the unit after the number"),
    "missing-value": ("something is missing here", ""),
    "group-too-large": ("the members of a group are counted up to 9999", "make several groups of them"),
    "number-too-long": ("a number has at most 40 digits", "round it, or choose a larger unit"),
    "one-unit": ("one number with one unit is wanted here", "write it in one unit"),
    "odd-blank": ("a sign that cannot be seen stands here", "take it out, or type a plain blank"),
    "range-needs-to": ("a range is written with `to`", "write `4 to 12 min`"),
    "range-order": ("a range goes from the smaller number to the larger", "turn the two numbers round"),
    "reserved-word": ("this word belongs to the language and cannot be a name", "choose another name"),
    "said-twice": ("this has been said already in this line", "take one of the two out"),
    "same-unit": ("both have to be in the same unit", "write both in one unit"),
    "straight-quotes": ('texts stand between straight quotes, "like this"', "type straight quotes"),
    "unclosed-bracket": ("the bracket is not closed", "close it with ]"),
    "unclosed-quote": ("the quoted text has no end", "close it with a quote, on the same line"),
    "unit-needs-blank": ("a blank stands between a number and its unit", "write a blank between them"),
    "within-clock": (
        "this is a part of the line that says by which clock",
        "write `clock from WORDS, limit 5 h`: the clock first, then this, after a comma",
    ),
    "within-light": ("this is a part of the line `light`", "put `light` before it"),
    "within-slow": ("this is a part of the line `slow day`", "write `slow day 0.2, each 0.1`"),
    "whole-number": ("a whole number is wanted here", "write a whole number"),
}


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: found (the word in the way, empty at the end), expected (what could stand there), hint (of `HINTS`, or
    empty)."""
    found, expected, hint = problem.facts["found"], problem.facts["expected"], problem.facts["hint"]
    told, repair = HINTS.get(hint, ("", ""))
    if found:
        message = f"This line cannot be read: {found} does not fit here."
    else:
        message = "This line cannot be read: it is not complete."
    could = expected[:_MOST] + (["something else"] if len(expected) > _MOST else [])
    listed = could[0] if len(could) == 1 else f"{', '.join(could[:-1])} or {could[-1]}" if could else ""
    stands = f"here could stand {listed}" if listed else "no form of the language begins like this"
    because = told if repair else f"{told}: {stands}" if told and listed else told or stands
    return Diagnostic(
        RULE.name, RULE.severity, message, problem.at, because=because, help=(Fix(repair),) if repair else ()
    )
