"""Droppable work: what holds with everything flown must hold with any of it dropped.

A dropped task's steps stay in the order as steps that do nothing, so the order that they carried is inherited. Each
task is dropped alone (with those that go only with it), and followed into later excursions when it changes what they
start from; small sets of droppable tasks are tried in every combination.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations
from typing import NamedTuple

from jackstay.diagnostics.records import Problem
from jackstay.flow.records import ExcursionFlow
from jackstay.flow.state import State
from jackstay.model.records import Excursion, Guard, Task, World

ALL_SETS = 4  # up to so many droppable tasks of one excursion, every set of them is tried

# What an end says exactly is said for the whole plan; a dropped task must still leave nobody and nothing behind.
PLANNED_END = {
    "came-inside",
    "moved-unsaid",
    "not-left-outside",
    "not-come-inside",
    "not-left-so",
    "not-back-to-normal",
    "promise-broken",
    "promise-incomplete",
    "not-decided",
    "outcome-unanswered",
    "reading-unanswered",
}


class Flight(NamedTuple):
    """One excursion followed from a start to an end."""

    flow: ExcursionFlow
    start: State
    end: State


Fly = Callable[[Excursion, State, frozenset[Task]], Flight]
StartAfter = Callable[[Excursion, Flight, frozenset[Task]], State]


def guard_holds(guard: Guard, excursion: Excursion, dropped: frozenset[Task]) -> bool:
    """Whether a guarded task takes part: ``TASK is done`` holds unless the task was dropped."""
    for test in guard.tests:
        if test.op != "done":
            return False
        head, dot, rest = (test.prop or "").partition(".")
        done = not any(
            t.name == (rest if dot else head) and t.excursion.name == (head if dot else excursion.name) for t in dropped
        )
        if done == test.negated:
            return False
    return True


def droppable(excursion: Excursion) -> list[Task]:
    return [t for t in excursion.tasks if t.rank != "required" and t.guard is None]


def with_followers(task: Task) -> frozenset[Task]:
    """A task and all that say ``with`` it."""
    out = {task}
    grown = True
    while grown:
        more = {t for t in task.excursion.tasks if t not in out and out & set(t.along_with)}
        out |= more
        grown = bool(more)
    return frozenset(out)


def check_drops(world: World, flights: dict[Excursion, Flight], fly: Fly, start_after: StartAfter) -> None:
    """Report ``leans-on-droppable`` where something fails only because a task was dropped, and ``not-decided`` where
    there are too many sets to try. Excursions that already fail are left out: their findings come first."""
    broken = {e for e, f in flights.items() if not f.flow.complete or any(_counts(p) for p in f.flow.problems)}
    told: set[tuple[object, ...]] = set()
    for excursion in world.excursions:
        tasks = droppable(excursion)
        if not tasks or excursion in broken:
            continue
        for dropped in _sets(tasks):
            variant = fly(excursion, flights[excursion].start, dropped)
            _compare(flights[excursion], variant, dropped, told)
            if any(dropped == with_followers(t) for t in tasks):
                _carry(world, flights, variant, dropped, (fly, start_after), broken, told)
        if len(tasks) > ALL_SETS:
            flights[excursion].flow.problems.append(
                Problem("not-decided", tasks[0].decl, {"what": "dropped", "excursion": excursion, "tasks": tasks})
            )
    _guards(world, flights)


def _sets(tasks: list[Task]) -> Iterator[frozenset[Task]]:
    """Each task alone, then (for few) every union; all closed under ``with``."""
    closed = [with_followers(t) for t in tasks]
    seen: set[frozenset[Task]] = set()
    most = len(closed) if len(closed) <= ALL_SETS else 1
    for size in range(1, most + 1):
        for chosen in combinations(closed, size):
            union = frozenset().union(*chosen)
            if union not in seen:
                seen.add(union)
                yield union


def _counts(problem: Problem) -> bool:
    return problem.rule not in PLANNED_END


def _compare(nominal: Flight, variant: Flight, dropped: frozenset[Task], told: set[tuple[object, ...]]) -> None:
    known = {(p.rule, p.at) for p in nominal.flow.problems}
    for problem in variant.flow.problems:
        key = (problem.rule, problem.at)
        if not _counts(problem) or key in known or key in told:
            continue
        told.add(key)
        named = sorted(dropped, key=lambda t: (t.decl.path, t.decl.line))
        nominal.flow.problems.append(
            Problem(
                "leans-on-droppable",
                problem.at,
                {"problem": problem, "dropped": named, "flow": variant.flow, "excursion": nominal.flow.excursion},
            )
        )


def _carry(
    world: World,
    flights: dict[Excursion, Flight],
    variant: Flight,
    dropped: frozenset[Task],
    ways: tuple[Fly, StartAfter],
    broken: set[Excursion],
    told: set[tuple[object, ...]],
) -> None:
    """Follow a dropped task into the excursions after it, as long as it changes what they start from."""
    before = variant
    fly, start_after = ways
    while True:
        after = next((e for e in world.excursions if e.previous is before.flow.excursion), None)
        if after is None or after in broken:
            return
        start = start_after(after, before, dropped)
        if start.values == flights[after].start.values and not any(t.guard for e in world.excursions for t in e.tasks):
            return
        following = fly(after, start, dropped)
        _compare(flights[after], following, dropped, told)
        before = following


def _guards(world: World, flights: dict[Excursion, Flight]) -> None:
    """A guard that speaks of anything but a droppable task before it is not decided."""
    names = {f"{e.name}.{t.name}" for e in world.excursions for t in droppable(e)}
    for excursion, flight in flights.items():
        for task in excursion.tasks:
            if task.guard is None:
                continue
            for test in task.guard.tests:
                prop = test.prop or ""
                if test.op != "done" or (prop if "." in prop else f"{excursion.name}.{prop}") not in names:
                    flight.flow.problems.append(
                        Problem("not-decided", task.guard.at, {"what": "guard", "excursion": excursion, "task": task})
                    )
                    break
