"""What a notice says may happen: to whom or to what, how badly, how surely.

Many words of harm are names of things too (a short bolt, the cut plate, a leak test): these count only where they
stand as verbs. A verb of harm means injury if it is done to somebody.
"""

from __future__ import annotations

from typing import NamedTuple

from jackstay.wording.clauses import main_clause
from jackstay.wording.lexicon import Lexicon
from jackstay.wording.sentences import Sentence

_NEAR = 5  # words between what does harm and whom it does it to
_LINKS = ("conditions", "untils", "subordinate", "relatives")
_FUNCTION = (*_LINKS, "articles", "pronouns", "prepositions", "joining", "modals", "be", "leading", "negatives")


class Harm(NamedTuple):
    """For each sort the words that say so, "" if none does. somebody: people, or parts of them, are spoken of.
    guarded: what does the harm may do it to people as well, though that is not said."""

    injury: str
    damage: str
    grave: str
    slight: str
    sure: bool
    possible: bool
    somebody: bool
    guarded: bool


def harm_of(every: list[Sentence], lexicon: Lexicon, strict: bool) -> Harm:
    """strict: verbs without an object or an auxiliary do not count (a note speaks of many things)."""
    injury = damage = grave = slight = ""
    sure = possible = somebody = violent = guards = open_ended = False
    for sentence in every:
        low = sentence.low
        main = main_clause(sentence, lexicon)
        if main.command:
            guards = guards or bool(lexicon.at("guarding", low, main.verb))
            guards = guards or any(_is_body(low, i, lexicon) for i in range(main.verb + 1, len(low)))
            continue  # what is to be done, not what may happen
        acted = False
        for i, word in enumerate(low):
            somebody = somebody or _is_body(low, i, lexicon)
            violent = violent or lexicon.holds("violent", word) or lexicon.holds("harms", word)
            sort = _sort(low, i, lexicon, acted, strict)
            acted = acted or bool(sort)
            if sort == "injury" or (not sort and _endangered(low, i, lexicon, strict)):
                injury = injury or sentence.text(i, i + 4)
            elif sort == "damage":
                damage = damage or sentence.text(i, i + 3)
                following = low[i + 1] if i + 1 < len(low) else ""
                alone = not following or lexicon.any(("prepositions", "joining", *_LINKS), following)
                open_ended = open_ended or (alone and lexicon.holds("harms", word))  # the edge cuts
            if lexicon.tells("grave", low, i):
                grave = grave or sentence.text(i, i + 1)
            if lexicon.tells("slight", low, i) or (lexicon.at("lessening", low, i) and _harm_beside(low, i, lexicon)):
                slight = slight or sentence.text(i, i + 2)
            sure = sure or lexicon.has("certain", word)
            possible = possible or lexicon.has("possible", word)
    return Harm(injury, damage, grave, slight, sure, possible, somebody, open_ended or (violent and guards))


def _harm_beside(low: list[str], i: int, lexicon: Lexicon) -> bool:
    """Whether what makes less of something makes less of harm: a slight burn, sting a little."""
    names = ("injuries", "harms", "ailments", "damage", "spoiling")
    return any(lexicon.holds(name, word) for word in low[max(0, i - 2) : i + 3] for name in names)


def _sort(low: list[str], i: int, lexicon: Lexicon, acted: bool, strict: bool) -> str:
    """What a word says happens: injury, damage, or nothing."""
    word = low[i]
    size = lexicon.tells("injuries", low, i)
    if size and not (strict and size == 1 and _names_a_thing(low, i, lexicon)):
        return "injury"
    if lexicon.holds("hurling", word) and _hits(low, i, lexicon):
        return "injury"
    if lexicon.holds("losing", word) and _lost(low, i, lexicon):
        return "injury"
    if lexicon.holds("damage", word):
        if strict and not (_is_verb(low, i, lexicon, acted, strict) or _caused(low, i, lexicon)):
            return ""
        return "injury" if _to_somebody(low, i, lexicon) else "damage"
    ailing, harming = lexicon.holds("ailments", word), lexicon.holds("harms", word)
    if not (ailing or harming or lexicon.holds("spoiling", word)) or not _is_verb(low, i, lexicon, acted, strict):
        return ""
    return "injury" if ailing or _to_somebody(low, i, lexicon) else "damage"


def _hits(low: list[str], i: int, lexicon: Lexicon) -> bool:
    """``may fall on your head``, ``swings into a diver``"""
    told = any(lexicon.has("modals", word) for word in low[max(0, i - 4) : i]) or (i > 1 and low[i].endswith("s"))
    at = i + 1
    while at < len(low) and at < i + 4 and not lexicon.has("reaching", low[at]):
        at += 1
    if not told or at >= len(low) or not lexicon.has("reaching", low[at]) or lexicon.has("articles", low[i - 1]):
        return False
    return any(_is_body(low, k, lexicon, exactly=True) for k in range(at + 1, min(len(low), at + 4)))


def _lost(low: list[str], i: int, lexicon: Lexicon) -> bool:
    """``loses two fingers``, ``rips off your hand``"""
    at = i + 1
    while at < len(low) and (lexicon.any(("particles", "articles", "owners"), low[at])):
        at += 1
    if at == i + 1 or at >= len(low) or lexicon.has("people", low[at]):
        return False
    return _is_body(low, at, lexicon, exactly=True)


def _names_a_thing(low: list[str], i: int, lexicon: Lexicon) -> bool:
    """``the sick bay``: a word of harm before the name of something."""
    if i == 0 or not lexicon.has("articles", low[i - 1]) or i + 1 >= len(low):
        return False
    return low[i + 1].isalpha() and not lexicon.any(_FUNCTION, low[i + 1])


def _caused(low: list[str], i: int, lexicon: Lexicon) -> bool:
    return any(lexicon.holds("consequences", word) for word in low[max(0, i - 2) : i])


def _is_verb(low: list[str], i: int, lexicon: Lexicon, acted: bool, strict: bool) -> bool:
    before = low[max(0, i - 3) : i]
    following = low[i + 1] if i + 1 < len(low) else ""
    onto = lexicon.any(("articles", "pronouns"), following) or _is_body(low, i + 1, lexicon)
    if onto and before and lexicon.has("relatives", before[-1]):
        return True  # fumes that burn the lungs
    if before and lexicon.has("articles", before[-1]):
        return False
    if any(lexicon.has("modals", one) for one in before) or "to" in before[-2:]:
        return True
    if before and (lexicon.has("pronouns", before[-1]) or (acted and lexicon.has("joining", before[-1]))):
        return True
    if not before:
        return False
    if not low[i].endswith("s"):  # it can fly out and hit your eye; magnets erase the card
        goes_on = lexicon.has("joining", before[-1]) and any(lexicon.has("modals", word) for word in low[:i])
        several = before[-1].endswith("s") and not before[-1].endswith("ss")
        return onto and (goes_on or several)
    if onto:
        return True
    if i < 2:
        return False
    if strict:  # the bearing seizes after …
        starts = not following or lexicon.any(_LINKS, following)
        return i == 2 and lexicon.has("articles", low[0]) and starts and not any(
            lexicon.any(("be", "modals"), word) for word in low[:_NEAR]
        )  # fmt: skip
    alone = not following or lexicon.has("joining", following) or lexicon.has("prepositions", following)
    return alone or lexicon.has("conditions", following)


def _to_somebody(low: list[str], i: int, lexicon: Lexicon) -> bool:
    """Whether what follows a word of harm is a person, or a part of one."""
    for k in range(i + 1, min(len(low), i + 1 + _NEAR)):
        if lexicon.any(("means", "conditions", "subordinate"), low[k]):
            break  # it tears under a hand
        if _is_body(low, k, lexicon, exactly=True):
            return True
    passive = any(lexicon.has("be", word) for word in low[max(0, i - 2) : i])
    return passive and any(_is_body(low, k, lexicon, exactly=True) for k in range(i))


def _is_body(low: list[str], i: int, lexicon: Lexicon, exactly: bool = False) -> bool:
    """A part that machines have too (an arm, a head) is somebody's where it is said whose, or where it is any.
    exactly: not the first half of a name (a hand wheel)."""
    if i >= len(low):
        return False
    if lexicon.has("bodies", low[i]):
        if exactly and low[i + 1 : i + 2] == ["of"]:  # the fingers of the gripper; the fingers of the diver
            return any(
                lexicon.any(("people", "bodies", "pronouns", "possessives"), word) for word in low[i + 2 : i + 5]
            )
        if not exactly or lexicon.has("people", low[i]) or low[i].endswith("s") or i + 1 >= len(low):
            return True
        whose = i > 0 and lexicon.has("possessives", low[i - 1])
        following = low[i + 1]
        return whose or not following.isalpha() or following.endswith("ly") or lexicon.any(_FUNCTION, following)
    if not lexicon.holds("parts", low[i]) or i == 0:
        return False
    return lexicon.has("owners", low[i - 1]) or (low[i].endswith("s") and not lexicon.has("articles", low[i - 1]))


def _endangered(low: list[str], i: int, lexicon: Lexicon, strict: bool) -> bool:
    """``You could fall``: somebody to whom something may happen, and not what they may do."""
    if not lexicon.has("people", low[i]) or i + 2 >= len(low):
        return False
    if not (lexicon.has("possible", low[i + 1]) or lexicon.has("certain", low[i + 1])):
        return False
    verb = low[i + 2]
    suffered = any(lexicon.holds(name, verb) for name in ("consequences", "harms", "ailments"))
    return suffered or not (strict or lexicon.has("commands", verb))
