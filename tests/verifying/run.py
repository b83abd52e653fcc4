"""Certificates of generated plans: python tests/verifying/run.py --long 1000 --odd 1000 [--from SEED]

long: clean plans of tests/benchmarks, of 9 to 360 steps. odd: small plans by chance of tests/oracles, the clean ones.
Each certificate is checked, and so are a few that were tampered with (--tamper of every kind).
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from benchmarks.generate import write_campaign
from oracles.generate import plan_from
from oracles.writing import text_of
from verifying.tampering import tampered

from jackstay.checker.checker import Checker
from jackstay.outputs.certificate import certificate
from jackstay.pipeline import check


def judged(plan: Path, name: str, tamper: int, seed: int) -> tuple[int, int, int]:
    """(clean, tampered with, mistakes of the checker or the certificate); mistakes are printed."""
    checked = check(plan)
    if checked.failed:
        return 0, 0, 0
    one = certificate(checked)
    verdict = Checker().verify(one, plan)
    wrong = tries = 0
    if not verdict.startswith("OK"):
        print(f"{name}: not accepted: {verdict}")
        wrong += 1
    for what, other in tampered(json.loads(one), seed, tamper):
        tries += 1
        if Checker().verify(json.dumps(other).encode(), plan).startswith("OK"):
            print(f"{name}: accepted: {what}")
            wrong += 1
    return 1, tries, wrong


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    for option, default in (("--long", 1000), ("--odd", 1000), ("--from", 1000), ("--tamper", 0)):
        parser.add_argument(option, type=int, default=default)
    args = vars(parser.parse_args())
    clean = tries = wrong = 0
    seed = args["from"]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for i in range(args["long"]):
            a, b, c = judged(write_campaign(folder, 9 * (1 + i % 40), seed + i), f"long {seed + i}", args["tamper"], i)
            clean, tries, wrong = clean + a, tries + b, wrong + c
        plan = folder / "plan.stay"
        while clean < args["long"] + args["odd"]:
            plan.write_text(text_of(plan_from(seed)), encoding="utf-8")
            a, b, c = judged(plan, f"odd {seed}", args["tamper"], seed)
            clean, tries, wrong, seed = clean + a, tries + b, wrong + c, seed + 1
    print(f"{clean} clean plans, {tries} tampered certificates, {wrong} mistakes")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
