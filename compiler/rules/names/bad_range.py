"""The two ends of a range do not fit."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding
from jackstay.rules.records import Rule

RULE = Rule("bad-range", Severity.ERROR, "The two ends of a range do not fit.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: low, high (as written; high empty: low is no time), likely (the usual time beside them, or empty), falling
    (whether low is more than high)."""
    low, high, likely = problem.facts["low"], problem.facts["high"], problem.facts.get("likely", "")
    if isinstance(low, int):
        return finding(
            RULE,
            problem,
            f"{low} to {high} is no range of names.",
            "this range",
            "a group has between one and ten thousand members, counted upwards",
            help=(Fix("write the smaller number first"),),
        )
    if not high:
        return finding(
            RULE,
            problem,
            f"A step cannot take {low}.",
            "no time to do it in",
            "whatever is done takes some time",
            help=(Fix("write how long it takes, or leave the brackets out"),),
        )
    if likely and problem.facts.get("falling"):
        return finding(
            RULE,
            problem,
            f"The least time, {low}, is more than the most, {high}.",
            "usual, least, most",
            "the times are given as usual, then least to most",
            help=(Fix(f"write {high} to {low} after the usual time"),),
        )
    if likely:
        return finding(
            RULE,
            problem,
            f"The usual time, {likely}, does not lie within {low} to {high}.",
            "usual, least, most",
            "the times are given as usual, then least to most",
            help=(Fix("put the usual time between the other two"),),
        )
    return finding(
        RULE,
        problem,
        f"A range runs down, from {low} to {high}.",
        "the larger end comes first",
        "nothing is at least the one and at most the other",
        help=(Fix("write the smaller end first"),),
    )
