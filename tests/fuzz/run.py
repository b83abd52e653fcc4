"""Spoil plans for some minutes and report what the compiler could not take, each cause once, with a small project.

    python -m tests.fuzz.run --minutes 10 --from 0

Exit code 1 when something was found. Every seed makes the same project each time: ``--from SEED --count 1`` repeats it.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
import traceback
from pathlib import Path

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from fuzz.judge import judge, smaller
from fuzz.mutate import spoilt
from fuzz.plans import Project, lines_of, projects


def cause(project: Project, folder: Path) -> str:
    """Where and how the compiler fails on a project, or nothing. Equal causes are taken for one."""
    try:
        took = judge(project, folder)
    except Exception as error:
        frames = [frame for frame in traceback.extract_tb(error.__traceback__) if "fuzz" not in frame.filename]
        # A recursion without end stops anywhere in its round: the place says nothing, the sort does.
        where = f" {Path(frames[-1].filename).name}:{frames[-1].lineno}" if frames else ""
        what = str(error).split("\n")[0][:60] if type(error).__name__ in ("UnknownRule", "AssertionError") else ""
        return f"{type(error).__name__}{'' if isinstance(error, RecursionError) else where} {what}".strip()
    return "slower than 5 s of processor time" if took > 5 else ""


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--minutes", type=float, default=10)
    parser.add_argument("--from", dest="first", type=int, default=0)
    parser.add_argument("--count", type=int, default=0, help="stop after so many projects")
    args = parser.parse_args()
    starts = projects()
    foreign = lines_of(starts)
    ends = time.monotonic() + args.minutes * 60
    known: dict[str, int] = {}
    seed = args.first
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        while time.monotonic() < ends and (not args.count or seed < args.first + args.count):
            chance = random.Random(seed)
            project = spoilt(chance.choice(starts), chance, foreign)
            found = cause(project, folder)
            if found:
                known[found] = known.get(found, 0) + 1
            if found and known[found] == 1:
                print(f"seed {seed}, {project.name}: {found}", flush=True)
                small = smaller(project, lambda one, found=found: cause(one, folder) == found)  # type: ignore[misc]
                for file, text in small.files.items():
                    if text.strip():
                        print(f"--- {file}\n{text}", flush=True)
            seed += 1
    print(f"{seed - args.first} projects; failures: {known or 'none'}")
    return 1 if known else 0


if __name__ == "__main__":
    sys.exit(main())
