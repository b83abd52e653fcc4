"""The steps of a task as units of meaning: headings are folded into what is done under them, unfolded routines into
their call."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from itertools import groupby
from typing import Any

from jackstay.comparing.meaning import Arg, Bound, Call, Lengths, Unit, Wait
from jackstay.model.records import AnyOf, Block, Entry, Mark, Remark, Task, Thing
from jackstay.outputs.clock import clock
from jackstay.outputs.wording import entry_text, source_place
from jackstay.source.spans import Span

ROUTINE = "routine "  # before the first word of a routine's call, where a step has its action's pattern


class Reader:
    """Reads the units of an excursion, task by task in text order. sources: the lines of each file by its path."""

    def __init__(self, sources: Mapping[str, Any]) -> None:
        self.sources = sources
        self._stands: dict[Thing, str | None] = {}  # where each was last told to be: a heading may leave it out

    def units(self, task: Task, nominal: bool = True) -> tuple[Unit, ...]:
        """nominal: False in a fallback, which begins who knows where."""
        if not nominal:
            self._stands = {}
        found: list[Unit] = []
        for calls, entries in groupby(task.entries, key=lambda entry: entry.calls[:1]):
            inner = tuple(self._plain(list(entries), nominal))
            found += [self._routine(calls[0], inner)] if calls and inner else inner
        return tuple(found)

    def _plain(self, entries: list[Entry], nominal: bool) -> Iterator[Unit]:
        for _, one in groupby(entries, key=lambda entry: id(entry.block)):
            block = list(one)
            arrivals = [entry for entry in block if entry.action is None and not entry.hole]
            steps = [entry for entry in block if entry.action is not None or entry.hole]
            place = self._place(block[0].block)
            if not steps:
                yield _unit(arrivals[0], place, arrivals, True, nominal)
            for at, entry in enumerate(steps):
                yield _unit(entry, place, arrivals, at == 0, nominal)

    def _place(self, block: Block) -> str | None:
        place = block.place.name if block.place is not None else None
        if place is None and block.doers:
            place = self._stands.get(block.doers[0])
        for actor in (*block.doers, *block.riders):
            self._stands[actor] = place
        return place

    def _routine(self, at: Span, inner: tuple[Unit, ...]) -> Unit:
        text = self._line(at)
        first = inner[0]
        says = tuple(name for unit in inner for name in unit.says)
        own = {Call(unit.task, name) for unit in inner for name in unit.says}
        waits = _once(wait for unit in inner for wait in (*unit.head, *unit.waits) if wait.call not in own)
        words = text.replace(",", " ,").split()
        return Unit(
            "routine",
            first.task,
            first.index,
            _once(actor for unit in inner for actor in unit.cast),
            _once(actor for unit in inner for actor in unit.doers),
            (),
            None,
            None,
            ROUTINE + (words[0] if words else ""),
            tuple(("thing", word) for word in words[1:]),
            text,
            None,
            True,
            (),
            (),
            None,
            says,
            waits,
            (),
            None,
            None,
            (),
            (),
            inner,
            source_place(at),
        )

    def _line(self, at: Span) -> str:
        lines = getattr(self.sources.get(at.path), "lines", ())
        line: str = lines[at.line - 1] if at.line <= len(lines) else ""
        return " ".join(without_comment(line).split())


def _remark(remark: Remark) -> str:
    """``warning of bad-air``"""
    return " of ".join(filter(None, (remark.sort, ", ".join(hazard.name for hazard in remark.of))))


def _waits(entries: Iterable[Entry], heading: bool) -> Iterator[Wait]:
    for entry in entries:
        yield from (Wait(_call(wait.mark), "on", heading) for wait in entry.waits)
        yield from (Wait(_call(wait.mark), "while", heading) for wait in entry.beside)


def _bounds(entries: Iterable[Entry]) -> tuple[Bound, ...]:
    return _once(
        Bound(b.sort, bound_words(b), _call(b.mark) if b.mark is not None else None)
        for entry in entries
        for b in entry.bounds
    )


def _unit(entry: Entry, place: str | None, arrivals: list[Entry], first: bool, nominal: bool) -> Unit:
    """arrivals: those of its heading. What these call or remark is said of the first step."""
    block = entry.block
    said = _once([*arrivals, entry] if first else [entry])
    expect = entry.expect.text if entry.expect is not None else None
    binding = entry.binding[2:] if entry.action is not None else ()
    alone = entry.action is None and not entry.hole
    way = next((one.duration for one in arrivals if one.duration is not None), None)
    return Unit(
        "arrival" if alone else "step",
        entry.task.name,
        entry.index if nominal else -1,
        tuple(actor.name for actor in entry.cast),
        tuple(actor.name for actor in (block.doers if alone else entry.cast) if actor in block.doers),
        tuple(actor.name for actor in block.riders),
        place,
        block.seat.name if block.seat is not None else None,
        entry.action.text if entry.action is not None else "...",
        tuple(_arg(value) for value in binding),
        "" if alone else entry_text(entry),
        _lengths(entry.duration),
        first,
        _once(_waits(arrivals, True)),
        _bounds(arrivals),
        _lengths(way),
        _once(one.says.name for one in said if one.says is not None),
        () if alone else _once(_waits([entry], False)),
        () if alone else _bounds([entry]),
        expect,
        entry.because,
        tuple((_remark(remark), remark.text) for one in said for remark in one.remarks),
        tuple((a.outcome, f"fallback {a.fallback.name}" if a.fallback else "go on") for a in entry.answers),
        (),
        source_place(entry.at),
    )


def _call(mark: Mark) -> Call:
    return Call(mark.task.name, mark.name)


def bound_words(bound: Any) -> str:
    if bound.sort == "light":
        return f"in {bound.word}"
    if bound.sort == "within":
        return f"within {clock(bound.value)}"
    return f"{bound.sort.replace('-', ' ')} {clock(bound.value)}"


def _lengths(duration: Any) -> Lengths | None:
    return (duration.likely, duration.least, duration.most) if duration is not None else None


def _arg(value: Any) -> Arg:
    if isinstance(value, Thing):
        return ("thing", value.name)
    if isinstance(value, AnyOf):
        return ("any", value.name)
    if isinstance(value, Fraction):
        return ("number", str(value))
    return ("none", "") if value is None else ("text", str(value))


def _once(values: Iterable[Any]) -> tuple[Any, ...]:
    return tuple(dict.fromkeys(values))


_GAP = re.compile(r'("[^"]*"?)|\s+')


def squeezed(words: str) -> str:
    """One blank for several; what is quoted stays as it is."""
    return _GAP.sub(lambda found: found[1] or " ", words).strip()


def without_comment(line: str) -> str:
    """A line up to its comment; a ``#`` in quotes is none."""
    quoted = False
    for at, letter in enumerate(line):
        if letter == '"':
            quoted = not quoted
        elif letter == "#" and not quoted:
            return line[:at]
    return line
