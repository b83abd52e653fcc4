"""How findings that are set aside are told, in little room and in full."""

from __future__ import annotations

import pytest

from jackstay.diagnostics.aside import PLAN, Aside, How, groups, in_full, in_short, tag, totals
from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.source.spans import Span

E, W, U, N = Severity.ERROR, Severity.WARNING, Severity.UNDECIDED, Severity.NOTE


def one(
    how: How = How.ALLOWED, severity: Severity = E, line: int = 3, rule: str = "crowded", reason: str = "agreed"
) -> Aside:
    found = Diagnostic(rule, severity, f"Too many at {line}.", Span("a.stay", line, 2, 6))
    by = {How.ALLOWED: PLAN, How.KNOWN: "known.json", How.OLDER: "HEAD"}.get(how, "jackstay.toml")
    now = W if how is How.LOWERED else None
    return Aside(found, how, by, reason if how is How.ALLOWED else "", now=now)


@pytest.mark.parametrize(
    "aside, short, long",
    [
        ([], "", ""),
        ([one()], "1 error allowed", "1 error allowed (with its reason)"),
        ([one(), one(line=4)], "2 errors allowed", "2 errors allowed (with their reasons)"),
        ([one(reason="")], "1 error allowed", "1 error allowed (1 without a reason)"),
        ([one(How.OFF, W)], "1 warning turned off", "1 warning turned off"),
        ([one(How.ALLOWED, U)], "1 point not decided allowed", "1 point not decided allowed (with its reason)"),
        (
            [one(), one(How.OFF), one(How.OFF, W), one(How.LOWERED, W)],
            "4 set aside (2 errors)",
            "1 error allowed (with its reason), 1 error + 1 warning turned off, 1 warning lowered",
        ),
        ([one(How.OFF, W), one(How.OFF, N)], "2 set aside", "1 warning + 1 note turned off"),
        ([one(How.KNOWN), one(How.OLDER)], "2 set aside (2 errors)", "1 error known, 1 error older"),
    ],
)
def test_short_and_long(aside: list[Aside], short: str, long: str) -> None:
    assert (tag(aside), totals(aside)) == (short, long)


def test_the_short_form_is_short_whatever_there_is() -> None:
    many = [one(how, severity, line) for how in How for severity in Severity for line in range(250)]
    assert tag(many) == "5000 set aside (1250 errors)"


def test_one_decision_on_one_rule_is_told_once_with_its_places() -> None:
    told = [group.told for group in groups([one(line=line) for line in (9, 3, 5, 7)] + [one(How.OFF, W, 4)])]
    assert told == [
        'error crowded x 4 (a.stay 3, a.stay 5, a.stay 7 and 1 more), allowed in the plan: "agreed"',
        "warning crowded (a.stay 4), turned off by jackstay.toml",
    ]


@pytest.mark.parametrize(
    "aside, said",
    [
        (one(reason=""), "allowed in the plan: no reason is given"),
        (one(reason="two\n lines"), 'allowed in the plan: "two lines"'),
        (one(How.LOWERED), "made a warning by jackstay.toml"),
        (one(How.KNOWN), "known to known.json"),
        (one(How.OLDER), "in HEAD too"),
    ],
)
def test_who_has_decided_what(aside: Aside, said: str) -> None:
    assert aside.decision == said


def test_the_foot_of_a_sheet_keeps_its_length_and_says_how_many_are_left() -> None:
    many = [one(line=line, rule=f"rule-{line:02}") for line in range(1, 10)]
    short = in_short(many)
    assert short.startswith("FOUND AND SET ASIDE: error rule-01 (a.stay 1)") and short.count("allowed in the plan") == 4
    assert short.endswith("; and 5 more, listed in pack.txt, end.txt and review.html.")
    assert in_short([]) == ""


def test_in_full_nothing_is_missing() -> None:
    many = [one(line=line, rule=f"rule-{line:02}") for line in range(9, 0, -1)]
    assert in_full(many)[0] == ("error rule-01 (a.stay 1): Too many at 1.", 'allowed in the plan: "agreed"')
    assert len(in_full(many)) == 9
