"""Compare the compiler on droppable tasks and fallbacks with every variant of many plans.

python tests/oracles/run_variants.py --plans 20000 --jobs 2 --from 0

With --sets: plans with many droppable tasks, in one excursion or two. What the compiler tries is compared with all sets
of them, and (with --timings) both with every timing of every set.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from oracles.brute import OWN, Plan
from oracles.generate_sets import sets_from
from oracles.generate_variants import variants_from
from oracles.judging import UNDECIDED, problems_of, world_of
from oracles.run import minimised, without
from oracles.sets import compared, judged, readable, text_in
from oracles.timings import CLEAN, TooMany
from oracles.variants import settled, verdict
from oracles.writing import text_of

from jackstay.model.records import World

CHUNK = 50


class Case(NamedTuple):
    """oracle: clean, or which part breaks it (written, dropped, fallback)."""

    plan: Plan
    world: World
    oracle: str
    why: str


class Verdicts(NamedTuple):
    oracle: str
    found: tuple[str, ...]
    agrees: bool
    why: str


def case_of(plan: Plan) -> Case | None:
    plan = settled(plan)  # first: what the end leaves outside is no fault of a variant
    try:
        oracle, reasons = verdict(plan)
    except TooMany:
        return None
    return Case(plan, world_of(text_of(plan)), oracle, str(reasons[:1]))


def judge(case: Case) -> Verdicts:
    """Clean must be clean; anything else must be told."""
    found = tuple(p.rule for p in problems_of(case.world))
    errors = [r for r in found if r != UNDECIDED]
    if case.oracle == CLEAN:
        # what holds in several ways, one of them in flux, may be told or not
        agrees = not found or verdict(case.plan, whole=True)[0] != CLEAN
    elif case.oracle == "written":
        agrees = bool(found)
    else:
        # drops are not tried where a fallback fails already: either finding says that the plan is not clean
        agrees = bool(errors)
    return Verdicts(case.oracle, found, agrees, case.why)


def _wrong(plan: Plan) -> bool:
    case = case_of(plan)
    return case is not None and not judge(case).agrees


def _smaller(plan: Plan) -> list[Plan]:
    out = [replace(plan, fallbacks=[g for g in plan.fallbacks if g is not f]) for f in plan.fallbacks]
    for number, f in enumerate(plan.fallbacks):
        fewer = [replace(f, then=tuple(t for t in f.then if t != task)) for task in f.then]
        for i in range(len(f.steps)) if len(f.steps) > 1 else ():
            steps = [
                replace(s, on=tuple(n - (n > OWN + i) for n in s.on if n != OWN + i))
                for j, s in enumerate(f.steps)
                if j != i
            ]
            fewer.append(replace(f, steps=steps))
        fewer += [
            replace(f, steps=[*f.steps[:i], replace(s, on=()), *f.steps[i + 1 :]])
            for i, s in enumerate(f.steps)
            if s.on
        ]
        out += [replace(plan, fallbacks=[*plan.fallbacks[:number], g, *plan.fallbacks[number + 1 :]]) for g in fewer]
    out += [replace(plan, ranks={t: r for t, r in plan.ranks.items() if t != task}, along={}) for task in plan.ranks]
    out += [replace(plan, along={t: a for t, a in plan.along.items() if t != task}) for task in plan.along]
    out += [replace(plan, rules=[]) if plan.rules else plan, replace(plan, done={}) if plan.done else plan]
    out += [replace(plan, after={}) if plan.after else plan]
    for i, step in enumerate(plan.steps):
        out += [
            replace(
                plan,
                steps=[*plan.steps[:i], replace(step, on=tuple(m for m in step.on if m != n)), *plan.steps[i + 1 :]],
            )
            for n in step.on
        ]
        named = any(f.caller == i or any(i in s.on for s in f.steps) for f in plan.fallbacks)
        if named or len(plan.steps) == 1:
            continue
        shorter = without(plan, i)
        tasks = {s.task for s in shorter.steps}
        falls = [
            replace(
                f,
                caller=f.caller - (f.caller > i),
                then=tuple(t for t in f.then if t in tasks),
                steps=[replace(s, on=tuple(n - (i < n < OWN) for n in s.on)) for s in f.steps],
            )
            for f in plan.fallbacks
        ]
        along = {t: tuple(x for x in a if x in tasks) for t, a in plan.along.items() if t in tasks}
        ranks = {t: r for t, r in plan.ranks.items() if t in tasks}
        out.append(replace(shorter, fallbacks=falls, along=along, ranks=ranks))
    return [p for p in out if p is not plan]


def explain(plan: Plan) -> str:
    """A disagreement, made small, with both verdicts."""
    plan = minimised(plan, _wrong, _smaller)
    case = case_of(plan)
    assert case is not None
    return f"{text_of(case.plan)}# oracle: {case.oracle} {case.why}\n# compiler: {judge(case).found or 'nothing'}"


def chunk(first: int, count: int) -> tuple[Counter[str], list[tuple[int, str]]]:
    stats: Counter[str] = Counter()
    bad: list[tuple[int, str]] = []
    for seed in range(first, first + count):
        plan = variants_from(seed)
        case = case_of(plan)
        if case is None:
            stats["too many situations"] += 1
            continue
        verdicts = judge(case)
        stats[f"{verdicts.oracle} / {'told' if verdicts.found else 'nothing'}"] += 1
        if not verdicts.agrees:
            bad.append((seed, explain(plan)))
    return stats, bad


def chunk_of_sets(first: int, count: int, timings: bool) -> tuple[Counter[str], list[tuple[int, str]]]:
    stats: Counter[str] = Counter()
    bad: list[tuple[int, str]] = []
    for seed in range(first, first + count):
        plan, second = sets_from(seed)
        said, agrees = compared(plan, second)
        if timings and agrees and readable(plan):
            try:
                said, agrees = judged(plan, second)
            except TooMany:
                stats["too many situations"] += 1
                continue
        stats[f"{said}, {'two excursions' if second else 'one'}"] += 1
        if not agrees:
            bad.append((seed, f"{text_in(plan, second)}# all sets: {said}"))
    return stats, bad


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--plans", type=int, default=2000)
    options.add_argument("--jobs", type=int, default=2)
    options.add_argument("--from", type=int, default=0, dest="first", help="the first seed")
    options.add_argument("--show", type=int, default=5, help="disagreements to print")
    options.add_argument("--sets", action="store_true", help="plans with many droppable tasks")
    options.add_argument("--timings", action="store_true", help="with --sets: every timing too")
    chosen = options.parse_args()
    starts = range(chosen.first, chosen.first + chosen.plans, CHUNK)
    stats: Counter[str] = Counter()
    bad: list[tuple[int, str]] = []
    with ProcessPoolExecutor(chosen.jobs) as pool:
        counts = [min(CHUNK, chosen.first + chosen.plans - s) for s in starts]
        if chosen.sets:
            made = pool.map(chunk_of_sets, starts, counts, [chosen.timings] * len(counts))
        else:
            made = pool.map(chunk, starts, counts)
        for more, wrong in made:
            stats += more
            bad += wrong
    for seed, text in bad[: chosen.show]:
        print(f"\n# seed {seed}\n{text}")
    print("\noracle / compiler")
    for name, count in sorted(stats.items()):
        print(f"{count:8d}  {name}")
    print(f"{len(bad):8d}  disagreements: {[seed for seed, _ in bad[:40]]}")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
