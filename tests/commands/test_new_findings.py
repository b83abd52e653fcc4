"""Telling only what is new: against a baseline file, and against a revision of git."""

from __future__ import annotations

import json
import re
import subprocess
from pathlib import Path

import pytest
from commands.plans_on_disk import commit, edit, git, put, repository

from jackstay.commands.main import main

DAY = ["--today", "2026-01-01"]


@pytest.fixture(autouse=True)
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")
    put(Path("plans"), "crowded", "unread", "bolted")
    repository(tmp_path)


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, list[str], str]:
    """Exit code, rules that were told, and what was left out."""
    code = main(["check", *arguments, "--format", "line", *DAY])
    out, err = capsys.readouterr()
    return code, [line.split(":")[4].strip() for line in out.splitlines()], " ".join(err.split())


def known(capsys: pytest.CaptureFixture[str], *arguments: str) -> None:
    assert main(["check", *arguments, "--write-baseline", "known.json", *DAY]) == 0
    capsys.readouterr()


# --- a baseline ------------------------------------------------------------------------------------------------------


def test_what_is_written_down_is_left_out(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", ".", "--write-baseline", "known.json", *DAY]) == 0
    assert capsys.readouterr().out == "known.json knows 3 findings now\n"
    assert main(["check", ".", "--baseline", "known.json", *DAY]) == 0
    first, *left = capsys.readouterr().out.splitlines()
    assert first == "nothing new found in 4 files; 2 errors + 1 warning known"
    assert " ".join(left) == (
        "left out: 3 findings that known.json knows (2 errors, 1 warning); what builds on a step that fails (times, "
        "fallbacks, droppable tasks) may not have been judged"
    )
    assert not list(Path(".").glob(".jackstay-*"))


def test_it_survives_moved_lines_renamings_elsewhere_and_a_renamed_file(capsys: pytest.CaptureFixture[str]) -> None:
    known(capsys, ".")
    edit(Path("plans/bolted.stay"), "use units", "# a line\n\nuse units")
    edit(Path("plans/yard.stay"), "pump-cover", "pump-hood")
    git(Path("."), "mv", "plans/unread.stay", "plans/not-read.stay")
    assert told(capsys, ".", "--baseline", "known.json")[:2] == (0, [])


def test_what_is_new_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    known(capsys, ".")
    put(Path("plans"), "overfull")
    code, rules, left = told(capsys, ".", "--baseline", "known.json")
    assert (code, rules) == (1, ["holder-full"]) and "left out: 3 findings" in left


def test_one_more_of_the_same_is_new(capsys: pytest.CaptureFixture[str]) -> None:
    known(capsys, ".")
    edit(
        Path("plans/unread.stay"),
        "      read bench-gauge",
        "      read bench-gauge, expect 1 to 2 kPa\n      read bench-gauge",
    )
    assert told(capsys, ".", "--baseline", "known.json")[:2] == (0, ["reading-unanswered"])


def test_what_is_gone_is_told_as_a_note(capsys: pytest.CaptureFixture[str]) -> None:
    known(capsys, ".")
    edit(Path("plans/yard.stay"), "mast : worksite, room 1", "mast : worksite, room 2")
    assert told(capsys, ".", "--baseline", "known.json")[:2] == (0, ["outdated-baseline"])
    # a single plan's check knows nothing of what is in the others
    assert told(capsys, "plans/bolted.stay", "--baseline", "known.json")[:2] == (0, [])


def test_what_has_been_made_graver_is_new(capsys: pytest.CaptureFixture[str]) -> None:
    known(capsys, ".")
    Path("jackstay.toml").write_text('[severity]\nreading-unanswered = "error"\n')
    assert told(capsys, ".", "--baseline", "known.json")[:2] == (1, ["reading-unanswered"])


def test_a_plan_that_is_not_followed_cannot_be_written_down(capsys: pytest.CaptureFixture[str]) -> None:
    Path("plans/odd.stay").write_text("use yrad\n")
    assert main(["check", ".", "--write-baseline", "known.json", *DAY]) == 1
    out, err = capsys.readouterr()
    assert "knows 3 findings" in out and "1 error cannot be put into a baseline" in err
    assert told(capsys, ".", "--baseline", "known.json")[:2] == (1, ["unknown-module"])


def test_the_file_is_the_same_from_wherever_it_is_written(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    known(capsys, ".")
    monkeypatch.chdir("plans")
    known(capsys, str(tmp_path / "plans"))
    assert Path("known.json").read_bytes() == Path("../known.json").read_bytes()
    assert str(tmp_path) not in Path("known.json").read_text()
    assert told(capsys, "--baseline", "../known.json")[:2] == (0, [])


@pytest.mark.parametrize("data", [b"", b"{}", b"\xff", b'{"schema": "jackstay.baseline/1", "findings": [1]}'])
def test_a_broken_baseline_is_no_baseline(data: bytes, capsys: pytest.CaptureFixture[str]) -> None:
    Path("known.json").write_bytes(data)
    code, rules, why = told(capsys, ".", "--baseline", "known.json")
    assert (code, rules) == (2, []) and "known.json" in why


def test_what_does_not_go_together(capsys: pytest.CaptureFixture[str]) -> None:
    for arguments in (
        ["--baseline", "gone.json"],
        ["--write-baseline", "x", "--since", "HEAD"],
        ["--write-baseline", "no/x"],
    ):
        code, _, why = told(capsys, ".", *arguments)
        assert code == 2 and why
    assert not Path("x").exists()


# --- a revision ------------------------------------------------------------------------------------------------------


def test_nothing_has_changed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", ".", "--since", "HEAD", *DAY]) == 0
    first, left, *_ = capsys.readouterr().out.splitlines()
    assert first == "nothing new found in 4 files; 2 errors + 1 warning older"
    assert left.startswith("left out: 3 findings that HEAD has too (2 errors, 1 warning)")


def test_what_a_change_causes_in_a_file_it_did_not_touch(capsys: pytest.CaptureFixture[str]) -> None:
    """The site's file loses a path; the plan in which somebody went along it is not touched, and fails."""
    edit(Path("plans/yard.stay"), "path bench to mast 6 m, on a reel of porch\n", "")
    code, rules, left = told(capsys, ".", "--since", "HEAD")
    assert (code, set(rules)) == (1, {"no-way"})
    changed = subprocess.run(["git", "status", "--porcelain"], capture_output=True, text=True, check=True).stdout
    assert changed == " M plans/yard.stay\n"  # nothing in the repository is written
    assert "left out: 2 findings" in left  # the third came of going there


def test_only_new_errors_fail(capsys: pytest.CaptureFixture[str]) -> None:
    put(Path("plans"), "stuck-bolt")  # a warning, in a plan that HEAD has not
    assert told(capsys, ".", "--since", "HEAD")[:2] == (0, ["outcome-unanswered"])
    assert told(capsys, ".", "--since", "HEAD", "--strict")[0] == 1


def test_lines_and_files_move(capsys: pytest.CaptureFixture[str]) -> None:
    edit(Path("plans/bolted.stay"), "use units", "# a line\n\nuse units")
    git(Path("."), "mv", "plans", "trial")
    assert told(capsys, ".", "--since", "HEAD")[:2] == (0, [])


def test_each_sort_of_revision_and_each_place_to_stand(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    git(Path("."), "tag", "flown")
    put(Path("plans"), "overfull")
    commit(Path("."))
    for revision in ("flown", "HEAD~1", "main~1", "HEAD^"):
        assert told(capsys, ".", "--since", revision)[:2] == (1, ["holder-full"])
    assert told(capsys, ".", "--since", "HEAD")[:2] == (0, [])
    monkeypatch.chdir("plans")
    assert told(capsys, "--since", "flown")[:2] == (1, ["holder-full"])
    assert told(capsys, "overfull.stay", "crowded.stay", "--since", "flown")[:2] == (1, ["holder-full"])
    monkeypatch.chdir("/")
    assert told(capsys, str(tmp_path / "plans"), "--since", "flown")[:2] == (1, ["holder-full"])


def test_the_revisions_own_settings_count_for_it(capsys: pytest.CaptureFixture[str]) -> None:
    Path("jackstay.toml").write_text('[[allow]]\nrule = "crowded"\nbecause = "for now"\n')
    commit(Path("."))
    assert told(capsys, ".", "--since", "HEAD")[:2] == (0, [])
    Path("jackstay.toml").unlink()  # the change takes the allowance away: it causes what comes back
    assert told(capsys, ".", "--since", "HEAD")[:2] == (1, ["crowded"])


def test_a_baseline_and_a_revision_together(capsys: pytest.CaptureFixture[str]) -> None:
    known(capsys, "plans/crowded.stay")
    put(Path("plans"), "overfull")
    code, rules, left = told(capsys, ".", "--baseline", "known.json", "--since", "HEAD")
    assert (code, rules) == (1, ["holder-full"])
    assert re.search(r"1 finding that known.json knows .* 2 findings that HEAD has too", left)


def test_other_forms_say_how_many_are_left_out(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", ".", "--since", "HEAD", "--format", "json", *DAY]) == 0
    counts = json.loads(capsys.readouterr().out)["counts"]
    assert (counts["left_out"], counts["older"], counts["clean"], counts["errors"]) == (3, 3, False, 0)
    assert main(["check", ".", "--since", "HEAD", "--format", "sarif", *DAY]) == 0
    (note,) = json.loads(capsys.readouterr().out)["runs"][0]["invocations"][0]["toolExecutionNotifications"]
    assert note["level"] == "note" and note["message"]["text"].startswith("left out: 3 findings")
    for form in ("github", "junit"):
        assert main(["check", ".", "--since", "HEAD", "--format", form, *DAY]) == 0
        out, err = capsys.readouterr()
        assert "left out: 3 findings" in out + err


@pytest.mark.parametrize("revision", ["nope", "", "-x", "HEAD:plans"])
def test_what_is_no_revision(revision: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, rules, why = told(capsys, ".", f"--since={revision}")
    assert (code, rules) == (2, []) and why.startswith("jackstay: ")


def test_no_repository(capsys: pytest.CaptureFixture[str], tmp_path_factory: pytest.TempPathFactory) -> None:
    apart = tmp_path_factory.mktemp("apart")
    put(apart, "crowded")
    code, _, why = told(capsys, str(apart), "--since", "HEAD")
    assert code == 2 and "no git repository" in why
    code, _, why = told(capsys, ".", str(apart), "--since", "HEAD")
    assert code == 2 and "one git repository" in why
