"""A clean check's certificate is accepted by the independent checker; one that says anything else is not."""

from __future__ import annotations

import datetime
import json
from pathlib import Path
from typing import Any

import pages
import pytest
from benchmarks.generate import write_campaign
from oracles.generate import plan_from
from oracles.writing import text_of
from verifying.tampering import tampered

from jackstay.commands.main import main
from jackstay.outputs.certificate import certificate
from jackstay.pipeline import check

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "examples" / "tarn-depot" / "campaign.stay"
SPEC = ROOT / "tests" / "spec"


def checker() -> Any:
    """As `jackstay verify` finds it, and the very file beside these tests."""
    from jackstay.checker import checker as module

    assert Path(str(module.__file__)).resolve() == ROOT / "tests" / "certificate" / "checker.py"
    return module.Checker()


def told(plan: Path) -> str:
    """The checker's verdict on a plan's certificate; nothing for a plan that has errors."""
    checked = check(plan)
    return "" if checked.failed else str(checker().verify(certificate(checked), plan))


def taste(folder: Path) -> Path:
    first = pages.projects((SPEC / "a_first_taste.md").read_text(encoding="utf-8"))[0]
    for name, body in first.files.items():
        (folder / name).write_bytes(body)
    return folder / "second.stay"


def test_the_checker_is_small_and_alone() -> None:
    text = (ROOT / "tests" / "certificate" / "checker.py").read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 150
    assert {line.split()[1] for line in text.splitlines() if line.startswith(("import ", "from "))} <= {
        "collections", "hashlib", "json", "pathlib", "re", "sys", "typing",
    }  # fmt: skip


def test_demo() -> None:
    checked = check(DEMO)
    one = certificate(checked)
    assert one == certificate(checked) == certificate(check(DEMO))
    assert checker().verify(one, DEMO).startswith("OK: 3 excursions, ")
    for flow, told in zip(checked.flow.excursions, json.loads(one)["excursions"], strict=True):  # type: ignore[union-attr]
        for before, step in zip(flow.predecessors, told["steps"], strict=True):
            assert {edge["step"] for edge in step["after"]} == set(before)


def test_the_first_taste(tmp_path: Path) -> None:
    assert told(taste(tmp_path)).startswith("OK: 1 excursions, ")


@pytest.mark.parametrize("page", sorted(SPEC.glob("*.md")), ids=lambda page: page.stem)
def test_every_clean_plan_of_the_pages(page: Path, tmp_path: Path) -> None:
    for number, project in enumerate(pages.projects(page.read_text(encoding="utf-8"))):
        folder = tmp_path / str(number)
        folder.mkdir()
        pages.findings(project, folder)
        for plan in pages.plans_in(folder):
            assert told(plan)[:2] in ("OK", ""), (project.title, told(plan))


def test_generated_plans(tmp_path: Path) -> None:
    """By chance, small and odd; more of them: `python tests/verifying/run.py`."""
    accepted = 0
    for seed in range(60):
        assert told(write_campaign(tmp_path, 9 * (1 + seed % 6), seed)).startswith("OK")
        accepted += 1
    plan = tmp_path / "plan.stay"
    for seed in range(100):
        plan.write_text(text_of(plan_from(seed)), encoding="utf-8")
        verdict = told(plan)
        assert verdict[:2] in ("OK", ""), (seed, verdict)
        accepted += verdict != ""
    assert accepted >= 90


ODD = """\ufeffuse units
use cabin
use suited

routine greet WHO: suited
  WHO at porch
    call "One.", says one
  WHO, on one
    call "Two."
routine greet twice WHO: suited
  greet WHO, says first
  greet WHO, on first

location porch, bench : worksite, room 3
path porch to bench 4 m
actor wren, teal : suited, at porch
item reel-w : reel, length 20 m, user wren, from porch to wren
item reel-t : reel, length 20 m, user teal, from porch to teal

excursion odd
  crew wren, teal
  starts as plan
  task first : required
    greet twice wren, says greeted # not, on nothing
    wren and teal at bench, on greeted, says both
    wren
      call "Not, on nothing.", says done  # , on nowhere
    teal, on done
      and both
      ...
  task second : required, after first
    wren at porch
    teal, while third.look
      call "Here."
  task third : required
    wren at porch
      look round porch, says look
"""


def test_words_that_are_no_bounds(tmp_path: Path) -> None:
    """Routines in routines, whole calls that are waited for, headings of two, comments, quotes, lines that go on."""
    plan = tmp_path / "plan.stay"
    plan.write_bytes(ODD.replace("\n", "\r\n").encode())
    checked = check(plan)
    assert not checked.failed, [(d.at.line, d.message) for d in checked.diagnostics]
    assert told(plan).startswith("OK")
    data = json.loads(certificate(checked))
    assert any(len(step["in_routine"]) == 2 for step in data["excursions"][0]["steps"])
    assert any(step["within"] for step in data["excursions"][0]["steps"])
    assert accepted(data, plan, 7, 12) == []


def accepted(data: Any, plan: Path, seed: int, each: int, least: int = 100) -> list[str]:
    """What was done to those tampered certificates that the checker lets pass."""
    one, wrong, tried = checker(), [], 0
    for what, other in tampered(data, seed, each):
        tried += 1
        if one.verify(json.dumps(other).encode(), plan).startswith("OK"):
            wrong.append(what)
    assert tried >= least
    return wrong


def test_tampered_certificates_of_the_demo() -> None:
    assert accepted(json.loads(certificate(check(DEMO))), DEMO, 1, 3, 60) == []


def test_tampered_certificates_of_the_first_taste(tmp_path: Path) -> None:
    plan = taste(tmp_path)
    assert accepted(json.loads(certificate(check(plan))), plan, 2, 15, 300) == []


def test_what_is_no_certificate(tmp_path: Path) -> None:
    plan = taste(tmp_path)
    for text in ("", "[]", "{}", "null", '"OK"', "[" * 100_000, '{"plan": "/etc/hostname", "sources": {}}'):
        assert not checker().verify(text.encode(), plan).startswith("OK")


def test_a_plan_that_was_changed(tmp_path: Path) -> None:
    plan = taste(tmp_path)
    one = certificate(check(plan))
    depot = tmp_path / "depot.stay"
    depot.write_text(depot.read_text() + "# a word more\n")
    assert checker().verify(one, plan) == "certificate: depot.stay is not what was checked"


def test_the_commands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.chdir(tmp_path)
    taste(tmp_path)
    assert main(["check", "second.stay", "--certificate", "out.json"]) == 0
    assert "wrote the certificate to out.json" in capsys.readouterr().out
    assert main(["verify", "out.json", "second.stay"]) == main(["verify", "out.json"]) == 0
    assert capsys.readouterr().out.startswith("OK: 1 excursions")
    kept = Path("out.json").read_bytes()
    assert main(["check", "second.stay", "--certificate", "again.json", "--format", "json"]) == 0
    assert json.loads(capsys.readouterr().out)["schema"] == "jackstay.findings/1"
    assert Path("again.json").read_bytes() == kept
    Path("second.stay").write_text(Path("second.stay").read_text().replace(", on wren-clear", ""))
    assert main(["verify", "out.json"]) == 1
    assert main(["check", "second.stay", "--certificate", "out.json"]) == 1
    assert Path("out.json").read_bytes() == kept
    assert "no certificate was written" in capsys.readouterr().err
    assert sorted(path.name for path in tmp_path.iterdir()) == ["again.json", "depot.stay", "out.json", "second.stay"]
    assert main(["verify", "gone.json"]) == main(["verify", "out.json", "gone.stay"]) == 2
    assert main(["check", "second.stay", "depot.stay", "--certificate", "out.json"]) == 2
    assert main(["check", "depot.stay", "--certificate", "no/where.json"]) == 2


def test_what_is_only_allowed_is_not_vouched_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    project = pages.projects((SPEC / "a_first_taste.md").read_text(encoding="utf-8"))[1]
    pages.findings(project, tmp_path)
    plan = tmp_path / "plan.stay"
    text = plan.read_text() + 'allow may-come-first because "They look at each other."\n'
    plan.write_text(text)
    assert check(plan, datetime.date(2026, 1, 1)).problems
    assert main(["check", str(plan), "--certificate", str(tmp_path / "out.json")]) == 1
    assert not (tmp_path / "out.json").exists()
    assert "may-come-first" in capsys.readouterr().err
