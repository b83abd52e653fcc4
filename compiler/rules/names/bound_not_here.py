"""A bound or a line stands where it can mean nothing."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding, label
from jackstay.rules.records import Rule

RULE = Rule("bound-not-here", Severity.ERROR, "A bound or a line stands where it can mean nothing.")

_WORDS = {"not-before": "not before", "light": "in daylight", "time": "time"}
# (where, sort): the sentence, the missing fact, what to do; "" is anywhere
_TOLD = {
    ("", "after"): (
        "A step or a heading cannot wait for a task.",
        "`after` puts whole tasks in order; what a step waits for is a mark",
        "say a mark where the wait should end, and write `on MARK` here",
    ),
    ("", "was"): (
        "Only a task can have had another name.",
        "a step is known by its words and its place in the task",
        "take it out, or write it on the task",
    ),
    ("heading", "expect"): (
        "Going somewhere gives no reading.",
        "`expect` compares what a step reads",
        "write it on the step that reads",
    ),
    ("task", "expect"): (
        "A whole task gives no reading.",
        "`expect` compares what one step reads",
        "write it on the step that reads",
    ),
    ("task", "says"): (
        "A whole task cannot say a mark.",
        "a mark names the end of one step, and is the call then spoken",
        "write `says` on the step that ends it",
    ),
    ("task", "while"): (
        "A whole task cannot run beside a mark.",
        "`while` puts one step beside another",
        "write `while` on the step",
    ),
    ("own", "within"): (
        "A step is always within any time of its own call.",
        "it is over just as it makes the call",
        "name the call of another step",
    ),
    ("call", "time"): (
        "A routine takes no time of its own.",
        "its steps do, each its own",
        "write the time on the routine's steps",
    ),
    ("call", "line"): (
        "What stands under the call of a routine is done by nobody.",
        "the call has no heading that says who acts",
        "write it under a heading of its own, after the call",
    ),
}


def _general(where: str, sort: str) -> tuple[str, str, str]:
    word = _WORDS.get(sort, sort)
    return (
        f"The call of a routine cannot carry `{word}`." if where == "call" else f"`{word}` cannot stand on a {where}.",
        "it is said of a single step, and here are several" if where == "call" else "nothing here could keep it",
        "write it on the step that is meant",
    )


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: sort (its word, `time` or `line`), where (step, heading, call, task), decl (the routine of a line)."""
    sort, where = problem.facts["sort"], problem.facts["where"]
    message, because, help_ = _TOLD.get((where, sort)) or _TOLD.get(("", sort)) or _general(where, sort)
    labels = label(problem.facts.get("decl"), "the routine says all of it")
    return finding(RULE, problem, message, "not here", because, labels, (Fix(help_),))
