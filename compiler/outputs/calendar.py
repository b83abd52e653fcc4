"""timeline.ics: the plan in a calendar (RFC 5545), for excursions that begin on a date.

The plan states no time zone, so the times are *floating*: what the clock on the wall shows wherever the plan is flown,
and every calendar shows just that. UTC would claim more than the plan says. One event for each excursion and each of
its tasks, by the nominal times; seconds are rounded so that an event never ends before its last step."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from fractions import Fraction

from jackstay.flow.records import Step
from jackstay.model.records import Begins, Task
from jackstay.outputs.clock import clock, minutes
from jackstay.outputs.frame import Frame
from jackstay.outputs.views import View, is_idle
from jackstay.outputs.wording import labels, source_place

MOST = 75  # octets of a line, without its break
FLOATING = "The times are as the plan writes them: local to where it is flown, in no stated time zone."


def calendar(views: list[View], frame: Frame) -> str | None:
    """The file's text, with CRLF line breaks; None where no excursion that was worked out begins on a date."""
    dated = [(view, view.excursion.begins) for view in views if view.times is not None and view.flow.steps]
    begun = [(view, begins) for view, begins in dated if begins is not None]
    if not begun:
        return None
    stamp = min(_moment(begins, Fraction(0)) for _, begins in begun)
    about = [*([frame.warning] if frame.unchecked else []), FLOATING, *frame.safety]
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//Jackstay//Plan//EN",
        "CALSCALE:GREGORIAN",
        f"NAME:{_text(frame.title)}",
        f"X-WR-CALNAME:{_text(frame.title)}",
        f"DESCRIPTION:{_text(' '.join(about))}",
        f"X-WR-CALDESC:{_text(' '.join(about))}",
    ]
    taken: set[str] = set()
    for view, begins in begun:
        name = view.excursion.name
        name = f"{name}-{view.number}" if name in taken else name  # of two modules
        taken.add(name)
        lines += _events(view, name, begins, frame, f"{stamp}Z")
    lines.append("END:VCALENDAR")
    return "".join(f"{part}\r\n" for line in lines for part in _folded(line))


def _events(view: View, name: str, begins: Begins, frame: Frame, stamp: str) -> Iterator[str]:
    excursion, times = view.excursion, view.times
    assert times is not None
    steps: dict[int, list[Step]] = {}
    for step in view.flow.steps:
        if not is_idle(step):
            steps.setdefault(id(step.entry.task), []).append(step)
    words = [labels([member.actor for member in excursion.crew])]
    if excursion.limit is not None:
        words.append(f"limit {excursion.limit.text}")
    if times.makespan_open:
        words.append("it takes at least so long: a step has no duration")
    head = f"{view.number} {excursion.title}"
    where = source_place(excursion.decl)
    yield from _event(name, head, frame.said.excursion, words, where, begins, Fraction(0), times.makespan, frame, stamp)
    for task in excursion.tasks:
        mine = steps.get(id(task), [])
        if mine:
            yield from _task(view, f"{name}/{task.name}", task, mine, begins, frame, stamp)


def _task(
    view: View, name: str, task: Task, steps: list[Step], begins: Begins, frame: Frame, stamp: str
) -> Iterator[str]:
    times = view.times
    assert times is not None
    indices = [step.index for step in steps]
    start, end = min(times.start[i] for i in indices), max(times.end[i] for i in indices)
    slack = min(times.slack[i] for i in indices)
    vague = any(times.start_open[i] or times.end_open[i] for i in indices)
    words = [
        labels([actor for actor in view.own if any(actor in step.cast for step in steps)]),
        f"{task.rank} task of {view.excursion.title}",
        f"{clock(start, vague)} to {clock(end, vague)} on the {frame.said.excursion}'s clock",
        f"slack {minutes(slack)}" if slack else "no slack",
    ]
    if not set(indices).isdisjoint(times.critical):
        words.append("on the critical chain")
    if vague:
        words.append("not before: a step before it has no duration")
    where = source_place(task.decl)
    yield from _event(name, task.title, task.rank, words, where, begins, start, end, frame, stamp)


def _event(
    name: str,
    summary: str,
    category: str,
    words: list[str],
    where: str,
    begins: Begins,
    start: Fraction,
    end: Fraction,
    frame: Frame,
    stamp: str,
) -> Iterator[str]:
    """name: unique in the plan; with the plan's identity it is the event's own for ever."""
    told = [*([frame.warning] if frame.unchecked else []), *words, where, f"plan {frame.identity}", FLOATING]
    told.append(frame.safety[0])
    first = _moment(begins, start)
    last = _moment(begins, end, up=True)
    yield "BEGIN:VEVENT"
    yield f"UID:{_text(f'{frame.identity}/{name}@jackstay')}"
    yield f"DTSTAMP:{stamp}"
    yield f"DTSTART:{first}"
    if last > first:  # an event without an end takes no time
        yield f"DTEND:{last}"
    yield f"SUMMARY:{_text(('UNCHECKED: ' if frame.unchecked else '') + summary)}"
    yield f"CATEGORIES:{_text(category)}"
    yield f"DESCRIPTION:{_text('; '.join(word for word in told if word))}"
    yield "END:VEVENT"


def _moment(begins: Begins, seconds: Fraction, up: bool = False) -> str:
    """A floating DATE-TIME, whole seconds, rounded down or up."""
    exact = begins.time + seconds
    whole = -(-exact.numerator // exact.denominator) if up else exact.numerator // exact.denominator
    midnight = datetime.datetime.fromisoformat(begins.date)
    rest = int((datetime.datetime.max - midnight).total_seconds())  # no calendar knows a year 10000
    return (midnight + datetime.timedelta(seconds=min(whole, rest))).strftime("%Y%m%dT%H%M%S").rjust(15, "0")


def _text(words: str) -> str:
    """A TEXT value. Control characters have no place in one."""
    clean = "".join(letter if letter >= " " and letter != "\x7f" else " " for letter in words)
    return clean.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")


def _folded(line: str) -> Iterator[str]:
    """Pieces of at most 75 octets, all but the first beginning with a space; no letter is cut in two."""
    piece, used = "", 0
    for letter in line:
        size = len(letter.encode("utf-8", "replace"))
        if used + size > MOST:
            yield piece
            piece, used = " ", 1
        piece += letter
        used += size
    yield piece
