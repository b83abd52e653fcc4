"""What is wrong with numbers and amounts: no unit, no range, no limit, no answer."""

from __future__ import annotations

from collections.abc import Iterator

from jackstay.wording.clauses import main_clause
from jackstay.wording.lexicon import Lexicon
from jackstay.wording.records import Found
from jackstay.wording.sentences import Sentence

_SHORT = 4  # a response of so few words may end in a banned one


def vague(sentence: Sentence, lexicon: Lexicon, told: bool) -> Iterator[Found]:
    """told: it says what is to be done or to be found; a note may speak of some of them."""
    low = sentence.low
    begun = {i + k for i in range(len(low)) for k in range(1, lexicon.at("conditions", low, i))}  # within “as soon as”
    found: list[tuple[int, int]] = []
    for i in range(len(low)):
        size = lexicon.at("vague", low, i) or (told and lexicon.at("loose", low, i))
        if size and i not in begun:
            found.append((i, size))
    inside = {i + k for i, size in found for k in range(size)}
    limited = "±" in low or any(_limits(low, i, lexicon) for i in range(len(low)) if i not in inside)
    for i in range(len(low)):
        rough = lexicon.at("roughly", low, i)
        if rough and i + rough < len(low) and sentence.words[i + rough].sort == "number":
            yield Found("vague-amount", sentence.text(i, i + rough + 1))
        elif not limited:
            yield from (Found("vague-amount", sentence.text(i, i + size)) for at, size in found if at == i)


def _limits(low: list[str], i: int, lexicon: Lexicon) -> bool:
    size = lexicon.at("limits", low, i)
    return size > 1 or (size == 1 and not lexicon.has("comparing", low[i]))


def without_unit(sentence: Sentence, lexicon: Lexicon, reading: bool) -> Iterator[Found]:
    words, low = sentence.words, sentence.low
    if reading:
        if len(words) == 1 and words[0].sort == "number" and ":" not in words[0].text:
            yield Found("value-without-unit", words[0].text)
        return
    main = main_clause(sentence, lexicon)
    verb = low[main.verb] if main.command else ""
    measuring = lexicon.has("measuring", verb)
    about = measuring or any(lexicon.holds("measures", word) for word in low)
    if not about:
        return
    for i, word in enumerate(words):
        if word.sort != "number" or ":" in word.text or not _bare(sentence, i, lexicon):
            continue
        if _measures(sentence, i, lexicon, measuring, verb):
            yield Found("value-without-unit", sentence.text(max(0, i - 2), i + 1))
            return


def _bare(sentence: Sentence, i: int, lexicon: Lexicon) -> bool:
    """Whether neither a unit nor anything counted follows a number."""
    words, low = sentence.words, sentence.low
    if i + 1 >= len(words):
        return True
    following = words[i + 1]
    if following.sort == "mark":
        if following.text == "±":
            return False
        return following.text in ",;:)"
    if low[i + 1 : i + 3] == ["to", "the"]:
        return True
    return following.sort == "word" and not following.low.startswith("°") and any(
        lexicon.at(name, low, i + 1) for name in ("prepositions", "conditions", "untils", "joining", "subordinate")
    ) and low[i + 1] not in ("to", "in")  # fmt: skip


def _measures(sentence: Sentence, i: int, lexicon: Lexicon, measuring: bool, verb: str) -> bool:
    """Whether a number that stands bare is a measured value, and no label or step number."""
    low, words = sentence.low, sentence.words
    if i == 0:
        return False
    before = low[i - 1]
    if lexicon.has("comparing", before):
        if i > 1 and words[i - 2].sort == "number" and not (measuring and _one_label(sentence, i - 2)):
            return False  # steps 3 to 5
        return not any(lexicon.has("labels", word) for word in low[max(0, i - 3) : i])
    if (before == verb and measuring) or lexicon.has("quantities", before):
        return True
    noun_after_article = i > 1 and lexicon.has("articles", low[i - 2]) and words[i - 1].sort == "word"
    return measuring and noun_after_article and i + 1 < len(low)


def _one_label(sentence: Sentence, i: int) -> bool:
    """``bolt 5``, not ``bolts 5``"""
    return i > 0 and sentence.words[i - 1].sort == "word" and not sentence.low[i - 1].endswith("s")


def without_range(sentence: Sentence, lexicon: Lexicon) -> Iterator[Found]:
    """A reading of one value, of something that is measured."""
    words, low = sentence.words, sentence.low
    numbers = [i for i, word in enumerate(words) if word.sort == "number" and ":" not in word.text]
    if len(numbers) != 1 or any(mark in low for mark in ("±", "<", ">", "≤", "≥", "~")):
        return
    if any(lexicon.at(name, low, i) for name in ("limits", "compared") for i in range(len(low))):
        return
    i = numbers[0]
    has_unit = i + 1 < len(low) and (lexicon.has("units", low[i + 1]) or low[i + 1] in ("%", "°"))
    scale = i > 0 and lexicon.has("units", low[i - 1])
    if has_unit or scale or len(words) == 1:
        yield Found("value-without-range", sentence.text(i, i + 2))


def empty_response(sentence: Sentence, lexicon: Lexicon) -> Iterator[Found]:
    low = [word.low for word in sentence.words if word.sort != "mark"]
    if not low:
        return
    size = lexicon.at("responses", low, 0)
    if size == len(low) or (
        len(low) <= _SHORT and lexicon.has("responses", low[-1]) and not lexicon.has("negatives", low[-2])
    ):
        yield Found("empty-response", sentence.text())
