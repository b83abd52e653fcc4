"""Every form gives the same bytes each time, whatever order sets and dictionaries happen to have."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
CODE = """\
import contextlib, io, sys
from hashlib import sha256
from jackstay.commands.main import main
for form in ("text", "line", "json", "sarif", "github", "junit"):
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        code = main(["check", "mistakes", "--format", form, "--today", "2026-01-01"])
    assert code == 1 and sys.argv[1] not in out.getvalue(), form
    print(form, sha256(out.getvalue().encode()).hexdigest())
"""


def test_the_same_bytes_and_no_absolute_path() -> None:
    def run(seed: str) -> str:
        done = subprocess.run(
            [sys.executable, "-c", CODE, str(ROOT)],
            cwd=ROOT / "examples",
            env={**os.environ, "PYTHONHASHSEED": seed, "COLUMNS": "90"},
            capture_output=True,
            text=True,
            check=True,
        )
        return done.stdout

    first = run("1")
    assert len(first.splitlines()) == 6
    assert run("2") == first
