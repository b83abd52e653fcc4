"""How long a check takes after an edit, in a session that has checked the plan before, against a cold check of the same
text. Both give the same bytes, or the run ends with an error.

    python -m tests.benchmarks.rechecks              # four campaigns of 10,000 steps, some minutes
    python -m tests.benchmarks.rechecks --steps 2000 # smaller ones
"""

from __future__ import annotations

import argparse
import gc
import re
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from jackstay.keeping.session import Session
from jackstay.pipeline import Checked, check
from jackstay.report import json
from jackstay.syntax import parsing
from tests.benchmarks.generate_chain import write_chain

EXCURSIONS = 20
Lines = list[str]


def _next(lines: Lines, pattern: str, start: int) -> int:
    return next(n for n in range(start, len(lines)) if re.search(pattern, lines[n]))


def edits(lines: Lines) -> Iterator[tuple[str, Lines]]:
    """One-line edits in the middle, in words, each of the text as it was."""
    middle = len(lines) // 2
    looks, takes = _next(lines, "inspect.*min", middle), _next(lines, "take part", middle)
    puts = _next(lines, r"put part\d+ on rail\d+ \[\d+ min\], says n", middle)
    yield "another duration", [*lines[:looks], re.sub(r"\[.*?\]", "[13 min]", lines[looks]), *lines[looks + 1 :]]
    yield "a line more", [*lines[:looks], lines[looks], *lines[looks:]]
    yield "a comment above all", ["# a word", *lines]
    yield "a verb misspelt", [*lines[:looks], lines[looks].replace("inspect", "inspct"), *lines[looks + 1 :]]
    yield "a bracket too many", [*lines[:looks], lines[looks].replace("[", "[["), *lines[looks + 1 :]]
    yield "a step left out", [*lines[:takes], *lines[takes + 1 :]]
    yield "put elsewhere", [*lines[:puts], re.sub(r"on rail\d+", "on rail3", lines[puts]), *lines[puts + 1 :]]


def seconds(work: Callable[[], Checked]) -> tuple[float, Checked]:
    gc.collect()
    start = time.process_time()
    found = work()
    return time.process_time() - start, found


def as_bytes(found: Checked) -> bytes:
    return json.render(found.diagnostics, len(found.sources), len(found.undecided)).encode()


def measure(root: Path, edited: Path, others: dict[str, tuple[Path, str, str]], times: int) -> list[dict[str, Any]]:
    """A row for each edit: the least seconds of several runs, there and back. edited: the file of the one-line edits.
    others: edits elsewhere: file, text, what it becomes."""
    session, text = Session(root), edited.read_text(encoding="utf-8")
    session.check()
    every = [(name, edited, "\n".join(lines)) for name, lines in edits(text.split("\n"))]
    for name, (path, before, after) in others.items():
        every.append((name, path, path.read_text(encoding="utf-8").replace(before, after)))
    rows = []
    for name, path, changed in every:
        plain = path.read_text(encoding="utf-8")
        warm, back, cold = [], [], []
        for _ in range(times):
            path.write_text(changed, encoding="utf-8")
            took, found = seconds(session.check)
            warm.append(took)
            parsing.forget()
            took, fresh = seconds(lambda: check(root))
            cold.append(took)
            if as_bytes(found) != as_bytes(fresh):
                raise SystemExit(f"{name}: the findings are not those of a cold check")
            path.write_text(plain, encoding="utf-8")
            back.append(seconds(session.check)[0])
        rows.append(
            {"edit": name, "warm": min(warm), "back": min(back), "cold": min(cold), "findings": len(found.diagnostics)}
        )
    return rows


def campaigns(steps: int) -> Iterator[tuple[str, list[dict[str, Any]]]]:
    for name, excursions, apart, extras in (
        ("one file", EXCURSIONS, False, 0),
        ("a file for each", EXCURSIONS, True, 0),
        ("with two get-aheads in each", EXCURSIONS, False, 2),
        ("one excursion", 1, False, 0),
    ):
        with tempfile.TemporaryDirectory() as place:
            folder = Path(place)
            root = write_chain(folder, excursions, steps // excursions, apart, extras)
            edited = folder / f"out{EXCURSIONS // 2}.stay" if apart else root
            longer = {"a way in the site": (folder / "site.stay", "to bay1 4 m", "to bay1 5 m")}
            rows = measure(root, edited, longer, 3)
        yield f"{excursions} excursions of {steps // excursions} steps, {name}", rows


def table(rows: list[dict[str, Any]]) -> str:
    lines = [f"{'edit':>22}  {'cold ms':>8}  {'again ms':>8}  {'back ms':>8}  {'ratio':>6}  findings"]
    for row in rows:
        cold, warm, back = (row[name] * 1000 for name in ("cold", "warm", "back"))
        ratio = row["warm"] / row["cold"]
        lines.append(f"{row['edit']:>22}  {cold:8.1f}  {warm:8.1f}  {back:8.1f}  {ratio:6.3f}  {row['findings']:8}")
    return "\n".join(lines)


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.rechecks", description=__doc__)
    parser.add_argument("--steps", type=int, default=10_000, help="of each campaign (default: 10000)")
    args = parser.parse_args(arguments)
    for name, rows in campaigns(args.steps):
        print(f"{name}\n{table(rows)}\n", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
