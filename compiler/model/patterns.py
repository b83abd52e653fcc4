"""Verb phrases: which action or routine a line's words mean.

A pattern is free words, slots and connecting words; at most one skeleton matches a line, and overloads differ in the
kind of one slot or in the cast.
"""

from __future__ import annotations

from collections.abc import Container, Sequence
from typing import NamedTuple

from jackstay.model.records import Action, Kind, Param, Part
from jackstay.source.record import Entity, fresh
from jackstay.source.spans import Span
from jackstay.syntax import tree

RESERVED = frozenset(
    [
        "a",
        "actor",
        "after",
        "all",
        "an",
        "and",
        "any",
        "anyone",
        "anything",
        "as",
        "at",
        "because",
        "by",
        "count",
        "everyone",
        "everything",
        "expect",
        "fallback",
        "from",
        "here",
        "if",
        "in",
        "is",
        "nobody",
        "not",
        "nothing",
        "of",
        "on",
        "only",
        "or",
        "says",
        "slot",
        "text",
        "then",
        "to",
        "until",
        "while",
        "with",
        "within",
        ",",
    ]
)


_new = tuple.__new__  # of words there are several to a line


class RoutineDecl(Entity):
    """A routine as declared; its body is read anew at each call."""

    text: str
    pattern: tuple[Part, ...]
    params: tuple[Param, ...]
    decl: Span
    module: str
    statement: tree.Statement


Verb = Action | RoutineDecl


class Word(NamedTuple):
    """A token of a phrase as matched: its text and the node it came from; ``any pouch`` is one token."""

    text: str
    node: tree.PhraseWord
    any: bool


class Near(NamedTuple):
    """A pattern that nearly matches: the first word of the line that does not fit it (its index), -1 if too short."""

    verb: Verb
    wrong: int


class Phrasebook(Entity):
    """All patterns known to the campaign, by first word and length."""

    by_first: dict[str, list[Verb]] = fresh(factory=dict)
    exact: dict[tuple[str, int], list[Verb]] = fresh(factory=dict)
    called: set[str] = fresh(factory=set)  # routines that some plan calls
    modules: dict[str, frozenset[str]] = fresh(factory=dict)  # module -> modules it reaches by use
    shapes: dict[tuple[str, int], list[list[Verb]]] = fresh(factory=dict)  # `exact`, those of one skeleton together
    broken: set[str] = fresh(factory=set)  # first words of verbs declared with a mistake: steps raise nothing further

    def add(self, verb: Verb, kinds: Sequence[Kind]) -> list[tuple[Verb, Kind | None]]:
        """Add a verb; returns the earlier ones it collides with, and a kind that brings it about by having two parents
        (None: the slots' kinds alone do). kinds: the campaign's kinds of several parents."""
        clashes = []
        for first in verb.pattern[0].words:
            for other in self.exact.get((first, len(verb.pattern)), []):
                if other is not verb and overlap(verb, other, kinds):
                    clashes.append((other, meeting(verb, other, kinds)))
            self.exact.setdefault((first, len(verb.pattern)), []).append(verb)
            self.shapes.pop((first, len(verb.pattern)), None)
            self.by_first.setdefault(first, []).append(verb)
        return clashes

    def match(self, words: list[Word], module: str) -> list[Verb]:
        """The verbs whose skeleton these words fit, seen from a module."""
        if not words:
            return []
        key = (words[0].text, len(words))
        fitting = [verbs for verbs in self._shapes(key) if misfit(verbs[0].pattern, words) is None]
        if not fitting:
            return []
        reached = self.modules.get(module, frozenset())
        if len(fitting) == 1:
            return [v for v in fitting[0] if v.module in reached]
        return [v for v in self.exact[key] if v.module in reached and any(v in verbs for verbs in fitting)]

    def _shapes(self, key: tuple[str, int]) -> list[list[Verb]]:
        found = self.shapes.get(key)
        if found is None:
            shapes: dict[tuple[tuple[str, ...], ...], list[Verb]] = {}
            for verb in self.exact.get(key, ()):
                shapes.setdefault(tuple(part.words for part in verb.pattern), []).append(verb)
            found = self.shapes[key] = list(shapes.values())
        return found

    def near(self, words: list[Word], module: str) -> list[Near]:
        """Patterns with the same first word, the best fitting first."""
        reached = self.modules.get(module, frozenset())
        out = []
        for verb in self.by_first.get(words[0].text, ()) if words else ():
            if verb.module in reached:
                wrong = misfit(verb.pattern, words)
                out.append(Near(verb, -1 if wrong is None else wrong))
        return sorted(out, key=lambda n: (-n.wrong, n.verb.text))

    def elsewhere(self, first: str, module: str) -> list[tuple[str, str, Span]]:
        """Verbs that begin with this word in files that are not used from here: module, text, declaration."""
        reached = self.modules.get(module, frozenset())
        return [(v.module, v.text, v.decl) for v in self.by_first.get(first, ()) if v.module not in reached]

    def first_words(self, module: str) -> list[tuple[str, str, Span]]:
        reached = self.modules.get(module, frozenset())
        return [
            (first, verbs[0].text, verbs[0].decl)
            for first, verbs in self.by_first.items()
            if any(v.module in reached for v in verbs)
        ]


def misfit(pattern: tuple[Part, ...], words: list[Word]) -> int | None:
    """The first word that does not fit the pattern, or None if all do and none is missing."""
    for i, part in enumerate(pattern):
        if i >= len(words):
            return i
        if part.words:
            if words[i].text not in part.words:
                return i
        elif words[i].text in RESERVED and not words[i].any:
            return i
    return len(pattern) if len(words) > len(pattern) else None


def overlap(a: Verb, b: Verb, kinds: Sequence[Kind] = ()) -> bool:
    """Whether one line could mean both: same shape, and nothing tells them apart."""
    told_apart = False
    for p, q in zip(a.pattern, b.pattern, strict=True):
        if p.words and q.words:
            if not set(p.words) & set(q.words):
                return False
        elif p.words or q.words:
            if set(p.words or q.words) <= RESERVED:
                return False  # a reserved word is never a name
        elif disjoint(_kinds(a, p.slot), _kinds(b, q.slot), kinds):
            told_apart = True
    if told_apart:
        return False
    if isinstance(a, Action) and isinstance(b, Action):
        return not (disjoint(a.by, b.by, kinds) or bool(a.helped_by) != bool(b.helped_by))
    return True


def _kinds(verb: Verb, slot: int) -> tuple[Kind, ...] | str:
    param = verb.params[slot - 2]
    return param.kinds if param.sort == "thing" else param.sort


def disjoint(a: tuple[Kind, ...] | str, b: tuple[Kind, ...] | str, kinds: Sequence[Kind] = ()) -> bool:
    """Whether no kind falls under both; kinds: those of several parents."""
    if isinstance(a, str) or isinstance(b, str):
        return a != b
    return not any(x.is_a(y) or y.is_a(x) for x in a for y in b) and _common(a, b, kinds) is None


def _common(a: tuple[Kind, ...], b: tuple[Kind, ...], kinds: Sequence[Kind]) -> Kind | None:
    """The first declared kind that falls under one of each."""
    return next((k for k in kinds if any(k.is_a(x) for x in a) and any(k.is_a(y) for y in b)), None)


def meeting(a: Verb, b: Verb, kinds: Sequence[Kind]) -> Kind | None:
    """Of two verbs that overlap: the kind of two parents without which they would not."""
    pairs = [
        (_kinds(a, p.slot), _kinds(b, q.slot))
        for p, q in zip(a.pattern, b.pattern, strict=True)
        if not p.words and not q.words
    ]
    if isinstance(a, Action) and isinstance(b, Action):
        pairs.append((a.by, b.by))
    for x, y in pairs:
        if disjoint(x, y) and not isinstance(x, str) and not isinstance(y, str):
            return _common(x, y, kinds)
    return None


def tokens(words: tuple[tree.PhraseWord, ...], units: Container[str]) -> list[Word]:
    """A phrase's words for matching: ``any pouch`` joined, "2 bolts" split where bolts is no unit."""
    out: list[Word] = []
    i = 0
    while i < len(words):
        node = words[i]
        if isinstance(node, tree.Name):
            follower = words[i + 1] if i + 1 < len(words) else None
            if node.text == "any" and isinstance(follower, tree.Name) and follower.text not in RESERVED:
                out.append(Word(follower.text, follower, True))
                i += 2
                continue
            out.append(_new(Word, (node.text, node, False)))
        elif isinstance(node, tree.Quantity):
            number, term = node.parts[0]
            name = term.powers[0][0]
            if len(node.parts) == 1 and len(term.powers) == 1 and name not in units:
                middle = tree.At(node.at.down, node.at.start, node.at.start + len(number))
                out.append(Word(number, tree.Number(number, middle), False))
                out.append(Word(name, tree.Name(name, term.at), False))
            else:
                out.append(Word("", node, False))
        elif isinstance(node, tree.Number):
            out.append(Word(node.text, node, False))
        else:
            out.append(Word("", node, False))
        i += 1
    return out


def pattern_text(parts: tuple[tree.PatternPart, ...]) -> str:
    """A pattern as shown to a reader: ``undo bolts of UNIT with TOOL``."""
    out = ""
    for part in parts:
        word = part.slot.text if part.slot else "/".join(part.words)
        out += word if word == "," else (" " if out else "") + word
    return out
