"""How long each part of a build takes, and how that grows with the plan.

    python -m tests.benchmarks.outputs              # the demo, and plans of 250 and 2,500 steps
    python -m tests.benchmarks.outputs --cold 5     # whole cold builds of the demo, wall clock

Seconds of processor time, the layout program's apart (it is a process of its own). Growth is the exponent: 1 is in
proportion to the steps, 2 to their square."""

from __future__ import annotations

import argparse
import gc
import math
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

from tests.benchmarks.generate import write_campaign

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "examples" / "tarn-depot" / "campaign.stay"
SIZES = (250, 2_500)
PAPERS = ("a4",)


class Measured(NamedTuple):
    """seconds: by part; steps: printed steps of the plan; bytes: of what the part gives."""

    steps: int
    seconds: dict[str, float]
    bytes: dict[str, int]


def measure(root: Path, parts: tuple[str, ...] = ()) -> Measured:
    """Every part of a build of one plan (or those named), each made once, after its modules have been imported."""
    from jackstay.outputs.build import PARTS, files_of, job_of
    from jackstay.pipeline import check

    job = job_of(check(root), False, PAPERS)
    files_of(job_of(check(DEMO), False, PAPERS), parts or PARTS)  # imports, and tables that are made once
    seconds: dict[str, float] = {}
    sizes: dict[str, int] = {}
    for name in parts or PARTS:
        gc.collect()
        start = time.process_time()
        made = files_of(job, [name])
        seconds[name] = time.process_time() - start
        sizes[name] = sum(map(len, made.values()))
    return Measured(sum(len(view.flow.steps) for view in job.views), seconds, sizes)


def growth(small: Measured, large: Measured, part: str) -> float:
    """The exponent of the time over the steps; none to speak of where the small plan takes under a millisecond."""
    if small.seconds[part] < 0.001:
        return math.nan
    return math.log(large.seconds[part] / small.seconds[part]) / math.log(large.steps / small.steps)


def table(demo: Measured, small: Measured, large: Measured) -> list[str]:
    rows = [["part", "demo ms", f"{small.steps} steps ms", f"{large.steps} steps ms", "growth", "demo kB"]]
    for name in demo.seconds:
        shown = [f"{one.seconds[name] * 1000:.0f}" for one in (demo, small, large)]
        exponent = growth(small, large, name)
        told = "-" if math.isnan(exponent) else f"{exponent:.2f}"
        rows.append([name, *shown, told, f"{demo.bytes[name] / 1000:.0f}"])
    sums = [f"{sum(one.seconds.values()) * 1000:.0f}" for one in (demo, small, large)]
    rows.append(["all", *sums, "", f"{sum(demo.bytes.values()) / 1000:.0f}"])
    widths = [max(len(row[at]) for row in rows) for at in range(len(rows[0]))]
    return ["  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)) for row in rows]


def cold(times: int) -> tuple[float, float]:
    """Least wall seconds of a whole ``jackstay build`` of the demo, all outputs: with all processors, and with one."""
    least = [math.inf, math.inf]
    with tempfile.TemporaryDirectory() as folder:
        env = os.environ | {"PYTHONPYCACHEPREFIX": f"{folder}/bytecode", "JACKSTAY_CACHE": f"{folder}/cache"}
        command = [sys.executable, "-m", "jackstay", "build", str(DEMO), "-o", f"{folder}/out"]
        for _ in range(times + 1):  # the first one fills the caches
            for at, alone in enumerate(([], ["taskset", "-c", "0"])):
                start = time.perf_counter()
                subprocess.run([*alone, *command], env=env, cwd=ROOT, stdout=subprocess.DEVNULL, check=True)
                least[at] = min(least[at], time.perf_counter() - start)
    return least[0], least[1]


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.outputs", description="How long a build takes.")
    parser.add_argument("--cold", type=int, metavar="TIMES", help="whole cold builds of the demo instead")
    args = parser.parse_args(arguments)
    if args.cold:
        both, one = cold(args.cold)
        print(f"cold build of the demo, all outputs: {both:.2f} s; on one processor {one:.2f} s")
        return 0
    with tempfile.TemporaryDirectory() as folder:
        grown = [measure(write_campaign(Path(folder) / str(steps), steps)) for steps in SIZES]
    print("\n".join(table(measure(DEMO), *grown)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
