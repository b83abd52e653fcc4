"""What a plan allows."""

from __future__ import annotations

import datetime

from jackstay.diagnostics.aside import PLAN, Aside, How
from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.policy.allow import apply
from jackstay.policy.records import Allowance
from jackstay.source.spans import Span

TODAY = datetime.date(2026, 5, 1)


def finding(
    line: int, rule: str = "used-twice", severity: Severity = Severity.ERROR, path: str = "a.stay"
) -> Diagnostic:
    return Diagnostic(rule, severity, f"{rule} {line}.", Span(path, line, 2, 6))


def allow(
    first: int,
    last: int,
    rule: str = "used-twice",
    reason: str | None = "agreed at the review",
    until: datetime.date | None = None,
    at: int | None = None,
) -> Allowance:
    return Allowance(rule, "a.stay", first, last, Span("a.stay", at or last, 6, 6 + len(rule)), reason, until)


def told(findings: list[Diagnostic]) -> list[tuple[str, int]]:
    return [(one.rule, one.at.line) for one in findings]


def test_an_allowance_hides_its_rule_inside_its_lines() -> None:
    found = [finding(3), finding(9), finding(4, "tab-indent"), finding(3, path="b.stay")]
    assert told(apply(found, [allow(2, 5)], TODAY)) == [("tab-indent", 4), ("used-twice", 9), ("used-twice", 3)]


def test_it_hides_what_is_not_decided_too() -> None:
    assert apply([finding(3, severity=Severity.UNDECIDED)], [allow(2, 5)], TODAY) == []


def test_unused_is_told() -> None:
    left = apply([finding(9)], [allow(2, 5)], TODAY)
    assert told(left) == [("unused-allow", 5), ("used-twice", 9)]
    assert left[0].severity is Severity.WARNING


def test_nobody_can_say_unused_where_the_rule_did_not_run() -> None:
    assert apply([], [allow(2, 5)], TODAY, judged={"policy"}) == []
    assert told(apply([], [allow(2, 5)], TODAY, judged={"reading"})) == [("unused-allow", 5)]


def test_the_innermost_takes_the_finding() -> None:
    outer, inner = allow(1, 20, at=1), allow(2, 5)
    assert told(apply([finding(3)], [outer, inner], TODAY)) == [("unused-allow", 1)]
    assert apply([finding(3), finding(15)], [outer, inner], TODAY) == []


def test_the_last_day_still_counts_and_the_next_does_not() -> None:
    assert apply([finding(3)], [allow(2, 5, until=TODAY)], TODAY) == []
    left = apply([finding(3)], [allow(2, 5, until=TODAY)], TODAY + datetime.timedelta(days=1))
    assert told(left) == [("used-twice", 3), ("expired-allow", 5)]
    assert "2026-05-01" in left[1].message and "reported again" in left[1].because


def test_a_run_out_allowance_for_nothing_says_so() -> None:
    (only,) = apply([], [allow(2, 5, until=TODAY)], TODAY + datetime.timedelta(days=1))
    assert only.rule == "expired-allow" and "gone" in only.because


def test_without_a_reason_there_is_one_error_and_not_two() -> None:
    for reason in (None, "", "  "):
        left = apply([finding(3)], [allow(2, 5, reason=reason)], TODAY)
        assert told(left) == [("allow-without-reason", 5)]
        assert left[0].severity is Severity.ERROR


def test_an_unknown_rule_comes_with_the_nearest() -> None:
    left = apply([finding(3)], [allow(2, 5, rule="used-twise")], TODAY)
    assert told(left) == [("used-twice", 3), ("unknown-rule", 5)]
    assert [fix.edits[0].text for fix in left[1].help] == ["used-twice"]


def test_a_finding_about_an_allowance_can_be_allowed() -> None:
    spare = allow(2, 5)
    assert apply([], [spare, allow(1, 9, rule="unused-allow")], TODAY) == []
    assert told(apply([finding(3)], [spare, allow(1, 9, rule="unused-allow")], TODAY)) == [("unused-allow", 9)]


def test_order_does_not_depend_on_the_order_given() -> None:
    found = [finding(3), finding(9), finding(15)]
    allows = [allow(2, 5), allow(1, 20, at=1), allow(30, 31), allow(8, 10, until=datetime.date(2020, 1, 1))]
    assert apply(found, allows, TODAY) == apply(found[::-1], allows[::-1], TODAY)


def test_what_is_allowed_is_set_aside_with_its_reason() -> None:
    found, noted = finding(3), finding(4, severity=Severity.NOTE)
    allows = [allow(2, 3), allow(4, 5, reason=None, until=TODAY), allow(20, 30, rule="unused-allow")]
    aside: list[Aside] = []
    left = apply([found, noted], allows, TODAY, aside=aside)
    assert told(left) == [("allow-without-reason", 5), ("unused-allow", 30)]
    assert [(one.finding, one.how, one.by, one.reason, one.until) for one in aside] == [
        (found, How.ALLOWED, PLAN, "agreed at the review", ""),
        (noted, How.ALLOWED, PLAN, "", "2026-05-01"),
    ]
    assert [one.at.line for one in aside] == [3, 5]


def test_an_allowed_finding_about_an_allowance_is_set_aside_too() -> None:
    aside: list[Aside] = []
    assert apply([], [allow(2, 5), allow(1, 9, rule="unused-allow")], TODAY, aside=aside) == []
    assert [one.finding.rule for one in aside] == ["unused-allow"]
