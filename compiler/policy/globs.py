"""Patterns of paths: ``*`` and ``?`` in a name, ``**`` for any folders, ``[a-z]`` for a letter, ``/`` between names.

A pattern without ``/`` is of names in any folder (``draft-*.stay``); one with it is read from the project's folder.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import TypeVar

_LONGEST = 400
_SET = re.compile(r"!?[\w.\-]+")
T = TypeVar("T")
Fits = Callable[[T], bool]


def wrong_with(glob: str) -> str:
    """What is wrong with a pattern, as the rest of "it …"; empty when nothing is."""
    if not glob.strip():
        return "is empty"
    if len(glob) > _LONGEST:
        return f"is longer than {_LONGEST} letters"
    if "\\" in glob:
        return "has a backslash: folders are set apart by /"
    if glob.startswith("/") or re.match(r"[A-Za-z]:", glob):
        return "begins at the root of a disk: patterns are read from the project's folder"
    parts = glob.split("/")
    if ".." in parts or "." in parts:
        return "goes by . or ..: it can only lead down from the project's folder"
    if "" in parts[:-1]:
        return "has two / in a row"
    if any("**" in part and part != "**" for part in parts):
        return "has ** beside other letters: it stands for whole folders, between two /"
    if parts[-1] == "":
        return f"ends in /: write {glob}** for all that is in the folder"
    try:
        _pattern(glob)
    except ValueError:
        return "has a [ ] that names no letters"
    return ""


def matches(glob: str, path: str) -> bool:
    """Whether a pattern that nothing is wrong with fits a path, relative to the project's folder. Takes as long as the
    one times the other, whatever they hold."""
    return _fits(_pattern(glob), path.split("/"))


@lru_cache(maxsize=1024)
def _pattern(glob: str) -> tuple[Fits[str] | None, ...]:
    """What fits each name of a path; None: any folders. Raises ValueError."""
    parts = glob.split("/") if "/" in glob else ["**", glob]
    found: list[Fits[str] | None] = [None if part == "**" else _name(part) for part in parts]
    if parts[-1] == "**":
        found.append(lambda name: True)  # what is in the folder, not the folder itself
    return tuple(found)


def _name(part: str) -> Fits[str]:
    letters: list[Fits[str] | None] = []
    at = 0
    while at < len(part):
        letter = part[at]
        if letter == "*":
            letters.append(None)
        elif letter == "?":
            letters.append(lambda one: True)
        elif letter in "[]":
            end = part.find("]", at + 1)
            inner = part[at + 1 : end]
            if letter == "]" or end < 0 or not _SET.fullmatch(inner):
                raise ValueError(part)
            letters.append(_letters(inner))
            at = end
        else:
            letters.append(letter.__eq__)
        at += 1
    return lambda name: _fits(letters, name)


def _letters(inner: str) -> Fits[str]:
    """``a-c``, ``!a-c``: a letter among these, or none of them."""
    body = inner.removeprefix("!").replace(".", r"\.")
    try:
        found = re.compile(f"[{'^' if inner.startswith('!') else ''}{body}]")
    except re.error:
        raise ValueError(inner) from None
    return lambda one: found.fullmatch(one) is not None


def _fits(pattern: Sequence[Fits[T] | None], text: Sequence[T]) -> bool:
    """None stands for any number of anything. Only the last of those met so far is ever tried again."""
    at = row = 0
    star, resume = -1, 0
    while row < len(text):
        one = pattern[at] if at < len(pattern) else None
        if at < len(pattern) and one is None:
            star, resume = at, row
            at += 1
        elif one is not None and one(text[row]):
            at, row = at + 1, row + 1
        elif star >= 0:
            resume += 1
            at, row = star + 1, resume
        else:
            return False
    return all(one is None for one in pattern[at:])
