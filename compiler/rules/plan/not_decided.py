"""Something that the analysis has not followed, and so does not vouch for."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.model.records import Admit, Carry
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import acting, finding

RULE = Rule("not-decided", Severity.UNDECIDED, "The analysis does not cover this, and says so.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: what (circle, start, dropped, variant, guard, fallback, promise, sum, line, rule, supply, any), excursion,
    and what each needs: tasks; dropped and problem; task; fallback; previous; holder, bound and reason; line and
    reason; rule and reason; actor, supplies and reason; name, chosen and against (a step, or None)."""
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


def _start(facts: dict[str, Any]) -> Said:
    previous = facts["previous"]
    return (
        f"Where things are in {facts['excursion'].name} has not been followed.",
        f"what {previous.name} leaves is not known: it has not been followed to its end",
        [Label(previous.decl, f"{previous.name} comes before it")],
    )


def _dropped(facts: dict[str, Any]) -> Said:
    tasks = [task.name for task in facts["tasks"]]
    more = f" and {len(tasks) - 4} more" if len(tasks) > 4 else ""
    named = naming.listed(tasks[:4], "or") if not more else ", ".join(tasks[:4]) + more
    return (
        f"What happens when any of {named} are dropped together has not been followed.",
        "each has been dropped alone; they touch things in common, and there are too many for every set of them",
        [Label(task.decl, f"{task.name} is {task.rank}: it may be dropped") for task in facts["tasks"][1:4]],
    )


def _variant(facts: dict[str, Any]) -> Said:
    from jackstay.rules.plan.leans_on_droppable import named

    inner = facts["problem"].facts
    message, because, labels = _SAID.get(inner["what"], _other)(inner)
    are = "are" if len(facts["dropped"]) > 1 else "is"
    return f"When {named(facts)} {are} dropped: {message}", because, labels


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
    return (f"Whether {facts['about']} has not been judged.", facts["reason"], [])


def _sum(facts: dict[str, Any]) -> Said:
    holder, bound = facts["holder"], facts["bound"]
    of = f"the {bound.prop} that {the(holder)} carries" if isinstance(bound, Carry) else f"what {the(holder)} holds"
    if isinstance(bound, Admit):
        of = f"how many are at {the(holder)}"
    return (
        f"Whether {of} stays within its limit in every timing has not been decided.",
        facts["reason"],
        [Label(bound.decl, "this limit"), Label(holder.decl, f"{the(holder)}")],
    )


def _line(facts: dict[str, Any]) -> Said:
    line = facts["line"]
    return (
        f"Whether {the(line)} is long enough in every timing has not been decided.",
        facts["reason"],
        [Label(line.decl, f"{the(line)}, as declared")],
    )


def _rule(facts: dict[str, Any]) -> Said:
    rule = facts["rule"]
    return (
        f"Whether {facts['excursion'].name} keeps the rule “{rule.title}” has not been decided.",
        str(facts.get("reason", "the analysis has no answer")),
        [],
    )


def _supply(facts: dict[str, Any]) -> Said:
    which = naming.listed(f"{naming.owner(facts['actor'])} {supply.name}" for supply in facts["supplies"][:1])
    more = [supply.name for supply in facts["supplies"][1:]]
    return (
        f"Whether {naming.listed([which, *more])} {'last' if more else 'lasts'} through {facts['excursion'].name} "
        "has not been decided.",
        str(facts["reason"]),
        [Label(supply.decl, f"{supply.name}: {supply.amount.text}") for supply in facts["supplies"]],
    )


def _any(facts: dict[str, Any]) -> Said:
    chosen, against = facts["chosen"], facts["against"]
    labels = [Label(chosen.decl, f"{the(chosen)}: taken here")]
    if against is not None:
        labels.append(Label(against.entry.at, f"{acting(against)}: may come before or after"))
    return (
        f"Only one choice of any {facts['name']} has been followed: {the(chosen)}.",
        "what the choice goes by is changed by a step that nothing orders with it"
        if against is not None
        else "there are more ways to choose than are tried",
        labels,
    )


def _other(facts: dict[str, Any]) -> Said:
    return (f"This has not been followed ({facts['what']}).", "the analysis does not cover it", [])


_SAID = {
    "circle": _circle,
    "start": _start,
    "dropped": _dropped,
    "variant": _variant,
    "guard": _guard,
    "fallback": _fallback,
    "sum": _sum,
    "line": _line,
    "time": _time,
    "rule": _rule,
    "supply": _supply,
    "any": _any,
}
