"""What was found and set aside stands on every output: the tag beside the plan's identity, and the reasons."""

from __future__ import annotations

import json
import re
from functools import cache
from xml.etree import ElementTree

import pypdfium2
import pytest
from outputs.geometry import check
from outputs.small_plan import pier

from jackstay.diagnostics.aside import PLAN, Aside, How
from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.outputs.build import build
from jackstay.outputs.frame import Frame
from jackstay.outputs.lettering import fold, text_width
from jackstay.outputs.look import A3_HEIGHT, MARGIN, SMALL
from jackstay.outputs.paper import WIDTH
from jackstay.outputs.trace import trace_text
from jackstay.source.spans import Span

REASON = "the trial rig's ladder takes two"
AT = Span("pier.stay", 9, 2, 6)
ERROR = Aside(Diagnostic("crowded", Severity.ERROR, "Two are at the mast.", AT), How.ALLOWED, PLAN, REASON, AT)
OFF = Aside(Diagnostic("past-limit", Severity.ERROR, "It takes too long.", AT), How.OFF, "jackstay.toml")
LESS = Aside(
    Diagnostic("left-behind", Severity.ERROR, "It is left.", AT), How.LOWERED, "jackstay.toml", now=Severity.WARNING
)
MANY = (ERROR, OFF, LESS, *(Aside(ERROR.finding, How.ALLOWED, PLAN, f"{REASON}, case {n}") for n in range(90)))
CASES = {"one": ((ERROR,), "none left, 1 error allowed"), "many": (MANY, "none left, 93 set aside (93 errors)")}


@cache
def made(case: str) -> dict[str, bytes]:
    checked = pier()
    checked.aside = CASES[case][0]  # type: ignore[attr-defined]
    return build(checked, papers=("a4", "cuff"))


def shown(name: str, content: bytes) -> str:
    """The words that a reader sees, blanks as they come."""
    if name.endswith(".pdf"):
        document = pypdfium2.PdfDocument(content)
        return "\n".join(page.get_textpage().get_text_bounded() for page in document)
    if name.endswith(".svg"):
        return "\n".join(
            "".join(one.itertext()) for one in ElementTree.fromstring(content).iter() if one.tag[-4:] == "text"
        )
    return content.decode()


def bare(text: str) -> str:
    """Lines are broken anywhere; comments and markup have signs of their own."""
    return re.sub(r"//|&quot;|&#x27;|&#39;|\\u0027|[\s\"'\\\u200b\ufffe\u00ad]", "", text)


@pytest.mark.parametrize("case", CASES)
def test_every_output_has_the_tag(case: str) -> None:
    tag = f"findings: {CASES[case][1]}"
    without = [name for name, content in made(case).items() if bare(tag) not in bare(shown(name, content))]
    assert without == ["plan.json"]  # which has numbers
    counts = json.loads(made("many")["plan.json"])["findings"]
    assert counts == {"allowed": 91, "lowered": 1, "turned_off": 1}


def test_every_output_has_the_reason() -> None:
    assert [name for name, content in made("one").items() if bare(REASON) not in bare(shown(name, content))] == []


@pytest.mark.parametrize("case", CASES)
def test_the_tag_fits_every_sheet(case: str) -> None:
    drawings = {name: content.decode() for name, content in made(case).items() if name.endswith(".svg")}
    assert drawings
    for name, text in drawings.items():
        found = [line for line in shown(name, text.encode()).split("\n") if line.startswith("findings:")]
        assert found and all(line.endswith(CASES[case][1]) for line in found), name  # nothing of it is left out
        check(text)
    for name, content in made(case).items():
        if name.endswith(".txt"):
            assert all(len(line) <= WIDTH for line in content.decode().splitlines()), name


def test_the_longest_tag_fits_the_narrowest_sheet() -> None:
    """Portrait A3; the tag takes at most so much of it, less its ends (see `Sheet`)."""
    told = ("error", "warning", "undecided", "note")
    frame = Frame("Pier", "0" * 12, tuple((word, 99) for word in told), True, "", aside=MANY * 10)
    longest = frame.tally
    assert longest.endswith("99 x note, 930 set aside (930 errors)")
    room = 0.5 * (A3_HEIGHT - 2 * MARGIN) - 22
    assert fold(longest, SMALL, room) == longest, text_width(longest, SMALL)


@pytest.mark.parametrize("name", ["end.txt", "pack.txt"])
def test_a_page_lists_all_of_them_in_full(name: str) -> None:
    text = " ".join(made("many")[name].decode().split())
    assert "Found and set aside" in text
    for said in (
        f'error crowded (pier.stay 9): Two are at the mast. allowed in the plan: "{REASON}"',
        "error past-limit (pier.stay 9): It takes too long. turned off by jackstay.toml",
        "error left-behind (pier.stay 9): It is left. made a warning by jackstay.toml",
        f"{REASON}, case 89",
    ):
        assert said in text


def test_each_page_on_paper_is_marked() -> None:
    papers = [name for name in made("one") if name.endswith(".pdf")]
    assert papers
    for name in papers:
        for page in pypdfium2.PdfDocument(made("one")[name]):
            assert bare("1 error allowed") in bare(page.get_textpage().get_text_bounded()), name


def test_the_review_page_has_them_as_data() -> None:
    text = made("one")["review.html"].decode()
    (data,) = re.findall(r'<script[^>]*type="application/json"[^>]*>(.*?)</script>', text, re.DOTALL)
    (one,) = json.loads(data)["aside"]
    assert (one["rule"], one["sev"], one["how"]) == ("crowded", "error", "allowed")
    assert one["why"] == f'allowed in the plan: "{REASON}"' and one["where"][1] == 9


def test_a_trace_has_the_tag_too() -> None:
    checked = pier()
    checked.aside = (ERROR,)  # type: ignore[attr-defined]
    text = " ".join(trace_text(checked, "lamp").split())
    assert CASES["one"][1] in text and REASON in text


def test_without_any_nothing_is_said_of_it() -> None:
    for name, content in build(pier(), papers=("a4",)).items():
        assert "set aside" not in shown(name, content).lower() or name == "review.html", name
