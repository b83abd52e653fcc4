"""What a plan's outputs call an excursion, inside and outside: the words of its vocabularies, if they have any.

Outputs write "excursion", "inside" and "outside" in words of their own and have `Said.put` turn them; a plan's own
texts never pass through it."""

from __future__ import annotations

import re
from typing import NamedTuple

from jackstay.model.records import World


class Said(NamedTuple):
    """inside, outside: as they stand after "is" or "stays"."""

    excursion: str
    inside: str
    outside: str

    @property
    def excursions(self) -> str:
        """Several of them."""
        word = self.excursion
        if word.endswith("y") and word[-2:-1] not in "aeiou":
            return f"{word[:-1]}ies"
        return word + ("es" if word.endswith(("s", "x", "ch", "sh")) else "s")

    @property
    def goes_out(self) -> str:
        return "goes out" if self.outside == "outside" else f"goes {self.outside}"

    @property
    def stays_out(self) -> str:
        return "stays out" if self.outside == "outside" else f"stays {self.outside}"

    @property
    def comes_in(self) -> str:
        return "comes in" if self.inside == "inside" else f"is back {self.inside}"

    @property
    def comes_back(self) -> str:
        return "comes back in" if self.inside == "inside" else f"is {self.inside} again at the end"

    def put(self, text: str) -> str:
        """A text of the outputs' own in these words."""
        if self == PLAIN:
            return text
        words = {
            "excursion": self.excursion,
            "excursions": self.excursions,
            "Excursion": self.heading,
            "inside": self.inside,
            "outside": self.outside,
        }
        text = re.sub(r"\b([Aa])n(?= excursion\b)", lambda found: found[1] + _n(self.excursion), text)
        return _OWN.sub(lambda found: words[found[0]], text)

    @property
    def heading(self) -> str:
        """With a capital, as a heading begins."""
        return self.excursion[:1].upper() + self.excursion[1:]


def _n(word: str) -> str:
    return "n" if word[:1] in "aeiou" else ""


PLAIN = Said("excursion", "inside", "outside")
_OWN = re.compile(r"\b(?:excursions?|Excursion|inside|outside)\b")


def said(world: World) -> Said:
    words = world.words
    return Said(words.get("excursion", "excursion"), words.get("inside", "inside"), words.get("outside", "outside"))
