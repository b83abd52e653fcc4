"""The review page without a browser: its data is valid, whole and escaped; ids, links, sameness."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from outputs.plans import PLANS, frame, plan, views
from outputs.small_plan import crane, pier

from jackstay.outputs.frame import frame_of
from jackstay.outputs.look import step_id
from jackstay.outputs.page import SCRIPTS, page
from jackstay.outputs.views import views_of
from jackstay.outputs.wording import step_text

HOSTILE = "</script><script>alert(1)</script><!-- {{data}} \"'&<b>\u2028"


class Reader(HTMLParser):
    """ids, tags, and the text of each script by its type."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.ids: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.scripts: dict[str, str] = {}
        self.words: list[str] = []
        self._within = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.tags.append((tag, given))
        if given.get("id"):
            self.ids.append(str(given["id"]))
        self._within = (given.get("type") or "text/javascript") if tag == "script" else tag

    def handle_endtag(self, tag: str) -> None:
        self._within = ""

    def handle_data(self, data: str) -> None:
        if "/" in self._within:
            self.scripts[self._within] = self.scripts.get(self._within, "") + data
        elif self._within != "style":
            self.words.append(data)


@cache
def made(name: str) -> str:
    return page(plan(name), list(views(name)), frame(name))["review.html"]


@cache
def data(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(Reader(made(name)).scripts["application/json"])
    return found


@pytest.mark.parametrize("name", PLANS)
def test_every_step_is_there_once_with_its_line_and_its_times(name: str) -> None:
    told = data(name)
    assert told["identity"] == frame(name).identity
    names = [step["id"] for one in told["excursions"] for step in one["steps"]]
    assert names == [step_id(view, step) for view in views(name) for step in view.flow.steps]
    assert len(names) == len(set(names))
    for view, one in zip(views(name), told["excursions"], strict=True):
        assert view.times is not None
        for step, entry in zip(view.flow.steps, one["steps"], strict=True):
            file = told["files"][entry["a"][0]]
            assert (file["path"], entry["a"][1]) == (step.entry.at.path, step.entry.at.line)
            assert file["lines"][entry["a"][1] - 1] == plan(name).sources[file["path"]].lines[entry["a"][1] - 1]
            assert told["words"][entry["x"]] == step_text(step)
            assert entry["s"] == pytest.approx(float(view.times.start[step.index]), abs=0.01)
            assert [told["things"][at]["n"] for at in entry["w"]] == [actor.name for actor in step.cast]


@pytest.mark.parametrize("name", PLANS)
def test_what_a_step_needs_was_made_before_it(name: str) -> None:
    needed = 0
    for one in data(name)["excursions"]:
        for at, step in enumerate(one["steps"]):
            for _, maker in step.get("r", ()):
                assert maker < at
                needed += maker >= 0
    assert needed > 20


@pytest.mark.parametrize("name", PLANS)
def test_the_moves_of_the_data_lead_to_the_end_of_the_plan(name: str) -> None:
    """What the page's script does: the start, and what every step that is over has moved."""
    told = data(name)
    for view, one in zip(views(name), told["excursions"], strict=True):
        hangs = dict(one["start"])
        for step in sorted(one["steps"], key=lambda step: step["e"]):
            hangs.update(dict(step.get("g", ())))
        for thing in view.world.things:
            if thing.sort == "item" and thing.held_var >= 0:
                held = view.flow.end[thing.held_var] or ()
                assert hangs[thing.index][0] == [[x.manner or "", x.holder.index] for x in held], thing.name
            if thing.sort == "actor" and view.flow.end[thing.place_var] is not None:
                assert hangs[thing.index] == view.flow.end[thing.place_var].index


@pytest.mark.parametrize("name", PLANS)
def test_numbers_in_the_data_name_what_is_there(name: str) -> None:
    told = data(name)
    words, things = len(told["words"]), len(told["things"])
    for one in told["excursions"]:
        count = len(one["steps"])
        for step in one["steps"]:
            assert all(0 <= actor < things for actor in step["w"])
            assert all(0 <= before < count for before in step.get("p", ()))
            assert all(0 <= text < words for text in (step["x"], *step.get("q", ()), *step.get("m", ())))
        for tail, head, sort, *_ in one["links"]:
            assert 0 <= tail < count and 0 <= head < count and sort in ("own", "call", "after", "beside", "card")
    shown = {thing for _, group in told["custody"]["groups"] for thing in group}
    assert shown == {int(thing) for thing in told["custody"]["chains"]}


@pytest.mark.parametrize("name", PLANS)
def test_the_page_s_own_elements(name: str) -> None:
    reader = Reader(made(name))
    assert len(reader.ids) == len(set(reader.ids))
    assert set(reader.scripts) == {"application/json", "text/javascript"}
    words = " ".join(reader.words)
    for always in (frame(name).identity, frame(name).tally, *frame(name).safety):
        assert always in words
    for tag, given in reader.tags:
        assert not {"src", "srcset", "onclick", "onload"} & set(given), tag
        assert str(given.get("href", "#")).startswith("#")
    html = next(given for tag, given in reader.tags if tag == "html")
    assert html["lang"] == "en"


def test_only_the_page_s_own_script_may_run() -> None:
    reader = Reader(made("demo"))
    policy = next(given["content"] for _, given in reader.tags if given.get("http-equiv"))
    digest = hashlib.sha256(reader.scripts["text/javascript"].encode()).digest()
    assert f"script-src 'sha256-{base64.b64encode(digest).decode()}'" in str(policy)
    assert "default-src 'none'" in str(policy)


def test_the_script_never_makes_markup_of_words() -> None:
    script = Reader(made("demo")).scripts["text/javascript"]
    for way in (
        "innerHTML",
        "outerHTML",
        "insertAdjacentHTML",
        "document.write",
        "eval(",
        "Function(",
        "fetch(",
        "http:",
    ):
        assert way not in script.replace("'http://www.w3.org/2000/svg'", ""), way


def test_every_file_of_the_page_is_used() -> None:
    folder = Path(str(page.__globals__["__file__"])).parent / "review"
    assert {path.name for path in folder.iterdir()} == {*SCRIPTS, "page.css", "page.html", "README.md"}


def test_hostile_words_stay_words() -> None:
    odd = pier()
    odd.world.title = HOSTILE
    for thing in odd.world.things:
        thing.title += HOSTILE
    for excursion in odd.world.excursions:
        excursion.title += HOSTILE
        for task in excursion.tasks:
            task.title += HOSTILE
    made = page(odd, views_of(odd.flow), frame_of(odd, unchecked=False))["review.html"]
    reader = Reader(made)
    assert [tag for tag, _ in reader.tags].count("script") == 2
    small = pier()
    calm = Reader(page(small, views_of(small.flow), frame_of(small, unchecked=False))["review.html"])
    assert [tag for tag, _ in reader.tags] == [tag for tag, _ in calm.tags]
    assert reader.scripts["text/javascript"] == calm.scripts["text/javascript"]
    told = json.loads(reader.scripts["application/json"])
    assert told["title"] == HOSTILE
    assert all(thing["t"].endswith(HOSTILE) for thing in told["things"])
    raw = re.search(r'<script type="application/json" id="plan">(.*?)</script>', made, re.DOTALL)
    assert raw is not None and not set("<>&\u2028\u2029") & set(raw[1])


def test_an_unchecked_plan_says_so_in_the_page_itself() -> None:
    small = crane()
    text = page(small, views_of(small.flow), frame_of(small, unchecked=True))["review.html"]
    told = [(tag, given) for tag, given in Reader(text).tags if given.get("role") == "alert"]
    assert len(told) == 1 and "UNCHECKED" in " ".join(Reader(text).words)
    assert "content: 'UNCHECKED · plan" in text
    assert 'role="alert"' not in made("demo")


def test_the_same_plan_gives_the_same_bytes() -> None:
    assert page(plan("demo"), list(views("demo")), frame("demo"))["review.html"] == made("demo")


def test_findings_are_data_with_their_places() -> None:
    small = pier()
    from jackstay.diagnostics.records import Diagnostic, Edit, Fix, Label, Severity
    from jackstay.source.spans import Span

    at = Span("pier.stay", 1, 0, 8)
    fix = Fix("do <this>", (Edit(at, "put it\n"),))
    small.diagnostics = [
        Diagnostic("a-rule", Severity.ERROR, "It <fails>.", at, "here", (Label(at, "and"),), help=(fix,))
    ]
    text = page(small, views_of(small.flow), frame_of(small, unchecked=True))["review.html"]
    (told,) = json.loads(Reader(text).scripts["application/json"])["findings"]
    assert told["msg"] == "It <fails>." and told["at"] == [0, 1, 0, 8] and told["sev"] == "error"
    assert told["labels"] == [[[0, 1, 0, 8], "and"]] and told["help"] == [["do <this>", [[[0, 1, 0, 8], "put it\n"]]]]
