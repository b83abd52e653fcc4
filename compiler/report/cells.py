"""Text in terminal cells: how wide it is, how it wraps, and what must not reach a terminal raw."""

from __future__ import annotations

import unicodedata
from functools import lru_cache

_ASCII = str.maketrans({"→": "->", "…": "...", "│": "|", "·": "-", "×": "x", "–": "-", "—": "-", "’": "'", "“": '"',
                        "”": '"', "‘": "'", "−": "-"})  # fmt: skip


@lru_cache(maxsize=4096)
def _shown(char: str) -> str:
    if char == "\t":
        return " "
    if unicodedata.category(char) in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"):
        return "\N{REPLACEMENT CHARACTER}"
    return char


def shown(text: str) -> str:
    """The text with every character that could steer a terminal (controls, direction marks) replaced, one for one."""
    return text if text.isascii() and text.isprintable() else "".join(map(_shown, text))


@lru_cache(maxsize=4096)
def _cell(char: str) -> int:
    if unicodedata.combining(char) or unicodedata.category(char) == "Me":
        return 0
    return 2 if unicodedata.east_asian_width(char) in ("W", "F") else 1


def cells(text: str) -> int:
    """How many terminal cells the text takes."""
    return len(text) if text.isascii() else sum(map(_cell, text))


def take(text: str, width: int) -> str:
    """The longest beginning of the text that fits the width."""
    used = 0
    for at, char in enumerate(text):
        used += _cell(char)
        if used > width:
            return text[:at]
    return text


def pad(text: str, width: int) -> str:
    return text + " " * max(0, width - cells(text))


def shorten(text: str, width: int) -> str:
    """The text, its middle left out where it does not fit."""
    if cells(text) <= width:
        return text
    if width < 4:
        return take(text, max(width, 0))
    head = take(text, (width - 1) // 3)
    tail = take(text[::-1], width - 1 - cells(head))[::-1]
    return head + "…" + tail


def wrap(text: str, width: int) -> list[str]:
    """Lines of at most the width, broken at blanks, and inside words that are wider than a line."""
    width = max(width, 1)
    lines: list[str] = []
    line = ""
    for word in text.split():
        while True:
            joined = f"{line} {word}" if line else word
            if cells(joined) <= width:
                line = joined
                break
            if line:
                lines.append(line)
                line = ""
                continue
            head = take(word, width) or word[0]
            lines.append(head)
            word = word[len(head) :]
            if not word:
                break
    if line:
        lines.append(line)
    return lines


def printable(text: str, encoding: str | None) -> str:
    """The text as a stream of that encoding can carry it: our own signs in ASCII dress, what is left as ``?``."""
    encoding = encoding or "ascii"
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return text.translate(_ASCII).encode(encoding, "replace").decode(encoding)
    except LookupError:
        return text.translate(_ASCII).encode("ascii", "replace").decode("ascii")
    return text
