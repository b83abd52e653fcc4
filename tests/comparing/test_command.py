"""``jackstay compare``: arguments, exit codes, formats, files."""

from __future__ import annotations

import base64
import json
import re
import shutil
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest
from comparing.history import DEMO, git

from jackstay.commands.main import main

SMALL = """\
use units
kind rigger is actor
  holds 2 item by hand
kind place is location
  inside
  holds any item by strap
action fetch THING: item from SPOT: place
  by rigger
  needs THING on SPOT
  makes THING in hand of actor, then THING not on SPOT
  takes 2 min
action wave
  by rigger
  takes 1 min
kind load is item
location gate : place
actor ida, per : rigger, at gate
item rope, pole : load, on strap of gate
excursion drill
  crew ida, per
  task work : required
    ida
      fetch rope from gate
      wave, says waved
    per
      fetch pole from gate, on waved
"""


@pytest.fixture
def plans(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    for name in ("NO_COLOR", "FORCE_COLOR"):
        monkeypatch.delenv(name, raising=False)
    for side in ("old", "new"):
        (tmp_path / side).mkdir()
        (tmp_path / side / "drill.stay").write_text(SMALL, encoding="utf-8")
    return tmp_path


def edit(folder: Path, old: str, new: str) -> None:
    path = folder / "new" / "drill.stay"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def test_nothing_has_changed(plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", "old", "new"]) == 0
    assert capsys.readouterr().out == "What has changed in Drill, from old to new\n\nNothing has changed.\n"


def test_only_the_text_has_changed(plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(plans, "    per\n", "    # and then\n    per\n")
    assert main(["compare", "old", "new"]) == 0
    edit(plans, "      fetch rope from gate\n", "      fetch rope from gate\n    ida\n")
    assert main(["compare", "old", "new"]) == 0
    out = capsys.readouterr().out
    assert "Nothing has changed.\n" in out and "Nothing has changed in meaning; the text has.\n" in out


def test_a_change(plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(plans, "fetch pole from gate, on waved", "fetch pole from gate")
    assert main(["compare", "old", "new"]) == 1
    out = " ".join(capsys.readouterr().out.split())
    assert "no longer waits for Ida's waved before fetch pole from gate (work); nothing else keeps that order" in out
    assert "critical chain: without fetch pole from gate (Per)" in out


def test_for_one_of_the_crew(plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(plans, "      wave, says", "      wave\n      wave, says")
    assert main(["compare", "old", "new", "--for", "Ida"]) == 1
    ours = capsys.readouterr().out
    assert "What has changed for Ida in Drill" in ours and "new: wave (work)" in ours and "Ida 0:04 (was 0:03)" in ours
    assert "Per" not in ours
    assert main(["compare", "old", "new", "--for", "per"]) == 1
    theirs = capsys.readouterr().out
    assert "new: wave" not in theirs and "ends at 0:06 (was 0:05), 1 min later" in theirs
    assert main(["compare", "old", "new", "--for", "bo"]) == 2
    assert "no actor is called bo on either side; there are: ida, per" in " ".join(capsys.readouterr().err.split())


def test_whoever_is_waited_for_hears_of_it(plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(plans, "fetch pole from gate, on waved", "fetch pole from gate")
    assert main(["compare", "old", "new", "--for", "ida"]) == 1
    assert "no longer waits for Ida's waved" in capsys.readouterr().out


def test_data(plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(plans, "wave, says waved", "wave [3 min], says waved")
    assert main(["compare", "old", "new", "--format", "json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert (data["format"], data["old"], data["new"], data["changed"]) == ("jackstay.comparison/1", "old", "new", True)
    first = data["changes"][0]
    assert (first["sort"], first["what"], first["old"], first["new"]) == ("step-changed", "duration", None, "3 min")
    assert first["step"]["old"]["text"] == first["step"]["new"]["text"] == "wave"
    end = next(one for one in data["changes"] if one["sort"] == "figure-changed" and one["actor"] is None)
    assert (end["old"]["value"], end["new"]["value"]) == (300, 420)


def test_markdown_takes_nothing_in_the_plan_for_markup(plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(plans, "      wave, says", '      note "ask @team, see #12 <b>`now`</b>"\n      wave, says')
    assert main(["compare", "old", "new", "--format", "markdown"]) == 1
    out = capsys.readouterr().out
    (line,) = [row for row in out.splitlines() if "@team" in row]
    assert '``"ask @team, see #12 <b>`now`</b>"``' in line
    assert out.startswith("### What has changed in Drill\n\nFrom `old` to `new`. Changed: 1 step otherwise.\n")


def test_a_comment_has_an_end(plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(plans, "      wave, says", "      wave\n" * 3_000 + "      wave, says")
    assert main(["compare", "old", "new", "--format", "markdown"]) == 1
    out = capsys.readouterr().out
    assert len(out) < 65_000
    shown = sum(line.startswith("- ") for line in out.splitlines())
    (rest,) = re.findall(r"^… and (\d+) more\.$", out, re.MULTILINE)
    assert shown + int(rest) > 3_000


def test_a_page_needs_no_network_and_runs_nothing(plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(plans, "      wave, says", '      note "<script>alert(1)</script>"\n      wave\n      wave, says')
    assert main(["compare", "old", "new", "--format", "html", "-o", "page.html"]) == 1
    assert capsys.readouterr().out == "Changed: 1 step new. Wrote page.html.\n"
    page = (plans / "page.html").read_text(encoding="utf-8")
    assert "<script" not in page and "&lt;script&gt;" in page
    assert not re.search(r"(src|href)=\"(?!data:)", page) and "default-src 'none'" in page
    pictures = re.findall(r"data:image/svg\+xml;base64,([^\"]+)", page)
    assert len(pictures) >= 4  # both timelines, both diagrams
    for picture in pictures:
        assert ElementTree.fromstring(base64.b64decode(picture)).tag.endswith("svg")
    assert main(["compare", "old", "new", "--format", "html"]) == 2
    assert "name it with -o FILE" in capsys.readouterr().err


def test_a_page_of_nothing(plans: Path) -> None:
    assert main(["compare", "old", "new", "--format", "html", "-o", "page.html"]) == 0
    assert "Nothing has changed." in (plans / "page.html").read_text(encoding="utf-8")


def test_a_file_that_cannot_be_written(plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", "old", "new", "-o", "nowhere/told.txt"]) == 2
    assert "nowhere/told.txt cannot be written" in capsys.readouterr().err


@pytest.mark.parametrize("fmt", ["text", "markdown", "json", "html"])
@pytest.mark.parametrize(
    "broken",
    [
        ("excursion drill", "excursion drill drill"),
        ("fetch pole from gate", "fetsch pole from gate"),
        ("wave, says waved", "wave, says waved, on waved"),
        ("crew ida, per", "crew ida, bo"),
        ("kind rigger is actor", "kind rigger is aktor"),
        (SMALL, "\0"),
        (SMALL, SMALL * 2),
    ],
    ids=["excursion", "verb", "circle", "crew", "kind", "bytes", "twice"],
)
def test_a_broken_side(plans: Path, capsys: pytest.CaptureFixture[str], broken: tuple[str, str], fmt: str) -> None:
    """What can be compared is, and what cannot is said; whichever side it is."""
    edit(plans, *broken)
    for sides in (("old", "new"), ("new", "old")):
        assert main(["compare", *sides, "--format", fmt, "-o", "made"]) == 1
        made = (plans / "made").read_text(encoding="utf-8")
        assert capsys.readouterr().err == ""
        word = {"json": "not-compared"}.get(fmt, "Not compared")
        assert word in made


def test_an_empty_side(plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(plans, SMALL, "# nothing yet\n")
    assert main(["compare", "old", "new"]) == 1
    assert "- excursion no longer there: 1 task, 3 steps" in capsys.readouterr().out
    assert main(["compare", "new", "new"]) == 0


def test_what_stands_under_a_broken_line_is_compared(plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(plans, "fetch rope from gate", "fetsch rope from gate")
    edit(plans, "      fetch pole", "      wave\n      fetch pole")
    assert main(["compare", "old", "new"]) == 1
    out = capsys.readouterr().out
    assert "error unknown-verb" in out and "new: wave (work)" in out
    assert "on the new side some of its lines or names are not understood" in " ".join(out.split())


def test_what_nobody_has_looked_for_is_not_gone(plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for side in ("old", "new"):
        path = plans / side / "drill.stay"
        path.write_text(SMALL.replace("fetch pole", "fetch rope"), encoding="utf-8")
    edit(plans, "      wave,", "      wafe,")
    assert main(["compare", "old", "new"]) == 1
    out = " ".join(capsys.readouterr().out.split())
    assert "Gone" not in out and "on the new side nobody has looked for what the other has: " in out


# --- revisions ------------------------------------------------------------------------------------------------------


@pytest.fixture
def repository(plans: Path) -> Path:
    git(plans, "init", "-q", "-b", "main")
    shutil.move(plans / "new", plans / "plans")
    git(plans, "add", "plans")
    git(plans, "commit", "-q", "-m", "The drill")
    return plans


def test_a_revision_against_the_files(repository: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", "HEAD:plans", "plans"]) == 0
    path = repository / "plans" / "drill.stay"
    path.write_text(SMALL.replace("      wave, says", "      wave\n      wave, says"), encoding="utf-8")
    capsys.readouterr()
    assert main(["compare", "main:plans/drill.stay", "plans"]) == 1
    out = capsys.readouterr().out
    assert out.startswith("What has changed in Drill, from main:plans/drill.stay to plans\n")
    git(repository, "commit", "-q", "-a", "-m", "Once more")
    assert main(["compare", "HEAD~1:plans", "HEAD:plans"]) == 1
    assert capsys.readouterr().out.splitlines()[1:] == out.splitlines()[1:]


@pytest.mark.parametrize(
    ("side", "why"),
    [
        ("HEAD~7:plans", "HEAD~7 is no revision of the git repository"),
        ("HEAD:pläne", "pläne does not exist at HEAD"),
        ("HEAD:", "HEAD: names no path after the colon"),
        (":plans", ":plans names no revision before the colon"),
        ("nothing", "nothing does not exist"),
        ("HEAD:../..", "git repository"),
    ],
)
def test_what_cannot_be_compared(repository: Path, capsys: pytest.CaptureFixture[str], side: str, why: str) -> None:
    for arguments in ((side, "plans"), ("plans", side)):
        assert main(["compare", *arguments]) == 2
        told = capsys.readouterr()
        assert told.out == "" and why in " ".join(told.err.split())


def test_a_folder_of_several_plans_is_told_as_it_was_named(
    repository: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (repository / "plans" / "other.stay").write_text(SMALL.replace("drill", "other"), encoding="utf-8")
    git(repository, "add", "plans")
    git(repository, "commit", "-q", "-m", "Another")
    assert main(["compare", "HEAD:plans", "plans/drill.stay"]) == 2
    told = " ".join(capsys.readouterr().err.split())
    assert "HEAD:plans holds several plans, name one: HEAD:plans/drill.stay, HEAD:plans/other.stay" in told


def test_the_demo_is_read_with_all_that_it_uses(plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    git(plans, "init", "-q", "-b", "main")
    shutil.copytree(DEMO, plans / "depot")
    git(plans, "add", "depot")
    git(plans, "commit", "-q", "-m", "The demo")
    for path in (plans / "depot").glob("*.stay"):
        path.unlink()
    assert main(["compare", "HEAD:depot", "HEAD:depot/campaign.stay"]) == 0
    assert "Nothing has changed." in capsys.readouterr().out


# --- headings and what stands under them -----------------------------------------------------------------------------


def told(capsys: pytest.CaptureFixture[str]) -> list[str]:
    """The lines about steps, in one piece and without their places."""
    text = re.sub(r"\n {8,}", " ", capsys.readouterr().out)
    return [found[1] for found in re.finditer(r"^ {4}([-+~] .*) \[\S+:\d+\]$", text, re.MULTILINE)]


def test_a_heading_waits_for_all_that_stands_under_it(plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Whichever of the steps under it comes first: that the heading waits has not changed."""
    for side in ("old", "new"):
        text = SMALL.replace(
            "    per\n      fetch pole from gate, on waved", "    per, on waved\n      wave\n      fetch pole from gate"
        )
        (plans / side / "drill.stay").write_text(text, encoding="utf-8")
    edit(plans, "    per, on waved\n      wave\n", "    per, on waved\n")
    assert main(["compare", "old", "new"]) == 1
    assert told(capsys) == ["- no longer: wave, on waved (work)"]
    assert main(["compare", "new", "old"]) == 1
    assert told(capsys) == ["+ new: wave, on waved (work)"]
    edit(plans, "    per, on waved\n", "    per\n")
    assert main(["compare", "old", "new"]) == 1
    assert told(capsys) == [
        "- no longer: wave, on waved (work)",
        "- no longer waits for Ida's waved before fetch pole from gate (work); nothing else keeps that order",
    ]


def test_a_block_joined_to_the_one_before(plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its steps stand under a heading that waits now; as they came after it anyway, nothing has changed."""
    for side in ("old", "new"):
        text = SMALL.replace("    per\n      fetch pole from gate, on waved\n", "    per, on waved\n      wave\n")
        (plans / side / "drill.stay").write_text(text + "    per\n      fetch pole from gate\n", encoding="utf-8")
    edit(plans, "      wave\n    per\n      fetch pole from gate\n", "      fetch pole from gate\n      wave\n")
    assert main(["compare", "old", "new"]) == 1
    assert told(capsys) == ["~ now does fetch pole from gate before wave"]


def test_waiting_before_or_after_the_way(plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(plans, "    per\n      fetch pole from gate, on waved", "    per, on waved\n      fetch pole from gate")
    assert main(["compare", "old", "new"]) == 1
    assert told(capsys) == ["~ waits for waved before going there, was when there: fetch pole from gate (work)"]


def test_a_heading_that_stands_alone(plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(plans, "    per\n", "    per at gate, on waved\n    per\n")
    assert main(["compare", "old", "new"]) == 1
    assert told(capsys)[0] == "+ new: be at gate, on waved (work)"
