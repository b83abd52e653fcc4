"""Something that the analysis has not followed, and so does not vouch for."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.model.records import Carry
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import finding

RULE = Rule("not-decided", Severity.UNDECIDED, "The analysis does not cover this, and says so.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: what (circle, dropped, guard, fallback, promise, sum, rule, any), excursion, and what each needs: tasks;
    task; fallback; previous; holder and bound; rule and reason; name and chosen."""
    facts = problem.facts
    message, because, labels = _SAID.get(facts["what"], _other)(facts)
    return finding(RULE, message, problem.at, because=because, labels=labels)


Said = tuple[str, str, list[Label]]


def _circle(facts: dict[str, Any]) -> Said:
    return (
        f"Where things are in {facts['excursion'].name} has not been followed.",
        "its steps wait for one another in a circle, so that there is no order to follow",
        [],
    )


def _dropped(facts: dict[str, Any]) -> Said:
    tasks = [task.name for task in facts["tasks"]]
    more = f" and {len(tasks) - 4} more" if len(tasks) > 4 else ""
    named = naming.listed(tasks[:4], "or") if not more else ", ".join(tasks[:4]) + more
    return (
        f"What happens when any of {named} are dropped together has not been followed.",
        "each has been dropped alone; there are too many for every set of them",
        [],
    )


def _guard(facts: dict[str, Any]) -> Said:
    return (
        f"What happens when {facts['task'].name} is done has not been followed.",
        "it is done only if something has happened before; the plan has been followed without it",
        [],
    )


def _fallback(facts: dict[str, Any]) -> Said:
    return (
        f"What happens when the fallback {facts['fallback'].name} is taken has not been followed.",
        facts["reason"],
        [],
    )


def _time(facts: dict[str, Any]) -> Said:
    excursion = facts["excursion"]
    what = [f"its limit of {excursion.limit.text}"] if excursion.limit is not None else []
    number = len(facts["bounds"])
    if number:
        what.append(f"{number} time{'s' if number > 1 else ''} that steps are bound to")
    return (
        f"Whether {excursion.name} keeps {naming.listed(what)} has not been judged.",
        "order and custody hold under any timing; the clock itself is laid out in the timeline, and not checked",
        [],
    )


def _sum(facts: dict[str, Any]) -> Said:
    holder, bound = facts["holder"], facts["bound"]
    of = f"the {bound.prop} that {the(holder)} carries" if isinstance(bound, Carry) else f"what {the(holder)} holds"
    return (
        f"Whether {of} stays within its limit in every timing has not been decided.",
        "things are added and taken away by steps that nothing orders",
        [Label(bound.decl, "this limit"), Label(holder.decl, f"{the(holder)}")],
    )


def _rule(facts: dict[str, Any]) -> Said:
    rule = facts["rule"]
    return (
        f"Whether {facts['excursion'].name} keeps the rule “{rule.title}” has not been decided.",
        str(facts.get("reason", "the analysis has no answer")),
        [],
    )


def _any(facts: dict[str, Any]) -> Said:
    chosen = facts["chosen"]
    return (
        f"Only one choice of any {facts['name']} has been followed: {the(chosen)}.",
        "another one of the group may be elsewhere, or in another state",
        [Label(chosen.decl, f"{the(chosen)}: taken here")],
    )


def _other(facts: dict[str, Any]) -> Said:
    return (f"This has not been followed ({facts['what']}).", "the analysis does not cover it", [])


_SAID = {
    "circle": _circle,
    "dropped": _dropped,
    "guard": _guard,
    "fallback": _fallback,
    "sum": _sum,
    "time": _time,
    "rule": _rule,
    "any": _any,
}
