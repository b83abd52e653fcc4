"""How long a check takes, printed as one table.

    python -m tests.benchmarks.run            # a few minutes
    python -m tests.benchmarks.run --quick    # without the longest plans
    python -m tests.benchmarks.run --one 1000 # one size, as JSON; --stays 1000, --droppable 20: the other two

Each size is measured in a process of its own, the best of several runs. Nothing here judges: what is asked of the
figures stands in the README beside this file.
"""

from __future__ import annotations

import argparse
import ast
import gc
import json
import math
import os
import resource
import subprocess
import sys
import sysconfig
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from tests.benchmarks.generate import write_campaign, write_droppable

ROOT = Path(__file__).resolve().parents[2]
FULL, QUICK = (1_000, 10_000, 100_000), (1_000, 10_000)
GET_AHEADS = 20
STAGES = ("parse", "model", "flow", "rest", "total")


def best(work: Callable[[], object], times: int, before: Callable[[], object] | None = None) -> float:
    """The least seconds of processor time; what was made is thrown away between the runs, not during them.
    before: done before each run, and not counted."""
    least = math.inf
    for _ in range(times):
        if before is not None:
            before()
        gc.collect()
        start = time.process_time()
        made = work()
        least = min(least, time.process_time() - start)
        del made
    return least


def ordinary_python(size: int) -> str:
    """About so many bytes of the standard library, as one module."""
    parts: list[str] = []
    left = size
    for path in sorted(Path(sysconfig.get_paths()["stdlib"]).glob("*.py")) * (1 + size // 5_000_000):
        text = path.read_text(encoding="utf-8")
        if "from __future__" in text or not text.isascii():
            continue
        if len(text) > left:  # the last one ends with a whole statement
            ends = [node.end_lineno or 0 for node in ast.parse(text).body]
            lines = text.splitlines(keepends=True)
            fitting = [end for end in ends if sum(map(len, lines[:end])) <= left]
            parts.append("".join(lines[: fitting[-1]]) if fitting else "")
            break
        parts.append(text)
        left -= len(text)
    return "\n".join(parts)


def one(steps: int) -> dict[str, Any]:
    """A campaign of about so many printed steps: seconds of each stage and of ``ast.parse``, bytes a step."""
    from jackstay.flow.analyse import analyse
    from jackstay.model.from_syntax import build_world
    from jackstay.pipeline import check
    from jackstay.source.library import Library
    from jackstay.syntax import parsing
    from jackstay.syntax.modules import load

    times = 5 if steps <= 1_000 else 3 if steps <= 10_000 else 1
    with tempfile.TemporaryDirectory() as folder:
        root = write_campaign(Path(folder), steps)
        parsing.machine()
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        checked = check(root)
        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        assert checked.flow is not None and not checked.diagnostics
        printed = sum(len(flow.steps) for flow in checked.flow.excursions)
        size = sum(len(source.text.encode()) for source in checked.sources.values())
        del checked

        def anew() -> Any:
            return load(Library(root.parent), root.stem)

        total = best(lambda: check(root), times, parsing.forget)
        python = ordinary_python(size)
        collected = best(lambda: ast.parse(python), times) * size / len(python)
        gc.disable()  # as `check` does
        loaded = anew()
        world, _ = build_world(loaded.modules)
        stages = {
            "parse": best(anew, times, parsing.forget),
            "model": best(lambda: build_world(loaded.modules), times),
            "flow": best(lambda: analyse(world), times),
            "total": total,
            "ast": collected,
            "bare": best(lambda: ast.parse(python), times) * size / len(python),
        }
    stages["rest"] = max(0.0, total - stages["parse"] - stages["model"] - stages["flow"])
    return {"steps": printed, "bytes": size, "memory": (most - before) * 1024 / printed, **stages}


def stays(steps: int) -> dict[str, Any]:
    """Seconds for the order of a campaign of about so many printed steps (what the text puts before what, the clocks,
    the races), and for what its stays decide on top of that (rules, needs about a whole kind, counts, sums,
    lines)."""
    from jackstay.flow.clocks import set_clocks
    from jackstay.flow.counts import check_counts
    from jackstay.flow.laws import Distances
    from jackstay.flow.lengths import check_lines
    from jackstay.flow.order import Order
    from jackstay.flow.races import find_carried_off, find_races
    from jackstay.flow.replay import Replay
    from jackstay.flow.standing import check_rules
    from jackstay.flow.state import State
    from jackstay.model.from_syntax import build_world
    from jackstay.source.library import Library
    from jackstay.syntax.modules import load

    with tempfile.TemporaryDirectory() as folder:
        root = write_campaign(Path(folder), steps)
        world, _ = build_world(load(Library(root.parent), root.stem).modules)
    gc.disable()
    (excursion,) = world.excursions
    replay = Replay(world, excursion, Order(excursion.tasks, excursion.entries), State.written(world), Distances(world))
    flow = replay.run()

    def order() -> object:
        made = Order(excursion.tasks, excursion.entries)
        set_clocks(flow)
        return made, find_races(flow), find_carried_off(flow)

    def what_stays_decide() -> None:
        check_rules(replay)
        check_counts(replay)
        check_lines(replay)

    found = {"steps": len(flow.steps), "order": best(order, 3), "stays": best(what_stays_decide, 3)}
    assert not flow.problems
    return found


def droppable(count: int) -> dict[str, Any]:
    """Seconds for checking a plan of so many get-aheads, and for the same plan with nothing to drop: what lies between
    is the proof that any of them may be dropped, in any combination. decided: whether that was found."""
    from jackstay.pipeline import check
    from jackstay.syntax import parsing

    found: dict[str, Any] = {}
    with tempfile.TemporaryDirectory() as folder:
        parsing.machine()
        for name, required in (("nominal", True), ("whole", False)):
            root = write_droppable(Path(folder), count, required)
            checked = check(root)
            assert checked.flow is not None and not checked.failed
            found["steps"] = sum(len(flow.steps) for flow in checked.flow.excursions)
            found["decided"] = not checked.undecided

            found[name] = best(partial(check, root), 7, parsing.forget)
    return found


def one_apart(steps: int) -> dict[str, Any]:
    """`one` in a process of its own."""
    return apart("--one", steps)


def apart(option: str, number: int) -> dict[str, Any]:
    """One measurement in a process of its own."""
    command = [sys.executable, "-m", "tests.benchmarks.run", option, str(number)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def validator(steps: int) -> float | None:
    """Seconds that unified-planning's time-triggered validator takes for a chain of as many steps, two facts each;
    None where it is not installed."""
    try:
        from tests.benchmarks.validator import validate_chain
    except ImportError:
        return None
    return validate_chain(steps)


def cold(times: int) -> tuple[float, float]:
    """Least wall seconds of a whole ``jackstay check`` of the demo, and of ``import lark``, with warm caches."""
    check = [sys.executable, "-m", "jackstay", "check", str(ROOT / "examples" / "tarn-depot")]
    lark = [sys.executable, "-c", "import lark"]
    least = [math.inf, math.inf]
    with tempfile.TemporaryDirectory() as caches:
        env = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
        env |= {"PYTHONPYCACHEPREFIX": caches, "JACKSTAY_CACHE": caches}
        for _ in range(times + 1):  # the first one fills the caches
            for i, command in enumerate((check, lark)):
                start = time.perf_counter()
                subprocess.run(command, cwd=ROOT, env=env, stdout=subprocess.DEVNULL, check=True)
                least[i] = min(least[i], time.perf_counter() - start)
    return least[0], least[1]


def table(rows: list[dict[str, Any]]) -> list[str]:
    head = ["steps", *(f"{stage} ms" for stage in STAGES), "ast.parse ms", "ratio", "growth", "bytes/step"]
    lines = [head]
    before: dict[str, Any] | None = None
    for row in rows:
        growth = ""
        if before is not None:
            growth = f"{math.log(row['total'] / before['total']) / math.log(row['steps'] / before['steps']):.2f}"
        stages = [f"{row[stage] * 1000:.1f}" for stage in STAGES]
        ratio = f"{row['total'] / row['ast']:.1f}"
        lines.append([str(row["steps"]), *stages, f"{row['ast'] * 1000:.1f}", ratio, growth, f"{row['memory']:.0f}"])
        before = row
    widths = [max(len(line[i]) for line in lines) for i in range(len(head))]
    return ["  ".join(cell.rjust(width) for cell, width in zip(line, widths, strict=True)) for line in lines]


def line_of_stays(found: dict[str, Any]) -> str:
    order, both = found["order"], found["order"] + found["stays"]
    return (
        f"order alone {order * 1000:.0f} ms, order and stays {both * 1000:.0f} ms, {found['steps']} steps: "
        f"{both / order:.1f} times"
    )


def line_of_droppable(found: dict[str, Any], count: int) -> str:
    proof = found["whole"] - found["nominal"]
    return (
        f"{count} get-aheads shown to be droppable in {proof * 1000:.0f} ms, {found['steps']} steps: "
        f"{proof / found['nominal']:.1f} times the check of the plan itself ({found['nominal'] * 1000:.0f} ms)"
        + ("" if found["decided"] else "; not decided for all combinations")
    )


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.run", description="How long a check takes.")
    parser.add_argument("--quick", action="store_true", help="without the longest plans")
    parser.add_argument("--one", type=int, metavar="STEPS", help="one size, as JSON")
    parser.add_argument("--stays", type=int, metavar="STEPS", help="order and stays of one size, as JSON")
    parser.add_argument("--droppable", type=int, metavar="COUNT", help="so many get-aheads, as JSON")
    args = parser.parse_args(arguments)
    for number, measure in ((args.one, one), (args.stays, stays), (args.droppable, droppable)):
        if number:
            print(json.dumps(measure(number)))
            return 0
    rows = [one_apart(steps) for steps in (QUICK if args.quick else FULL)]
    print("\n".join(table(rows)))
    bare = " ".join(f"{row['total'] / row['bare']:.1f}" for row in rows)
    print(f"ratio to ast.parse with the garbage collector off, as a check has it: {bare}")
    other = validator(rows[0]["steps"])
    if other is not None:
        times = other / rows[0]["total"]
        print(f"unified-planning's validator, {rows[0]['steps']} steps: {other:.2f} s, {times:.0f} times as long")
    print(line_of_stays(apart("--stays", 10_000 if args.quick else 100_000)))
    print(line_of_droppable(apart("--droppable", GET_AHEADS), GET_AHEADS))
    check, lark = cold(3 if args.quick else 9)
    print(f"cold check of the demo {check * 1000:.0f} ms, `import lark` {lark * 1000:.0f} ms: {check / lark:.1f} times")
    return 0


if __name__ == "__main__":
    sys.exit(main())
