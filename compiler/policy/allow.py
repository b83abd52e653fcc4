"""What the plan allows is taken out of the findings; what is wrong with an allowance is put in.

An allowance without a reason still hides what it covers, and is an error itself: the check fails until somebody has
written the reason down, and says only that. One that has run out hides nothing.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Sequence

from jackstay.diagnostics.aside import PLAN, Aside, How
from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.diagnostics.suggest import nearest
from jackstay.policy.records import Allowance
from jackstay.rules import registry

_FAMILY = "policy"
_UNFOLLOWED = {"reading", "names"}


def keeps_from_following(rule: str) -> bool:
    """Whether a plan with a finding of the rule is not followed at all: hidden, it would leave a plan that nobody has
    checked looking like one that is clean."""
    return registry.family(rule) in _UNFOLLOWED and registry.rule(rule).severity is Severity.ERROR


def _hide(
    findings: Sequence[Diagnostic], allows: Sequence[Allowance], judged: Collection[str] | None, aside: list[Aside]
) -> tuple[list[Diagnostic], list[Problem]]:
    """What is left, and the allowances that hid nothing. aside: what is hidden is added to it."""
    by_rule: dict[str, list[Allowance]] = {}
    for allow in allows:
        by_rule.setdefault(allow.rule, []).append(allow)
    used: set[int] = set()
    left = []
    for finding in findings:
        inner = next((one for one in by_rule.get(finding.rule, ()) if one.covers(finding)), None)
        if inner is None:
            left.append(finding)
        else:
            used.add(id(inner))
            until = inner.until.isoformat() if inner.until is not None else ""
            aside.append(Aside(finding, How.ALLOWED, PLAN, (inner.reason or "").strip(), inner.at, until))
    unused = [
        Problem("unused-allow", allow.at, {"rule": allow.rule})
        for allow in allows
        if id(allow) not in used and (judged is None or registry.family(allow.rule) in judged)
    ]
    return left, unused


def apply(
    diagnostics: Iterable[Diagnostic],
    allows: Iterable[Allowance],
    today: datetime.date,
    judged: Collection[str] | None = None,
    aside: list[Aside] | None = None,
) -> list[Diagnostic]:
    """The findings that remain, with those about the allowances themselves, in order.

    judged: the families of rules that ran, None for all; where an early error kept a family from running, nobody can
    say that an allowance for it is unused. Allowances for the rules about allowances are applied last, once.
    aside: what is allowed is added to it, each finding with the reason."""
    findings = list(diagnostics)
    hidden: list[Aside] = [] if aside is None else aside
    problems: list[Problem] = []
    plain: list[Allowance] = []
    about_allows: list[Allowance] = []
    for allow in sorted(allows, key=Allowance.order):
        if not registry.exists(allow.rule):
            near = nearest(allow.rule, registry.all_names())
            problems.append(Problem("unknown-rule", allow.at, {"rule": allow.rule, "near": near}))
            continue
        if keeps_from_following(allow.rule):
            facts = {"rule": allow.rule, "why": registry.family(allow.rule), "setting": False}
            problems.append(Problem("cannot-be-allowed", allow.at, facts))
            continue
        if not (allow.reason or "").strip():
            problems.append(Problem("allow-without-reason", allow.at, {"rule": allow.rule}))
        if allow.until is not None and allow.until < today:
            facts = {"rule": allow.rule, "until": allow.until, "back": sum(map(allow.covers, findings))}
            problems.append(Problem("expired-allow", allow.at, facts))
            continue
        (about_allows if registry.family(allow.rule) == _FAMILY else plain).append(allow)
    findings, unused = _hide(findings, plain, judged, hidden)
    findings += [registry.tell(problem, None) for problem in problems + unused]
    findings, unused = _hide(findings, about_allows, judged, hidden)
    findings += [registry.tell(problem, None) for problem in unused]
    return sorted(findings, key=Diagnostic.order)
