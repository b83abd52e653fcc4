"""Texts that must give nothing (other languages and scripts, odd characters, plans that ask for no judgement), and
sentences on both sides of a rule's edge."""

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
# Sentences near to what a rule is about, each for a way in which one could be wrong.
GOOD = (
    ("instruction", "Confirm hatches are shut."),
    ("instruction", "Check the gauge once every 10 min."),
    ("instruction", "Pull the cord once more."),
    ("instruction", "Ask Ochre if the valve is shut."),
    ("instruction", "Wrap the line around 2 posts."),
    ("instruction", "Continue to rack 4."),
    ("instruction", "Keep string 3 taut."),
    ("instruction", "Remove any oil or grease from the thread."),
    ("instruction", "Count how many bolts are in the tray."),
    ("instruction", "Set the mode switch to NORMAL."),
    ("instruction", "Leave enough slack to reach rail 4."),
    ("instruction", "Keep the line taut and lower the bag."),
    ("instruction", "Push down and turn the cap."),
    ("instruction", "Do not push, do not pull."),
    ("instruction", "Neither lift nor tilt the case."),
    ("instruction", "Do not dive without a partner."),
    ("instruction", 'Say "stop" or "go".'),
    ("instruction", "Stir the mix every 5 min."),
    ("instruction", "Repeat the message back."),
    ("instruction", "Should the pressure fall, close the inlet."),
    ("instruction", "Stow tools that are not used."),
    ("instruction", "Turn lamps that were lit off."),
    ("instruction", "Use no more than 5 mL and no less than 3 mL."),
    ("instruction", "Check the strap for cuts and wear."),
    ("instruction", "If the light is red, wait; if it is green, enter."),
    ("instruction", "Where the pipe bends, fit a clip."),
    ("instruction", "Pump 2 off."),
    ("note", "Steam leaks cannot be heard."),
    ("note", "The sick bay is behind door 2."),
    ("note", "Old damage is marked with chalk."),
    ("note", "The crushed bolts go into bin 4."),
    ("note", "See figure 3."),
    ("warning", "The bottle can burst. Stay behind the screen."),
    ("warning", "The edge of the tin cuts. Use the tongs."),
    ("warning", "Because the blade can cut you, keep your hands off it."),
    ("warning", "Keep your hands off the blade, or it will cut them."),
    ("warning", "The roof is slippery, so you can fall. Clip on."),
    ("warning", "Only trained divers may enter. The gas can suffocate you."),
    ("warning", "Lock pins shear and the load drops on your feet. Stand back."),
    ("warning", "Gas pockets explode when lit. Never light a flame."),
    ("caution", "The hand wheel can bend the spindle. Do not force it."),
    ("caution", "The screen breaks under a fingertip. Touch the frame only."),
    ("caution", "The tip of the probe bends under the weight of a hand. Hold it by the shaft."),
    ("caution", "Magnets erase the card. Keep them apart."),
    ("warning", "WARNING: A small leak could kill you. Stay out."),
    ("danger", "CAUTION: The step can bruise your shin. Lift your feet."),
    ("warning", "The scaffold may collapse under three people. Go up one at a time."),
    ("caution", "Wrong polarity blows the fuse. Match the colours."),
    ("instruction", "If either lamp goes out, surface."),
    ("reading", "4 in the tray"),
    ("reading", '"Ready"'),
    ("reading", "2 of 4"),
    ("reading", "knob at 3"),
    ("reading", "Teal ready"),
)
BAD = (
    ("instruction", "Close the inlet should the pressure fall.", "buried-condition"),
    ("instruction", "The hatch must be locked when the lamp is lit.", "passive-instruction buried-condition"),
    ("instruction", "Open the door only when the pressure is equal.", "buried-condition"),
    ("instruction", "Clean and dry the lens.", "several-instructions"),
    ("instruction", "Hold the button for 5 s and release the lever.", "several-instructions timed-without-start"),
    ("instruction", "Sweep the floor and empty the bin.", "several-instructions"),
    ("instruction", "You open the inner hatch.", "not-imperative"),
    ("instruction", "The next step is the purge.", "not-imperative"),
    ("instruction", "Closing the inlet valve.", "not-imperative"),
    ("instruction", "Fill the bath with 12 of brine.", "value-without-unit"),
    ("instruction", "Check that the pressure is between 4 and 6.", "value-without-unit"),
    ("instruction", "Reply within one minute.", "timed-without-start"),
    ("instruction", "Cut about a metre of tape.", "vague-amount"),
    ("instruction", "Pour the acid slowly from the flask into the water.", "vague-amount"),
    ("instruction", "Wipe the glass again and again.", "repeat-without-stop"),
    ("instruction", "Stop; call the desk.", "stop-without-answer"),
    ("instruction", "If the lamp is not lit, do not enter.", "several-negatives"),
    ("warning", "Moving parts. Keep hands clear.", "half-a-notice"),
    ("caution", "Injury may result. Keep clear.", "wrong-notice half-a-notice"),
    ("caution", "The spring can fly out and hit your eye. Hold the cover.", "wrong-notice"),
    ("caution", "Bleach gives off fumes that burn the lungs. Do not mix it with acid.", "wrong-notice"),
    ("warning", "A wet cloth blurs the print. Use a dry one.", "wrong-notice"),
    ("note", "Grit may damage the seal.", "wrong-notice"),
    ("note", "The old belt can snap and hit the operator.", "wrong-notice"),
    ("danger", "WARNING: The chain may bruise your hand slightly. Wear gloves.", "signal-word"),
    ("danger", "CAUTION: The saw could cut off your hand. Keep off.", "signal-word"),
    ("instruction", "Two persons carry the case.", "not-imperative"),
    ("instruction", "Alternatively, use the ladder.", "choice-in-prose"),
    ("caution", "The lid may fall on your head. Hold it.", "wrong-notice"),
    ("reading", "Pressure 30", "value-without-unit value-without-range"),
    ("reading", "Temperature 20 to 24", "value-without-unit"),
    ("reading", "approx. 3 bar", "vague-amount value-without-range"),
    ("reading", "Pressure normal", "empty-response"),
)


@pytest.fixture(scope="module")
def lexicon(tmp_path_factory: pytest.TempPathFactory) -> Lexicon:
    return Lexicon.of(shipped_words(tmp_path_factory.mktemp("words")))


@pytest.mark.parametrize("text", FOREIGN)
@pytest.mark.parametrize("kind", KINDS)
def test_another_language_gives_nothing(kind: str, text: str, lexicon: Lexicon) -> None:
    assert judge(kind, text, lexicon) == []


@pytest.mark.parametrize(("kind", "text"), GOOD)
def test_what_only_looks_wrong_gives_nothing(kind: str, text: str, lexicon: Lexicon) -> None:
    assert [found.rule for found in judge(kind, text, lexicon)] == []


@pytest.mark.parametrize(("kind", "text", "labels"), BAD)
def test_what_is_wrong_gives_just_that(kind: str, text: str, labels: str, lexicon: Lexicon) -> None:
    assert {found.rule for found in judge(kind, text, lexicon)} == set(labels.split())


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
