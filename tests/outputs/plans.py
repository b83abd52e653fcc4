"""Checked plans for the tests of the pictures: the demo, generated ones, and one whose names are long and odd."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from benchmarks.generate import write_campaign

from jackstay.outputs.frame import Frame, frame_of
from jackstay.outputs.views import View, views_of
from jackstay.pipeline import Checked, check

EXAMPLES = Path(__file__).parents[2] / "examples"
DEMO = EXAMPLES / "tarn-depot"
PLANS = ("demo", "long names", "generated 60", "generated 250")
OTHERS = ("harrow-sound", "corran-mill")  # of other trades
# What is written in the demo, and what stands there instead: other scripts, pictographs, words that no line holds.
LONG = {
    "actor wren, teal : suited, at lock": (
        'actor wren "Вренова-Заславская Екатерина, ведущая выходов и ответственная за фермы" : suited, at lock\n'
        'actor teal "翠 (テール) 船外活動担当者の非常に長い名前" : suited, at lock'
    ),
    "  deck : worksite, room 2": (
        '  deck "Deck of the cold end with a quite extraordinarily long-winded and '
        'entirely-unbreakable-hyphenated-name-that-goes-on" : worksite, room 2'
    ),
    "item rest1 : foot-rest": 'item rest1 "قاعدة القدم الأولى الطويلة جدا" : foot-rest',
    'item tray "Coupon tray"': (
        'item tray "🛰️🧰 <Tray> & Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft"'
    ),
    'excursion first "Lay the deck ready"': (
        'excursion first "Lay the deck ready, and all else that anybody could ever have thought of putting into one '
        'single title of an excursion, twice over, and then again"'
    ),
    'task drop "Leave for the third excursion"': 'task drop "第三次船外活動のために機材を残しておく作業と確認の手順"',
}


@cache
def plan(name: str) -> Checked:
    if name in OTHERS:
        return check(EXAMPLES / name / "campaign.stay")
    if name == "demo":
        return check(DEMO / "campaign.stay")
    with TemporaryDirectory() as folder:
        if name == "long names":
            return check(_renamed(Path(folder)))
        return check(write_campaign(Path(folder), int(name.split()[1])))


def _renamed(folder: Path) -> Path:
    left = set(LONG)
    for path in DEMO.glob("*.stay"):
        text = path.read_text(encoding="utf-8")
        for old, new in LONG.items():
            if old in text:
                text = text.replace(old, new)
                left.discard(old)
        (folder / path.name).write_text(text, encoding="utf-8")
    assert not left, f"the demo no longer says {left}"
    return folder / "campaign.stay"


@cache
def views(name: str) -> tuple[View, ...]:
    flow = plan(name).flow
    assert flow is not None
    return tuple(views_of(flow))


@cache
def frame(name: str) -> Frame:
    return frame_of(plan(name), unchecked=plan(name).failed)
