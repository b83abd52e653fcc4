"""Droppable work: what holds with everything flown must hold with any of it dropped.

A dropped task's steps stay in the order as steps that do nothing, so the order that they carried is inherited. Each
task is dropped alone (with those that go only with it), and followed into later excursions when it changes what they
start from. Tasks that know nothing of one another need no more (`independence`, with the proof); of those that may, all
sets are tried that might do something else than parts of them, throughout the campaign, where there are not too many.
A fallback has to hold after each of these sets, too. (Without a task that leaves everything as it found it no fallback
begins in a state that the plan as written does not have: it is not flown for that, unless it goes on with the task.)
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NamedTuple

from jackstay.diagnostics.records import Problem
from jackstay.flow.records import ExcursionFlow
from jackstay.flow.state import State
from jackstay.model.records import Excursion, Guard, Task, World

if TYPE_CHECKING:
    from jackstay.flow.independence import Footprint
    from jackstay.flow.replay import Replay
    from jackstay.flow.without import Campaign

MOST_SETS = 64  # of tasks that know of one another, up to so many sets are looked at

# Speak of what is printed or said, not of what is done.
ON_PAPER = {"form-missing", "form-unfilled", "expects-too-wide", "goes-on-outside-limits"}
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
    *ON_PAPER,
}
# Speak of how things stand at some moment: what each step does, and where it leaves things, is known all the same.
STANDING = {"rule-broken", "rule-may-break", "exposed", "may-be-exposed"}


class Flight(NamedTuple):
    """One excursion followed from a start to an end. replay: None where there was no order to follow."""

    flow: ExcursionFlow
    start: State
    end: State
    replay: "Replay | None" = None


Fly = Callable[[Excursion, State, frozenset[Task]], Flight]
StartAfter = Callable[[Excursion, Flight, frozenset[Task]], State]
Fallbacks = Callable[[Flight, frozenset[Task]], list[Problem]]
Flown = Callable[[dict[Excursion, Flight], set[Excursion]], "Campaign"]


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
    """The tasks that may be dropped; those that are flown only if another was, too."""
    return [t for t in excursion.tasks if t.rank != "required"]


def several_droppable(world: World) -> bool:
    """Whether there are two or more: then it matters what they know of one another."""
    return sum(len(droppable(excursion)) for excursion in world.excursions) > 1


def with_followers(task: Task) -> frozenset[Task]:
    """A task and all that say ``with`` it."""
    out = {task}
    grown = True
    while grown:
        more = {t for t in task.excursion.tasks if t not in out and out & set(t.along_with)}
        out |= more
        grown = bool(more)
    return frozenset(out)


def check_drops(world: World, flights: dict[Excursion, Flight], flown: Flown, fallbacks: Fallbacks) -> None:
    """Report ``leans-on-droppable`` where something fails only because tasks were dropped, and ``not-decided`` where
    there are too many sets to try, or where a set leaves something undecided. flown: the campaign of these flights, of
    which these are sound. fallbacks: what is wrong with an excursion's fallbacks when they begin in such a flight.
    Excursions that already fail are left out: their findings come first."""
    sound = {e for e, f in flights.items() if f.flow.complete and not any(map(stops, f.flow.problems))}
    alone = list(dict.fromkeys(with_followers(t) for e in world.excursions if e in sound for t in droppable(e)))
    if alone:
        Drops(flights, flown(flights, sound), fallbacks).check(alone)
    _guards(world, flights)


class Drops:
    """Tries sets of tasks. told: what has been told already, so that it is told of the fewest tasks that do it."""

    def __init__(self, flights: dict[Excursion, Flight], campaign: "Campaign", fallbacks: Fallbacks) -> None:
        self.campaign = campaign
        self.fallbacks = fallbacks
        self.flights = flights
        self.told: set[tuple[object, ...]] = set()

    def check(self, alone: list[frozenset[Task]]) -> None:
        if len(alone) == 1:
            for excursion, variant in self._try(alone[0]).items():
                pairs = enumerate(zip(self.flights[excursion].end.values, variant.end.values, strict=True))
                self._ends(excursion, alone[0], {var: b for var, (a, b) in pairs if a != b})
            return
        from jackstay.flow.independence import explore

        footprints = [self._look(gone, (gone,)) for gone in alone]
        for footprint in footprints:
            for excursion, part in footprint.parts.items():
                self._ends(excursion, footprint.gone, {var: other for var, (_, other) in part.end.items()})
        for group in explore(footprints, self._look, MOST_SETS):
            self._not_decided({task for gone in group for task in gone})

    def _look(self, gone: frozenset[Task], of: tuple[frozenset[Task], ...]) -> "Footprint":
        """What dropping these changes; reported, where it breaks something."""
        footprint = self.campaign.closed(gone, of)
        if footprint is None:
            footprint = self.campaign.footprint(gone, self._try(gone), of)
        return footprint

    def _ends(self, excursion: Excursion, gone: frozenset[Task], values: dict[int, Any]) -> None:
        """Note what ends otherwise when these are dropped."""
        if values:
            named = tuple(sorted(gone, key=_in_text))
            self.flights[excursion].flow.without.append((named, dict(sorted(values.items()))))

    def _not_decided(self, among: set[Task]) -> None:
        tasks = sorted(among, key=_in_text)
        first = tasks[0].excursion
        self.flights[first].flow.problems.append(
            Problem("not-decided", tasks[0].decl, {"what": "dropped", "excursion": first, "tasks": tasks})
        )

    def _try(self, gone: frozenset[Task]) -> dict[Excursion, Flight]:
        flown = self.campaign.without(gone)
        for excursion, variant in flown.items():
            nominal = self.flights[excursion]
            _compare(nominal, variant.flow, variant.flow.problems, gone, self.told)
            if excursion.fallbacks and not any(map(stops, variant.flow.problems)):
                _compare(nominal, variant.flow, self.fallbacks(variant, gone), gone, self.told)
        return flown


def _in_text(task: Task) -> tuple[str, int]:
    return task.decl.path, task.decl.line


def _counts(problem: Problem) -> bool:
    return problem.rule not in PLANNED_END


def stops(problem: Problem) -> bool:
    """Whether nothing can be built on where an excursion with this finding leads."""
    return problem.rule not in PLANNED_END and problem.rule not in STANDING


def _compare(
    nominal: Flight,
    variant: ExcursionFlow,
    problems: list[Problem],
    dropped: frozenset[Task],
    told: set[tuple[object, ...]],
) -> None:
    """Report those of a variant's problems that neither the plan as written nor fewer dropped tasks have."""
    known = {named(p) for p in nominal.flow.problems}
    for problem in problems:
        key = named(problem)
        undecided = problem.rule == "not-decided"
        if not (_counts(problem) or undecided) or key in known or key in told:
            continue
        told.add(key)
        facts = {
            "problem": problem,
            "dropped": sorted(dropped, key=_in_text),
            "flow": variant,
            "excursion": nominal.flow.excursion,
        }
        if undecided:
            facts["what"] = "variant"
        nominal.flow.problems.append(Problem("not-decided" if undecided else "leans-on-droppable", problem.at, facts))


def named(problem: Problem) -> tuple[object, ...]:
    """What makes two problems one finding."""
    if problem.rule in STANDING:
        return problem.rule, problem.at, id(problem.facts["rule"])
    if problem.rule != "not-decided":
        return problem.rule, problem.at
    facts = problem.facts
    about = facts.get("rule") or facts.get("bound") or facts.get("name")
    return problem.rule, facts["what"], id(about), None if facts["what"] == "rule" else problem.at


def _guards(world: World, flights: dict[Excursion, Flight]) -> None:
    """A guard that speaks of anything but a droppable task before it is not decided."""
    names = {f"{e.name}.{t.name}" for e in world.excursions for t in droppable(e) if t.guard is None}
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
