"""Texts that must give nothing: other languages and scripts, odd characters, plans that ask for no judgement."""

from __future__ import annotations

import datetime
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from wording.test_corpus import shipped_words

from jackstay.pipeline import check
from jackstay.wording.judging import judge
from jackstay.wording.lexicon import Lexicon, forms

KINDS = ("instruction", "note", "caution", "warning", "danger", "reading", "description", "step")
FOREIGN = (
    "Öffnen Sie zuerst das linke Ventil und schließen Sie danach langsam den Deckel, bis die Anzeige 40 erreicht, und "
    "warten Sie dann ungefähr fünf Minuten, ohne den Hebel noch einmal zu berühren oder den Schlauch zu bewegen.",
    "Ouvrez la vanne gauche puis fermez lentement le couvercle si la pression dépasse 40.",
    "打开左侧阀门,然后慢慢关闭盖子。警告:高温会烫伤您的手。",
    "افتح الصمام الأيسر ثم أغلق الغطاء ببطء. تحذير: السطح الساخن قد يحرق يدك.",
    "Откройте левый клапан и медленно закройте крышку, затем подождите 5 минут.",
    "バルブを開けて、ふたを閉めてください。40まで回す。",
    "🔥🔥 ⚠️ 🖐️ 40 🚫",
)


@pytest.fixture(scope="module")
def lexicon(tmp_path_factory: pytest.TempPathFactory) -> Lexicon:
    return Lexicon.of(shipped_words(tmp_path_factory.mktemp("words")))


@pytest.mark.parametrize("text", FOREIGN)
@pytest.mark.parametrize("kind", KINDS)
def test_another_language_gives_nothing(kind: str, text: str, lexicon: Lexicon) -> None:
    assert judge(kind, text, lexicon) == []


@settings(max_examples=300, deadline=None)
@given(
    kind=st.sampled_from(KINDS),
    text=st.lists(
        st.one_of(st.text(max_size=8), st.sampled_from(["open", "the", "if", ",", ".", "40", "do not", "or", "and"])),
        max_size=12,
    ),
)
def test_no_text_breaks_it(kind: str, text: list[str], lexicon: Lexicon) -> None:
    joined = " ".join(text)
    assert judge(kind, joined, lexicon) == judge(kind, joined, lexicon)


def test_no_words_no_findings() -> None:
    empty = Lexicon({})
    assert judge("instruction", "You should open the valve and close the lid as required.", empty) == []


@pytest.mark.parametrize(
    "word, form", [("scratches", "scratch"), ("wiped", "wipe"), ("stopping", "stop"), ("dries", "dry"), ("cuts", "cut")]
)
def test_forms_of_a_word(word: str, form: str) -> None:
    assert form in forms(word)


PLAN = """use units
{uses}kind diver is actor
kind ship is location
  inside
action say WORDS: text
  by diver
  takes 1 min
{words}location deck : ship
actor ada : diver, at deck
excursion dive
  crew ada
  task work : required
    ada at deck
      say "{text}"
"""


def told(folder: Path, text: str, uses: str = "use wording\n", words: str = "") -> list[str]:
    (folder / "plan.stay").write_text(PLAN.format(uses=uses, words=words, text=text), encoding="utf-8")
    return [one.rule for one in check(folder / "plan.stay", datetime.date(2026, 1, 1)).diagnostics]


def test_a_plan_that_does_not_use_it_hears_nothing(tmp_path: Path) -> None:
    assert told(tmp_path, "You should turn the dial to 40 as required.", uses="") == []
    assert told(tmp_path, "You should turn the dial to 40 as required.", uses="", words='words vague\n  "dial"\n') == []


def test_a_plan_that_does_not_use_it_does_not_load_it(tmp_path: Path) -> None:
    (tmp_path / "plan.stay").write_text(PLAN.format(uses="", words="", text="Open it."), encoding="utf-8")
    program = (
        "import sys, pathlib; from jackstay.pipeline import check; check(pathlib.Path(sys.argv[1])); "
        "print([m for m in sys.modules if m.startswith(('jackstay.wording', 'jackstay.model.hazards'))])"
    )
    run = subprocess.run(
        [sys.executable, "-c", program, str(tmp_path / "plan.stay")], capture_output=True, text=True, check=True
    )
    assert run.stdout.strip() == "[]"


def test_a_team_adds_to_a_list_and_takes_out_of_it(tmp_path: Path) -> None:
    assert told(tmp_path, "Open the hatch dreamily.") == []
    assert told(tmp_path, "Open the hatch dreamily.", words='words vague\n  "dreamily"\n') == ["vague-amount"]
    assert told(tmp_path, "Open the hatch slowly.") == ["vague-amount"]
    assert told(tmp_path, "Open the hatch slowly.", words='words vague\n  not "slowly"\n') == []


def test_a_list_that_nobody_reads_is_told(tmp_path: Path) -> None:
    assert told(tmp_path, "Open the hatch.", words='words vauge\n  "dreamily"\n') == ["unknown-value"]


def test_the_verbs_of_the_plan_are_commands(tmp_path: Path) -> None:
    action = "action frobnicate N: count\n  by diver\n  takes 1 min\n"
    assert told(tmp_path, "Frobnicate lids and say the word.") == []
    assert told(tmp_path, "Frobnicate lids and say the word.", words=action) == ["several-instructions"]
