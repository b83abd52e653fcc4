"""`jackstay build --only`, `--forecast`, and making parts beside one another."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest

from jackstay.commands import making
from jackstay.commands.main import main
from jackstay.outputs import build as parts
from jackstay.outputs.build import PARTS, Job, Part, UnknownOutput, chosen, files_of, job_of
from jackstay.pipeline import check

DEMO = Path(__file__).parents[2] / "examples" / "tarn-depot" / "campaign.stay"
QUICK = ["timeline", "luck", "end", "custody"]


def job() -> Job:
    return job_of(check(DEMO), unchecked=False)


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir() if not path.name.startswith(".")}


def test_parts_by_name_by_file_and_by_pattern() -> None:
    assert chosen([])[0] == list(PARTS)
    assert chosen(["review"])[0] == ["review"]
    assert chosen(["plan.json", "end"])[0] == ["data", "end"]
    needed, asked = chosen(["order-first*"])
    assert needed == ["order"] and asked("order-first-1.svg") and not asked("order-second-1.svg")
    needed, asked = chosen(["*.svg"])
    assert {"crew", "order", "frames", "custody", "holds"} <= set(needed) and asked("frames-first.svg")
    assert not asked("custody.txt")
    for unknown in ("nonsense", "review.htm"):
        with pytest.raises(UnknownOutput):
            chosen([unknown])


EMPTY = ("calendar", "forms")  # the demo gives no dates, and no vocabulary of its asks for a form


def test_each_part_gives_the_files_it_names_and_only_those() -> None:
    of = job()
    for name, part in PARTS.items():
        _, asked = chosen([name])
        made = files_of(of, [name])
        assert made or name in EMPTY, name
        assert all(asked(file) for file in made), (name, part.files)


def test_beside_one_another_the_same_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    of = job()
    monkeypatch.setattr(making, "_processors", lambda: 3)
    assert making.make(of, QUICK) == files_of(of, QUICK)
    monkeypatch.setattr(making, "_processors", lambda: 1)
    assert making.make(of, QUICK) == files_of(of, QUICK)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are not copied here")
def test_what_goes_wrong_in_a_copy_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    here = os.getpid()

    def fails(of: object) -> dict[str, str]:
        if os.getpid() != here:
            raise ArithmeticError("no")
        os.sched_yield()
        return {"a": ""}

    monkeypatch.setattr(making, "_processors", lambda: 2)
    monkeypatch.setattr(making, "_take", lambda pieces, turns: {} if os.getpid() == here else fails(None))
    with pytest.raises(ArithmeticError, match="no"):
        making.make(job(), QUICK)
    monkeypatch.setattr(making, "_take", lambda pieces, turns: {} if os.getpid() == here else os._exit(9))
    with pytest.raises(RuntimeError, match="ended before it was through"):
        making.make(job(), QUICK)


def test_only_some_are_written_and_the_rest_stays(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    assert main(["build", str(DEMO), "-o", str(out), "--only", "end", "luck"]) == 0
    assert names(out) == {"end.txt", "luck.txt"}
    (out / "end.txt").write_text("old", encoding="utf-8")
    assert main(["build", str(DEMO), "-o", str(out), "--only", "luck.txt", "timeline"]) == 0
    assert names(out) == {"end.txt", "luck.txt", "timeline.txt"}
    assert (out / "end.txt").read_text(encoding="utf-8") == "old"
    capsys.readouterr()
    assert main(["build", str(DEMO), "-o", str(out), "--only", "lunch"]) == 2
    assert "no output is called lunch; there are calendar, checklists," in capsys.readouterr().err


def test_what_is_no_longer_made_goes_with_the_next_whole_build(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    few = {"end": PARTS["end"], "luck": Part(("luck.txt",), lambda of: {"luck.txt": "luck"})}
    monkeypatch.setattr(parts, "PARTS", few)
    out = tmp_path / "out"
    assert main(["build", str(DEMO), "-o", str(out), "--only", "luck"]) == 0
    assert main(["build", str(DEMO), "-o", str(out), "--only", "end"]) == 0
    assert names(out) == {"end.txt", "luck.txt"}
    monkeypatch.setattr(parts, "PARTS", {"end": PARTS["end"]})
    assert main(["build", str(DEMO), "-o", str(out)]) == 0
    assert names(out) == {"end.txt"}


def test_a_forecast_is_in_the_page_only_when_asked_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = []
    for more in ([], ["--forecast", "50"], ["--forecast", "50"]):
        assert main(["build", str(DEMO), "-o", str(tmp_path), "--only", "review", *more]) == 0
        text = (tmp_path / "review.html").read_text(encoding="utf-8")
        data = re.search(r'id="plan">(.*?)</script>', text, re.DOTALL)
        assert data is not None
        found.append(json.loads(data[1])["forecast"])
    assert found[0] is None
    assert found[1] == found[2] and found[1]["samples"] == 50 and len(found[1]["excursions"]) == 3
    capsys.readouterr()
    assert main(["build", str(DEMO), "-o", str(tmp_path), "--forecast", "-1"]) == 2


def test_a_plan_that_was_not_followed_has_one_file_whatever_is_asked_for(tmp_path: Path) -> None:
    (tmp_path / "a.stay").write_text("use nowhere\n", encoding="utf-8")
    out = tmp_path / "out"
    assert main(["build", str(tmp_path / "a.stay"), "-o", str(out), "--force", "--only", "review"]) == 1
    assert names(out) == {"not-followed.txt"}
