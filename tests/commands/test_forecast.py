"""``jackstay forecast`` and ``jackstay calibrate`` from the command line, on plans in a folder."""

from __future__ import annotations

import io
import json
import re
import shutil
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from jackstay.commands.main import main

PLAN = """\
use units

kind rigger is actor
kind spot is location
  inside
location yard
  gate : spot
actor ida, per : rigger, at gate

action mend WORDS: text
  by rigger
  takes 5 min
action wonder WORDS: text
  by rigger

excursion shift "Shift"
  crew ida, per
  clock from the gate, limit 1 h, reserve 10 min
  slow day 0.2, each 0.1

  task morning : required
    ida
      mend "roof" [10 min, 8 to 20], says roof-done   # the long one
      mend "gutter"
    per, on roof-done
      mend "door, [left]" [12 min, 6 to 15], by 25 min, says door-done
  task more : get-ahead
    per
      mend "fence" [9 min, 5 to 30]
"""


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for name in ("NO_COLOR", "FORCE_COLOR"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("COLUMNS", "100")
    (tmp_path / "shift.stay").write_text(PLAN, encoding="utf-8")
    return tmp_path


def edited(before: str, after: str) -> None:
    path = Path("shift.stay")
    text = path.read_text(encoding="utf-8")
    assert before in text
    path.write_text(text.replace(before, after), encoding="utf-8")


def data(capsys: pytest.CaptureFixture[str], *more: str) -> Any:
    assert main(["forecast", "--format", "json", "--samples", "4000", *more]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return json.loads(out)["excursions"][0]


# --- forecast --------------------------------------------------------------------------------------------------------


def test_a_page_with_both_answers(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["forecast", "--samples", "2000"]) == 0
    out, err = capsys.readouterr()
    assert err == "" and "\x1b" not in out and "\r" not in out
    assert "Planning aid, not certified" in out
    assert re.search(r"the excursion +as written +each for itself +classic PERT", out)
    assert 'Per: mend "fence"' in out and "begin by" in out
    assert all(len(line) <= 100 for line in out.splitlines())


def test_the_same_seed_gives_the_same_bytes(capsys: pytest.CaptureFixture[str]) -> None:
    for form in ("text", "json"):
        outs = []
        for seed in ("4", "4", "5"):
            assert main(["forecast", "--samples", "500", "--seed", seed, "--format", form]) == 0
            outs.append(capsys.readouterr().out)
        assert outs[0] == outs[1] != outs[2]


def test_figures_that_a_second_reckoning_gives(capsys: pytest.CaptureFixture[str]) -> None:
    """Each step for itself: the two chains of the plan, drawn here with another generator."""
    rng = np.random.default_rng(1)

    def drawn(least: float, likely: float, most: float) -> Any:
        stand = (likely - least) / (most - least)
        return 60 * (least + (most - least) * rng.beta(1 + 4 * stand, 5 - 4 * stand, 200_000))

    roof, door, fence = drawn(8, 10, 20), drawn(6, 12, 15), drawn(5, 9, 30)
    end = np.maximum(roof + 300, roof + door + fence)
    found = data(capsys)
    alone = found["each_for_itself"]
    assert alone["end"]["mean"] == pytest.approx(end.mean(), abs=4 * end.std() / 4000**0.5)
    assert alone["end"]["p90"] == pytest.approx(np.quantile(end, 0.9), abs=30)
    assert alone["inside_limit_less_reserve"] == pytest.approx((end <= 3000).mean(), abs=0.01)
    (bound,) = alone["bounds"]
    assert bound["kept"] == pytest.approx((roof + door <= 1500).mean(), abs=0.03)
    assert alone["tasks"]["morning"]["mean"] == pytest.approx((roof + door).mean(), abs=15)
    assert found["as_written"]["end"]["deviation"] > 1.1 * alone["end"]["deviation"]
    by_name = {step["step"]: step for step in found["steps"]}
    assert by_name['shift/more/per/mend "fence"']["critical"] == 1.0
    assert by_name['shift/morning/ida/mend "gutter"']["critical"] == 0.0
    (extra,) = found["get_aheads"]["each"]
    assert extra["fits_each_for_itself"] == pytest.approx((end <= 3000).mean(), abs=0.01)
    assert found["get_aheads"]["inside_without"] == 1.0


def test_the_latest_start_of_a_get_ahead_leaves_the_chance_it_says(capsys: pytest.CaptureFixture[str]) -> None:
    (extra,) = data(capsys)["get_aheads"]["each"]
    start = extra["begin_by"]
    assert start > extra["begins"]
    edited("task more : get-ahead", f"task more : get-ahead, not before {start / 60:.2f} min")
    (again,) = data(capsys)["get_aheads"]["each"]
    assert again["fits"] == pytest.approx(0.9, abs=0.015)


DEPOT = Path(__file__).parents[2] / "examples" / "tarn-depot"


def depot(capsys: pytest.CaptureFixture[str], limit: str, within: str) -> Any:
    """The forecast of the demo's second excursion, with another limit, a slow day, and an end that is to be common."""
    folder = Path("depot")
    shutil.copytree(DEPOT, folder, dirs_exist_ok=True)
    text = (folder / "second.stay").read_text(encoding="utf-8")
    text = re.sub(r"(clock from .*?limit) [^,\n]*", rf"\1 {limit}", text, count=1)
    text = re.sub(r"\n  (slow day|finish together) .*", "", text)
    text = text.replace("\n  clock ", f"\n  slow day 0.2, each 0.1\n  finish together within {within}\n  clock ", 1)
    (folder / "second.stay").write_text(text, encoding="utf-8")
    assert main(["forecast", "depot", "--format", "json", "--samples", "4000"]) == 0
    return json.loads(capsys.readouterr().out)["excursions"][1]


def test_the_way_home_and_the_common_end_of_the_demo(capsys: pytest.CaptureFixture[str]) -> None:
    wide, tight = depot(capsys, "9 h", "3 h")["as_written"], depot(capsys, "4 h 47 min", "2 min")["as_written"]
    assert wide["short_of_the_way_home"] == 0 and wide["together"] == 1
    assert 0 < tight["short_of_the_way_home"] <= sum(tight["short_of_the_way_home_by_actor"].values())
    assert set(tight["short_of_the_way_home_by_actor"]) == {"wren", "teal"} == set(tight["actors"])
    assert tight["together"] < 1 and tight["inside_limit"] < wide["inside_limit"]
    assert tight["end"] == wide["end"]  # neither moves a step


def test_without_a_third_number_nothing_is_uncertain(capsys: pytest.CaptureFixture[str]) -> None:
    text = re.sub(r"\[(\d+) min, [^\]]*\]", r"[\1 min]", PLAN)
    Path("shift.stay").write_text(text, encoding="utf-8")
    assert main(["forecast", "--samples", "50"]) == 0
    out = capsys.readouterr().out
    assert "Nothing is uncertain" in out
    assert re.search(r"inside the limit, 1 h +yes", out)


def test_a_step_without_a_duration_is_not_decided(capsys: pytest.CaptureFixture[str]) -> None:
    edited('      mend "gutter"\n', '      mend "gutter"\n      wonder "why"\n')
    assert main(["forecast", "--samples", "50"]) == 0
    out = capsys.readouterr().out
    assert "Not decided: 1 without a duration" in out and 'wonder "why"' in out
    (blank,) = data(capsys)["not_decided"]
    assert blank["what"] == "no-duration" and blank["step"] == 'shift/morning/ida/wonder "why"'


def test_a_plan_with_errors_is_not_forecast(capsys: pytest.CaptureFixture[str]) -> None:
    edited("on roof-done", "on roof-gone")
    assert main(["forecast"]) == 1
    out, err = capsys.readouterr()
    assert "roof-gone" in out and "nothing was forecast" in err.replace("\n", " ")
    assert main(["forecast", "--format", "json"]) == 1
    out, err = capsys.readouterr()
    assert out == "" and "nothing was forecast" in err


@pytest.mark.parametrize("wrong", [["--samples", "0"], ["--samples", "99999999"], ["--seed", "-1"], ["no-such.stay"]])
def test_what_cannot_run(wrong: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["forecast", *wrong]) == 2
    out, err = capsys.readouterr()
    assert out == "" and err.startswith("jackstay: ")


def test_progress_is_for_a_terminal_and_leaves_nothing_behind(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    class Shown(io.StringIO):
        def isatty(self) -> bool:
            return True

    shown = Shown()
    monkeypatch.setattr(sys, "stderr", shown)
    assert main(["forecast", "--samples", "50000"]) == 0
    text = shown.getvalue()
    assert "forecast of shift" in text and text.endswith("\r") and "\n" not in text
    assert "forecast of shift" not in capsys.readouterr().out


# --- calibrate -------------------------------------------------------------------------------------------------------

LOG = "step,run,minutes\n" + "".join(
    f'shift.morning.roof-done,r{k},{a}\nshift.stay:24,r{k},{b}\n"shift/more/per/mend ""fence""",r{k},{c}\n'
    for k, (a, b, c) in enumerate([(11, 4, 12), (13, 6.5, 9), (10, 5, 14), (19, 7, 25), (12, 5.5, 8), (14, 6, 11)])
)


def log(text: str = LOG, name: str = "log.csv") -> str:
    Path(name).write_text(text, encoding="utf-8")
    return name


def test_a_proposal_is_a_diff_and_touches_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["calibrate", log()]) == 0
    out = capsys.readouterr().out
    assert Path("shift.stay").read_text(encoding="utf-8") == PLAN
    assert "--- a/shift.stay\n+++ b/shift.stay\n" in out
    assert '-      mend "roof" [10 min, 8 to 20], says roof-done   # the long one\n' in out
    assert re.search(r'^\+      mend "gutter" \[\S+ min, \S+ to \S+\]$', out, re.MULTILINE)
    assert "slow day 0." in out and "common to a run: from " in out


def test_written_brackets_are_all_that_changes(capsys: pytest.CaptureFixture[str]) -> None:
    path = Path("shift.stay")
    path.write_bytes(b"\xef\xbb\xbf" + PLAN.replace("\n", "\r\n").encode())
    assert main(["calibrate", log(), "--write"]) == 0
    assert "wrote 1 file\n" in capsys.readouterr().out
    after = path.read_bytes()
    assert after.startswith(b"\xef\xbb\xbfuse units\r\n")
    text = after.decode("utf-8-sig")
    assert text.count("\r\n") == PLAN.count("\n") == text.count("\n")
    bare = re.compile(r" \[[0-9. ]+ min, [0-9. to]+\]")
    assert bare.sub("", text.replace("\r\n", "\n")) == bare.sub("", PLAN)
    assert len(bare.findall(text)) == len(bare.findall(PLAN)) + 1
    assert main(["check"]) == 0
    capsys.readouterr()
    assert main(["calibrate", "log.csv", "--write"]) == 0
    assert "nothing to write" in capsys.readouterr().out


def test_bad_rows_are_told_with_their_place_and_nothing_is_written(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["calibrate", log(LOG + "shift.morning.roof,r1,3\nshift.stay:24,r9,x\n"), "--write"]) == 1
    out, err = capsys.readouterr()
    assert "log.csv:20: error: there is no step called shift.morning.roof" in out
    assert "log.csv:21: error: x is no number of minutes" in out
    assert "nothing was written" in err and "Traceback" not in out + err
    assert Path("shift.stay").read_text(encoding="utf-8") == PLAN


def test_few_runs_give_a_band_and_no_number(capsys: pytest.CaptureFixture[str]) -> None:
    lines = LOG.splitlines(keepends=True)
    assert main(["calibrate", log("".join(lines[:13]))]) == 0
    out = capsys.readouterr().out
    assert "Fewer than 6 runs: bands, and no one number." in out and "slow day" not in out


def test_too_few_runs_propose_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["calibrate", log("".join(LOG.splitlines(keepends=True)[:4]))]) == 0
    out = capsys.readouterr().out
    assert "nothing: 1 run" in out and "---" in out and "+++" not in out


def test_a_plan_with_errors_is_not_calibrated(capsys: pytest.CaptureFixture[str]) -> None:
    edited("on roof-done", "on roof-gone")
    assert main(["calibrate", log()]) == 1
    assert "nothing was calibrated" in capsys.readouterr().err


@pytest.mark.parametrize("arguments", [["none.csv"], ["."], ["log.csv", "--plan", "none"]])
def test_what_cannot_be_read(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    log()
    assert main(["calibrate", *arguments]) == 2
    assert capsys.readouterr().err.startswith("jackstay: ")
