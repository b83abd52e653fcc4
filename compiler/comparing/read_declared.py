"""What a campaign's own files declare: things clause by clause, everything else by its lines."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from jackstay.comparing.meaning import Text, ThingMeaning
from jackstay.comparing.read_units import squeezed, without_comment
from jackstay.model.records import Path, Thing, World
from jackstay.outputs.wording import value_text
from jackstay.source.spans import Span

_SHIPPED = "stdlib:"
_HEAD = re.compile(r"([a-z]+)\b\s*(.*)")
_TOLD_ELSEWHERE = {"actor", "item", "location", "path", "excursion", "campaign", "allow"}
_NAMED = re.compile(r"[\w./-]+")


def things_of(world: World) -> list[ThingMeaning]:
    return [
        ThingMeaning(thing.name, thing.sort, thing.kind.name, dict(_clauses(thing)))
        for thing in world.things
        if not thing.decl.path.startswith(_SHIPPED)
    ]


def _clauses(thing: Thing) -> Iterator[tuple[str, str]]:
    yield "kind", thing.kind.name
    yield "title", thing.title
    if thing.group:
        yield "group", thing.group
    if thing.area:
        yield "area", thing.area
    if thing.place is not None:
        yield "at first", f"at {thing.place.name}"
    if thing.placed:
        yield "at first", " and ".join(f"{held.manner} {held.holder.name}".strip() for held in thing.placed)
    if thing.from_end is not None or thing.to_end is not None:
        ends = [end.name if end is not None else "a free end" for end in (thing.from_end, thing.to_end)]
        yield "ends", f"from {ends[0]} to {ends[1]}"
    if thing.near:
        yield "within reach of", ", ".join(one.name for one in thing.near)
    if thing.runner is not None:
        yield "run by", thing.runner.name
    for what, others in (("reaches", thing.reaches), ("sees", thing.sees)):
        if others:
            yield what, ", ".join(one.name for one in others)
    for prop, value in thing.values.items():
        yield prop, _value(thing, prop, value)
    for prop, value in thing.normal.items():
        yield f"normally {prop}", _value(thing, prop, value)


def _value(thing: Thing, prop: str, value: Any) -> str:
    if isinstance(value, Thing):
        return value.name
    written = thing.texts.get(prop)
    if written is not None and value == thing.values.get(prop) and isinstance(value, Fraction):
        # a name that stands for a number may stand for another now
        total = f" of {thing.totals[prop]}" if prop in thing.totals and " of " not in written else ""
        return (
            written + total
            if written[:1].isdigit()
            else f"{written} ({value_text(value, thing.kind.properties.get(prop), thing)})"
        )
    return value_text(value, thing.kind.properties.get(prop), thing)


def texts_of(world: World, sources: Mapping[str, Any]) -> list[Text]:
    """Declarations other than things, in the order of the files' names and lines; a way by its two ends."""
    found: list[Text] = []
    for path in sorted(sources):
        if not path.startswith(_SHIPPED):  # what every file uses is used once by the campaign
            found += _declarations(getattr(sources[path], "lines", []))
    for way in world.paths:
        if not way.decl.path.startswith(_SHIPPED):
            ends = sorted((way.a.name, way.b.name))
            found.append(Text("path", " to ".join(ends), tuple(_way(way))))
    return found


def _way(way: Path) -> Iterator[str]:
    yield way.length.text
    if way.line_kind is not None and way.line_place is not None:
        yield f"on a {way.line_kind.name} of {way.line_place.name}"


def _declarations(lines: list[str]) -> Iterator[Text]:
    """Top-level statements with the lines under them."""
    head: re.Match[str] | None = None
    body: list[str] = []
    for line in [*lines, "end"]:
        words = without_comment(line).rstrip()
        if not words.strip():
            continue
        if words[0].isspace():
            body.append(squeezed(words))
            continue
        if head is not None and head[1] not in _TOLD_ELSEWHERE:
            yield _declared(head, body)
        head, body = _HEAD.match(words), []


def _declared(head: re.Match[str], body: list[str]) -> Text:
    what, rest = head[1], squeezed(head[2])
    if what in ("action", "routine"):  # known by the whole pattern
        return Text(what, rest, tuple(body))
    named = _NAMED.match(rest)
    name = named[0] if named else rest
    more = rest[len(name) :].strip().removeprefix("=").strip()
    if what == "use":
        return Text(what, rest, ())
    return Text("value" if what == "let" else what, name, ((more,) if more else ()) + tuple(body))


def own_text(sources: Mapping[str, Any]) -> tuple[tuple[str, ...], ...]:
    """Every line of the own files without comments and layout: where it is the same, nothing can have changed."""
    return tuple(
        (path, *(words for line in getattr(sources[path], "lines", ()) if (words := without_comment(line).rstrip())))
        for path in sorted(sources)
        if not path.startswith(_SHIPPED)
    )


def at_line(sources: Mapping[str, Any], at: Span) -> str:
    """The line of a place, without layout and comment."""
    lines = getattr(sources.get(at.path), "lines", ())
    return " ".join(without_comment(lines[at.line - 1]).split()) if 0 < at.line <= len(lines) else ""
