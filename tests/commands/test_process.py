"""The command as a process: its start, a reader that leaves, a narrow encoding."""

from __future__ import annotations

import os
import subprocess
import sys
from importlib.metadata import version


def run(*arguments: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "jackstay", *arguments], capture_output=True, env={**os.environ, **environment}
    )


def test_version() -> None:
    done = run("--version")
    assert (done.returncode, done.stdout.decode().strip()) == (0, f"jackstay {version('jackstay')}")


def test_a_narrow_encoding_is_served() -> None:
    done = run("explain", "used-twice", PYTHONIOENCODING="ascii")
    assert done.returncode == 0 and done.stdout.isascii() and not done.stderr


def test_a_reader_that_leaves_is_no_fault_of_ours() -> None:
    command = [sys.executable, "-m", "jackstay", "explain"]
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(command, stdout=writer, stderr=subprocess.PIPE)
    os.close(writer)
    assert done.stderr == b""


def test_help_fits_a_terminal() -> None:
    for verb in ([], ["check"], ["explain"], ["trace"], ["build"], ["new"]):
        done = run(*verb, "--help", COLUMNS="80")
        assert done.returncode == 0
        assert max(map(len, done.stdout.decode().splitlines())) <= 80
