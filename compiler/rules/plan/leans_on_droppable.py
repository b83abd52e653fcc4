"""Something that holds only as long as a droppable task is done."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.source.record import replaced

RULE = Rule("leans-on-droppable", Severity.ERROR, "Something holds only as long as a task that may be dropped is done.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: problem (what is wrong without the tasks), dropped (those tasks), flow (without them), excursion."""
    from jackstay.rules import registry

    facts = problem.facts
    inner = registry.tell(facts["problem"], plan)
    tasks = facts["dropped"]
    names = named(facts)
    are = "are" if len(tasks) > 1 else "is"
    gone = {entry.at for task in tasks for entry in task.entries}  # what the story of an earlier excursion still tells
    events = [event for event in inner.events if event.at not in gone]
    labels = [Label(task.decl, f"{task.name} is {task.rank}: it may be dropped") for task in tasks]
    because = f"it holds as long as {names} {are} done, and {names} may be dropped"
    return replaced(
        inner,
        rule=RULE.name,
        severity=RULE.severity,
        message=f"When {names} {are} dropped: {inner.message}",
        labels=(
            *(label for label in labels if label.at != inner.at),
            *(label for label in inner.labels if label.at not in gone),
        ),
        events=tuple(replaced(event, number=number) for number, event in enumerate(events, 1)),
        because=f"{because}; then {inner.because}" if inner.because else because,
        help=(),
    )


def named(facts: dict[str, Any]) -> str:
    """The tasks dropped; one of another excursion than that of the finding by both names."""
    here = facts.get("excursion")
    return naming.listed(
        task.name if here is None or task.excursion is here else f"{task.excursion.name}.{task.name}"
        for task in facts["dropped"]
    )
