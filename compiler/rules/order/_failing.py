"""The shortest order of events in which a race goes wrong.

What surely comes before the second step, then that step without the first: if one of its needs fails, that is the
order. Else what surely comes before both, then the second, if a need of it fails then, or then the first, if a need of
that fails. Else both at once: while one runs, what it changes has no value that the other could rely on.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from jackstay.diagnostics.records import Event
from jackstay.flow.clocks import happens_before
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.flow.state import State
from jackstay.flow.tests import Judge
from jackstay.model.records import Quantified, Test
from jackstay.rules import naming
from jackstay.rules.story import MOST, Story, event


def failing_order(plan: Any, flow: ExcursionFlow, first: Step, second: Step, variables: list[int]) -> tuple[Event, ...]:
    """Numbered events, the last few that matter. The order is one that the text allows."""
    wanted = set(variables)
    story = Story(plan, flow, 0)
    alone = [step for step in flow.steps if happens_before(step, second)]
    both = [s for s in flow.steps if happens_before(s, first) or happens_before(s, second)]
    for past in (alone, both):
        lacking = _lacking(plan, _after(flow, past), second, wanted)
        if lacking is not None:
            told = _touching(past, wanted)
            return _events(story, told, wanted, (second, f"comes first, when {lacking}"), (first, "comes only then"))
    values = _after(flow, [*both, second])
    lacking = _lacking(plan, values, first, wanted)
    told = _touching(both, wanted)
    if lacking is not None:
        left = story.leaves(second, wanted)
        return _events(
            story,
            told,
            wanted,
            (second, f"comes first; {left}" if left else "comes first"),
            (first, f"comes only then, when {lacking}"),
        )
    unsettled = naming.listed([naming.matter(plan.world.variables[v]) for v in variables][:3])
    return _events(
        story,
        told,
        wanted,
        (first, "begins"),
        (second, f"begins before that is over: nobody can rely on {unsettled} then"),
    )


def _after(flow: ExcursionFlow, steps: Iterable[Step]) -> list[Any] | None:
    """The state once these steps are over, in the replay's order; None if one of them did not find what it found
    there: what it would leave then has not been worked out."""
    values = list(flow.start)
    for step in steps:
        for change in step.changes:
            if values[change.var] != change.before:
                return None
            values[change.var] = change.after
    return values


def _lacking(plan: Any, values: list[Any] | None, step: Step, wanted: set[int]) -> str | None:
    """A need of the step that turns on these variables and fails in this state, as the clause that is true instead."""
    if values is None or step.action is None:
        return None
    state = State(0)
    state.values = values
    judge = Judge(plan.world, state)
    for test in (*step.action.needs, *step.action.uses):
        if isinstance(test.a, Quantified) or isinstance(test.b, Quantified):
            continue
        judge.reads = []
        if not judge.holds(test, step.binding) and wanted.intersection(judge.reads):
            return naming.clause(_opposite(test), step.binding)
    return None


def _opposite(test: Test) -> Test:
    return test._replace(negated=not test.negated)


def _touching(steps: Iterable[Step], wanted: set[int]) -> list[Step]:
    return [step for step in steps if any(change.var in wanted for change in step.changes)][-(MOST - 3) :]


def _events(story: Story, told: list[Step], wanted: set[int], *last: tuple[Step, str]) -> tuple[Event, ...]:
    events = [event(n, step, story.leaves(step, wanted)) for n, step in enumerate(told, 1)]
    events += [event(len(told) + n, step, what) for n, (step, what) in enumerate(last, 1)]
    return tuple(events)
