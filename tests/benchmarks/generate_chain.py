"""Campaigns of many excursions, each from where the one before has ended, for the benchmark of re-checks."""

from __future__ import annotations

import random
from pathlib import Path

from tests.benchmarks.generate import GEAR, PLACES, _write_site


def write_chain(folder: Path, excursions: int, steps: int, apart: bool = False, extras: int = 0) -> Path:
    """``site.stay`` and a campaign of so many excursions of about so many printed steps each; returns its root file.

    apart: a file for each excursion, named like it; else all stand in ``chain.stay``. extras: get-aheads at the end of
    each excursion; such a task looks at things and leaves them as they are."""
    where = _write_site(folder)
    rng = random.Random(excursions * 1_000 + steps)
    uses = ["use units", "use suited", "use cabin", "use site"]
    names = [f"out{k}" for k in range(excursions)]
    listed = ["campaign chain", f"  excursions {', '.join(names)}", ""]
    plan = [*uses, "", *listed] if not apart else [*uses, *(f"use {name}" for name in names), "", *listed]
    for k, name in enumerate(names):
        start = f"  starts as {names[k - 1]} ends" if k else "  starts as site"
        lines = [f'excursion {name} "Carry {k}"', "  crew wren, teal", start, ""]
        lines += [*_tasks(rng, where, steps, extras), ""]
        if apart:
            earlier = [f"use {names[k - 1]}"] if k else []
            (folder / f"{name}.stay").write_text("\n".join([*uses, *earlier, "", *lines]), encoding="utf-8")
        else:
            plan += lines
    root = folder / "chain.stay"
    root.write_text("\n".join(plan), encoding="utf-8")
    return root


def _tasks(rng: random.Random, where: dict[int, int], steps: int, extras: int) -> list[str]:
    lines: list[str] = []
    moved: set[int] = set()
    done = call = 0
    while done < steps:
        part = rng.randrange(GEAR)
        here, there, further = where[part], rng.randrange(PLACES), rng.randrange(PLACES)
        lines.append(f"  task t{call} : required")
        lines.append(f"    wren at bay{here}" + (f", on n{call - 1}" if call else ""))
        lines.append(f"      take part{part} from rail{here} [{rng.randint(1, 9)} min]")
        lines.append(f"      inspect rail{here} [{rng.randint(2, 5)} min, 1 to {rng.randint(6, 12)}]")
        lines.append(f"    wren at bay{there}")
        lines.append(f"      put part{part} on rail{there} [{rng.randint(1, 9)} min], says m{call}")
        lines.append(f"    teal at bay{there}, on m{call}")
        lines.append(f"      take part{part} from rail{there}")
        lines.append(f"    teal at bay{further}")
        lines.append(f"      put part{part} on rail{further} [{rng.randint(1, 9)} min], says n{call}")
        where[part] = further
        moved.add(part)
        done += 9  # five written steps and four inserted moves, nearly always
        call += 1
    for extra in range(extras):
        lines.append(f"  task extra{extra} : get-ahead")
        lines.append(f"    teal at bay{further}" + (f", on n{call - 1}" if not extra else ""))
        lines.append(f"      inspect rail{further} [{4 + extra} min]")
    lines.append("  left outside: " + ", ".join(f"part{part}" for part in sorted(moved)))
    return lines
