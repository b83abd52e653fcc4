"""``jackstay check --watch`` as a user has it: a process, files that are saved, Ctrl-C."""

from __future__ import annotations

import json
import os
import queue
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import IO

import pytest
from incremental.campaigns import CAMPAIGNS
from incremental.comparing import write

PATIENCE = 60.0  # seconds until a test gives up; nothing here asserts how fast anything is


class Watcher:
    """A running command, its lines as they come."""

    def __init__(self, folder: Path, *arguments: str) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "jackstay", "check", "--watch", *arguments],
            cwd=folder,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            encoding="utf-8",
        )
        self.out: queue.Queue[str] = queue.Queue()
        self.err: queue.Queue[str] = queue.Queue()
        for stream, lines in ((self.process.stdout, self.out), (self.process.stderr, self.err)):
            assert stream is not None
            threading.Thread(target=_pump, args=(stream, lines), daemon=True).start()

    def until(self, words: str, lines: queue.Queue[str] | None = None) -> list[str]:
        """The lines up to one that holds these words."""
        found: list[str] = []
        end = time.monotonic() + PATIENCE
        while not found or words not in found[-1]:
            try:
                found.append((self.out if lines is None else lines).get(timeout=max(0.1, end - time.monotonic())))
            except queue.Empty:
                raise AssertionError(f"no {words!r} after {found}") from None
        return found

    def nothing(self, seconds: float) -> None:
        """No further line within so long."""
        with pytest.raises(queue.Empty):
            self.out.get(timeout=seconds)

    def leave(self) -> int:
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(PATIENCE)


def _pump(stream: IO[str], lines: queue.Queue[str]) -> None:
    for line in stream:
        lines.put(line.rstrip("\n"))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write(tmp_path, CAMPAIGNS["several-files"]()[1])
    return tmp_path


@pytest.fixture
def started(folder: Path) -> Iterator[list[Watcher]]:
    watchers: list[Watcher] = []
    yield watchers
    for watcher in watchers:
        watcher.process.kill()
        watcher.process.wait()


def _edit(path: Path, before: str, after: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert before in text
    path.write_text(text.replace(before, after), encoding="utf-8")


def test_each_save_gives_a_full_report(folder: Path, started: list[Watcher]) -> None:
    watcher = Watcher(folder, "--today", "2027-01-01")
    started.append(watcher)
    first = watcher.until("5 files")
    assert first[0].startswith("-- ") and "Ctrl-C ends" in first[0]

    _edit(folder / "part2.stay", "take drum", "take dram")
    told = watcher.until("5 files")
    assert "part2.stay changed: checked again" in told[0]
    assert any("dram" in line for line in told[1:])

    _edit(folder / "part2.stay", "take dram", "take drum")
    again = watcher.until("5 files")
    assert again[1:] == first[1:]
    assert watcher.leave() == 0
    assert watcher.err.empty()


def test_it_leaves_with_what_the_last_check_came_to(folder: Path, started: list[Watcher]) -> None:
    watcher = Watcher(folder, "all.stay")
    started.append(watcher)
    watcher.until("5 files")
    _edit(folder / "part1.stay", "put lamp on deck-rail", "put horn on deck-rail")
    watcher.until("5 files")
    assert watcher.leave() == 1


def test_a_file_that_is_touched_has_not_changed(folder: Path, started: list[Watcher]) -> None:
    watcher = Watcher(folder)
    started.append(watcher)
    watcher.until("5 files")
    os.utime(folder / "part1.stay")
    path = folder / "part3.stay"
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    watcher.nothing(2.0)
    assert watcher.leave() == 0


def test_an_edit_of_equal_size_and_time_is_seen(folder: Path, started: list[Watcher]) -> None:
    """A clock of files that stands still for a moment hides nothing."""
    watcher = Watcher(folder)
    started.append(watcher)
    path = folder / "part1.stay"
    watcher.until("5 files")
    now = time.time_ns() + 500_000_000
    _edit(path, "[4 min]", "[5 min]")
    os.utime(path, ns=(now, now))
    watcher.until("5 files")
    _edit(path, "[5 min]", "[6 min]")
    os.utime(path, ns=(now, now))
    assert "part1.stay changed" in watcher.until("5 files")[0]
    assert watcher.leave() == 0


def test_deleted_renamed_and_half_saved_files(folder: Path, started: list[Watcher]) -> None:
    watcher = Watcher(folder, "all.stay")
    started.append(watcher)
    watcher.until("5 files")

    (folder / "part2.stay").rename(folder / "aside")
    assert any("part2" in line for line in watcher.until("4 files")[1:])
    (folder / "aside").rename(folder / "part2.stay")
    watcher.until("5 files")

    root = folder / "all.stay"
    whole = root.read_bytes()
    root.unlink()
    watcher.until("all.stay changed: checked again")
    assert "all.stay does not exist" in watcher.until("does not exist", watcher.err)[0]
    root.write_bytes(whole[: len(whole) // 2])
    watcher.until("5 files")
    root.write_bytes(whole)
    watcher.until("5 files")

    (folder / "part1.stay").write_bytes(b"\xff\x00 no text")
    watcher.until("4 files")
    write(folder, CAMPAIGNS["several-files"]()[1])
    watcher.until("5 files")
    assert watcher.leave() == 0


def test_data_stays_data(folder: Path, started: list[Watcher]) -> None:
    """With --format json the output holds one document after the other, and nothing else."""
    watcher = Watcher(folder, "--format", "json")
    started.append(watcher)
    first = "\n".join(watcher.until("}", _whole(watcher)))
    assert json.loads(first)["counts"]["clean"] is True
    _edit(folder / "part1.stay", "put lamp on deck-rail", "put horn on deck-rail")
    second = "\n".join(watcher.until("}", _whole(watcher)))
    assert json.loads(second)["counts"]["errors"] > 0
    watcher.until("part1.stay changed", watcher.err)
    assert watcher.leave() == 1


def _whole(watcher: Watcher) -> "queue.Queue[str]":
    """One document as one entry: it ends with a brace at the left edge."""
    lines = []
    while not lines or lines[-1] not in ("}",):
        lines.append(watcher.out.get(timeout=PATIENCE))
        if len(lines) == 1 and lines[0].endswith("}"):
            break
    found: queue.Queue[str] = queue.Queue()
    found.put("\n".join(lines))
    return found


def test_the_settings_are_watched_too(folder: Path, started: list[Watcher]) -> None:
    watcher = Watcher(folder, "all.stay")
    started.append(watcher)
    watcher.until("5 files")
    (folder / "jackstay.toml").write_text("# nothing yet\n", encoding="utf-8")
    assert " jackstay.toml changed" in watcher.until("changed")[0]
    assert watcher.leave() == 0


def test_it_says_what_a_fresh_check_says_to_the_byte(folder: Path) -> None:
    _edit(folder / "part2.stay", "take drum", "take dram")
    command = [sys.executable, "-m", "jackstay", "check", "all.stay", "--today", "2027-01-01"]
    environment = {**os.environ, "PYTHONIOENCODING": "utf-8"}
    fresh = subprocess.run(command, cwd=folder, capture_output=True, env=environment).stdout
    assert not fresh.isascii()  # rulers and quotes: what a narrow stream would not get
    watcher = subprocess.Popen([*command, "--watch"], cwd=folder, stdout=subprocess.PIPE, env=environment)
    assert watcher.stdout is not None
    try:
        head = watcher.stdout.readline()
        assert head.startswith(b"-- ")
        assert watcher.stdout.read(len(fresh)) == fresh
    finally:
        watcher.send_signal(signal.SIGINT)
        watcher.wait(PATIENCE)


@pytest.mark.parametrize("option", ["--certificate", "--write-baseline"])
def test_it_only_looks(folder: Path, option: str) -> None:
    command = [sys.executable, "-m", "jackstay", "check", "--watch", option, "written", "all.stay"]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True)
    assert (done.returncode, done.stdout) == (2, "")
    assert "--watch only looks" in done.stderr
    assert not (folder / "written").exists()
