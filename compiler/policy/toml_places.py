"""Where the keys of a TOML text stand. The reader of the standard library gives values without places.

A line-wise reading: headers, keys with their values, keys of an inline table. A place that it misses is told as the
header's or the first line: less exact, never wrong about what is wrong.
"""

from __future__ import annotations

import re

from jackstay.source.spans import Span

Key = tuple[str | int, ...]
_PART = r"""(?:[A-Za-z0-9_-]+|"[^"\n]*"|'[^'\n]*')"""
_DOTTED = rf"{_PART}(?:\s*\.\s*{_PART})*"
_HEADER = re.compile(rf"^\s*(\[\[?)\s*({_DOTTED})\s*\]")
_KEY = re.compile(rf"^\s*({_DOTTED})\s*=\s*")
_INNER = re.compile(rf"[{{,]\s*({_DOTTED})\s*=\s*")
_VALUE = re.compile(r"""(?:"[^"\n]*"|'[^'\n]*'|[^#,}"'\n])+""")


def _parts(dotted: str) -> tuple[str, ...]:
    return tuple(found.strip("\"'") for found in re.findall(_PART, dotted))


class Places:
    """The places of one text, shown under one path."""

    def __init__(self, text: str, path: str) -> None:
        self.path = path
        self._keys: dict[Key, Span] = {}
        self._values: dict[Key, Span] = {}
        self._last: dict[tuple[str, ...], int] = {}
        table: Key = ()
        for number, line in enumerate(text.split("\n"), start=1):
            header = _HEADER.match(line)
            if header:
                table = self._open(_parts(header[2]), header[1] == "[[")
                at = Span(path, number, header.start(2), header.end(2))
                for key in (table, *(table[:end] for end in range(len(table) - 1, 0, -1))):
                    self._keys.setdefault(key, at)
                continue
            found = _KEY.match(line)
            if found:
                self._line(table, found, line, number)

    def _open(self, names: tuple[str, ...], again: bool) -> Key:
        if again:
            self._last[names] = self._last.get(names, -1) + 1
        key: Key = ()
        for at, name in enumerate(names, start=1):
            key += (name,)
            if names[:at] in self._last:
                key += (self._last[names[:at]],)
        return key

    def _line(self, table: Key, key: re.Match[str], line: str, number: int) -> None:
        whole = table + _parts(key[1])
        self._put(whole, number, (key.start(1), key.end(1)), line, key.end())
        if line[key.end() : key.end() + 1] == "{":
            for inner in _INNER.finditer(line, key.end()):
                self._put(whole + _parts(inner[1]), number, (inner.start(1), inner.end(1)), line, inner.end())

    def _put(self, key: Key, number: int, at: tuple[int, int], line: str, begin: int) -> None:
        self._keys.setdefault(key, Span(self.path, number, *at))
        value = _VALUE.match(line, begin)
        end = value.start() + len(value[0].rstrip()) if value else begin
        self._values.setdefault(key, Span(self.path, number, begin, max(end, begin)))

    def key(self, key: Key) -> Span:
        """Where a key or a table's header stands, else what it is in."""
        while key and key not in self._keys:
            key = key[:-1]
        return self._keys.get(key, Span(self.path, 1, 0, 0))

    def value(self, key: Key) -> Span:
        found = self._values.get(key)
        return found if found is not None and found.end > found.start else self.key(key)
