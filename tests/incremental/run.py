"""As many random edits as you like, each compared with a cold check.

python -m tests.incremental.run --edits 1000
python -m tests.incremental.run --edits 300 --campaign demo --seed 7
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from incremental.campaigns import CAMPAIGNS
from incremental.comparing import differences


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.incremental.run", description=__doc__)
    parser.add_argument("--edits", type=int, default=1000, help="of each campaign (default: 1000)")
    parser.add_argument("--campaign", choices=sorted(CAMPAIGNS), help="only this one")
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args(arguments)
    wrong = 0
    for campaign in [args.campaign] if args.campaign else sorted(CAMPAIGNS):
        with tempfile.TemporaryDirectory() as folder:
            for told in differences(Path(folder), campaign, args.seed, args.edits):
                wrong += 1
                print(told, flush=True)
        print(f"{campaign}: {args.edits} edits from seed {args.seed}, {wrong} differences so far", flush=True)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
