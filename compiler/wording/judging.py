"""One text judged: every rule about words that has a say in a text of its kind."""

from __future__ import annotations

from collections.abc import Iterator

from jackstay.wording import amounts, instructions
from jackstay.wording.lexicon import Lexicon
from jackstay.wording.notices import judge_notice
from jackstay.wording.records import Found
from jackstay.wording.sentences import in_known_language, one_sentence, sentences

NOTICES = ("warning", "caution", "note", "danger")


def judge(kind: str, text: str, lexicon: Lexicon) -> list[Found]:
    """kind: instruction, note, caution, warning, danger, reading, description, or step (the phrase of an action, whose
    verb is the plan's own). A text in a language that the lists do not know gives nothing."""
    if not in_known_language(text, lexicon):
        return []
    return list(_judge(kind, text, lexicon))


def _judge(kind: str, text: str, lexicon: Lexicon) -> Iterator[Found]:
    every = sentences(text) if kind != "reading" else one_sentence(text)
    for sentence in every:
        yield from instructions.too_long(sentence, kind in ("instruction", "step"))
    if kind in NOTICES:
        yield from judge_notice(kind, text, lexicon)
    if kind == "instruction":
        for sentence in every:
            first = sentence is every[0]
            yield from instructions.mood(sentence, lexicon, first, len(every) == 1)
            yield from instructions.buried_condition(sentence, lexicon)
            yield from instructions.choice(sentence, lexicon, first)
            yield from instructions.repeat(sentence, lexicon)
            yield from instructions.timed(sentence, lexicon)
        yield from instructions.unanswered(every, lexicon)
    for sentence in every:
        if kind in ("instruction", "note", "reading", "step"):
            yield from amounts.vague(sentence, lexicon, kind != "note", kind == "reading")
        if kind in ("instruction", "note", "reading"):
            yield from amounts.without_unit(sentence, lexicon, kind == "reading")
        if kind == "reading":
            yield from amounts.without_range(sentence, lexicon)
            yield from amounts.empty_response(sentence, lexicon)
        if kind in ("instruction", "note", "caution", "warning"):
            yield from instructions.negatives(sentence, lexicon)
