"""The review page in a headless Chromium, as a reader uses it. Skipped where there is no browser.

The accessibility checker comes from npm, which no test installs: fetch it once and say where it is,

    npm install axe-core
    JACKSTAY_AXE=node_modules/axe-core/axe.min.js python -m pytest tests/outputs/test_page_screen.py -k accessib
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from outputs.browser import Browser, installed
from outputs.plans import frame, plan, views

from jackstay.diagnostics.aside import PLAN, Aside, How
from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.outputs.page import page

pytestmark = pytest.mark.skipif(installed() is None, reason="no Chromium on the search path")

TABS = ["overview", "timeline", "order", "places", "custody", "checklists", "end", "findings", "forecast", "source"]
TITLE = "document.querySelector('.held-title').textContent"
NAMES = ("demo", "long names", "generated 250")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    program = installed()
    assert program is not None
    with Browser(program) as one:
        yield one


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("review")
    found = {}
    for name in NAMES:
        found[name] = folder / f"{name.replace(' ', '-')}.html"
        found[name].write_text(page(plan(name), list(views(name)), frame(name))["review.html"], encoding="utf-8")
    return found


@pytest.fixture(autouse=True)
def nothing_is_complained_of(browser: Browser) -> Iterator[None]:
    browser.told.clear()
    yield
    assert browser.told == []


def some_step(name: str, written: int = 20) -> Any:
    steps = [step for step in views(name)[0].flow.steps if not step.inserted and step.action is not None]
    return steps[min(written, len(steps) - 1)]


def address(tab: str, name: str = "demo") -> str:
    step = some_step(name)
    return f"{tab}/{views(name)[0].excursion.name}/{step.entry.task.name}/{step.index}"


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("width", [1400, 360])
@pytest.mark.parametrize("name", NAMES)
def test_no_view_is_wider_than_the_screen(
    browser: Browser, pages: dict[str, Path], name: str, width: int, dark: bool
) -> None:
    browser.open(pages[name], address("overview", name), width, dark=dark)
    for tab in TABS:
        browser.run(f"document.getElementById('tab-{tab}').click()")
        browser.settle()
        assert browser.run("document.documentElement.scrollWidth") == width, tab
        assert browser.run("document.getElementById('view').innerText.trim().length") > 10, tab
        assert browser.run("document.querySelector('[aria-selected=true]').id") == f"tab-{tab}"


def test_choosing_a_step_shows_its_line_and_marks_it_in_every_view(browser: Browser, pages: dict[str, Path]) -> None:
    browser.open(pages["demo"], "timeline")
    step = some_step("demo")
    name = f"0:{step.index}"
    browser.run(f"location.hash = '{address('timeline')}'")
    browser.settle()
    browser.key("Escape")
    browser.click(f".tl-step[data-s='{name}'] .tl-bar")
    detail = browser.run("document.getElementById('detail').innerText")
    source = plan("demo").sources[step.entry.at.path].lines[step.entry.at.line - 1].strip()
    assert " ".join(source.split()) in " ".join(detail.split())
    assert f"{step.entry.at.path}:{step.entry.at.line}" in detail
    for part in ("Needs", "Makes", "Who holds what then", "Comes after", "slack"):
        assert part in detail
    for tab in ("overview", "timeline", "order", "places", "checklists", "source"):
        browser.key(str((TABS.index(tab) + 1) % 10))
        marked = browser.run("[...document.querySelectorAll('#view .is-sel')].length")
        assert marked > 0, tab
    assert browser.run(f"location.hash.includes('/{step.index}')")


def test_what_the_panel_says_of_hands_is_what_the_plan_says(browser: Browser, pages: dict[str, Path]) -> None:
    """The page's own reckoning of the state, against the flow's, for every thing at the last moment."""
    browser.open(pages["demo"], "custody")
    for number, view in enumerate(views("demo")):
        browser.run(f"document.querySelectorAll('.excursions button')[{number}].click()")
        browser.run("(() => { const r = document.getElementById('clock'); r.value = r.max; "
                    "r.dispatchEvent(new Event('input')); })()")  # fmt: skip
        held = browser.run(
            "Object.fromEntries([...document.querySelectorAll('.hand')].map(hand => "
            "[hand.querySelector('h3 .thing').textContent, "
            "[...hand.querySelectorAll(':scope > ul > li > .thing')].map(x => x.textContent)]))"
        )
        for actor in view.own:
            direct = [
                thing.title
                for thing in view.world.things
                if thing.sort == "item" and any(one.holder is actor for one in view.flow.end[thing.held_var] or ())
            ]
            assert [title for title in held[actor.title] if title in direct] == direct


def test_arrows_go_along_an_actor_s_steps_and_across(browser: Browser, pages: dict[str, Path]) -> None:
    browser.open(pages["demo"], "timeline")
    view = views("demo")[0]
    first = next(actor for actor in view.own if view.own[actor])
    own = [step for step in view.own[first] if step.action is not None or step.entry.hole]
    seen = []
    for _ in range(3):
        browser.key("ArrowRight")
        seen.append(browser.run("location.hash.split('/').pop()"))
    assert seen == [str(step.index) for step in own[:3]]
    browser.key("ArrowLeft")
    assert browser.run("location.hash.split('/').pop()") == seen[1]
    said = browser.run("document.getElementById('say').textContent")
    browser.key("ArrowDown")
    assert browser.run("document.getElementById('say').textContent") != said
    browser.key("Escape")
    assert browser.run(TITLE) == "Nothing is chosen"
    browser.key("c")
    assert browser.run("document.querySelector('.chip.crit') !== null")


def test_search_finds_steps_things_and_calls(browser: Browser, pages: dict[str, Path]) -> None:
    browser.open(pages["demo"], "timeline")
    call = next(iter(views("demo")[0].calls.values()))
    thing = next(thing for thing in plan("demo").world.things if thing.sort == "item")
    for text, sort in ((call.name.replace("-", " "), "call"), (thing.name, "thing"), ("zzz nowhere", "")):
        browser.key("/")
        browser.run("document.getElementById('find-what').value = ''")
        browser.write(text)
        sorts = browser.run("[...document.querySelectorAll('#find-list .sort')].map(one => one.textContent)")
        assert (sort in sorts) if sort else sorts == []
        browser.key("Escape")
        assert browser.run("document.querySelector('dialog[open]') === null")
    browser.key("/")
    browser.run("document.getElementById('find-what').value = ''")
    browser.write(call.name.replace("-", " "))
    browser.key("Enter")
    assert browser.run(SAID) == browser.run(TITLE)


SAID = "document.getElementById('say').textContent.split(': ').slice(1).join(': ').split(', ')[0]"


def test_the_clock_moves_people_between_places(browser: Browser, pages: dict[str, Path]) -> None:
    browser.open(pages["demo"], "places")
    where = "[...document.querySelectorAll('.place')].filter(p => p.querySelector('.person')).map(p => p.ariaLabel)"
    start = browser.run(where)
    for _ in range(4):
        browser.key(".")
    assert browser.run(where) != start
    assert browser.run("document.getElementById('clock-now').textContent") != "0:00"
    browser.run("document.getElementById('clock').focus()")
    before = browser.run("document.getElementById('clock').value")
    browser.key("ArrowRight")
    assert browser.run("document.getElementById('clock').value") != before


def test_light_and_dark(browser: Browser, pages: dict[str, Path]) -> None:
    paper = "getComputedStyle(document.body).backgroundColor"
    browser.open(pages["demo"], "overview", dark=True)
    dark = browser.run(paper)
    browser.open(pages["demo"], "overview")
    light = browser.run(paper)
    assert light != dark
    browser.key("d")
    assert browser.run(paper) == dark
    browser.key("d")
    assert browser.run(paper) == light


def test_help_says_the_keys_and_lets_go(browser: Browser, pages: dict[str, Path]) -> None:
    browser.open(pages["demo"], "overview")
    browser.key("?")
    assert "Esc" in browser.run("document.querySelector('dialog[open]').innerText")
    browser.key("Escape")
    assert browser.run("document.querySelector('dialog[open]') === null")


@pytest.mark.parametrize("tab", ["timeline", "order", "checklists", "custody"])
def test_paper_has_every_step_and_says_what_it_is(browser: Browser, pages: dict[str, Path], tab: str) -> None:
    browser.open(pages["demo"], f"{tab}/{views('demo')[0].excursion.name}")
    browser.run("dispatchEvent(new Event('beforeprint'))")
    there = set(browser.run("[...document.querySelectorAll('#view [data-s]')].map(one => one.dataset.s)"))
    if tab == "timeline":
        wanted = {f"0:{s.index}" for s in views("demo")[0].flow.steps if s.action is not None or s.entry.hole}
        assert wanted <= there
    assert there
    browser.run("dispatchEvent(new Event('afterprint'))")
    assert browser.pdf().startswith(b"%PDF")


def test_tags_of_the_order_stay_apart_and_within(browser: Browser, pages: dict[str, Path]) -> None:
    for name in NAMES:
        browser.open(pages[name], f"order/{views(name)[0].excursion.name}")
        boxes = browser.run("[...document.querySelectorAll('.or-card')].map(one => [one.offsetLeft, one.offsetTop, "
                            "one.offsetLeft + one.offsetWidth, one.offsetTop + one.offsetHeight])")  # fmt: skip
        assert len(boxes) > 5
        for at, (a, b, c, d) in enumerate(boxes):
            assert not [1 for e, f, g, h in boxes[at + 1 :] if a < g and e < c and b < h and f < d]


def test_tags_of_a_lane_hang_apart(browser: Browser, pages: dict[str, Path]) -> None:
    browser.open(pages["demo"], "timeline")
    tags = browser.run("[...document.querySelectorAll('.tl-tag')].map(one => one.getBoundingClientRect()).map(box => "
                       "[box.left, box.top, box.right, box.bottom])")  # fmt: skip
    assert len(tags) > 20
    for at, (a, b, c, d) in enumerate(tags):
        assert not [1 for e, f, g, h in tags[at + 1 :] if a + 1 < g and e + 1 < c and b + 1 < h and f + 1 < d]


def test_every_badge_and_button_has_a_name(browser: Browser, pages: dict[str, Path]) -> None:
    browser.open(pages["demo"], address("timeline"))
    for tab in TABS:
        browser.run(f"document.getElementById('tab-{tab}').click()")
        nameless = browser.run(
            "[...document.querySelectorAll('button, input, [role=img]')].filter(one => "
            "!(one.ariaLabel || one.title || one.textContent.trim() || one.labels?.length)).length"
        )
        assert nameless == 0, tab


def test_accessibility(browser: Browser, pages: dict[str, Path]) -> None:
    place = os.environ.get("JACKSTAY_AXE")
    if not place:
        pytest.skip("JACKSTAY_AXE does not say where axe.min.js is")
    checker = Path(place).read_text(encoding="utf-8")
    for width in (1400, 360):
        for dark in (False, True):
            browser.open(pages["demo"], address("overview"), width, dark=dark)
            browser.run(checker + "; 0")
            for tab in TABS:
                browser.run(f"document.getElementById('tab-{tab}').click()")
                browser.settle()
                found = browser.run(
                    "axe.run(document, {runOnly: ['wcag2a','wcag2aa','wcag21a','wcag21aa','best-practice']})"
                    ".then(told => JSON.stringify(told.violations.map(one => [one.id, one.nodes[0].html])))"
                )
                assert json.loads(found) == [], (tab, width, dark)


def test_a_long_plan_draws_only_what_is_in_sight(browser: Browser, pages: dict[str, Path]) -> None:
    browser.open(pages["generated 250"], "timeline")
    steps = len(views("generated 250")[0].flow.steps)
    shown = browser.run("document.querySelectorAll('.tl-step').length")
    assert 0 < shown < steps
    browser.run("(() => { const one = document.querySelector('.tl-scroll'); one.scrollLeft = one.scrollWidth; })()")
    browser.settle()
    browser.settle()
    last = max(views("generated 250")[0].flow.steps, key=lambda step: step.index)
    assert browser.run(f"document.querySelector(\".tl-step[data-s='0:{last.index}']\") !== null")


def test_what_is_set_aside_stands_among_the_findings(browser: Browser, tmp_path: Path) -> None:
    at = views("demo")[0].excursion.decl
    found = Diagnostic("crowded", Severity.ERROR, "Two are at the mast.", at)
    aside = [Aside(found, How.ALLOWED, PLAN, f"the ladder takes two, case {number}", at) for number in range(12)]
    aside.append(Aside(found, How.LOWERED, "jackstay.toml", now=Severity.NOTE))
    file = tmp_path / "review.html"
    told = replace(frame("demo"), aside=tuple(aside))
    file.write_text(page(plan("demo"), list(views("demo")), told)["review.html"], encoding="utf-8")
    for width in (1400, 360):
        browser.open(file, "findings", width)
        assert browser.run("document.documentElement.scrollWidth") == width
        text = browser.run("document.getElementById('view').innerText")
        assert "none left, 13 set aside (13 errors)" in text and "Nothing was found" not in text
        assert 'Set aside: allowed in the plan: "the ladder takes two, case 11"' in text
        assert "made a note by jackstay.toml" in text
        assert browser.run("document.querySelector('#tab-findings .count').textContent") == "12"
        assert browser.run("document.querySelectorAll('.finding').length") == 13
    browser.run("document.getElementById('tab-overview').click()")
    browser.settle()
    assert "13 found and set aside" in browser.run("document.getElementById('view').innerText")
