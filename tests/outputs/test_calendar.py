"""timeline.ics as a calendar program reads it, and as the standard wants its bytes."""

from __future__ import annotations

import datetime
import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar
from icalendar.cal.event import Event
from outputs.plans import DEMO, plan
from outputs.small_plan import pier

from jackstay.model.records import Begins
from jackstay.outputs.calendar import calendar
from jackstay.outputs.frame import frame_of
from jackstay.outputs.views import is_idle, views_of
from jackstay.pipeline import check

HOUR = 3600


def text_of(one: Any, unchecked: bool = False) -> str | None:
    return calendar(views_of(one.flow), frame_of(one, unchecked))


def dated(name: str = "demo", start: Fraction = Fraction(9 * HOUR)) -> Any:
    """The plan, each of its excursions a day after the one before."""
    one = plan.__wrapped__(name) if name != "pier" else pier()
    for day, excursion in enumerate(one.world.excursions):
        excursion.begins = Begins(f"2031-03-{2 + day:02d}", start, excursion.decl)
    return one


def events(text: str | None) -> list[Event]:
    assert text is not None
    read = Calendar.from_ical(text.encode())
    assert isinstance(read, Calendar)
    assert read.errors == []
    found = [part for part in read.walk("VEVENT") if isinstance(part, Event)]
    assert [one.errors for one in found] == [[]] * len(found)
    return found


def test_without_a_date_there_is_no_calendar() -> None:
    assert text_of(pier()) is None


@pytest.mark.parametrize("name", ["demo", "long names", "generated 60", "pier"])
def test_one_event_for_each_excursion_and_each_of_its_tasks(name: str) -> None:
    one = dated(name)
    found = {str(event["UID"]): event for event in events(text_of(one))}
    expected = {}
    identity = frame_of(one, False).identity
    for view in views_of(one.flow):
        expected[f"{identity}/{view.excursion.name}@jackstay"] = f"{view.number} {view.excursion.title}"
        for task in view.excursion.tasks:
            if any(step.entry.task is task and not is_idle(step) for step in view.flow.steps):
                expected[f"{identity}/{view.excursion.name}/{task.name}@jackstay"] = task.title
    assert {uid: str(event["SUMMARY"]) for uid, event in found.items()} == expected


def test_the_times_are_those_of_the_plan_floating_and_never_too_short() -> None:
    one = dated()
    found = {str(event["UID"]).split("/", 1)[1]: event for event in events(text_of(one))}
    for view in views_of(one.flow):
        times = view.times
        begins = view.excursion.begins
        assert times is not None and begins is not None
        zero = datetime.datetime.fromisoformat(begins.date) + datetime.timedelta(hours=9)
        whole = found[f"{view.excursion.name}@jackstay"]
        assert whole["DTSTART"].dt == zero and whole["DTSTART"].dt.tzinfo is None
        assert whole["DTEND"].dt == zero + datetime.timedelta(seconds=int(times.makespan))
        for task in view.excursion.tasks:
            mine = [step.index for step in view.flow.steps if step.entry.task is task and not is_idle(step)]
            event = found[f"{view.excursion.name}/{task.name}@jackstay"]
            assert event["DTSTART"].dt - zero <= datetime.timedelta(seconds=float(min(times.start[i] for i in mine)))
            assert event["DTEND"].dt - zero >= datetime.timedelta(seconds=float(max(times.end[i] for i in mine)))


def test_seconds_are_rounded_outwards_and_a_day_may_end_in_between() -> None:
    one = dated("pier", Fraction(23 * HOUR + 3599) + Fraction(1, 3))
    (whole, *_) = events(text_of(one))
    assert whole["DTSTART"].dt == datetime.datetime(2031, 3, 2, 23, 59, 59)
    seconds = Fraction(23 * HOUR + 3599) + Fraction(1, 3)
    view = views_of(one.flow)[0]
    assert view.times is not None
    up = -(-(seconds + view.times.makespan) // 1)
    assert whole["DTEND"].dt == datetime.datetime(2031, 3, 2) + datetime.timedelta(seconds=int(up))


def test_lines_are_folded_at_75_octets_and_end_in_cr_lf() -> None:
    text = text_of(dated("long names"))
    assert text is not None
    data = text.encode("utf-8")
    assert data.endswith(b"END:VCALENDAR\r\n")
    assert not re.search(rb"(?<!\r)\n|\r(?!\n)", data)
    lines = data.split(b"\r\n")
    assert max(len(line) for line in lines) <= 75
    for line in lines:
        line.decode("utf-8")  # no letter is cut in two
    assert any(line.startswith(b" ") for line in lines)
    unfolded = data.replace(b"\r\n ", b"").decode()
    for event in unfolded.split("BEGIN:VEVENT")[1:]:
        for name in ("UID", "DTSTAMP", "DTSTART", "SUMMARY", "DESCRIPTION"):
            assert len(re.findall(rf"^{name}:", event, re.MULTILINE)) == 1
    assert "METHOD" not in unfolded and "TZID" not in unfolded
    assert re.search(r"^VERSION:2\.0\r?$", unfolded, re.MULTILINE)
    assert re.search(r"^PRODID:.+$", unfolded, re.MULTILINE)


def test_texts_come_back_as_they_were_written() -> None:
    one = dated("pier")
    one.world.excursions[0].tasks[0].title = 'A; b, c\\n "d": e\x07\U0001f6f0'
    text = text_of(one)
    assert text is not None and 'SUMMARY:A\\; b\\, c\\\\n "d": e \U0001f6f0\r\n' in text
    found = {str(event["UID"]): event for event in events(text)}
    event = next(event for uid, event in found.items() if "/only/release@" in uid)
    assert str(event["SUMMARY"]) == 'A; b, c\\n "d": e \U0001f6f0'


def test_the_stamp_is_the_first_date_and_the_same_plan_gives_the_same_bytes() -> None:
    text = text_of(dated())
    assert text == text_of(dated())
    for event in events(text):
        assert event["DTSTAMP"].dt == datetime.datetime(2031, 3, 2, 9, tzinfo=datetime.UTC)
    uids = [str(event["UID"]) for event in events(text)]
    assert len(set(uids)) == len(uids)


def test_every_event_names_plan_source_and_safety_words() -> None:
    one = dated("pier")
    for event in events(text_of(one)):
        told = str(event["DESCRIPTION"])
        assert f"plan {frame_of(one, False).identity}" in told
        assert re.search(r"pier\.stay:\d+", told) and "not certified" in told and "no stated time zone" in told


def test_an_unchecked_plan_says_so_in_every_event() -> None:
    for event in events(text_of(dated("pier"), unchecked=True)):
        assert str(event["SUMMARY"]).startswith("UNCHECKED: ")
        assert "Do not work from it" in str(event["DESCRIPTION"])


def test_what_has_no_duration_takes_no_time_in_the_calendar() -> None:
    one = dated("pier")
    flow = one.flow.excursions[0]
    del flow.steps[1:], flow.predecessors[1:]
    flow.steps[0].action.takes = None
    flow.steps[0].entry.duration = None
    found = events(text_of(one))
    assert found and all("DTEND" not in event for event in found)
    assert any("at least so long" in str(event["DESCRIPTION"]) for event in found)


def test_an_excursion_without_a_date_or_an_order_is_left_out() -> None:
    one = dated()
    one.world.excursions[1].begins = None
    one.flow.excursions[2].complete = False
    assert {str(event["UID"]).split("/")[1].split("@")[0] for event in events(text_of(one))} == {"first"}


def test_a_date_that_is_written_in_the_plan_makes_a_calendar(tmp_path: Path) -> None:
    for path in DEMO.glob("*.stay"):
        text = path.read_text(encoding="utf-8")
        if path.name == "second.stay":
            text = text.replace("  starts as first ends", "  starts as first ends\n  begins 2031-03-04 at 7 h 30 min")
        (tmp_path / path.name).write_text(text, encoding="utf-8")
    found = events(text_of(check(tmp_path / "campaign.stay")))
    assert found[0]["DTSTART"].dt == datetime.datetime(2031, 3, 4, 7, 30)
    assert str(found[0]["SUMMARY"]) == "2 Cooler swap" and len(found) > 10


def test_the_end_of_the_calendar_is_no_mistake() -> None:
    one = dated("pier")
    one.world.excursions[0].begins = Begins("9999-12-31", Fraction(23 * HOUR + 3000), one.world.decl)
    for event in events(text_of(one)):
        assert event["DTSTART"].dt.year == 9999
