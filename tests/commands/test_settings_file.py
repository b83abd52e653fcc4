"""``jackstay.toml`` as a project uses it: where it is found, and what every command makes of it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from commands.plans_on_disk import put

from jackstay.commands.main import main

DAY = ["--today", "2026-01-01"]


def settings(text: str, folder: str = ".") -> None:
    Path(folder).mkdir(parents=True, exist_ok=True)
    Path(folder, "jackstay.toml").write_text(text, encoding="utf-8")


@pytest.fixture(autouse=True)
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "top" / ".git").mkdir(parents=True)
    monkeypatch.chdir(tmp_path / "top")
    monkeypatch.setenv("COLUMNS", "200")
    put(Path("plans/yard"), "crowded", "unread")


def lines(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, list[str]]:
    """Exit code, and the findings as path, severity and rule."""
    code = main(["check", *arguments, "--format", "line", *DAY])
    told = capsys.readouterr().out.splitlines()
    return code, [" ".join(line.split(":")[i].strip() for i in (0, 3, 4)) for line in told]


CROWDED = "plans/yard/crowded.stay error crowded"
UNREAD = "plans/yard/unread.stay warning reading-unanswered"


def test_without_settings_rules_are_as_grave_as_they_are(capsys: pytest.CaptureFixture[str]) -> None:
    assert lines(capsys, ".") == (1, [CROWDED, UNREAD])


def test_severities_change_the_exit_code_too(capsys: pytest.CaptureFixture[str]) -> None:
    settings('[severity]\ncrowded = "warning"\n')
    assert lines(capsys, ".") == (0, [CROWDED.replace("error", "warning"), UNREAD])
    settings('[severity]\ncrowded = "off"\nreading-unanswered = "error"\n')
    assert lines(capsys, ".") == (1, [UNREAD.replace("warning", "error")])


@pytest.mark.parametrize("folder", [".", "plans", "plans/yard"])
def test_it_is_found_in_the_plans_folder_or_above(folder: str, capsys: pytest.CaptureFixture[str]) -> None:
    settings('[severity]\ncrowded = "warning"\n', folder)
    assert lines(capsys, "plans/yard/crowded.stay")[0] == 0


def test_the_nearest_counts_alone(capsys: pytest.CaptureFixture[str]) -> None:
    settings('[severity]\ncrowded = "warning"\nreading-unanswered = "off"\n')
    settings('[severity]\nreading-unanswered = "error"\n', "plans/yard")
    assert lines(capsys, ".") == (1, [CROWDED, UNREAD.replace("warning", "error")])


def test_it_is_not_looked_for_beyond_the_repository(capsys: pytest.CaptureFixture[str]) -> None:
    settings('[severity]\ncrowded = "warning"\n', "..")
    assert lines(capsys, ".")[0] == 1
    Path(".git").rmdir()
    assert lines(capsys, ".")[0] == 1  # without a repository: not above the folder the command runs in


def test_patterns_count_from_its_own_folder(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    settings('[severity."yard/*.stay"]\ncrowded = "warning"\n', "plans")
    assert lines(capsys, ".")[0] == 0
    monkeypatch.chdir("plans/yard")
    assert lines(capsys)[1][0] == "crowded.stay warning crowded"


def test_what_is_turned_off_is_counted_and_nothing_is_called_clean(capsys: pytest.CaptureFixture[str]) -> None:
    settings('[severity]\ncrowded = "off"\nplan = "off"\n')
    assert main(["check", ".", *DAY]) == 0
    assert capsys.readouterr().out.splitlines() == [
        "no findings left: 3 files; 1 error + 1 warning turned off",
        "left out: 2 findings that jackstay.toml turns off (1 error, 1 warning)",
        "  error crowded (plans/yard/crowded.stay 14), turned off by jackstay.toml",
        "  warning reading-unanswered (plans/yard/unread.stay 13), turned off by jackstay.toml",
    ]
    assert main(["check", ".", "--format", "json", *DAY]) == 0
    counts = json.loads(capsys.readouterr().out)["counts"]
    assert (counts["clean"], counts["left_out"], counts["files"]) == (False, 2, 3)


def test_what_is_not_decided_stays(capsys: pytest.CaptureFixture[str]) -> None:
    put(Path("plans/yard"), "both-wait")
    settings('[severity]\norder = "off"\nplan = "off"\nlaws = "off"\n')
    assert main(["check", ".", "--strict", *DAY]) == 1
    assert "1 point not decided" in capsys.readouterr().out


def test_an_undecided_point_that_the_plan_allows_is_counted(capsys: pytest.CaptureFixture[str]) -> None:
    put(Path("open"), "both-wait")
    with Path("open/both-wait.stay").open("a", encoding="utf-8") as plan:
        plan.write('\nallow not-decided because "we know"\nallow circular-wait because "we know"\n')
    assert main(["check", "open", *DAY]) == 0
    told = capsys.readouterr().out
    assert "clean" not in told and "1 point not decided" in told


def test_an_allowance_is_told_once_it_hides_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    allow = '[[allow]]\nrule = "crowded"\npaths = "plans/**"\nbecause = "the ladder takes two"\n'
    settings(allow)
    assert lines(capsys, ".") == (0, [UNREAD])
    settings(allow.replace('"crowded"', '"no-way"'))
    assert lines(capsys, ".")[1] == ["jackstay.toml warning unused-allow", CROWDED, UNREAD]
    # of a part of the plans nobody can say that it is unused
    assert lines(capsys, "plans/yard/crowded.stay")[1] == [CROWDED]


def test_nobody_can_say_unused_where_an_error_keeps_the_rule_from_running(capsys: pytest.CaptureFixture[str]) -> None:
    settings('[[allow]]\nrule = "past-limit"\nbecause = "agreed"\n')
    assert lines(capsys, ".")[1] == ["jackstay.toml warning unused-allow", CROWDED, UNREAD]
    Path("plans/yard/odd.stay").write_text("use yrad\n", encoding="utf-8")
    assert lines(capsys, ".")[1] == [CROWDED, "plans/yard/odd.stay error unknown-module", UNREAD]


def test_an_allowance_that_has_run_out(capsys: pytest.CaptureFixture[str]) -> None:
    settings('[[allow]]\nrule = "crowded"\nbecause = "for a while"\nuntil = 2025-12-31\n')
    assert lines(capsys, ".") == (1, ["jackstay.toml warning expired-allow", CROWDED, UNREAD])
    settings('[[allow]]\nrule = "crowded"\nbecause = "for a while"\nuntil = 2026-01-01\n')
    assert lines(capsys, ".") == (0, [UNREAD])


def test_a_pattern_that_fits_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    settings('[severity."plan/**"]\ncrowded = "warning"\n')
    assert lines(capsys, ".")[1] == ["jackstay.toml warning matches-nothing", CROWDED, UNREAD]
    assert lines(capsys, "plans/yard/crowded.stay")[1] == [CROWDED]
    settings('[severity]\nmatches-nothing = "off"\n[severity."plan/**"]\ncrowded = "warning"\n')
    assert lines(capsys, ".")[1] == [CROWDED, UNREAD]


@pytest.mark.parametrize("data", [b"[severity\n", b"\xff\xfe", b"a\0b", b"severity = 3\n"])
def test_settings_that_cannot_be_used_stop_the_check(data: bytes, capsys: pytest.CaptureFixture[str]) -> None:
    Path("plans/yard/crowded.stay").unlink()
    Path("jackstay.toml").write_bytes(data)
    code, told = lines(capsys, ".")
    assert code == 1 and told == ["jackstay.toml error bad-setting", UNREAD]


def test_settings_that_are_a_folder_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    Path("jackstay.toml").mkdir()
    assert lines(capsys, ".")[1][0] == "jackstay.toml error bad-setting"


def test_the_settings_own_lines_are_shown(capsys: pytest.CaptureFixture[str]) -> None:
    settings('[severity]\ncrowded = "eror"\n')
    assert main(["check", ".", *DAY]) == 1
    told = capsys.readouterr().out
    assert '  2 │ crowded = "eror"\n    │           ^^^^^^ error, warning, note or off\n' in told
    assert 'help     write "error"' in told and '2 = crowded = "error"' in told


def test_every_command_obeys_it(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    out = str(tmp_path / "out")
    Path("plans/yard/unread.stay").unlink()
    assert main(["build", "plans/yard/crowded.stay", "-o", out, "--only", "pack", "--paper", "none", *DAY]) == 1
    settings('[severity]\ncrowded = "warning"\n')
    assert main(["build", "plans/yard/crowded.stay", "-o", out, "--only", "pack", "--paper", "none", *DAY]) == 0
    assert "1 warning" in capsys.readouterr().out


def test_what_is_let_through_does_not_keep_the_clock_from_being_judged(capsys: pytest.CaptureFixture[str]) -> None:
    """A plan with an error is not timed; one that the project lets through is, as with an `allow` in the plan."""
    plan = Path("plans/yard/bolted.stay")
    put(Path("plans/yard"), "bolted")
    text = plan.read_text(encoding="utf-8").replace(
        "starts as yard", "starts as yard\n  clock from suit power, limit 1 min"
    )
    plan.write_text(text, encoding="utf-8")
    settings('[severity."crowded.stay"]\nlaws = "off"\n')
    rules = [one.split()[2] for one in lines(capsys, "plans/yard/bolted.stay")[1]]
    assert "wrong-state" in rules and "past-limit" not in rules
    settings('[severity]\nwrong-state = "warning"\n')
    rules = [one.split()[2] for one in lines(capsys, "plans/yard/bolted.stay")[1]]
    assert "wrong-state" in rules and "past-limit" in rules


def test_an_environment_in_the_folder_is_not_checked(capsys: pytest.CaptureFixture[str]) -> None:
    put(Path(".venv/lib/site-packages/plans"), "bolted")
    assert lines(capsys, ".") == (1, [CROWDED, UNREAD])
