"""What the review page's data share: words kept once, source lines, seconds, and how a state reads."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from jackstay.model.records import Holding, Slot, Test, Thing, Var
from jackstay.outputs.wording import holding, label, value_text
from jackstay.source.spans import Span

LIBRARY = "stdlib:"
_WORD = re.compile(r"[A-Za-z][A-Za-z0-9-]*")


class Words:
    """Texts by number: a plan says the same things over and over."""

    def __init__(self) -> None:
        self._numbers: dict[str, int] = {}

    def __call__(self, text: str) -> int:
        return self._numbers.setdefault(text, len(self._numbers))

    @property
    def all(self) -> list[str]:
        return list(self._numbers)


class Files:
    """The sources that the page shows: the plan's own files whole, of the library the lines that are pointed at."""

    def __init__(self, sources: Mapping[str, Any]) -> None:
        self._sources = sources
        own = [path for path in sources if not path.startswith(LIBRARY)]
        self._numbers = {path: at for at, path in enumerate(own)}
        self._lines: dict[str, set[int]] = {}

    def __call__(self, at: Span | None) -> list[int] | None:
        """[file, line]; None where there is no place."""
        if at is None or not at.path:
            return None
        number = self._numbers.setdefault(at.path, len(self._numbers))
        self._lines.setdefault(at.path, set()).add(at.line)
        return [number, at.line]

    def stretch(self, at: Span) -> list[int] | None:
        """[file, line, start, end], columns from 0."""
        found = self(at)
        return [*found, at.start, at.end] if found is not None else None

    @property
    def all(self) -> list[dict[str, Any]]:
        return [self._file(path) for path in self._numbers]

    def _file(self, path: str) -> dict[str, Any]:
        lines = _lines(self._sources.get(path))
        if not path.startswith(LIBRARY):
            return {"path": path, "lines": lines}
        wanted = sorted(self._lines.get(path, ()))
        return {"path": path, "some": {str(n): lines[n - 1] for n in wanted if 0 < n <= len(lines)}}


def _lines(source: Any) -> list[str]:
    if source is None:
        return []
    if isinstance(source, str):
        return source.splitlines()
    return list(source.lines)


def plain(seconds: Fraction | int) -> int | float:
    """For drawing: seconds as a number, to a hundredth."""
    value = Fraction(seconds)
    return int(value) if value.denominator == 1 else round(float(value), 2)


def says(var: Var, value: Any) -> str:
    """What a variable's value says: ``Rest 1: Bay 2 socket (by probe)``, ``bolts of Heater box: 2 of 4``."""
    thing = var.thing
    if var.sort == "property":
        return f"{var.prop} of {label(thing)}: {value_text(value, thing.kind.properties.get(var.prop), thing)}"
    return f"{label(thing)}{_SORTS.get(var.sort, '')}: {_hangs(value)}"


_SORTS = {"from": ", near end", "to": ", far end"}


def becomes(var: Var, before: Any, after: Any) -> str:
    """``Rest 1: Bay 2 socket (by probe) → Wren (by hand)``"""
    head, _, old = says(var, before).partition(": ")
    return f"{head}: {old} → {says(var, after).partition(': ')[2]}"


def _hangs(value: Any) -> str:
    if isinstance(value, Thing):
        return label(value)
    if isinstance(value, tuple):
        return " and ".join(holding(one) for one in value if isinstance(one, Holding)) or "nothing"
    return "nothing"


def bound_words(test: Test, binding: tuple[Any, ...]) -> str:
    """A need as the vocabulary writes it, with the things of this step in place of its slots."""
    names: dict[str, str] = {}
    for term in (test.a, test.b, test.value):
        if isinstance(term, Slot) and term.index < len(binding):
            value = binding[term.index]
            if isinstance(value, Thing):
                names[term.name] = label(value)
    return _WORD.sub(lambda found: names.get(found[0], found[0]), test.text)
