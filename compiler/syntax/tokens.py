"""One statement's text as tokens.

A token is a triple: its key (the word itself, so that keywords need no list here), its class (what it is where that
word is no keyword), and the leaf that the tree keeps."""

from __future__ import annotations

import re
from typing import Any

from jackstay.syntax.tree import At, Name, Number, Quantity, Text, UnitTerm

Token = tuple[str, str, Any]

RESERVED = frozenset(
    """a actor after all an and any anyone anything as at because by count everyone everything expect fallback from here
    if in is nobody not nothing of on only or says slot text then to until while with within""".split()  # noqa: SIM905
)
# Reserved words that never stand in a phrase or a pattern: without their comma or line of their own, they are a slip.
CLOSED = frozenset(["because", "expect", "fallback", "if", "says", "slot", "while"])
MAX_NAME = 120

_NAME = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*(?:\.[a-z][a-z0-9]*(?:-[a-z0-9]+)*)*\Z")
_SLOT = re.compile(r"[A-Z][A-Z0-9]*(?:-[A-Z0-9]+)*(?:\.[a-z][a-z0-9]*(?:-[a-z0-9]+)*)*\Z")

_DIGITS = r"(?:(?<![^\s(\[^])-)?\d+(?:\.\d+)?"
_NO_WORD = r"(?![\w.\-])"
_POWER = r"(?:\^-?\d+)?"
_NOT_RESERVED = rf"(?!(?:{'|'.join(sorted(RESERVED))})(?![\w\-]))"
_UNIT = rf"{_NOT_RESERVED}[^\W\d_][^\W_]*(?:-[^\W_]+)*{_POWER}(?:[*/][^\W\d_][^\W_]*{_POWER})*"
_MARK = r"[a-z][a-z0-9.\-]*"
_MARKS = rf"{_MARK}(?:\s+and\s+{_MARK})*\s*(?:,|\[|\Z)"
_BOUND = (
    r",(?=\s*(?:(?:says|while|expect)\b|only\s+if\b|not\s+before\b|in\s+(?:daylight|dark)\s*(?:,|\Z)"
    rf"|(?:by|within)\s+-?\d|(?:on|after)\s+{_MARKS}|was\s+{_MARK}\s*(?:,|\Z)"
)


def _tokeniser(bound: str) -> re.Pattern[str]:
    return re.compile(
        r"[ \t]*(?:"
        r"([^\W\d][\w.\-]*)"  # 1 word
        rf"|((?<!\^){_DIGITS}\s+{_UNIT}(?:\s+{_DIGITS}\s+{_UNIT})*)(?![\w.])"  # 2 quantity; a power is none: m^3 gives
        r'|"([^"]*)"'  # 3 quoted text
        rf"|({bound})"  # 4 comma before a bound
        r"|(\d{4}-\d\d-\d\d(?![\w\-]))"  # 5 date
        rf"|({_DIGITS}{_NO_WORD})"  # 6 number
        r"|(\.\.\.(?!\S))"  # 7 hole
        r"|([\w.][\w.\-']*)"  # 8 odd word
        r'|("[^"]*)'  # 9 unclosed text
        r"|([^ \t])"  # 10 sign
        r")"
    )


_IN_PHRASES = _tokeniser(_BOUND + "))")
# In a task's own line no free words follow a comma, so that every bound begins at its first word.
_IN_TASKS = _tokeniser(_BOUND + r"|(?:with|after|was|on|by|within|in)(?![\w\-])))")
_QUANTITY_PART = re.compile(rf"({_DIGITS})\s+({_UNIT})")
_UNIT_PART = re.compile(r"([*/]?)([^\W\d_][\w\-]*)(?:\^(-?\d+))?")

_classes: dict[str, str] = {}
_new: Any = tuple.__new__


def word_class(text: str) -> str:
    """The class of a word: %NAME, %SLOT, %RESERVED, %CLOSED, or %ODD."""
    if text in RESERVED:
        return "%CLOSED" if text in CLOSED else "%RESERVED"
    if _NAME.match(text):
        return "%NAME"
    return "%SLOT" if _SLOT.match(text) else "%ODD"


def tokenise(text: str, in_tasks: bool, slots: bool) -> list[Token]:
    """The tokens of a statement. ``text`` is its physical lines, whole but for comments, joined by line breaks.
    ``slots`` false: an upper-case word is an odd one here."""
    tokens: list[Token] = []
    pattern = _IN_TASKS if in_tasks else _IN_PHRASES
    for down, line in enumerate(text.split("\n") if "\n" in text else (text,)):
        for match in pattern.finditer(line):
            group = match.lastindex
            start, end = match.span(group)  # type: ignore[arg-type]
            at = _new(At, (down, start, end))
            word = line[start:end]
            if group == 1:
                kind = _classes.get(word)
                if kind is None:
                    if len(_classes) > 50_000:
                        _classes.clear()
                    kind = _classes[word] = word_class(word)
                if kind == "%SLOT" and not slots:
                    kind = "%ODD"
                tokens.append((word, kind, _new(Name, (word, at))))
            elif group == 10:
                tokens.append((word, "%SIGN", _new(Name, (word, at))))
            elif group == 2:
                tokens.append(("%QUANTITY", "%QUANTITY", _quantity(word, at)))
            elif group == 3:
                tokens.append(("%QUOTED", "%QUOTED", Text(word, At(down, start - 1, end + 1))))
            elif group == 4:
                tokens.append(("%BOUND_COMMA", ",", Name(",", at)))
            elif group == 5:
                tokens.append(("%DATE", "%DATE", Name(word, at)))
            elif group == 6:
                tokens.append(("%NUMBER", "%NUMBER", Number(word, at)))
            elif group == 7:
                tokens.append(("...", "%SIGN", Name(word, at)))
            else:
                tokens.append(("%ODD", "%ODD" if group == 8 else "%UNCLOSED", Name(word, at)))
    return tokens


def _quantity(text: str, at: At) -> Quantity:
    parts: list[tuple[str, UnitTerm]] = []
    for match in _QUANTITY_PART.finditer(text):
        powers: list[tuple[str, int]] = []
        for sign, unit, power in _UNIT_PART.findall(match[2]):
            exponent = _power(power)
            powers.append((unit, -exponent if sign == "/" else exponent))
        parts.append(
            (match[1], UnitTerm(tuple(powers), At(at.down, at.start + match.start(2), at.start + match.end(2))))
        )
    return Quantity(tuple(parts), at)


def _power(text: str) -> int:
    """An exponent; beyond three digits it is cut, so that no number of thousands of digits is ever converted."""
    return int(text[:4]) if text else 1
