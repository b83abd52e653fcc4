"""A task whose end another step may still undo."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, event, finding

RULE = Rule(
    "may-not-be-done",
    Severity.ERROR,
    "A step that nothing orders may undo, or not yet have done, what a task is done by.",
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, task, test (of its `done when`), step (that nothing orders), last (the task's last step)."""
    facts = problem.facts
    task, test, step, last = facts["task"], facts["test"], facts["step"], facts["last"]
    story = Story(plan, facts["flow"], min(step.index, last.index))
    told = sorted({step.index: step, last.index: last}.values(), key=lambda s: s.index)
    changed = {change.var for change in step.changes}
    events = [event(n, one, story.leaves(one, changed)) for n, one in enumerate(told, 1)]
    return finding(
        RULE,
        f"When {task.name} is over, “{test.text}” may not hold: {acting(step)} at a time that nothing orders.",
        problem.at,
        note="may not hold by then",
        labels=[
            Label(step.entry.at, f"{acting(step)}: nothing says when"),
            Label(last.entry.at, f"the last step of {task.name}"),
        ],
        events=events,
        because=f"no wait and no order puts that step before or after the end of {task.name}",
    )
