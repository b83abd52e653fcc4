"""``jackstay new``: a campaign that is clean, in canonical form, and gives every output."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from jackstay.commands.main import main
from jackstay.commands.new import starter
from jackstay.diagnostics.records import Diagnostic
from jackstay.outputs.build import PARTS
from jackstay.pipeline import check


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "110")


def test_it_checks_clean_under_its_own_settings(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "north-ridge"]) == 0
    assert "wrote a campaign to north-ridge: campaign.stay" in capsys.readouterr().out
    assert main(["check", "north-ridge", "--strict"]) == 0
    assert capsys.readouterr().out == "clean: 4 files, nothing found, nothing left undecided\n"
    checked = check(Path("north-ridge/campaign.stay"))
    assert (checked.world.name, checked.world.title) == ("north-ridge", "North ridge: the beacon lamp")
    assert checked.flow is not None and [one.excursion.name for one in checked.flow.excursions] == ["first", "second"]


def test_it_is_in_canonical_form(capsys: pytest.CaptureFixture[str]) -> None:
    main(["new", "north-ridge"])
    assert main(["format", "--check", "north-ridge"]) == 0


def test_every_output_can_be_built(capsys: pytest.CaptureFixture[str]) -> None:
    main(["new", "north-ridge"])
    assert main(["build", "north-ridge", "-o", "out"]) == 0
    made = {path.name for path in Path("out").iterdir()}
    for part in ("review.html", "pack.txt", "combined-a4.pdf", "checklist-juno.txt", "timeline-first.svg", "plan.json"):
        assert part in made, sorted(PARTS)


@pytest.mark.parametrize("name", ["juno", "lamp", "lock", "units", "x", "a1-b2", "n" * 120])
def test_any_name_will_do(name: str) -> None:
    assert main(["new", name]) == 0
    assert [Diagnostic.order(one) for one in check(Path(name) / "campaign.stay").diagnostics] == []


@pytest.mark.parametrize(
    "name, why",
    [
        ("", "no name"),
        ("North", "no name"),
        ("1st", "no name"),
        ("a_b", "no name"),
        ("a b", "no name"),
        ("a-", "no name"),
        ("a--b", "no name"),
        ("../up", "no name"),
        ("/abs", "no name"),
        ("a.b", "no name"),
        ("höhe", "no name"),
        ("ridge\n", "no name"),
        ("because", "word of the language"),
        ("site", "name of a file"),
        ("first", "name of a file"),
        ("n" * 121, "at most 120"),
    ],
)
def test_what_is_no_name(name: str, why: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", name]) == 2
    out, err = capsys.readouterr()
    assert out == "" and why in " ".join(err.split())
    assert os.listdir() == []


@pytest.mark.parametrize("what", ["folder", "full", "file", "link"])
def test_nothing_that_is_there_is_written_over(what: str, capsys: pytest.CaptureFixture[str]) -> None:
    target = Path("ridge")
    if what in ("folder", "full"):
        target.mkdir()
    if what == "full":
        (target / "mine").write_text("mine")
    if what == "file":
        target.write_text("mine")
    if what == "link":
        target.symlink_to("nowhere")
    assert main(["new", "ridge"]) == 2
    assert "exists already" in capsys.readouterr().err
    assert os.listdir() == ["ridge"]
    assert what != "full" or os.listdir(target) == ["mine"]


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="needs a user who may not write everywhere")
def test_where_nothing_may_be_written(capsys: pytest.CaptureFixture[str]) -> None:
    Path(".").chmod(0o500)
    assert main(["new", "ridge"]) == 2
    assert "cannot be written" in capsys.readouterr().err


def test_it_may_be_read_by_whom_the_user_lets(capsys: pytest.CaptureFixture[str]) -> None:
    mask = os.umask(0o027)
    try:
        assert main(["new", "ridge"]) == 0
    finally:
        os.umask(mask)
    assert stat.S_IMODE(Path("ridge").stat().st_mode) == 0o750


def test_its_texts_say_what_they_are() -> None:
    texts = starter()
    assert set(texts) == {"campaign.stay", "site.stay", "first.stay", "second.stay", "jackstay.toml"}
    assert all(text.startswith("# ") and text.endswith("\n") for text in texts.values())
