"""How the way home grows with the plan: both crew outside, carrying gear up and down a truss, every moment judged.

    python -m tests.benchmarks.way_home            # 1,000 and 10,000 steps
    python -m tests.benchmarks.way_home 1000 4000

The ratio that counts is seconds a step at the larger size over seconds a step at the smaller one: near 1 is linear.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from pathlib import Path

PLACES = 24


def write_campaign(folder: Path, steps: int, seed: int = 1) -> Path:
    """``long.stay`` and ``site.stay``, with about this many printed steps; returns the root file. From the lock to the
    porch on a strap, from there on by one reel as far as the twelfth bay and by another beyond it."""
    folder.mkdir(parents=True, exist_ok=True)
    half = PLACES // 2
    site = ["use units", "use suited", "", "kind shelf is fixture", "  holds any load by clip", "", "location truss"]
    for i in range(PLACES):
        site += [f"  bay{i} : worksite, room 2", f"  rail{i} : shelf, within reach of bay{i}"]
    site += ["location hub", "  lock : airlock, hatch open, normally open, air empty, normally empty"]
    site.append("path lock to bay0 3 m, on a strap of lock")
    for i in range(PLACES - 1):
        site.append(f"path bay{i} to bay{i + 1} 4 m, on a reel of bay{0 if i < half else half}")
    site.append("actor wren, teal : suited, at lock")
    for who in ("wren", "teal"):
        site.append(f"item strap-{who} : strap, length 5 m, user {who}, from lock to {who}")
        for start in (0, half):
            site.append(f"item reel{start}-{who} : reel, length 60 m, user {who}, from bay{start} to bay{start}")
    site += [f"item part{i} : gear, mass 1 kg, on rail{i}" for i in range(PLACES)]
    (folder / "site.stay").write_text("\n".join(site) + "\n", encoding="utf-8")
    rng = random.Random(seed)
    plan = [
        "use units",
        "use suited",
        "use site",
        "",
        'excursion long "Carry"',
        "  crew wren, teal",
        "  starts as site",
    ]
    plan += ["  clock from suit power, limit 2000 h", "  task carry : required"]
    where = {i: i for i in range(PLACES)}
    done = 0
    while done < steps:
        for who, gear in (("wren", range(0, PLACES, 2)), ("teal", range(1, PLACES, 2))):
            part, there = rng.choice(gear), rng.randrange(PLACES)
            plan.append(f"    {who} at bay{where[part]}")
            plan.append(f"      take part{part} from rail{where[part]} [{rng.randint(1, 9)} min]")
            plan.append(f"      inspect rail{where[part]} [{rng.randint(2, 5)} min]")
            plan.append(f"    {who} at bay{there}")
            plan.append(f"      put part{part} on rail{there} [{rng.randint(1, 9)} min]")
            where[part] = there
            done += 6
    plan += ["    wren at lock", "    teal at lock"]
    root = folder / "long.stay"
    root.write_text("\n".join(plan) + "\n", encoding="utf-8")
    return root


def measure(steps: int, coarse: bool, runs: int = 3) -> tuple[int, float, int]:
    """Steps as flown, the least seconds of one account of them, and how many searches that took. coarse: the quick
    account that a check begins with; the other one it makes only where that does not clear the plan."""
    from jackstay.pipeline import check
    from jackstay.timing.home import way_home
    from jackstay.timing.home_moments import Sweep
    from jackstay.timing.schedule import schedule

    with tempfile.TemporaryDirectory() as folder:
        checked = check(write_campaign(Path(folder), steps))
    assert checked.flow is not None
    (flow,) = checked.flow.excursions
    times = schedule(flow)
    assert times is not None
    least = float("inf")
    for _ in range(runs):
        start = time.process_time()
        account = way_home(checked.world, flow, times, coarse=coarse)
        least = min(least, time.process_time() - start)
        assert all(tally.tightest is not None for tally in account.tallies.values())
    sweep = Sweep(checked.world, flow, times, coarse)
    for _ in sweep.stretches():
        pass
    return len(flow.steps), least, sweep.state.asked


def main(sizes: list[int]) -> None:
    print(f"{'account':<8} {'steps':>8} {'seconds':>9} {'us/step':>9} {'searches':>9}")
    for coarse in (True, False):
        rates = []
        for size in sizes:
            steps, seconds, asked = measure(size, coarse)
            rates.append(seconds / steps)
            name = "quick" if coarse else "exact"
            print(f"{name:<8} {steps:>8} {seconds:>9.3f} {1e6 * seconds / steps:>9.1f} {asked:>9}")
        print(f"growth a step: {rates[-1] / rates[0]:.2f}")


if __name__ == "__main__":
    main([int(one) for one in sys.argv[1:]] or [1_000, 10_000])
