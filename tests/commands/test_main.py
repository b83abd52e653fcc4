"""The command line: exit codes, streams, formats. The compiler behind it is a stand-in with known findings."""

from __future__ import annotations

import datetime
import json
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from types import ModuleType

import pytest

from jackstay.commands.main import main
from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.source.spans import Span


@dataclass
class Source:
    lines: list[str]


@dataclass
class Result:
    diagnostics: list[Diagnostic]
    sources: dict[str, Source]
    undecided: list[str] = field(default_factory=list)


DAYS: list[datetime.date | None] = []


def judge(path: Path, today: datetime.date | None = None) -> Result:
    """A stand-in for the pipeline: each line of a plan that is the name of a severity is a finding of it."""
    DAYS.append(today)
    lines = path.read_text().splitlines()
    found = [
        Diagnostic("a-rule", Severity(line), f"A line says {line}.", Span(path.name, number, 0, len(line)))
        for number, line in enumerate(lines, start=1)
        if line in [severity.value for severity in Severity]
    ]
    if (path.parent / "shared.stay").exists() and "use shared" in lines:
        found.append(Diagnostic("a-rule", Severity.ERROR, "It is shared.", Span("shared.stay", 1, 0, 1)))
    return Result(found, {path.name: Source(lines), "stdlib:units": Source([])})


@pytest.fixture(autouse=True)
def stand_in(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    pipeline = ModuleType("jackstay.pipeline")
    pipeline.check = judge  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "jackstay.pipeline", pipeline)
    monkeypatch.chdir(tmp_path)
    for name in ("NO_COLOR", "FORCE_COLOR"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("COLUMNS", "80")
    DAYS.clear()


def plan(name: str, *lines: str) -> None:
    path = Path(name)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("".join(line + "\n" for line in lines))


@pytest.mark.parametrize(
    "line, code, strict",
    [("fine", 0, 0), ("note", 0, 0), ("warning", 0, 1), ("undecided", 0, 1), ("error", 1, 1)],
)
def test_exit_codes(line: str, code: int, strict: int) -> None:
    plan("a.stay", line)
    assert main(["check"]) == code
    assert main(["check", "--strict"]) == strict


def test_a_clean_check_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    plan("a.stay", "fine")
    assert main(["check", "a.stay"]) == 0
    assert capsys.readouterr() == ("clean: 1 file, nothing found, nothing left undecided\n", "")


def test_undecided_is_never_clean(capsys: pytest.CaptureFixture[str]) -> None:
    plan("a.stay", "undecided")
    main(["check", "a.stay"])
    told = capsys.readouterr().out
    assert "no finding; 1 point not decided in 1 file" in told and "clean" not in told


def test_a_story_and_the_closing_line(capsys: pytest.CaptureFixture[str]) -> None:
    plan("a.stay", "", "error")
    assert main(["check"]) == 1
    assert capsys.readouterr().out == (
        "error  a-rule" + " " * 57 + "a.stay 2:1\nA line says error.\n\n  2 │ error\n    │ ^^^^^\n\n"
        "1 finding: 1 error in 1 file\n"
    )


def test_paths_are_told_as_seen_from_here_and_shared_findings_once(capsys: pytest.CaptureFixture[str]) -> None:
    plan("x/a.stay", "use shared")
    plan("x/b.stay", "use shared", "warning")
    plan("x/shared.stay", "")
    plan("y/a.stay", "error")
    assert main(["check", "x", "y/a.stay", "--format", "line"]) == 1
    assert capsys.readouterr().out == (
        "x/b.stay:2:1: warning: a-rule: A line says warning.\n"
        "x/shared.stay:1:1: error: a-rule: It is shared.\n"
        "y/a.stay:1:1: error: a-rule: A line says error.\n"
    )


def test_json(capsys: pytest.CaptureFixture[str]) -> None:
    plan("a.stay", "error")
    assert main(["check", "--format", "json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["schema"] == "jackstay.findings/1"
    assert told["counts"]["files"] == 1 and told["findings"][0]["at"]["path"] == "a.stay"
    assert main(["check", "--schema"]) == 0
    assert json.loads(capsys.readouterr().out)["properties"]["schema"]["const"] == "jackstay.findings/1"


def test_what_cannot_run(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    for arguments, word in [
        (["check", "gone.stay"], "gone.stay does not exist"),
        (["check", "empty"], "no .stay file"),
        (["check", "--today", "soon"], "not a day"),
        (["explain", "used-twise"], "did you mean used-twice?"),
        (["trace", "crate", "gone"], "does not exist"),
    ]:
        assert main(arguments) == 2
        out, err = capsys.readouterr()
        assert out == "" and word in " ".join(err.split()) and err.startswith("jackstay: ")


def test_bad_usage() -> None:
    for arguments in (["chekc"], ["check", "--format", "xml"], ["build", ".", "--paper", "a0"]):
        with pytest.raises(SystemExit) as left:
            main(arguments)
        assert left.value.code == 2
    assert main([]) == main(["build", "."]) == 2


def test_the_day_is_the_users(capsys: pytest.CaptureFixture[str]) -> None:
    plan("a.stay", "fine")
    main(["check", "--today", "2031-02-03"])
    assert [day.isoformat() for day in DAYS if day] == ["2031-02-03"]


def test_colour_is_forced(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    plan("a.stay", "error")
    main(["check"])
    assert "\x1b" not in capsys.readouterr().out
    monkeypatch.setenv("FORCE_COLOR", "1")
    main(["check"])
    assert "\x1b[1;31merror\x1b[0m" in capsys.readouterr().out


def test_explain(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain"]) == 0
    told = capsys.readouterr().out
    assert "\n  used-twice (warning)\n" in told and "\npolicy" in "\n" + told
    assert main(["explain", "used-twice"]) == 0
    told = capsys.readouterr().out
    assert told.startswith("used-twice\n\n") and "finds:" not in told and "```" not in told


@pytest.fixture
def outputs(monkeypatch: pytest.MonkeyPatch) -> None:
    build, trace = ModuleType("jackstay.outputs.build"), ModuleType("jackstay.outputs.trace")
    making = ModuleType("jackstay.commands.making")

    def job_of(result: Result, unchecked: bool, papers: list[str], samples: int) -> bool:
        return unchecked

    def make(unchecked: bool, parts: list[str]) -> dict[str, bytes]:
        return {"list.md": b"unchecked" if unchecked else b"checked"}

    def chosen(names: list[str]) -> tuple[list[str], Callable[[str], bool]]:
        return ["list"], lambda file: True

    def follow(result: Result, thing: str) -> str:
        if thing != "crate":
            raise LookupError(f"there is no {thing}; did you mean crate?")
        return "crate: on porch"

    for name, value in (("job_of", job_of), ("chosen", chosen), ("PARTS", {"list": None})):
        setattr(build, name, value)
    build.UnknownOutput, making.make, trace.trace_text = LookupError, make, follow  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "jackstay.commands.making", making)
    monkeypatch.setitem(sys.modules, "jackstay.outputs.build", build)
    monkeypatch.setitem(sys.modules, "jackstay.outputs.trace", trace)


@pytest.mark.usefixtures("outputs")
def test_build_writes_nothing_that_has_not_passed(capsys: pytest.CaptureFixture[str]) -> None:
    plan("a.stay", "warning")
    plan("b.stay", "error")
    assert main(["build", "a.stay", "-o", "out"]) == 0
    assert Path("out/list.md").read_bytes() == b"checked"
    assert main(["build", "b.stay", "-o", "out"]) == 1
    assert Path("out/list.md").read_bytes() == b"checked"
    assert "nothing was written" in capsys.readouterr().err
    assert main(["build", "b.stay", "-o", "out", "--force"]) == 1
    assert Path("out/list.md").read_bytes() == b"unchecked"
    assert "wrote 1 file to out, marked unchecked" in capsys.readouterr().out
    Path("taken").write_text("")
    assert main(["build", "a.stay", "-o", "taken"]) == 2


@pytest.mark.usefixtures("outputs")
def test_trace(capsys: pytest.CaptureFixture[str]) -> None:
    plan("a.stay", "fine")
    assert main(["trace", "crate", "a.stay"]) == 0
    assert capsys.readouterr().out == "crate: on porch\n"
    assert main(["trace", "crat"]) == 2
    assert "did you mean crate?" in capsys.readouterr().err


@pytest.mark.usefixtures("outputs")
def test_verbs_for_one_plan_ask_which(capsys: pytest.CaptureFixture[str]) -> None:
    plan("a.stay", "fine")
    plan("b.stay", "fine")
    assert main(["trace", "crate"]) == 2
    assert "name one: a.stay, b.stay" in capsys.readouterr().err
    plan("c.stay", "campaign c")
    assert main(["trace", "crate"]) == 0
