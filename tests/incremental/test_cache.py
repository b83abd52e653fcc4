"""``--cache DIR``: the same findings with it as without, whatever happens to the folder."""

from __future__ import annotations

import io
import json
import marshal
import os
import pickle
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from incremental.campaigns import CAMPAIGNS
from incremental.comparing import TODAY, as_bytes, write
from incremental.edits import history

import jackstay.commands.cached as cached
from jackstay.commands.cached import Cache
from jackstay.commands.project import plan_settings
from jackstay.commands.terminal import Terminal
from jackstay.keeping.results import FORM
from jackstay.pipeline import check


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    """A campaign with findings."""
    folder = tmp_path / "plan"
    folder.mkdir()
    root, files = CAMPAIGNS["several-files"]()
    files["part1.stay"] = files["part1.stay"].replace("put lamp on deck-rail", "put horn on deck-rail")
    write(folder, files)
    assert check(folder / root, TODAY).diagnostics
    return folder / root


@pytest.fixture
def cache(tmp_path: Path) -> Cache:
    return Cache(tmp_path / "cache", Terminal(io.StringIO(), io.StringIO()))


@pytest.fixture
def looked(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """The plans that were really checked."""
    done: list[Path] = []
    find = cached.find

    def finds(path: Path, *more: Any) -> Any:
        done.append(path)
        return find(path, *more)

    monkeypatch.setattr(cached, "find", finds)
    return done


def _entry(cache: Cache) -> Path:
    (entry,) = cache.folder.glob("*.result")
    return entry


def _command(folder: Path, cache: Path, *more: str) -> list[str]:
    return [sys.executable, "-m", "jackstay", "check", str(folder), "--format", "json", "--cache", str(cache), *more]


def test_what_was_checked_is_not_checked_again(plan: Path, cache: Cache, looked: list[Path]) -> None:
    cold = as_bytes(check(plan, TODAY))
    assert [as_bytes(cache.check(plan, TODAY)) for _ in range(3)] == [cold] * 3
    assert looked == [plan]


def test_results_of_several_states_are_known(plan: Path, cache: Cache, looked: list[Path]) -> None:
    """Going back and forth between branches, whose files differ under the same root."""
    texts = [plan.with_name("part2.stay").read_text()]
    texts.append(texts[0].replace("[2 min]", "[3 min]"))
    texts.append(texts[0].replace("take drum", "take dram"))
    for text in texts * 3:
        plan.with_name("part2.stay").write_text(text)
        assert as_bytes(cache.check(plan, TODAY)) == as_bytes(check(plan, TODAY))
    assert len(looked) == 3


def test_a_cache_is_good_elsewhere(plan: Path, cache: Cache, looked: list[Path], tmp_path: Path) -> None:
    """The same texts in another folder, as on another machine."""
    cache.check(plan, TODAY)
    plan.parent.rename(tmp_path / "elsewhere")
    other = tmp_path / "elsewhere" / plan.name
    assert as_bytes(cache.check(other, TODAY)) == as_bytes(check(other, TODAY))
    assert looked == [plan]


def test_files_that_appear_and_vanish_are_noticed(plan: Path, cache: Cache) -> None:
    """Also those that a finding only proposes, and those that lie where a module was looked for in vain."""
    root = plan.read_text()
    plan.write_text(root.replace("use part3", "use part-three"))
    for act in (
        lambda: None,
        lambda: plan.with_name("part-tree.stay").write_text("location far\n"),
        lambda: plan.with_name("part-three.stay").write_text(plan.with_name("part3.stay").read_text()),
        lambda: plan.with_name("part-three.stay").unlink(),
        lambda: plan.with_name("part1.stay").unlink(),
        lambda: plan.with_name("part1.stay").mkdir(),
        lambda: plan.unlink(),
    ):
        act()
        for _ in range(2):
            assert as_bytes(cache.check(plan, TODAY)) == as_bytes(check(plan, TODAY))


def test_what_is_allowed_goes_by_the_day(plan: Path, cache: Cache, looked: list[Path]) -> None:
    from datetime import date

    text = plan.read_text()
    rule = check(plan, TODAY).diagnostics[0].rule
    plan.write_text(f'allow {rule} because "known" until 2027-06-01\n{text}')
    part = plan.with_name("part1.stay")
    part.write_text(f'allow {rule} because "known" until 2027-06-01\n{part.read_text()}')
    days = [date(2027, 5, 31), date(2027, 6, 1), date(2027, 6, 2)]
    reports = [as_bytes(cache.check(plan, day)) for day in days]
    assert reports == [as_bytes(check(plan, day)) for day in days]
    assert reports[1] != reports[2]
    assert looked == [plan]


def test_the_project_s_settings_count(plan: Path, cache: Cache, looked: list[Path]) -> None:
    rule = check(plan, TODAY).diagnostics[0].rule
    settings = plan.with_name("jackstay.toml")
    for level in ("warning", "error", "note", "warning"):
        settings.write_text(f'[severity]\n{rule} = "{level}"\n')
        warm = cache.check(plan, TODAY, plan_settings(plan, TODAY, plan.parent))
        assert as_bytes(warm) == as_bytes(check(plan, TODAY, plan_settings(plan, TODAY, plan.parent)))
    assert len(looked) == 3


def test_another_compiler_takes_nothing(plan: Path, cache: Cache, looked: list[Path]) -> None:
    cache.check(plan, TODAY)
    cache.compiler = "another"
    assert as_bytes(cache.check(plan, TODAY)) == as_bytes(check(plan, TODAY))
    assert len(looked) == 2


@pytest.mark.parametrize(("campaign", "seed"), [("one-file", 21), ("several-files", 22)])
def test_random_edits(tmp_path: Path, cache: Cache, looked: list[Path], campaign: str, seed: int) -> None:
    root, files = CAMPAIGNS[campaign]()
    folder = tmp_path / "plan"
    folder.mkdir()
    states = history(files, random.Random(seed), 24)
    for state in states:
        write(folder, state)
        assert as_bytes(cache.check(folder / root, TODAY)) == as_bytes(check(folder / root, TODAY))
    assert 0 < len(looked) < len(states)


# --- poisoned --------------------------------------------------------------------------------------------------------


def _summed(entry: bytes, body: bytes, form: str = FORM) -> bytes:
    """An entry of the same name with this body, and with the right sum."""
    return b" ".join([form.encode(), entry.split()[1], sha256(body).hexdigest().encode()]) + b"\n" + body + b"\n"


def _edited(change: Callable[[dict[str, Any]], None]) -> Callable[[bytes], bytes]:
    """An entry whose content is another, and whose sum is right."""

    def poison(entry: bytes) -> bytes:
        results = json.loads(entry.split(b"\n")[1])
        for result in results:
            change(result)
        return _summed(entry, json.dumps(results).encode())

    return poison


class _Bomb:
    def __reduce__(self) -> Any:
        return os.mkdir, ("bombed",)


def _set(name: str, value: Any) -> Callable[[bytes], bytes]:
    return _edited(lambda result: result.__setitem__(name, value))


def _field(index: int, value: Any) -> Callable[[bytes], bytes]:
    """A finding with one field that is none."""
    return _edited(lambda result: result["findings"][0].__setitem__(index, value))


POISONS: dict[str, Callable[[bytes], bytes]] = {
    "empty": lambda entry: b"",
    "noise": lambda entry: random.Random(1).randbytes(5_000),
    "half": lambda entry: entry[: len(entry) // 2],
    "all but the end": lambda entry: entry[:-2],
    "twice": lambda entry: entry + entry,
    "a bit": lambda entry: entry[:300] + bytes([entry[300] ^ 1]) + entry[301:],
    "NULs": lambda entry: b"\0" * len(entry),
    "pickled": lambda entry: pickle.dumps(_Bomb()),
    "pickled, with a sum": lambda entry: _summed(entry, pickle.dumps(_Bomb(), 0).replace(b"\n", b" ")),
    "marshalled": lambda entry: marshal.dumps(compile("open('bombed', 'w')", "", "exec")),
    "another form": lambda entry: _summed(entry, entry.split(b"\n")[1], "jackstay.result/0"),
    "deep": lambda entry: _summed(entry, b"[" * 200_000 + b"]" * 200_000),
    "no list": lambda entry: _summed(entry, b"7"),
    "list of anything": lambda entry: _summed(entry, b'[1, null, "x", [], {}, {"questions": 3}]'),
    "no questions": _set("questions", None),
    "odd questions": _set("questions", [["exec", "print(1)", "x"], 3]),
    "escaping questions": _set("questions", [["read", "../../secret", "x"], ["read", "\0", "y"]]),
    "odd findings": _set("findings", [[1, 2, 3]]),
    "findings of words": _set("findings", "abc"),
    "odd allowances": _set("allowances", [["crowded", "a.stay", 1, 2, ["a.stay", 1, 0, 0], "x", "no day"]]),
    "odd families": _set("judged", [7]),
    "unknown rule": _field(0, "no-such-rule"),
    "unknown severity": _field(1, "fatal"),
    "message of numbers": _field(2, 5),
    "place of words": _field(3, ["part1.stay", "one", 0, 0]),
    "short place": _field(3, ["part1.stay", 1]),
    "labels of words": _field(5, ["abc"]),
    "finding with more": _edited(lambda result: result["findings"][0].append("more")),
    "endless number": lambda entry: _summed(entry, b"[" + b"9" * 100_000 + b"]"),
}


@pytest.mark.parametrize("name", POISONS)
def test_a_poisoned_entry_is_none(
    name: str, plan: Path, cache: Cache, looked: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    cold = as_bytes(check(plan, TODAY))
    cache.check(plan, TODAY)
    entry = _entry(cache)
    whole = entry.read_bytes()
    poisoned = POISONS[name](whole)
    assert poisoned != whole
    entry.write_bytes(poisoned)
    assert as_bytes(cache.check(plan, TODAY)) == cold
    assert len(looked) == 2
    assert as_bytes(cache.check(plan, TODAY)) == cold  # and it has been put right
    assert len(looked) == 2
    assert not (tmp_path / "bombed").exists()


def test_any_bit_may_be_wrong(plan: Path, cache: Cache, looked: list[Path]) -> None:
    """An entry with a byte changed, cut or put in anywhere is not taken."""
    cold = as_bytes(check(plan, TODAY))
    cache.check(plan, TODAY)
    entry, rng = _entry(cache), random.Random(5)
    whole = entry.read_bytes()
    for n in range(40):
        at = rng.randrange(len(whole))
        odd = [bytes([whole[at] ^ (1 << rng.randrange(8))]), b"", whole[at : at + 1] * 2][n % 3]
        entry.write_bytes(whole[:at] + odd + whole[at + 1 :])
        before = len(looked)
        assert as_bytes(cache.check(plan, TODAY)) == cold
        assert len(looked) == before + 1


def test_entries_that_have_changed_places(plan: Path, cache: Cache, tmp_path: Path) -> None:
    other = tmp_path / "plan" / "other.stay"
    other.write_text(CAMPAIGNS["one-file"]()[1]["plan.stay"])
    colds = [as_bytes(check(one, TODAY)) for one in (plan, other)]
    for one in (plan, other):
        cache.check(one, TODAY)
    first, second = sorted(cache.folder.glob("*.result"))
    first.rename(tmp_path / "aside")
    second.rename(first)
    (tmp_path / "aside").rename(second)
    assert [as_bytes(cache.check(one, TODAY)) for one in (plan, other)] == colds


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes in this file system")
def test_what_is_no_file_is_no_entry(plan: Path, cache: Cache, tmp_path: Path) -> None:
    cold = as_bytes(check(plan, TODAY))
    cache.check(plan, TODAY)
    entry = _entry(cache)
    for put in (os.mkfifo, os.mkdir, lambda path: os.symlink(path, path), lambda path: os.symlink("/dev/zero", path)):
        if entry.is_dir():
            entry.rmdir()
        else:
            entry.unlink()
        put(entry)
        assert as_bytes(cache.check(plan, TODAY)) == cold


def test_a_cache_may_be_deleted_at_any_time(plan: Path, cache: Cache, monkeypatch: pytest.MonkeyPatch) -> None:
    import shutil

    cold = as_bytes(check(plan, TODAY))
    cache.check(plan, TODAY)
    shutil.rmtree(cache.folder)
    assert as_bytes(cache.check(plan, TODAY)) == cold
    known = cached.known

    def vanish(key: str, entry: bytes, path: Path) -> Any:
        shutil.rmtree(cache.folder)
        return known(key, b"", path)

    monkeypatch.setattr(cached, "known", vanish)
    assert as_bytes(cache.check(plan, TODAY)) == cold


def test_where_nothing_can_be_written_it_is_said_once(plan: Path, tmp_path: Path) -> None:
    taken = tmp_path / "taken"
    taken.write_text("a file")
    done = subprocess.run(_command(plan.parent, taken), capture_output=True, text=True)
    plain = subprocess.run(_command(plan.parent, taken)[:-2], capture_output=True, text=True)
    assert (done.stdout, done.returncode) == (plain.stdout, plain.returncode)
    told = " ".join(done.stderr.split())
    assert told.count("cannot be written") == 1 and told.endswith("checked without it")


def test_a_cache_that_is_only_read(
    plan: Path, cache: Cache, looked: list[Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(**more: Any) -> Any:
        raise PermissionError(13, "Permission denied")  # as for all users but the one who may write everywhere

    cache.check(plan, TODAY)
    monkeypatch.setattr(cached.tempfile, "mkstemp", refuse)
    cache.folder.chmod(0o555)
    try:
        assert as_bytes(cache.check(plan, TODAY)) == as_bytes(check(plan, TODAY))
        assert len(looked) == 1
        for _ in range(2):
            plan.write_text(plan.read_text() + "\n# more\n")
            assert as_bytes(cache.check(plan, TODAY)) == as_bytes(check(plan, TODAY))
    finally:
        cache.folder.chmod(0o755)
    told = " ".join(cache.terminal.err.getvalue().split())  # type: ignore[attr-defined]
    assert told.count("cannot be written (Permission denied): checked without it") == 1


def test_it_does_not_grow_for_ever(cache: Cache, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cached, "_MOST_ENTRIES", 10)
    monkeypatch.setattr(cached, "_KEPT_ENTRIES", 6)
    cache.folder.mkdir()
    aside = cache.folder / "aside-left"
    aside.write_text("half")
    os.utime(aside, (1, 1))
    (cache.folder / "not ours").write_text("stays")
    for n in range(11):
        cache.write(f"{n:064d}", b"x")
        os.utime(cache.folder / f"{n:064d}.result", (n + 10, n + 10))
    cache.write("f" * 64, b"x")
    assert sorted(path.stem.lstrip("0") for path in cache.folder.glob("*.result")) == [
        "10",
        "5",
        "6",
        "7",
        "8",
        "9",
        "f" * 64,
    ]
    assert not aside.exists() and (cache.folder / "not ours").exists()


# --- processes -------------------------------------------------------------------------------------------------------

_WRITER = """
import io, sys
from pathlib import Path
from jackstay.commands.cached import Cache
from jackstay.commands.terminal import Terminal

cache = Cache(Path(sys.argv[1]), Terminal(io.StringIO(), io.StringIO()))
entry = Path(sys.argv[2]).read_bytes()
print("ready", flush=True)
while True:
    cache.write(sys.argv[3], entry)
"""


def test_killed_in_the_middle_of_writing(plan: Path, cache: Cache, tmp_path: Path, looked: list[Path]) -> None:
    """Whenever a writer is killed there is a whole entry, or none."""
    cold = as_bytes(check(plan, TODAY))
    cache.check(plan, TODAY)
    entry = _entry(cache)
    whole = tmp_path / "whole"
    whole.write_bytes(entry.read_bytes())
    rng = random.Random(3)
    key = entry.name.removesuffix(".result")
    for _ in range(4):
        entry.unlink(missing_ok=True)
        command = [sys.executable, "-c", _WRITER, str(cache.folder), str(whole), key]
        writer = subprocess.Popen(command, stdout=subprocess.PIPE)
        assert writer.stdout is not None and writer.stdout.readline() == b"ready\n"
        for _ in range(5):
            time.sleep(rng.random() * 0.004)
            writer.send_signal(signal.SIGSTOP)
            assert not entry.exists() or entry.read_bytes() == whole.read_bytes()
            writer.send_signal(signal.SIGCONT)
        writer.send_signal(signal.SIGKILL)
        writer.wait()
        writer.stdout.close()
        assert not entry.exists() or entry.read_bytes() == whole.read_bytes()
        assert as_bytes(cache.check(plan, TODAY)) == cold


def test_several_at_once(plan: Path, tmp_path: Path) -> None:
    folder = tmp_path / "cache"
    plain = subprocess.run(_command(plan.parent, folder)[:-2], capture_output=True)
    running = [subprocess.Popen(_command(plan.parent, folder), stdout=subprocess.PIPE) for _ in range(4)]
    assert {one.communicate()[0] for one in running} == {plain.stdout}
    assert {one.returncode for one in running} == {plain.returncode}
    again = subprocess.run(_command(plan.parent, folder), capture_output=True)
    assert (again.stdout, again.stderr) == (plain.stdout, b"")
    assert [path.suffix for path in folder.iterdir()] == [".result"]
