"""The words that the lists of a campaign declare, to be asked for one word or phrase at a time.

What a list means is said where it is declared; here is only how a word is found in one: as written, in another form of
the same word (``scratches`` is `scratch`), or as part of a phrase.
"""

from __future__ import annotations

from collections.abc import Iterable

from jackstay.model.records import World

_NONE: frozenset[str] = frozenset()
_VOWELS = "aeiou"


def forms(word: str) -> list[str]:
    """The words that this may be a form of, itself first: ``wiped`` -> wiped, wip, wipe."""
    out = [word]
    for ending, others in (
        ("ies", ("y",)), ("ied", ("y",)), ("es", ("", "e")), ("s", ("",)), ("ed", ("", "e")), ("ing", ("", "e")),
    ):  # fmt: skip
        if word.endswith(ending) and len(word) > len(ending) + 1:
            stem = word[: -len(ending)]
            out += [stem + other for other in others]
            if ending in ("ed", "ing") and len(stem) > 2 and stem[-1] == stem[-2] and stem[-1] not in _VOWELS:
                out.append(stem[:-1])
    return out


class Lexicon:
    """lists: name -> entries in lower case, in the order declared. verbs: what the plan's own steps begin with."""

    def __init__(self, lists: dict[str, Iterable[str]], verbs: Iterable[str] = ()) -> None:
        self.words: dict[str, frozenset[str]] = {}
        self.phrases: dict[str, list[tuple[str, ...]]] = {}
        self.order: dict[str, list[str]] = {name: list(entries) for name, entries in lists.items()}
        for name, entries in self.order.items():
            self.words[name] = frozenset(entry for entry in entries if " " not in entry)
            self.phrases[name] = [tuple(entry.split()) for entry in entries if " " in entry]
        self.words["commands"] = self.words.get("commands", _NONE) | self.words.get("nouns", _NONE) | frozenset(verbs)
        self.known = frozenset().union(*self.words.values()) if lists else _NONE

    @staticmethod
    def of(world: World) -> Lexicon:
        verbs = {action.pattern[0].words[0] for action in world.actions if action.pattern and action.pattern[0].words}
        return Lexicon({name: found.entries for name, found in world.word_lists.items()}, sorted(verbs))

    def has(self, name: str, word: str) -> bool:
        """Whether a list holds just this word."""
        return word in self.words.get(name, _NONE)

    def holds(self, name: str, word: str) -> bool:
        """Whether a list holds this word in any of its forms."""
        entries = self.words.get(name, _NONE)
        return bool(entries) and any(form in entries for form in forms(word))

    def at(self, name: str, words: list[str], i: int) -> int:
        """How many words from the i-th on are an entry of a list; 0 if none is."""
        best = 1 if i < len(words) and self.has(name, words[i]) else 0
        for phrase in self.phrases.get(name, ()):
            if tuple(words[i : i + len(phrase)]) == phrase:
                best = max(best, len(phrase))
        return best

    def tells(self, name: str, words: list[str], i: int) -> int:
        """As `at`, with the first word in any of its forms: ``loses a finger`` is `lose a finger`."""
        found = forms(words[i])
        best = 1 if any(self.has(name, form) for form in found) else 0
        for phrase in self.phrases.get(name, ()):
            if phrase[0] in found and tuple(words[i + 1 : i + len(phrase)]) == phrase[1:]:
                best = max(best, len(phrase))
        return best

    def any(self, names: Iterable[str], word: str) -> bool:
        """Whether one of several lists holds just this word."""
        return any(self.has(name, word) for name in names)

    def first(self, name: str, words: list[str], start: int = 0) -> tuple[int, int] | None:
        """Where an entry of a list first stands, and how many words it has."""
        for i in range(start, len(words)):
            size = self.at(name, words, i)
            if size:
                return i, size
        return None
