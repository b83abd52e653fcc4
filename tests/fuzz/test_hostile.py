"""Files that nobody writes by accident, through the command line: exit code 0, 1 or 2, never a traceback."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

Maker = Callable[[Path], None]


def _bytes(data: bytes | str) -> Maker:
    raw = data.encode() if isinstance(data, str) else data
    return lambda folder: _write(folder, raw)


def _write(folder: Path, raw: bytes) -> None:
    (folder / "x.stay").write_bytes(raw)


def _circle(folder: Path) -> None:
    for at in range(300):
        (folder / f"x{at or ''}.stay").write_text(f"use x{(at + 1) % 300 or ''}\n")


def _chain(folder: Path) -> None:
    """Two thousand modules, each used by the one before."""
    for at in range(2000):
        (folder / f"x{at or ''}.stay").write_text(f"use x{at + 1}\n" if at < 1999 else "use suited\n")


def _folder(folder: Path) -> None:
    (folder / "x.stay").mkdir()


def _unreadable(folder: Path) -> None:
    _write(folder, b"use suited\n")
    (folder / "x.stay").chmod(0)


def _link_in_a_circle(folder: Path) -> None:
    (folder / "x.stay").symlink_to("x.stay")


def _link_outside(folder: Path) -> None:
    _write(folder, b"use away\n")
    (folder / "away.stay").symlink_to("/etc/passwd")


def _pipe(folder: Path) -> None:
    _write(folder, b"use pipe\n")
    os.mkfifo(folder / "pipe.stay")


_SITE = """\
use suited
location porch : worksite
actor wren : suited, at porch
item reel-w : reel, length 40 m, user wren, from porch to wren
"""
_TRIP = "excursion long\n  crew wren\n  starts as x\n"


def _many(count: int, line: str) -> str:
    """The line for 0, 1, … with ``@`` standing for the number and ``@+`` for the next."""
    return "".join(line.replace("@+", str(at + 1)).replace("@", str(at)) for at in range(count))


_TASKS = _SITE + _TRIP + _many(50_000, "  task t@ : required\n")
_BLOCK = "  task t : required\n    wren\n"
_MARKS = _SITE + _TRIP + _BLOCK + _many(2_000, "      look round porch, says m@, on m@+\n")
_KINDS = _many(2_000, "kind k@ is k@+\n") + "kind k2000 is item\n"
_LETS = "use units\n" + _many(5_000, "let v@ = v@+\n") + "let v5000 = 1 kg\n"
_UNITS = "use units\nunit u0 = 1 kg\n" + _many(3_000, "unit u@+ = 1 u@\n")
_BAGS = (
    "use suited\nlocation porch : worksite\n" + _many(3_000, "item b@ : bag, in b@+\n") + "item b3000 : bag, on porch\n"
)
_TWICE = _many(40, "routine r@ go, WHO: suited\n  r@+ go, WHO\n  r@+ go, WHO\n")
_LAST = "routine r40 go, WHO: suited\n  WHO\n    look round porch\n"
_ROUTINES = _SITE + _TWICE + _LAST + _TRIP + "  task t : required\n    r0 go, wren\n"

_NO_SIZE = "use units\nunit nil = 0 m\nunit wide = m / nil\nlet x = 1 kg/nil\n"

# name: what is made, exit code
CASES: dict[str, tuple[Maker, int]] = {
    "a line of ten megabytes": (_bytes("a" * 10_000_000), 1),
    "ten thousand levels": (_bytes("".join(" " * depth + "a\n" for depth in range(10_000))), 1),
    "a circle of modules": (_circle, 1),
    "a chain of modules": (_chain, 0),
    "paths that escape": (_bytes("use ../x\nuse /etc/passwd\nuse a/../../b\nuse c:/d\nuse ~/e\n"), 1),
    "a name of 100,000 letters": (_bytes("item " + "a" * 100_000 + " : bag\n"), 1),
    "a NUL": (_bytes(b"use suited\n\0\n"), 1),
    "no UTF-8": (_bytes(b"use suited\n\xff\xfe\n"), 1),
    "a folder": (_folder, 2),
    "an unreadable file": (_unreadable, 2),
    "an empty file": (_bytes(b""), 0),
    "only comments": (_bytes("# nothing\n" * 1000), 0),
    "only a byte order mark": (_bytes(b"\xef\xbb\xbf"), 0),
    "50,000 empty tasks": (_bytes(_TASKS), 0),
    "5,000 broken lines": (_bytes("x ! y\n" * 5_000), 1),
    "2,000 waits for what is later": (_bytes(_MARKS), 1),
    "2,000 kinds in a row": (_bytes(_KINDS), 0),
    "5,000 values in a row": (_bytes(_LETS), 0),
    "3,000 units in a row": (_bytes(_UNITS), 0),
    "a unit of no size": (_bytes(_NO_SIZE), 1),
    "3,000 bags in each other": (_bytes(_BAGS), 0),
    "routines that double 40 times": (_bytes(_ROUTINES), 1),
    "a million members": (_bytes("use suited\nlocation porch : worksite\nitem p 1 to 1000000 : bag, on porch\n"), 1),
    "a link to itself": (_link_in_a_circle, 2),
    "a link that leads outside": (_link_outside, 1),
    "a pipe": (_pipe, 1),
}
SECONDS = 20


@pytest.mark.parametrize("name", CASES)
def test_command(name: str, tmp_path: Path) -> None:
    make, code = CASES[name]
    if name == "an unreadable file" and os.geteuid() == 0:
        pytest.skip("root reads everything")
    make(tmp_path)
    started = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "jackstay", "check", str(tmp_path / "x.stay"), "--format", "line"],
        capture_output=True, timeout=SECONDS * 3, env={**os.environ, "PYTHONHASHSEED": "0"},
    )  # fmt: skip
    assert b"Traceback" not in done.stderr, done.stderr.decode(errors="replace")[-2000:]
    assert done.returncode == code, (done.stdout[-500:], done.stderr[-500:])
    assert bool(done.stdout) == (code == 1), "findings, and only findings, are told"
    assert bool(done.stderr) == (code == 2)
    assert time.perf_counter() - started < SECONDS
