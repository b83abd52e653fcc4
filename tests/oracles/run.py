"""Compare the analysis with the reference semantics on many plans, or with a library.

python tests/oracles/run.py --plans 100000 --jobs 2 --from 0
python tests/oracles/run.py --plans 10000 --against z3        (order, races, rules; three plans of each seed)
python tests/oracles/run.py --plans 10000 --against networkx  (the heaviest stays against a minimum cut)
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from oracles.brute import Plan
from oracles.generate import plan_from
from oracles.judging import Unreadable, Verdicts, compare, strength
from oracles.writing import text_of

CHUNK = 50


P = TypeVar("P")


def minimised(plan: P, wrong: Callable[[P], bool], smaller: Callable[[P], list[P]]) -> P:
    """The plan with every step, wait, rule and clause left out that the disagreement does not need."""
    again = True
    while again:
        again = False
        for fewer in smaller(plan):
            try:
                if wrong(fewer):
                    plan, again = fewer, True
                    break
            except (Unreadable, KeyError, IndexError):
                continue
    return plan


def _smaller(plan: Plan) -> list[Plan]:
    out = [without(plan, i) for i in range(len(plan.steps))]
    out += [replace(plan, rules=[r for r in plan.rules if r is not rule]) for rule in plan.rules if not plan.shipped]
    out += [replace(plan, done={t: d for t, d in plan.done.items() if t != task}) for task in plan.done]
    out += [replace(plan, after={t: d for t, d in plan.after.items() if t != task}) for task in plan.after]
    if len({s.task for s in plan.steps}) > 1 and not plan.after and not plan.done:
        out.append(replace(plan, steps=[replace(s, task=0) for s in plan.steps]))
    for i, step in enumerate(plan.steps):
        for bounds in ("on", "beside"):
            for number in getattr(step, bounds):
                fewer = replace(step, **{bounds: tuple(n for n in getattr(step, bounds) if n != number)})
                out.append(replace(plan, steps=[*plan.steps[:i], fewer, *plan.steps[i + 1 :]]))
        if step.heading:
            out.append(replace(plan, steps=[*plan.steps[:i], replace(step, heading=False), *plan.steps[i + 1 :]]))
    used = {n for s in plan.steps for n in (s.actor, s.helper, *s.args.values())}
    for name, thing in plan.things.items():
        if name not in used:
            rest = {n: t for n, t in plan.things.items() if n != name}
            told = {
                n
                for t in rest.values()
                for n in (t.place, t.runner, *t.ends, *t.near, *t.reaches, *(h for _, h in t.held))
            }
            told |= {x for r in plan.rules for lit in r.tests for x in (lit.a, lit.b) if isinstance(x, str)}
            told |= {str(x) for d in plan.done.values() for lit in d for x in (lit.a, lit.b)}
            told |= {p for a, b, _ in plan.paths for p in (a, b)}
            told |= {member for members in plan.groups.values() for member in members}
            if name not in told and plan.kinds[thing.kind].sort != "location":
                out.append(replace(plan, things=rest))
    return out


def without(plan: Plan, gone: int) -> Plan:
    """One step less; who waited for it waits for what it waited for."""

    def moved(numbers: tuple[int, ...]) -> tuple[int, ...]:
        return tuple(dict.fromkeys(n - (n > gone) for n in numbers if n != gone))

    steps = []
    for i, step in enumerate(plan.steps):
        if i == gone:
            continue
        on = tuple(m for n in step.on for m in (plan.steps[gone].on if n == gone else (n,)) if m != i)
        steps.append(replace(step, on=moved(on), beside=moved(step.beside)))
    tasks = {s.task for s in steps}
    return replace(
        plan,
        steps=steps,
        after={t: tuple(x for x in a if x in tasks) for t, a in plan.after.items() if t in tasks},
        done={t: d for t, d in plan.done.items() if t in tasks},
    )


def _vocabulary(line: str) -> bool:
    return line.startswith(("kind ", "use ", "  ", "action ")) and not line.startswith(
        ("  task", "  crew", "    ", "  never", "  always", "  makes", "  needs")
    )


def explain(plan: Plan, words: bool = True) -> str:
    """A disagreement, made small, with both verdicts. words: with the vocabulary."""

    def wrong(smaller: Plan) -> bool:
        verdicts = compare(smaller)
        return verdicts is not None and not verdicts.agrees

    small = minimised(plan, wrong, _smaller)
    verdicts = compare(small)
    assert verdicts is not None
    numbered = "\n".join(
        f"#   step {i}: {s.actor}: {' '.join([str(w) if isinstance(w, str) else s.args[w[0]] for w in s.action.words])}"
        for i, s in enumerate(small.steps)
    )
    text = text_of(small) if words else "\n".join(li for li in text_of(small).split("\n") if not _vocabulary(li)) + "\n"
    return f"{text}{numbered}\n# oracle: {verdicts.oracle} ({verdicts.why})\n# compiler: {verdicts.found or 'nothing'}"


def chunk(first: int, count: int, words: bool = True) -> tuple[Counter[str], list[tuple[int, str]]]:
    stats: Counter[str] = Counter()
    bad: list[tuple[int, str]] = []
    for seed in range(first, first + count):
        plan = plan_from(seed)
        verdicts: Verdicts | None = compare(plan)
        if verdicts is None:
            stats["too many situations"] += 1
            continue
        stats[strength(verdicts)] += 1
        if not verdicts.agrees:
            bad.append((seed, explain(plan, words)))
    return stats, bad


def chunk_z3(first: int, count: int, words: bool = True) -> tuple[Counter[str], list[tuple[int, str]]]:
    from oracles.reals import compare_seed

    stats: Counter[str] = Counter()
    wrong = ((seed, compare_seed(seed, stats)) for seed in range(first, first + count))
    bad = [(seed, text) for seed, text in wrong if text]
    return stats, bad


def chunk_networkx(first: int, count: int, words: bool = True) -> tuple[Counter[str], list[tuple[int, str]]]:
    from oracles.orders import compare_stays

    stats: Counter[str] = Counter()
    bad: list[tuple[int, str]] = []
    for seed in range(first, first + count):
        found = compare_stays(seed)
        stats["circular" if found is None else "some are apart" if found[1] else "all can meet"] += 1
        if found is not None and not found[0]:
            bad.append((seed, "the heaviest set weighs otherwise"))
    return stats, bad


CHUNKS = {"brute": chunk, "z3": chunk_z3, "networkx": chunk_networkx}


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--plans", type=int, default=2000)
    options.add_argument("--jobs", type=int, default=2)
    options.add_argument("--from", type=int, default=0, dest="first", help="the first seed")
    options.add_argument("--show", type=int, default=5, help="disagreements to print")
    options.add_argument("--against", choices=CHUNKS, default="brute", help="the judge (brute: every timing)")
    options.add_argument("--short", action="store_true", help="print disagreements without their vocabulary")
    chosen = options.parse_args()
    starts = range(chosen.first, chosen.first + chosen.plans, CHUNK)
    stats: Counter[str] = Counter()
    bad: list[tuple[int, str]] = []
    with ProcessPoolExecutor(chosen.jobs) as pool:
        for more, wrong in pool.map(
            CHUNKS[chosen.against],
            starts,
            (min(CHUNK, chosen.first + chosen.plans - s) for s in starts),
            [not chosen.short] * len(starts),
        ):
            stats += more
            bad += wrong
            if sys.stderr.isatty():
                told = f"{stats.total()} counted ({chosen.plans} plans), {len(bad)} disagreements"
                print(f"\r{told}", end="", file=sys.stderr)
    for seed, text in bad[: chosen.show]:
        print(f"\n# seed {seed}\n{text}")
    print("\noracle / compiler" if chosen.against == "brute" else f"\n{chosen.against}")
    for name, count in sorted(stats.items()):
        print(f"{count:8d}  {name}")
    print(f"{len(bad):8d}  disagreements: {[seed for seed, _ in bad[:40]]}")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
