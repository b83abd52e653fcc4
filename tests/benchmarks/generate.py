"""Campaigns of any length for the benchmarks: two crew carry gear up and down a truss, calling as they go.

Every line of choreography is different from most others (marks are fresh, gear and places vary), so no cache of
equal lines flatters the parser. The plans are clean: who works for weeks without coming in draws on stores that last
for weeks.
"""

from __future__ import annotations

import random
from pathlib import Path

PLACES = 24
GEAR = 60
# The crew of the library with a year of everything, at the same drains.
PORTER = """kind porter is suited
  supply oxygen 800 kg, reserve 1 kg, drains effort * 0.0694 g/kJ
  supply scrubber 1000 kg, reserve 1 kg, drains effort * 0.0864 g/kJ
  supply water 5000 kg, reserve 5 kg, drains (effort + 100 W) / (2838 kJ/kg)
  supply battery 600000 Wh, reserve 1000 Wh, drains 60 W
"""


def write_campaign(folder: Path, steps: int, seed: int = 1) -> Path:
    """Write ``site.stay`` and ``long.stay`` with about this many printed steps; returns the root file."""
    where = _write_site(folder)
    rng = random.Random(seed)
    plan = [
        "use units",
        "use suited",
        "use cabin",
        "use site",
        "",
        'excursion long "Carry"',
        "  crew wren, teal",
        "  starts as site",
        "",
    ]
    done = call = 0
    moved: set[int] = set()
    while done < steps:
        plan.append(f"  task t{call} : required")
        plan.append("    wren")
        part = rng.randrange(GEAR)
        here, there = where[part], rng.randrange(PLACES)
        mark = f"m{call}"
        wait = f", on n{call - 1}" if call else ""
        plan[-1] = f"    wren at bay{here}{wait}"
        plan.append(f"      take part{part} from rail{here} [{rng.randint(1, 9)} min]")
        plan.append(f"      inspect rail{here} [{rng.randint(2, 5)} min, 1 to {rng.randint(6, 12)}]")
        plan.append(f"    wren at bay{there}")
        plan.append(f"      put part{part} on rail{there} [{rng.randint(1, 9)} min], says {mark}")
        further = rng.randrange(PLACES)
        plan.append(f"    teal at bay{there}, on {mark}")
        plan.append(f"      take part{part} from rail{there}")
        plan.append(f"    teal at bay{further}")
        plan.append(f"      put part{part} on rail{further} [{rng.randint(1, 9)} min], says n{call}")
        where[part] = further
        moved.add(part)
        done += 9  # five written steps and four inserted moves, nearly always
        call += 1
    names = ", ".join(f"part{i}" for i in sorted(moved))
    plan.append(f"  left outside: {names}")
    root = folder / "long.stay"
    root.write_text("\n".join(plan) + "\n", encoding="utf-8")
    return root


def _write_site(folder: Path) -> dict[int, int]:
    """The place and the gear; returns the place of each part."""
    folder.mkdir(parents=True, exist_ok=True)
    site = ["use units", "use suited", "use cabin", "", "kind shelf is fixture", "  holds any load by clip", ""]
    site += [*PORTER.splitlines(), ""]
    site.append("location truss")
    for i in range(PLACES):
        site.append(f"  bay{i} : worksite, room 2")
        site.append(f"  rail{i} : shelf, within reach of bay{i}")
    site += [f"path bay{i} to bay{i + 1} 4 m" for i in range(PLACES - 1)]
    site.append("location hub")
    site.append("  lock : airlock, hatch open, normally open, air empty, normally empty")
    site += ["actor wren, teal : porter, at bay0"]
    for who in ("wren", "teal"):
        site.append(f"item reel-{who} : reel, length 200 m, user {who}, from bay0 to {who}")
    where = {i: i % PLACES for i in range(GEAR)}
    site += [f"item part{i} : gear, mass 1 kg, on rail{where[i]}" for i in range(GEAR)]
    (folder / "site.stay").write_text("\n".join(site) + "\n", encoding="utf-8")
    return where


def write_droppable(folder: Path, count: int, required: bool = False) -> Path:
    """``site.stay`` and ``extra.stay``: as many get-aheads as required tasks between them. A get-ahead takes a part,
    looks round, puts it back and goes home, and its call is waited for: who drops it hands on the order and changes
    nothing else.
    required: the same plan, of which nothing may be dropped."""
    where = _write_site(folder)
    plan = ["use units", "use suited", "use cabin", "use site", "", "excursion extra", "  crew wren, teal"]
    plan += ["  starts as site", ""]
    for i in range(count):
        part, here = i, where[i]
        there = (here + 3) % PLACES
        plan.append(f"  task must{i} : required")
        plan.append(f"    wren at bay{here}" + (f", on extra{i - 1}.seen{i - 1}" if i else ""))
        plan.append(f"      take part{part} from rail{here} [{1 + i % 7} min]")
        plan.append(f"    wren at bay{there}")
        plan.append(f"      put part{part} on rail{there}, says m{i}")
        plan.append(f"  task extra{i} : {'required' if required else 'get-ahead'}")
        plan.append(f"    teal at bay{there}, on must{i}.m{i}")
        plan.append(f"      take part{part} from rail{there}")
        plan.append(f"      inspect rail{there} [{2 + i % 5} min]")
        plan.append(f"      put part{part} on rail{there}, says seen{i}")
        plan.append("    teal at bay0")
    plan.append("  left outside: " + ", ".join(f"part{i}" for i in range(count)))
    root = folder / "extra.stay"
    root.write_text("\n".join(plan) + "\n", encoding="utf-8")
    return root
