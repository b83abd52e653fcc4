"""The page of the way home, and its lines under a timeline."""

from __future__ import annotations

from pathlib import Path

from timing.home_oracle import WORDS

from jackstay.outputs.frame import frame_of
from jackstay.outputs.views import views_of
from jackstay.outputs.wayhome import home_lines, wayhome
from jackstay.pipeline import Checked, check

SITE = (
    WORDS
    + """
location hut : hut
location gate, ash : spot
path hut to gate 30 m, on a cord of hut
path gate to ash 60 m, on a cord of gate
actor ida : walker, pace 0.5 m/s, at hut
item hut-ida : cord, user ida, from hut to ida
item gate-ida : cord, user ida, from gate to gate
item chair-ash : chair, on bolts of ash
"""
)
WALK = """
excursion walk
  crew ida
  clock from the hut, limit {limit}
  task walk-out : required
    ida at ash in chair-ash
      look [400 s]
    ida at hut
"""


def checked(folder: Path, text: str) -> Checked:
    (folder / "plan.stay").write_text(text, encoding="utf-8")
    found = check(folder / "plan.stay")
    assert found.flow is not None
    return found


def page(folder: Path, text: str) -> list[str]:
    found = checked(folder, text)
    assert found.flow is not None
    return wayhome(views_of(found.flow), frame_of(found, True)).splitlines()


def test_the_figures_of_the_walk_by_hand(tmp_path: Path) -> None:
    """545 s at most while looking (see the reckoning in the tests of the way home); 3600 - 545 s is 50:55, 0:50."""
    lines = page(tmp_path, SITE + WALK.format(limit="60 min"))
    summary = [
        "  Ida: outside from 0:00 to 0:17.",
        "    the way home takes 9.1 min at most.",
        "    tightest just before 0:11, by the clock: 9.1 min needed, 48.8 min left, margin 39.8 min.",
        "    the last moment to turn back is the end: it fits at every moment.",
    ]
    start = lines.index(summary[0])
    assert lines[start : start + 4] == summary
    row = next(n for n, line in enumerate(lines) if " look: " in line)
    assert lines[row].startswith("   0:05 to  0:12  look: needs 9.1 min, margin 39.8 min, turn by 0:50  plan.stay:")
    assert lines[row + 1 : row + 3] == [
        "          break off 1.2 min; stand up from chair-ash 0.6 min; 60 m to Gate 2 min; change gate-ida to",
        "            hut-ida 1.8 min; 30 m to Hut 1 min; in by Hut 2.5 min",
    ]


def test_too_late_is_said_loudly(tmp_path: Path) -> None:
    text = SITE + WALK.format(limit="18 min")
    lines = page(tmp_path, text)
    assert "    the last moment to turn back is 0:08." in lines
    whole = " ".join(" ".join(lines).split())
    assert "9.1 min needed, 6.8 min left, margin 2.3 min TOO LITTLE." in whole
    assert "look: needs 9.1 min, margin NONE, 2.3 min short, turn by 0:08" in whole
    found = checked(tmp_path, text)
    assert found.flow is not None
    (view,) = views_of(found.flow)
    assert view.times is not None
    (line,) = home_lines(view, view.times)
    assert line.startswith("Way home, Ida: outside from 0:00 to 0:17; the way home takes 9.1 min at most; tightest")


def test_who_never_goes_out_is_not_followed(tmp_path: Path) -> None:
    text = SITE + WALK.format(limit="1 h").replace("    ida at ash in chair-ash\n", "    ida\n").replace(
        "    ida at hut\n", ""
    )
    assert any("Nobody goes outside and comes in again" in line for line in page(tmp_path, text))


def test_the_same_plan_gives_the_same_bytes(tmp_path: Path) -> None:
    text = SITE + WALK.format(limit="18 min")
    first = page(tmp_path, text)
    assert first == page(tmp_path, text)
    assert all(len(line) <= 100 for line in first)
