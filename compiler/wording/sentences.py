"""A text as sentences of words, numbers and marks. Knows no language but its full stops and commas."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from typing import NamedTuple

from jackstay.wording.lexicon import Lexicon, forms

_TOKEN = re.compile(r"\d+(?:[.,:]\d+)*|°[CFK]?\b|[^\W\d_](?:[^\W_]|['’\-·/](?=[^\W_]))*|\S")
_ENDS = frozenset(".!?…")
_FEW = 4  # in so few words one that is known is enough
_SHARE = 5  # of more, one in so many has to be
_NEUTRAL = "±°–—≤≥µΩ·×“”’…%"


class Word(NamedTuple):
    """sort: word, number, mark. low: in lower case."""

    text: str
    low: str
    sort: str


class Sentence(NamedTuple):
    """words: with numbers and marks, without the last full stop. low: their texts in lower case."""

    words: list[Word]
    low: list[str]

    def length(self) -> int:
        """How many words a reader counts: words and numbers."""
        return sum(word.sort != "mark" for word in self.words)

    def text(self, start: int = 0, end: int | None = None) -> str:
        """The words from one place to another, as written (marks close up)."""
        out = ""
        for word in self.words[start:end]:
            tight = word.sort == "mark" and word.text in ",;:%°"
            out += word.text if tight or not out else f" {word.text}"
        return out


def tokens(text: str) -> list[Word]:
    found = []
    for match in _TOKEN.finditer(text):
        piece = match[0]
        sort = "number" if piece[0].isdigit() else "word" if piece[0].isalpha() or piece[0] == "°" else "mark"
        found.append(Word(piece, piece.casefold().replace("’", "'"), sort))
    return found


def sentences(text: str, also: str = "") -> list[Sentence]:
    """also: marks that part sentences too, beside full stops."""
    return [Sentence(words, [word.low for word in words]) for words in _split(tokens(text), also)]


def one_sentence(text: str) -> list[Sentence]:
    """A reading, whose full stops belong to abbreviations."""
    words = [word for word in tokens(text) if word.text not in _ENDS]
    return [Sentence(words, [word.low for word in words])] if words else []


def _split(words: list[Word], also: str) -> Iterator[list[Word]]:
    current: list[Word] = []
    for i, word in enumerate(words):
        following = words[i + 1].text[:1] if i + 1 < len(words) else ""
        full_stop = word.text in _ENDS and not following.islower()
        if full_stop or (word.text in also and word.sort == "mark"):
            if current:
                yield current
            current = []
        else:
            current.append(word)
    if current:
        yield current


def in_known_language(text: str, lexicon: Lexicon) -> bool:
    """Whether enough of its words are known to say anything of it. Other scripts and other languages are not."""
    letters = [c for c in text if c.isalpha()]
    foreign = sum(1 for c in letters if not unicodedata.name(c, "").startswith(("LATIN", "MICRO", "GREEK", "OHM")))
    if foreign:
        return False
    if not letters:
        return text.isascii() or all(c in _NEUTRAL for c in text if not c.isascii())
    words = [word.low for word in tokens(text) if word.sort == "word"]
    known = sum(any(form in lexicon.known for form in forms(word)) for word in words)
    return known * (_SHARE if len(words) > _FEW else _FEW) >= len(words)
