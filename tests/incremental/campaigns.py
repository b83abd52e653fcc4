"""Small campaigns with all that one excursion may know of another."""

from __future__ import annotations

from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def _folder(path: Path) -> dict[str, str]:
    return {one.name: one.read_text(encoding="utf-8") for one in sorted(path.glob("*.stay"))}


def demo() -> tuple[str, dict[str, str]]:
    return "campaign.stay", _folder(ROOT / "examples" / "tarn-depot")


_YARD = """use units
use suited
use cabin

kind shelf is fixture
  holds any load by clip

location yard
  deck : worksite, room 2
  mast : worksite, room 2
  deck-rail : shelf, within reach of deck
  mast-rail : shelf, within reach of mast
path lobby to deck 3 m
path deck to mast 8 m
location hub
  lobby : airlock, hatch open, normally open, air empty, normally empty

actor wren, teal : suited, at lobby
item reel-wren : reel, length 60 m, user wren, from lobby to wren
item reel-teal : reel, length 60 m, user teal, from lobby to teal
item lamp, horn, drum : gear, mass 1 kg, on deck-rail
item spare : gear, mass 1 kg, on mast-rail

routine fetch THING from PLACE : slot THING load, slot PLACE shelf
"""


def _plan(number: int, start: str, body: str, end: str = "") -> str:
    return f'excursion part{number} "Part {number}"\n  crew wren, teal\n  starts {start}\n{body}{end}\n'


_FIRST = """  clock from start, limit 3 h, reserve 10 min

  task look : required
    wren at deck
      take lamp from deck-rail [4 min]
      put lamp on deck-rail [2 min], says seen
  task more : get-ahead, after look
    wren at deck
      inspect deck-rail [3 min]
  task back : required, after look
    wren at lobby
"""
_SECOND = """
  task carry : required
    wren at deck
      take drum from deck-rail [3 min]
    wren at mast
      put drum on mast-rail [2 min, 1 to 4], says there
    teal at mast, on there
      inspect mast-rail [2 min]
    wren at lobby
    teal at lobby
  task polish : wanted
    teal at deck
      inspect deck-rail [6 min]
    teal at lobby
  left outside: drum until part3
"""
_THIRD = """
  task fetch : required
    teal at mast
      take drum from mast-rail [3 min]
    teal at deck
      put drum on deck-rail [2 min], says home
    teal at lobby
    done when drum on deck-rail
  task watch : required
    wren at deck, on home
      inspect deck-rail [1 min]
    wren at lobby
  left outside: drum
"""
_FOURTH = """
  task again : required
    wren at deck
      take horn from deck-rail [3 min], says got
      put horn on deck-rail [3 min]
    wren at lobby
  task after-all : required, only if part1.more is done
    teal at mast
      inspect mast-rail [2 min]
    teal at lobby
  fallback horn-stays, from got, instead of again
    wren at deck
      put horn on deck-rail
    wren at lobby
    teal at deck, on got
    teal at lobby
"""


def one_file() -> tuple[str, dict[str, str]]:
    """Four excursions in one file, with the place of all in it."""
    yard = _YARD.partition("routine")[0]
    plan = "\n".join(
        [
            yard,
            "campaign yard-work\n  excursions part1, part2, part3, part4\n",
            _plan(1, "as plan", _FIRST),
            _plan(2, "as part1 ends", _SECOND),
            "# the third one brings it back\n" + _plan(3, "as part2 ends", _THIRD),
            _plan(4, "from promise of part3", _FOURTH),
        ]
    )
    return "plan.stay", {"plan.stay": plan}


def several_files() -> tuple[str, dict[str, str]]:
    """The same in five files."""
    uses = "use units\nuse suited\nuse cabin\nuse yard\n"
    files = {
        "yard.stay": _YARD.partition("routine")[0],
        "part1.stay": f"{uses}\n{_plan(1, 'as yard', _FIRST)}",
        "part2.stay": f"{uses}use part1\n\n{_plan(2, 'as part1 ends', _SECOND)}",
        "part3.stay": f"{uses}use part2\n\n{_plan(3, 'as part2 ends', _THIRD)}",
        "all.stay": f"{uses}use part1\nuse part2\nuse part3\n\n"
        + "campaign works\n  excursions part1, part2, part3, part4\n\n"
        + _plan(4, "as part3 ends", _FOURTH),
    }
    return "all.stay", files


_CLOCKED = """use units
use suited
use cabin

let first-dark = 41 min

kind shelf is fixture
  holds any load by clip
kind strip is fixture
  has state: on or off, normally off

location yard
  deck : worksite, room 2
  mast : worksite, room 2
  deck-rail : shelf, within reach of deck
  mast-rail : shelf, within reach of mast
path lobby to deck 3 m
path deck to mast 8 m
location hub
  lobby : airlock, hatch open, normally open, air empty, normally empty

actor wren, teal : suited, at lobby
item reel-wren : reel, length 60 m, user wren, from lobby to wren
item reel-teal : reel, length 60 m, user teal, from lobby to teal
item lamp, horn, drum : gear, mass 1 kg, on deck-rail
item spare : gear, mass 1 kg, on mast-rail

rule not-for-long "Nobody is at the mast for long"
  never A: suited at mast longer than 40 min

routine bring THING: gear from HERE: shelf, WHO: suited to THERE: worksite, RACK: shelf
  WHO at THERE
    take THING from HERE
    put THING on RACK, says brought

routine idle-round WHO: suited
  WHO at deck
    inspect deck-rail [4 min]

campaign rich
  excursions one, two

excursion one
  crew wren, teal
  starts as rich
  begins 2027-03-02 at 9 h
  clock from start, limit 3 h
  light dark 45 min of every 118 min, first at first-dark
  finish together within 60 min
  task walk : required
    wren at deck
      inspect deck-rail [4 min], in daylight, says seen
    teal at mast, on seen
      inspect mast-rail [3 min, 2 to 5]
    teal at lobby
    wren at lobby
  task round : get-ahead
    idle-round wren
    wren at lobby

excursion two
  crew wren, teal
  starts from promise of one
  begins 2027-03-03 at 9 h
  task carry : required, by 2 h
    wren at deck
      take lamp from deck-rail
      note "Slowly."
      put lamp on deck-rail, says put-back
    wren at lobby
    done when lamp on deck-rail
  task more : wanted, only if one.round is done
    teal at deck, on put-back
      inspect deck-rail [2 min]
    teal at lobby
"""


def clocked() -> tuple[str, dict[str, str]]:
    """Dates, light, a rule of the clock, a promise, routines of its own (one of them called), a value, a note."""
    return "rich.stay", {"rich.stay": _CLOCKED}


CAMPAIGNS = {"clocked": clocked, "demo": demo, "one-file": one_file, "several-files": several_files}
