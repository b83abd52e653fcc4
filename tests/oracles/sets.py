"""Sets of droppable tasks: those that the compiler tries against all of them, and against every timing."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

from oracles.brute import Plan
from oracles.judging import problems_of, world_of
from oracles.timings import CLEAN
from oracles.variants import verdict
from oracles.writing import text_of

from jackstay.flow import dropping, independence, without
from jackstay.flow.independence import Footprint
from jackstay.model.records import World


def text_in(plan: Plan, second: int) -> str:
    """The text of a plan; from task ``second`` on in another excursion."""
    if not second:
        return text_of(plan)
    first = {s.task for s in plan.steps if s.task < second}
    kept = [replace(s, on=tuple(n for n in s.on if _at_once(plan, n, s.task, second))) for s in plan.steps]
    after = {t: tuple(x for x in a if (x < second) == (t < second)) for t, a in plan.after.items()}
    along = {t: tuple(x for x in a if (x < second) == (t < second)) for t, a in plan.along.items()}
    lines = text_of(replace(plan, steps=kept, after={t: a for t, a in after.items() if a}, along=along)).split("\n")
    crew = next(line for line in lines if line.startswith("  crew "))
    at = next(i for i, line in enumerate(lines) if line.startswith(f"  task task{second} "))
    assert first
    lines[at:at] = ["excursion later", crew, "  starts as outing ends"]
    return "\n".join(lines)


def _at_once(plan: Plan, waited: int, task: int, second: int) -> bool:
    return (plan.steps[waited].task < second) == (task < second)


def as_one(plan: Plan, second: int) -> Plan:
    """Two excursions as one plan: all of the first comes before all of the second."""
    if not second:
        return plan
    tasks = sorted({s.task for s in plan.steps})
    early = tuple(t for t in tasks if t < second)
    after = {t: (*plan.after.get(t, ()), *(early if t >= second else ())) for t in tasks}
    along = {t: tuple(x for x in a if (x < second) == (t < second)) for t, a in plan.along.items()}
    return replace(plan, after={t: a for t, a in after.items() if a}, along={t: a for t, a in along.items() if a})


@contextmanager
def every_set() -> Iterator[None]:
    """The compiler takes nothing for granted: each task is flown without, and all are tried in every set."""
    keep = independence.dependent, dropping.MOST_SETS, without.Campaign.closed

    def dependent(a: Footprint, b: Footprint) -> bool:
        return not any(one <= b.gone for one in a.of) and not any(one <= a.gone for one in b.of)

    independence.dependent = dependent
    dropping.MOST_SETS = 1 << 20
    without.Campaign.closed = lambda self, gone, of: None  # type: ignore[method-assign]
    try:
        yield
    finally:
        independence.dependent, dropping.MOST_SETS, without.Campaign.closed = keep  # type: ignore[method-assign]


def told(world: World) -> tuple[bool, bool, bool]:
    """Whether the plan fails as written, fails without something, and leaves a group of tasks undecided."""
    problems = problems_of(world)
    undecided = any(p.rule == "not-decided" and p.facts["what"] in ("dropped", "variant") for p in problems)
    leaning = any(p.rule == "leans-on-droppable" for p in problems)
    written = any(p.rule not in ("leans-on-droppable", "not-decided") for p in problems)
    return written, leaning, undecided


def compared(plan: Plan, second: int) -> tuple[str, bool]:
    """What trying every set says, and whether trying only what may be dependent agrees."""
    world = world_of(text_in(plan, second))
    with every_set():
        written, leaning, undecided = told(world)
    mine = told(world)
    said = "written" if written else "leans" if leaning else "undecided" if undecided else "clean"
    if written:
        return said, mine[0]
    if leaning:
        return said, mine[1] or mine[2]
    return said, not mine[1] and (mine[2] or not undecided)


def readable(plan: Plan) -> bool:
    """Whether its steps stand as they are done."""
    return not any(step.heading for step in plan.steps)


def judged(plan: Plan, second: int) -> tuple[str, bool]:
    """What every timing of every variant says, and whether the compiler agrees."""
    found, _ = verdict(as_one(plan, second))
    written, leaning, undecided = told(world_of(text_in(plan, second)))
    if found == CLEAN:
        # what holds in several ways, one of them in flux, may be told or not
        return found, not (written or leaning) or verdict(as_one(plan, second), whole=True)[0] != CLEAN
    return found, written or (found != "written" and (leaning or undecided))
