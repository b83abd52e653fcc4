"""The writer of drawings, its measuring of text, and the checks that all drawings are held to."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st
from outputs.geometry import NS, check, overlaps, read, struck
from outputs.plans import frame, plan, views

from jackstay.outputs.lettering import fold, text_width, wrap_text
from jackstay.outputs.look import COLOURS, HUES, ON_HUE, SHAPES, ActorStyle, actor_styles, css
from jackstay.outputs.sheet import Sheet, badge_legend
from jackstay.outputs.svg import Svg, num

# Advance widths of Helvetica and Arial, thousandths, from the space to the tilde (their published metrics; memory).
HELVETICA = (
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
    1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667,
    944, 667, 667, 611, 278, 278, 278, 469, 556, 333,
    556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500,
    722, 500, 500, 500, 334, 260, 334, 584,
)  # fmt: skip
TEXTS = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=60)


def drawing(*parts: str) -> str:
    svg = Svg("one", "One", "A drawing")
    svg.body += parts
    return svg.finish(400, 300)


def text(x: float, y: float, words: str, size: float = 8) -> str:
    return f'<text x="{x}" y="{y}" font-size="{size}">{words}</text>'


def test_our_widths_are_no_narrower_than_a_usual_face() -> None:
    """Letter by letter two faces differ either way a little; over words ours are the wider."""
    for code, width in enumerate(HELVETICA, start=32):
        assert text_width(chr(code), 1000) >= width - 65, chr(code)
    for words in ("undo bolts of heater-box with driver", "JILT", "WREN at Bay 4", "0:44 first.stay:46", "fitting"):
        assert text_width(words, 1000) > sum(HELVETICA[ord(letter) - 32] for letter in words)
    assert text_width("bold", 8, True) > text_width("bold", 8)


def test_letters_of_any_script_have_a_width() -> None:
    assert text_width("é", 10) == text_width("e", 10)
    assert text_width("e\u0301", 10) == text_width("e", 10)
    assert text_width("漢", 10) >= 10
    assert text_width("🛰", 10) >= 13


@given(TEXTS, st.floats(5, 200), st.booleans())
def test_folded_text_fits_and_begins_as_the_whole(words: str, width: float, bold: bool) -> None:
    shown = fold(words, 8, width, bold)
    assert text_width(shown, 8, bold) <= width or shown == ""
    assert shown == words or words.startswith(shown.removesuffix("…"))


@given(TEXTS, st.floats(16, 200), st.integers(1, 4))
def test_wrapped_text_fits_and_loses_nothing_but_spaces(words: str, width: float, most: int) -> None:
    lines = wrap_text(words, 8, width)
    assert all(text_width(line, 8) <= width for line in lines)
    assert "".join("".join(lines).split()) == "".join(words.split())
    cut = wrap_text(words, 8, width, most)
    assert len(cut) <= most
    assert all(text_width(line, 8) <= width for line in cut)


def test_numbers_are_printed_with_two_decimals_at_most() -> None:
    assert [num(one) for one in (1, 1.0, 1.005, -0.001, 0.1 + 0.2, 100)] == ["1", "1", "1", "0", "0.3", "100"]


@given(st.text(max_size=30))
def test_any_text_gives_xml_that_can_be_read_back(words: str) -> None:
    svg = Svg("one", words, words)
    with svg.group("g", words, data={"data-place": words}):
        svg.text(10, 20, words)
    root = ElementTree.fromstring(svg.finish(100, 100))
    shown = [element.text for element in root.iter(f"{NS}text")]
    assert shown == ([re.sub("[\x00-\x1f\ufffe\uffff]", " ", words)] if words.strip() else [])


def test_a_sheet_has_its_title_identity_legend_and_safety_words() -> None:
    made = frame("demo")
    styles = actor_styles(views("demo"))
    sheet = Sheet("one", made, "A picture", "What it is about.", badge_legend(styles), 2, 3)
    words = " ".join(one.text for one in check(sheet.finish(sheet.top + 40)).words)
    for expected in ("A picture", made.title, made.identity, "sheet 2 of 3", "not certified", "suit power", "Wren"):
        assert expected in words


def test_actors_are_told_apart_without_colour() -> None:
    styles = actor_styles(views("demo"), plan("demo").world.things)
    assert [actor.name for actor in styles] == ["wren", "teal", "moss", "heron"]
    assert [style.letter for style in styles.values()] == ["W", "T", "M", "H"]
    for other in ("shape", "dash", "pattern", "hue"):
        assert len({getattr(style, other) for style in styles.values()}) == len(styles)


def test_beyond_six_actors_a_ring_tells_the_second_of_a_shape() -> None:
    first, second = ActorStyle(1, "A"), ActorStyle(1 + len(SHAPES), "B")
    assert (first.shape, first.rings) == ("square", 0)
    assert (second.shape, second.rings) == ("square", 1)
    plain, ringed = Svg("a", "", ""), Svg("b", "", "")
    plain.badge(20, 20, first)
    ringed.badge(20, 20, second)
    assert len(ringed.body) == len(plain.body) + 1


def _luminance(colour: str) -> float:
    """Relative luminance (WCAG 2)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a: str, b: str) -> float:
    high, low = sorted((_luminance(a), _luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("shade", [0, 1], ids=["light", "dark"])
def test_every_text_stands_out_from_whatever_is_behind_it(shade: int) -> None:
    for ink in ("ink", "soft"):
        for ground in ("paper", "wash", "tag", "dusk"):
            assert contrast(COLOURS[ink][shade], COLOURS[ground][shade]) >= 4.5, (ink, ground)
    assert contrast(COLOURS["loud"][shade], COLOURS["paper"][shade]) >= 4.5


def test_a_badge_s_letter_stands_out_from_its_hue() -> None:
    for hue, on in zip(HUES, ON_HUE, strict=True):
        assert contrast(hue, on) >= 4.5


def test_paper_and_plain_readers_get_light_colours_and_screens_may_set_their_own() -> None:
    plain, screen = css().split("@media screen{", 1)
    assert "var(" not in plain and COLOURS["ink"][0] in plain and COLOURS["ink"][1] not in plain
    assert "var(--js-ink," in screen and "prefers-color-scheme:dark" in screen and COLOURS["ink"][1] in screen


def test_signs_and_patterns_stay_in_the_page() -> None:
    svg = Svg("all", "All", "Every sign")
    for turn in range(13):
        style = ActorStyle(turn, "M")
        svg.badge(30 + 25 * turn, 30, style)
        svg.rect(20 + 25 * turn, 60, 20, 10, "", fill=svg.pattern(style))
        svg.arrow(20 + 25 * turn, 90, 40 + 25 * turn, 110, f"l{style.hue}", dash=style.dash)
    svg.rect(20, 120, 50, 10, "", fill=svg.hatch())
    made = check(svg.finish(400, 200))
    used = {one.get("fill") for one in made.root.iter() if (one.get("fill") or "").startswith("url")}
    assert used == {f"url(#{id})" for id in svg.defs}


# The checks themselves: each has to see what it is there for.


def test_texts_over_one_another_are_seen() -> None:
    assert overlaps(read(drawing(text(10, 20, "one"), text(12, 22, "two")))) == [("one", "two")]
    assert overlaps(read(drawing(text(10, 20, "one"), text(10, 30, "two")))) == []


@pytest.mark.parametrize(
    "parts",
    [
        (text(10, 20, "one"), text(12, 22, "two")),
        (text(395, 20, "off the page"),),
        (text(20, 20, "small", 6.5),),
        ('<rect x="390" y="0" width="20" height="5"/>', text(20, 20, "one")),
        ('<g class="box"><rect x="0" y="0" width="20" height="30"/>', text(5, 20, "out of it"), "</g>"),
        ('<g id="a"/><g id="a"/>', text(20, 20, "one")),
        (),
    ],
)
def test_a_broken_drawing_is_refused(parts: tuple[str, ...]) -> None:
    check(drawing(text(20, 200, "sound")))
    with pytest.raises(AssertionError):
        check(drawing(*parts))


def test_a_text_that_a_line_runs_through_is_seen() -> None:
    line = '<g class="move"><line class="l0 n" x1="0" y1="17" x2="90" y2="17"/></g>'
    assert struck(read(drawing(text(10, 20, "one"), line)), "move") == ["one"]
    assert struck(read(drawing(text(10, 20, "one"), line)), "other") == []
    assert struck(read(drawing(text(10, 40, "one"), line)), "move") == []
