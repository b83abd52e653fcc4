"""What is wrong with numbers and amounts: no unit, no range, no limit, no answer."""

from __future__ import annotations

from collections.abc import Iterator

from jackstay.wording.clauses import main_clause
from jackstay.wording.lexicon import Lexicon
from jackstay.wording.records import Found
from jackstay.wording.sentences import Sentence

_SIGNS = ("±", "<", ">", "≤", "≥", ":", "–", "-")
_SHORT = 4  # a response of so few words may end in a banned one


def vague(sentence: Sentence, lexicon: Lexicon, told: bool, reading: bool = False) -> Iterator[Found]:
    """told: it says what is to be done or to be found; a note may speak of some of them. reading: an answer that says
    nothing of the value is another finding."""
    low = sentence.low
    begun = {i + k for i in range(len(low)) for k in range(1, lexicon.at("conditions", low, i))}  # within “as soon as”
    found: list[tuple[int, int]] = []
    for i in range(len(low)):
        size = lexicon.at("vague", low, i) or (told and lexicon.at("loose", low, i))
        if reading and size == 1 and lexicon.has("responses", low[i]):
            continue
        if size and i not in begun and not _names(sentence, i, size, lexicon):
            found.append((i, size))
    inside = {i + k for i, size in found for k in range(size)}
    ranged = any(_ranges(sentence, i, lexicon) for i in range(len(low)))
    limited = "±" in low or ranged or any(_limits(sentence, i, lexicon) for i in range(len(low)) if i not in inside)
    for i in range(len(low)):
        rough = lexicon.at("roughly", low, i)
        if rough and i + rough < len(low) and not limited and _amount(sentence, i + rough, low[i], lexicon):
            yield Found("vague-amount", sentence.text(i, i + rough + 1))
        elif not limited:
            yield from (Found("vague-amount", sentence.text(i, i + size)) for at, size in found if at == i)


def _limits(sentence: Sentence, i: int, lexicon: Lexicon) -> bool:
    low = sentence.low
    size = lexicon.at("limits", low, i)
    if size == 1 and lexicon.has("places", low[i]):  # from the hook: no limit; within 3 mm: one
        return any(word.sort == "number" or lexicon.has("numbers", word.low) for word in sentence.words[i + 1 : i + 3])
    return size > 1 or (size == 1 and not lexicon.has("comparing", low[i]))


def _ranges(sentence: Sentence, i: int, lexicon: Lexicon) -> bool:
    """``3.5 m to 4.5 m``, ``3–5``"""
    words = sentence.words
    if words[i].low not in ("to", "-", "–") or i == 0 or i + 1 >= len(words) or words[i + 1].sort != "number":
        return False
    return words[i - 1].sort == "number" or (i > 1 and words[i - 2].sort == "number")


def _amount(sentence: Sentence, i: int, rough: str, lexicon: Lexicon) -> bool:
    """Whether an amount begins there, after a word that makes it a rough one: 4 m, a metre; not: around 2 posts"""
    word, low = sentence.words[i], sentence.low
    following = low[i + 1] if i + 1 < len(low) else ""
    measured = lexicon.any(("units", "times"), following) and not lexicon.has("prepositions", following)
    if word.sort == "number":
        return measured or not lexicon.has("prepositions", rough) or not following
    return measured and (lexicon.has("articles", word.low) or lexicon.has("numbers", word.low))


def _names(sentence: Sentence, i: int, size: int, lexicon: Lexicon) -> bool:
    """Whether a vague word is no amount there: a switch marked NORMAL, “how many”, “enough to reach the rail”."""
    words, low = sentence.words, sentence.low
    capitals = words[i].text.isupper() and not all(word.text.isupper() for word in words if word.sort == "word")
    quoted = i > 0 and words[i - 1].text in '"“' and i + size < len(words) and words[i + size].text in '"”'
    counted = i > 0 and lexicon.has("counting", low[i - 1])
    bounded = lexicon.has("sufficing", low[i]) and any(
        low[k] == "to" and lexicon.has("commands", low[k + 1]) for k in range(i + 1, len(low) - 1)
    )
    return capitals or quoted or counted or bounded


def without_unit(sentence: Sentence, lexicon: Lexicon, reading: bool) -> Iterator[Found]:
    words, low = sentence.words, sentence.low
    if reading:
        if _only_numbers(sentence, lexicon):
            yield Found("value-without-unit", sentence.text())
        return
    main = main_clause(sentence, lexicon)
    verb = low[main.verb] if main.command else ""
    measuring = lexicon.has("measuring", verb)
    poured = lexicon.has("pouring", verb)
    about = measuring or poured or any(lexicon.holds("measures", word) for word in low)
    if not about:
        return
    for i, word in enumerate(words):
        if word.sort != "number" or ":" in word.text or not _bare(sentence, i, lexicon):
            continue
        if not word.text.strip("0.,"):
            continue  # zero is the same in every unit
        if _measures(sentence, i, lexicon, measuring, verb) or (
            (poured or measuring) and _of_stuff(sentence, i, lexicon)
        ):
            yield Found("value-without-unit", sentence.text(max(0, i - 2), i + 1))
            return


def _only_numbers(sentence: Sentence, lexicon: Lexicon) -> bool:
    """A reading of numbers, what is measured, and what compares them: ``depth 18``, ``between 20 and 24``."""
    words, low = sentence.words, sentence.low
    numbers = [i for i, word in enumerate(words) if word.sort == "number"]
    if not numbers or any(":" in words[i].text for i in numbers) or "of" in low:
        return False  # 2 of 4
    compares = len(numbers) > 1 or len(words) == 1
    i = 0
    while i < len(words):
        size = max(lexicon.at(name, low, i) for name in ("limits", "comparing"))
        if size:
            compares, i = True, i + size
            continue
        if lexicon.any(("quantities", "instruments"), low[i]):
            compares = compares or lexicon.has("quantities", low[i])
        elif i not in numbers and low[i] not in _SIGNS and not lexicon.has("joining", low[i]):
            return False
        i += 1
    return compares


def _bare(sentence: Sentence, i: int, lexicon: Lexicon) -> bool:
    """Whether neither a unit nor anything counted follows a number."""
    words, low = sentence.words, sentence.low
    if i + 1 >= len(words):
        return True
    following = words[i + 1]
    if i + 2 < len(words) and words[i + 2].sort == "number" and lexicon.any(("joining", "comparing"), low[i + 1]):
        return _bare(sentence, i + 2, lexicon)  # between 4 and 6 kPa
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
    if lexicon.has("places", before) and low[i + 1 : i + 2] == ["and"]:
        return not any(lexicon.has("labels", word) for word in low[max(0, i - 3) : i])  # between 4 and 6
    if lexicon.has("comparing", before):
        if i > 1 and words[i - 2].sort == "number" and not (measuring and _one_label(sentence, i - 2)):
            return False  # steps 3 to 5
        return not any(lexicon.has("labels", word) for word in low[max(0, i - 3) : i])
    if before == verb and lexicon.has("nouns", verb) and lexicon.has("particles", (low[i + 1 : i + 2] or [""])[0]):
        return False  # pump 2 off
    if (before == verb and measuring) or lexicon.has("quantities", before):
        return True
    noun_after_article = i > 1 and lexicon.has("articles", low[i - 2]) and words[i - 1].sort == "word"
    return measuring and noun_after_article and i + 1 < len(low)


def _of_stuff(sentence: Sentence, i: int, lexicon: Lexicon) -> bool:
    """``90 of water``, not ``3 of the bolts``"""
    low = sentence.low
    if i + 2 >= len(low) or low[i + 1] != "of" or lexicon.any(("articles", "pronouns"), low[i + 2]):
        return False
    return sentence.words[i + 2].sort == "word" and lexicon.any(("prepositions", "commands"), low[i - 1])


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
    if (
        has_unit
        and i + 2 < len(low)
        and lexicon.has("prepositions", low[i + 1])
        and lexicon.has("articles", low[i + 2])
    ):
        has_unit = False  # 4 in the tray
    scale = i > 0 and i + 1 == len(low) and (
        lexicon.any(("units", "quantities"), low[i - 1])
        or (i > 1 and lexicon.has("comparing", low[i - 1]) and lexicon.any(("instruments", "quantities"), low[i - 2]))
    )  # fmt: skip
    if has_unit or scale or len(words) == 1:
        yield Found("value-without-range", sentence.text(i, i + 2))


def empty_response(sentence: Sentence, lexicon: Lexicon) -> Iterator[Found]:
    low = [word.low for word in sentence.words if word.sort != "mark"]
    if not low or sentence.words[0].text in '"“':
        return  # quoted: it is what somebody answers
    size = lexicon.at("responses", low, 0)
    for begin in (1, 2):
        if begin < len(low) - 1 and lexicon.at("responses", low, begin) == len(low) - begin:
            size = len(low)  # flow as needed
    if size == len(low) or (
        len(low) <= _SHORT and lexicon.has("responses", low[-1]) and not lexicon.has("negatives", low[-2])
    ):
        yield Found("empty-response", sentence.text())
