"""The main clause of a sentence: what comes before it, its verb, whether it is a command."""

from __future__ import annotations

from typing import NamedTuple

from jackstay.wording.lexicon import Lexicon, forms
from jackstay.wording.sentences import Sentence

_NOUNS = 4  # so far from its first word a subject reaches
_HARMING = ("damage", "harms", "spoiling", "injuries", "ailments")
_LEADS = ("conditions", "untils", "prepositions", "subordinate", "inverted")
_LINKS = ("conditions", "untils", "relatives", "subordinate")  # each begins a clause of its own
_TITLE = 3  # words of a headline


class Main(NamedTuple):
    """start: where the main clause begins. verb: its verb, if it is a command, else -1. negated: do not, never."""

    start: int
    verb: int
    negated: bool

    @property
    def command(self) -> bool:
        return self.verb >= 0


def main_clause(sentence: Sentence, lexicon: Lexicon) -> Main:
    low = sentence.low
    start = _after_address(sentence, lexicon, 0)
    start = _after_lead(sentence, lexicon, start)
    start = _after_address(sentence, lexicon, start)
    return _commanded(sentence, lexicon, start) if start < len(low) else Main(start, -1, False)


def _after_address(sentence: Sentence, lexicon: Lexicon, start: int) -> int:
    """Past a name that is spoken to: ``Teal, open …``, ``Rust: move …``."""
    words = sentence.words
    if start + 2 >= len(words) or words[start + 1].text not in (",", ":"):
        return start
    name = words[start]
    spoken_to = name.sort == "word" and name.text[:1].isupper()
    return start + 2 if spoken_to and not any(lexicon.has(lead, name.low) for lead in _LEADS) else start


def _after_lead(sentence: Sentence, lexicon: Lexicon, start: int) -> int:
    """Past a clause or a phrase that stands before the command: up to the comma that a command follows."""
    low = sentence.low
    if start >= len(low):
        return start
    lead = any(lexicon.at(name, low, start) for name in _LEADS)
    if not lead and not (low[start].endswith("ing") and not lexicon.has("commands", low[start])):
        return start
    commas = [i for i in range(start, len(low) - 1) if low[i] == ","]
    for i in commas:
        if _commanded(sentence, lexicon, i + 1).command:
            return i + 1
    return commas[0] + 1 if commas and lead else start


def _commanded(sentence: Sentence, lexicon: Lexicon, start: int) -> Main:
    low = sentence.low
    at, negated = start, False
    while at < len(low) - 1 and _adverb(low[at], lexicon):
        at += 1
    size = lexicon.at("forbidding", low, at)
    if size:
        at, negated = at + size, True
        while at < len(low) - 1 and lexicon.has("leading", low[at]):
            at += 1
    verb = at < len(low) and sentence.words[at].sort == "word"
    known = verb and lexicon.has("commands", low[at]) and not is_subject(sentence, lexicon, at)
    if known or (verb and (negated or unknown_verb(low, at, lexicon))):
        return Main(start, at, negated)
    return Main(start, -1, negated)


def _adverb(word: str, lexicon: Lexicon) -> bool:
    """What may stand before a command: ``slowly``, not ``apply``"""
    return lexicon.has("leading", word) or (word.endswith("ly") and len(word) > 4 and not lexicon.has("commands", word))


def may_command(sentence: Sentence, lexicon: Lexicon, start: int = 0) -> bool:
    """Whether a sentence seems to begin with a verb that no list knows: ``Ventilate the tank``."""
    low = sentence.low
    return start < len(low) and sentence.words[start].sort == "word" and unknown_verb(low, start, lexicon)


def unknown_verb(low: list[str], at: int, lexicon: Lexicon) -> bool:
    """Whether a word that no list knows stands as a command does: before an article or a pronoun."""
    word = low[at]
    if word in lexicon.known or word.endswith(("s", "ed", "ing", "ly")) or at + 1 >= len(low) or len(word) < 3:
        return False
    return any(lexicon.has(name, low[at + 1]) for name in ("articles", "pronouns"))


def instructs(sentence: Sentence, lexicon: Lexicon) -> bool:
    """Whether a sentence commands, or says that something is to be done."""
    low = sentence.low
    if main_clause(sentence, lexicon).command:
        return True
    return any(lexicon.has("obliging", word) for word in low) or lexicon.first("duties", low) is not None


def is_subject(sentence: Sentence, lexicon: Lexicon, at: int) -> bool:
    """Whether a word that may be a command or a noun is what the sentence is about: ``Heat warps the tray``."""
    low = sentence.low
    if at + 1 >= len(low):
        return False
    following = low[at + 1]
    if not lexicon.at("assuring", low, at):  # confirm screws are tight
        for word in low[at + 1 : at + _NOUNS]:
            if lexicon.any((*_LINKS, "articles", "pronouns", "prepositions"), word):
                break
            if lexicon.any(("modals", "unable", "be"), word):
                return True  # bleed screws are
    if not lexicon.has("nouns", low[at]):
        return False
    if following == "of" or (len(low) - at <= _TITLE and lexicon.has("titles", low[-1]) and _plain(low[at:], lexicon)):
        return True
    for i in range(at + 1, min(at + _NOUNS, len(low) - 1)):
        if lexicon.any((*_LINKS, "articles", "pronouns", "prepositions"), low[i]):
            break
        if low[i].endswith("s") and lexicon.any((*_HARMING, "consequences"), low[i + 1]):
            return True  # paint splashes stain
        does = i == at + 1 and low[i].endswith("s") and not low[i].endswith("ss")
        if does and lexicon.has("determiners", low[i + 1]):
            return True  # salt eats the plug
        if _third_person(low[i], lexicon):
            return any(lexicon.has(name, low[i + 1]) for name in ("articles", "pronouns", "prepositions"))
    if lexicon.has("prepositions", following):
        for i, word in enumerate(low[at + 2 :], at + 2):
            if any(lexicon.has(name, word) for name in ("relatives", "conditions", "untils")):
                return False
            if lexicon.has("modals", word) or lexicon.at("duties", low, i) or _third_person(word, lexicon):
                return True
            onto = i + 1 < len(low) and lexicon.has("determiners", low[i + 1])
            if onto and i > at + 2 and word.endswith("s") and not lexicon.any(("articles", "prepositions"), low[i - 1]):
                # water in the pit hides the edge
                return not lexicon.any(("articles", "prepositions", "pronouns"), word)
    return False


def _plain(words: list[str], lexicon: Lexicon) -> bool:
    """Whether nothing but names of things (or of what is done) stands there."""
    return not any(lexicon.any(("articles", "pronouns", "prepositions", "joining"), word) for word in words)


def _third_person(word: str, lexicon: Lexicon) -> bool:
    return word.endswith("s") and any(
        lexicon.has(name, form)
        for form in forms(word)[1:]
        for name in ("commands", "consequences", *_HARMING)
        if not lexicon.has("nouns", form)
    )


def commands_after(sentence: Sentence, lexicon: Lexicon, main: Main) -> list[int]:
    """Further commands that the main one goes on to: ``open the valve and close the lid``."""
    low = sentence.low
    found: list[int] = []
    verb, i = main.verb, main.verb + 1
    while i < len(low):
        if low[i] not in (",", ";", "–", "—") and not lexicon.has("joining", low[i]):
            i += 1
            continue
        first, joined = i, False
        while i < len(low) and (low[i] in (",", ";", "–", "—") or lexicon.has("joining", low[i])):
            joined = joined or lexicon.has("joining", low[i])
            i += 1
        at = i
        while at < len(low) - 1 and _adverb(low[at], lexicon):
            at += 1
        if at >= len(low) or not (lexicon.has("commands", low[at]) or (joined and unknown_verb(low, at, lexicon))):
            continue
        pair = (low[verb], low[at])
        beside = all(lexicon.has("particles", word) for word in low[verb + 1 : first])
        if beside and joined and any(all(lexicon.has(name, word) for word in pair) for name in ("joint", "looking")):
            verb = at  # press and hold: one thing to do
            continue
        if lexicon.any(("stopping", "calling"), low[verb]) and lexicon.any(("calling", "waiting", "stopping"), low[at]):
            verb = at  # stop and call, call and wait
            continue
        if lexicon.has("holding", low[at]) and joined:
            continue
        if lexicon.has("keeping", low[verb]) and lexicon.has("joining", low[first]) and at == first + 1 and not any(
            lexicon.has("times", word) for word in low[verb:first]
        ):  # fmt: skip
            continue  # hold the plate and fit the nut: both at once
        if (lexicon.has("nouns", low[at]) or not joined) and first > verb + 1 and not _has_object(low, at, lexicon):
            continue
        found.append(at)
        verb = at
    return found


def _has_object(low: list[str], at: int, lexicon: Lexicon) -> bool:
    """Whether what follows a word makes it a verb."""
    if at + 1 >= len(low):
        return False
    following = low[at + 1]
    if lexicon.any(("articles", "pronouns"), following):
        return True
    after = low[at + 2] if at + 2 < len(low) else ""
    if after[:1].isdigit() and lexicon.has("prepositions", following) and not lexicon.has("nouns", low[at]):
        return True  # pour in 2 g
    return lexicon.has("particles", following) and (not after or after[:1].isdigit() or lexicon.has("articles", after))


def passives(sentence: Sentence, lexicon: Lexicon, start: int) -> list[int]:
    """Where something is said to be done to something: ``is released``, ``should be closed``, ``to be drawn``."""
    low = sentence.low
    found: list[int] = []
    for i in range(start, len(low)):
        if not lexicon.has("be", low[i]):
            continue
        at = i + 1
        while at < len(low) and (
            lexicon.has("be", low[at]) or lexicon.has("leading", low[at]) or low[at] in ("to", "not")
            or (low[at].endswith("ly") and len(low[at]) > 4)
        ):  # fmt: skip
            at += 1
        if at < len(low) and is_participle(low[at], lexicon) and (not found or at > found[-1]):
            found.append(at)
    return found


def is_participle(word: str, lexicon: Lexicon) -> bool:
    if lexicon.has("states", word):
        return False
    return lexicon.has("participles", word) or (word.endswith("ed") and len(word) > 4)
