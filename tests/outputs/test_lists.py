"""The lists: what they say against the state, and that a pack list is closed only if it is."""

from __future__ import annotations

from fractions import Fraction

import pytest
from outputs.plans import frame, plan, views

from jackstay.model.records import Thing
from jackstay.outputs.lists import Chapter, chapters, lists
from jackstay.outputs.lists_closed import closed, used_inside
from jackstay.outputs.packing import passages
from jackstay.outputs.situation import is_inside
from jackstay.outputs.views import View
from jackstay.outputs.wording import label

WORLD = plan("demo").world
VIEWS = list(views("demo"))


@pytest.fixture(scope="module")
def made() -> list[Chapter]:
    return chapters(WORLD, VIEWS)


def listed(view: View) -> list[Thing]:
    out = [passage.item for passage in passages(WORLD, view)[0]]
    return [*out, *used_inside(WORLD, view, out)]


def named(name: str) -> Thing:
    return next(thing for thing in WORLD.things if thing.name == name)


def section(chapter: Chapter, title: str) -> list[str]:
    return [item.text for one in chapter.sections if one.title == title for item in one.items]


@pytest.mark.parametrize("view", VIEWS, ids=lambda view: view.excursion.name)
def test_the_list_is_closed(view: View) -> None:
    verdict = closed(WORLD, view, listed(view))
    assert not verdict.missing
    assert verdict.words.startswith("Closed: checked again" if verdict.gone else "Closed: there is nothing else inside")
    for thing in verdict.gone:
        assert is_inside(view.flow.start, thing) and thing not in listed(view)


@pytest.mark.parametrize(
    ("number", "item"),
    [
        *((0, name) for name in ("driver-w", "camera-w", "cloth-t", "heater-cable", "perch", "strap-t", "kit-t")),
        *((1, name) for name in ("drain-hose", "hose-bag", "driver-t")),
        *((2, name) for name in ("driver-w", "strap-w")),
    ],
)
def test_an_item_that_the_list_forgets_is_found(number: int, item: str) -> None:
    view = VIEWS[number]
    full = listed(view)
    assert named(item) in full
    verdict = closed(WORLD, view, [thing for thing in full if thing is not named(item)])
    assert verdict.missing
    assert verdict.words.startswith("NOT CLOSED")
    assert all(problem.at.path for problem in verdict.missing)


def test_what_is_inside_and_not_needed_is_left_out_of_the_proof() -> None:
    assert {thing.name for thing in closed(WORLD, VIEWS[0], listed(VIEWS[0])).gone} == {"hose-bag", "drain-hose"}


def test_a_list_that_is_not_closed_says_so_loudly(monkeypatch: pytest.MonkeyPatch) -> None:
    import jackstay.outputs.lists as module

    def forgetful(world: object, view: View) -> object:
        out, back = passages(WORLD, view)
        return [passage for passage in out if passage.item.name != "driver-w"], back

    monkeypatch.setattr(module, "passages", forgetful)
    monkeypatch.setattr(module, "used_inside", lambda world, view, out: [])
    told = lists(chapters(WORLD, VIEWS[:1]), frame("demo"))
    assert "NOT CLOSED: with exactly these lists the check finds" in told


def test_what_goes_out_comes_in_or_stays_out(made: list[Chapter]) -> None:
    for chapter in made:
        view = chapter.view
        out, back = passages(WORLD, view)
        home = {passage.item for passage in back}
        stays = section(chapter, "Stays out")
        for passage in out:
            outside = is_inside(view.flow.end, passage.item) is False
            assert outside == (passage.item not in home) or passage.item.kind.ends
            if passage.item not in home:
                assert any(words.startswith(f"{label(passage.item)} - ") for words in stays)


def test_until_and_why_are_told(made: list[Chapter]) -> None:
    stays = section(made[0], "Stays out")
    at = next(number for number, words in enumerate(stays) if words.startswith("Arm perch"))
    assert "(until third)" in stays[at]
    assert stays[at + 1] == "by Teal, put perch on bay4-rail"
    assert "by Teal, put cooler-cover on deck-rail: It goes on the new cooler." in stays


def test_tools_and_idle_things(made: list[Chapter]) -> None:
    assert "Fit box: Cloth t (Teal), Driver t (Teal)" in section(made[0], "Tools, task by task")
    assert "Cable bag" in section(made[1], "Goes out and comes in, and no step uses it")


def test_the_greatest_load_is_the_greatest(made: list[Chapter]) -> None:
    """Teal carries the new cooler, the kit and both bags: 61 + 3 kg, and a kilogram each for what does not say."""
    view = VIEWS[1]
    words = next(one for one in section(made[1], "Greatest load") if one.startswith("Teal"))
    teal = named("teal")
    state = list(view.flow.start)
    most = Fraction(0)
    for step in view.flow.steps:
        for change in step.changes:
            state[change.var] = change.after
        most = max(most, sum((_mass(thing) for thing in WORLD.things if _on(state, thing, teal)), Fraction(0)))
    assert words.startswith(f"Teal, mass: {float(most):g} kg of at most 120 kg (unverified), from ")
    assert most > 61


def _mass(thing: Thing) -> Fraction:
    value = thing.values.get("mass")
    return value if isinstance(value, Fraction) else Fraction(0)


def _on(state: list[object], thing: Thing, holder: Thing) -> bool:
    """Whether a thing hangs on another at any depth."""
    seen: set[int] = set()
    queue = [thing]
    for one in queue:
        held = state[one.held_var] if one.held_var >= 0 else ()
        above = [each.holder for each in (held or ())]  # type: ignore[attr-defined]
        if one.place_var >= 0 and state[one.place_var] is not None:
            above.append(state[one.place_var])
        if holder in above:
            return one is thing or thing is not holder
        queue += [up for up in above if up.index not in seen]
        seen.update(up.index for up in above)
    return False


def test_contents_and_difference_at_the_end(made: list[Chapter]) -> None:
    inside = section(made[0], "In and on each thing at the end")
    assert "Cable bag: nothing" in inside and "no longer: Heater cable" in inside
    otherwise = section(made[0], "Otherwise than at the start")
    assert "fit of Cooler cover: fitted -> removed" in otherwise
    assert any(words.startswith("Rest1: Bay2 socket") and "Left socket" in words for words in otherwise)


def test_the_text_frames_and_ticks(made: list[Chapter]) -> None:
    text = lists(made, frame("demo"))
    assert "  [ ] Wren's kit [kit-w] (by clip) - comes back in\n      [ ] Driver w - comes back in\n" in text
    assert frame("demo").identity in text and "not certified" in text
    assert all(len(line) <= 100 for line in text.splitlines())
