"""What a command cannot do is said in a sentence, with exit code 2 and nothing written."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from commands.plans_on_disk import commit, edit, git, put

from jackstay.commands.main import main

Capture = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "110")


def complaint(capsys: Capture, *arguments: str) -> str:
    """What is said on the error stream, in one line."""
    assert main(list(arguments)) == 2
    told = capsys.readouterr()
    return " ".join(told.err.split())


@pytest.mark.parametrize("verb", [["check"], ["build", "-o", "out"], ["forecast"], ["trace", "wren"]])
@pytest.mark.parametrize("name", ["jackstay.toml", "a.txt", "plan"])
def test_a_file_that_is_no_plan(verb: list[str], name: str, capsys: Capture) -> None:
    Path(name).write_text("use suited\n", encoding="utf-8")
    assert complaint(capsys, *verb, name) == f"jackstay: {name} is not a .stay file"


def test_a_name_that_no_plan_could_use(capsys: Capture) -> None:
    Path("we ird.stay").write_text("use suited\n", encoding="utf-8")
    assert "we ird.stay cannot be named in a plan" in complaint(capsys, "check", "we ird.stay")


@pytest.mark.parametrize(
    "text, why",
    [
        ("step,run\n1,2\n", "no JSON from line 1, column 1 on"),
        ('{"plan":\n  x}', "no JSON from line 2, column 3 on"),
        ("[]", "it holds no fields"),
        ("[" * 100_000, "it is no JSON"),
    ],
)
def test_a_certificate_that_is_none(text: str, why: str, capsys: Capture) -> None:
    put(Path("."), "live-feed")
    Path("c.json").write_text(text, encoding="utf-8")
    told = complaint(capsys, "verify", "c.json", ".")
    assert "c.json is not a certificate" in told and why in told
    assert "Error" not in told


def test_a_family_lists_its_rules(capsys: Capture) -> None:
    assert main(["explain", "time"]) == 0
    told = capsys.readouterr().out
    assert told.startswith("time\n") and "  bad-duration (error)\n" in told
    assert "wrong-state" not in told
    assert "no family of rules called tmie; did you mean time?" in complaint(capsys, "explain", "tmie")


def test_a_build_leaves_the_files_of_others_alone(capsys: Capture) -> None:
    put(Path("."), "live-feed")
    build = ["build", "live-feed.stay", "-o", "out", "--paper", "none", "--only", "pack.txt", "--force"]
    Path("out").mkdir()
    mine = Path("out/pack.txt")
    mine.write_bytes(b"mine")
    told = complaint(capsys, *build)
    assert "nothing was written: out holds pack.txt, which no build has written there" in told
    assert "--overwrite" in told
    assert mine.read_bytes() == b"mine" and [one.name for one in Path("out").iterdir()] == ["pack.txt"]
    assert main([*build, "--overwrite"]) == 1  # the plan has an error
    assert mine.read_bytes() != b"mine"
    assert main(build) == 1


def test_before_the_first_commit_everything_is_new(capsys: Capture) -> None:
    put(Path("."), "live-feed")
    git(Path("."), "init", "-q", "-b", "main")
    assert main(["check", "live-feed.stay", "--since", "HEAD"]) == 1
    assert "1 finding: 1 error" in capsys.readouterr().out
    assert "main is no revision" in complaint(capsys, "check", "live-feed.stay", "--since", "main")
    commit(Path("."))
    assert main(["check", "live-feed.stay", "--since", "HEAD"]) == 0


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="there is no device that is full")
def test_a_full_disk_is_not_our_mistake() -> None:
    with open("/dev/full", "wb") as full:
        done = subprocess.run([sys.executable, "-m", "jackstay", "explain"], stdout=full, stderr=subprocess.PIPE)
    told = done.stderr.decode()
    assert done.returncode == 2
    assert "the output cannot be written: " in told and "mistake" not in told and len(told.splitlines()) == 1


@pytest.mark.parametrize(
    "bracket, message, help",
    [
        ("[8 minutes]", "There is no unit called minutes.", "write min, the unit's name"),
        ("[2 hours]", "There is no unit called hours.", "write h, the unit's name"),
        ("[8 min, 15 to 6]", "The least time, 15 min, is more than the most, 6 min.", "write 6 min to 15 min after"),
        ("[8 min, 9 to 15]", "The usual time, 8 min, does not lie within", "put the usual time between"),
    ],
)
def test_a_time_that_is_written_wrongly(bracket: str, message: str, help: str, capsys: Capture) -> None:
    put(Path("."), "live-feed")
    lines = Path("live-feed.stay").read_text(encoding="utf-8").splitlines()
    at = next(n for n, line in enumerate(lines) if line.startswith("      ") and not line.strip().startswith("#"))
    edit(Path("live-feed.stay"), lines[at], f"{lines[at].split(' [')[0]} {bracket}")
    assert main(["check", "live-feed.stay"]) == 1
    told = capsys.readouterr().out
    assert message in told and help in told


@pytest.mark.parametrize(
    "written, first", [("reading-unanswerd", "reading-unanswered"), ("tmie", "time"), ("readin", "reading")]
)
def test_a_slip_in_a_setting_is_not_answered_with_the_whole_family(written: str, first: str, capsys: Capture) -> None:
    put(Path("."), "live-feed")
    Path("jackstay.toml").write_text(f'[severity]\n{written} = "warning"\n', encoding="utf-8")
    main(["check", "live-feed.stay"])
    assert f"help     write {first}\n" in capsys.readouterr().out
