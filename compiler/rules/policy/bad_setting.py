"""A line of the project's settings that cannot be used."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from jackstay.diagnostics.records import Diagnostic, Edit, Fix, Problem, Severity
from jackstay.rules.naming import listed
from jackstay.rules.records import Rule

RULE = Rule("bad-setting", Severity.ERROR, "A line of `jackstay.toml` cannot be used as it is written.")

Said = tuple[str, str, str, tuple[Fix, ...]]  # message, note, because, help


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: sort (unreadable, toml, unknown-key, not-a-table, not-a-list, level, glob, type, date, no-rule), and what
    each of them is told by: reason, key, near, known, value, glob, why, wanted."""
    message, note, because, fixes = _SAID[problem.facts["sort"]](problem)
    return Diagnostic(RULE.name, RULE.severity, message, problem.at, note, because=because, help=fixes)


def _replaced(problem: Problem, words: tuple[str, ...], quote: str = "") -> tuple[Fix, ...]:
    """Write one of these instead; as an edit where the place holds just the word."""
    at = problem.at
    whole = at.end > at.start
    return tuple(Fix(f"write {quote}{w}{quote}", (Edit(at, f"{quote}{w}{quote}"),) if whole else ()) for w in words)


def _unreadable(problem: Problem) -> Said:
    return (
        f"The settings cannot be read: {problem.facts['reason']}.",
        "",
        "without them nobody knows what the project makes of a finding",
        (),
    )


def _toml(problem: Problem) -> Said:
    reason = problem.facts["reason"]
    return f"This is no TOML: {reason[:1].lower()}{reason[1:]}.", "not read beyond this", "nothing in it counts", ()


def _unknown_key(problem: Problem) -> Said:
    facts = problem.facts
    fixes = _replaced(problem, facts["near"]) or (Fix(f"there are {listed(facts['known'])}"),)
    return f"There is no setting called {facts['key']}.", "no such setting", "it would change nothing", fixes


def _not_a_table(problem: Problem) -> Said:
    key = problem.facts["key"]
    return (
        f"{key} is a table, with a rule and a level in each line.",
        "a table belongs here",
        "one value cannot say which rule it is for",
        (Fix(f'write a line [{key}], and under it lines like left-behind = "warning"'),),
    )


def _not_a_list(problem: Problem) -> Said:
    key = problem.facts["key"]
    return (
        f"Each {key} is a table of its own, under a line [[{key}]].",
        f"write [[{key}]]",
        "there may be several, each with its reason",
        (Fix(f"write it as [[{key}]], with rule, paths and because under it"),),
    )


def _level(problem: Problem) -> Said:
    facts = problem.facts
    fixes = _replaced(problem, facts["near"], '"') or (Fix('write "error", "warning", "note" or "off"'),)
    return (
        f"{facts['value']} is no level that findings of {facts['key']} can have.",
        "error, warning, note or off",
        "until it is, they are as grave as the rule has it",
        fixes,
    )


def _glob(problem: Problem) -> Said:
    facts = problem.facts
    return (
        f'The pattern "{facts["glob"]}" {facts["why"]}.',
        "fits no path",
        "what stands under it is applied nowhere",
        (Fix('patterns look like "drafts/**", "north/*.stay" or "trial-*.stay"'),),
    )


def _type(problem: Problem) -> Said:
    facts = problem.facts
    return f"{facts['key']} is {facts['wanted']}.", f"{facts['wanted']}", "anything else says nothing", ()


def _date(problem: Problem) -> Said:
    return (
        f"{problem.facts['value']} is no day.",
        "a day, without quotes or an hour",
        "nobody can say when the allowance runs out, so that it does not count",
        (Fix("write it as until = 2027-03-01, without quotes"),),
    )


def _no_rule(problem: Problem) -> Said:
    return (
        "An allow does not say which rule it is for.",
        "of which rule?",
        "it can hide nothing",
        (Fix('write rule = "NAME", as findings show it'),),
    )


_SAID: dict[str, Callable[[Problem], Said]] = {
    "unreadable": _unreadable,
    "toml": _toml,
    "unknown-key": _unknown_key,
    "not-a-table": _not_a_table,
    "not-a-list": _not_a_list,
    "level": _level,
    "glob": _glob,
    "type": _type,
    "date": _date,
    "no-rule": _no_rule,
}
