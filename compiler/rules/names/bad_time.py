"""A line on time says what cannot be."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding
from jackstay.rules.records import Rule

RULE = Rule("bad-time", Severity.ERROR, "A line on time says what cannot be.")

# what: message, note, because, help; {text} and {other} as written
_WORDS = {
    "limit": (
        "A limit of {text} leaves no time.",
        "no time",
        "an excursion takes some time",
        "write how long it may be",
    ),
    "reserve": (
        "A reserve of {text} does not fit the limit.",
        "this reserve",
        "the reserve is a part of the limit, kept back: at least nothing, and less than the whole",
        "write a reserve that is less than the limit",
    ),
    "dark": (
        "It cannot be dark for {text} of every {other}.",
        "longer than the whole",
        "the dark is a part of each turn of light and dark",
        "write the dark, then the whole turn: `dark 45 min of every 118 min`",
    ),
    "orbit": (
        "There is no such orbit, {text} high: it {other}.",
        "this orbit",
        "an orbit runs above its body, and its beta angle lies between -90 and 90 degrees",
        "write the height above the body's surface, and the angle between the orbit's plane and the sun",
    ),
    "slow day": (
        "Shares of {text} and {other} of a slow day do not add up.",
        "from here",
        "the share that is common to the day and the share of each actor are parts of one spread: together less than 1",
        "write shares such as `slow day 0.2, each 0.1`",
    ),
    "bound": (
        "{text} is less than no time.",
        "less than nothing",
        "times count forward from the excursion's start, or from a call",
        "write a time of nothing or more",
    ),
    "clock": (
        "The clock would stop at {text}, and it starts only at {other}.",
        "this clock",
        "the limit counts from the call that starts the clock to the call that stops it",
        "let it start on the earlier call, and end on the later one",
    ),
    "clock-call": (
        "This clock goes by a call that need not be made: {text}.",
        "need not be made",
        "{other}",
        "let the clock go by a call of a required task",
    ),
    "lasting": (
        "{text} is no time that anything could last.",
        "no time",
        "a rule about the clock says how long something may last, or within which time it is made again",
        "write a time of more than nothing, or a rule that says nothing of the clock",
    ),
    "supply": (
        "A reserve of {text} does not fit a supply of {other}.",
        "this reserve",
        "the reserve is a part of the supply, kept back: at least nothing, and less than the whole",
        "write a reserve that is less than the supply",
    ),
    "drains": (
        "What drains {text} would fill it.",
        "less than nothing",
        "a supply is used up while the clock runs; this makes it more all the time",
        "write what it loses, as more than nothing",
    ),
    "hour": ("{text} is no time of day.", "no time of day", "a day has 24 hours", "write the hours since midnight"),
}


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: what (limit, reserve, dark, orbit, slow day, bound, clock, clock-call, lasting, supply, drains, hour),
    text, other (as written)."""
    facts = problem.facts
    message, note, because, help_ = _WORDS[facts["what"]]
    return finding(
        RULE,
        problem,
        message.format(text=facts["text"], other=facts["other"]),
        note,
        because.format(other=facts["other"]),
        help=(Fix(help_),),
    )
