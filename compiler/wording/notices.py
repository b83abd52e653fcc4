"""What is wrong with a warning, a caution or a note: its kind, its parts, its signal word, an action inside."""

from __future__ import annotations

from collections.abc import Iterator

from jackstay.wording.clauses import instructs, main_clause, may_command
from jackstay.wording.harms import Harm, harm_of
from jackstay.wording.lexicon import Lexicon
from jackstay.wording.records import Found
from jackstay.wording.sentences import Sentence, sentences

_OBJECTS = ("articles", "pronouns", "prepositions", "leading", "owners")
_SHORT = 5  # a sentence of more words that has no form of “be” has some verb


def parts_of(text: str, lexicon: Lexicon) -> tuple[str, list[Sentence]]:
    """The signal word that a text begins with, or "", and its sentences; a colon parts them too."""
    every = sentences(text, ":;")
    signal = ""
    if every and len(every[0].words) == 1 and lexicon.has("signals", every[0].low[0]):
        signal, every = every[0].low[0], every[1:]
    return signal, [part for sentence in every for part in _reasons(sentence, lexicon)]


def _reasons(sentence: Sentence, lexicon: Lexicon) -> Iterator[Sentence]:
    """A command, and apart from it the reason that it gives: ``keep off, for it can burst``."""
    words, low = sentence.words, sentence.low
    main = main_clause(sentence, lexicon)
    if not main.command:
        told = _then_told(sentence, lexicon)
        for part in (slice(None, told), slice(told, None)) if told else (slice(None),):
            yield Sentence(words[part], low[part])
        return
    start, end = 0, len(low)
    leads = lexicon.has("reasons", low[0]) or (lexicon.has("explaining", low[0]) and lexicon.has("subordinate", low[0]))
    if main.start > 2 and leads:
        yield Sentence(words[1 : main.start - 1], low[1 : main.start - 1])
        start = main.start
    for i in range(main.verb + 1, len(low) - 2):
        if lexicon.has("reasons", low[i]) or (low[i - 1] == "," and lexicon.has("explaining", low[i])):
            end = i
            yield Sentence(words[i + 1 :], low[i + 1 :])
            break
    yield Sentence(words[start:end], low[start:end])


def _then_told(sentence: Sentence, lexicon: Lexicon) -> int:
    """Where a sentence goes on to tell how to avoid it: ``sharp edge, keep off``, ``it is hot, so wear gloves``."""
    low = sentence.low
    for i in range(1, len(low) - 1):
        if low[i] != "," and not lexicon.has("therefore", low[i]):
            continue
        at = i
        while at < len(low) - 1 and (low[at] == "," or lexicon.any(("therefore", "joining", "leading"), low[at])):
            at += 1
        plain = lexicon.has("therefore", low[at - 1]) or not any(lexicon.has("modals", word) for word in low[:i])
        if plain and (lexicon.at("avoiding", low, at) or lexicon.at("forbidding", low, at)):
            return at
    return 0


def judge_notice(kind: str, text: str, lexicon: Lexicon) -> Iterator[Found]:
    """kind: warning, caution, note, danger."""
    signal, every = parts_of(text, lexicon)
    if not every:
        return
    harm = harm_of(every, lexicon, kind == "note")
    if signal:
        yield from _signal(signal, harm, lexicon)
    if kind == "danger":
        return
    yield from _kind(kind, harm)
    yield from _action(every, lexicon, kind == "note")
    if kind != "note":
        yield from _half(every, harm, lexicon)


def _kind(kind: str, harm: Harm) -> Iterator[Found]:
    if kind == "warning" and harm.damage and not harm.injury and not harm.somebody and not harm.guarded:
        yield Found("wrong-notice", harm.damage, {"kind": kind, "wanted": "caution"})
    elif kind == "caution" and harm.injury:
        yield Found("wrong-notice", harm.injury, {"kind": kind, "wanted": "warning"})
    elif kind == "note" and (harm.injury or harm.damage):
        wanted = "warning" if harm.injury else "caution"
        yield Found("wrong-notice", harm.injury or harm.damage, {"kind": kind, "wanted": wanted})


def _signal(signal: str, harm: Harm, lexicon: Lexicon) -> Iterator[Found]:
    """By how the harm is stated: will kill, could kill, slight, none."""
    order = lexicon.order.get("signals", [])
    if len(order) != 4 or not (harm.injury or harm.damage or harm.slight or harm.grave):
        return
    rank = order.index(signal)
    fitting: tuple[int, ...]
    if harm.slight and not (harm.grave and harm.injury):
        fitting, words = (2,), harm.slight
    elif not harm.injury:
        if harm.guarded:
            return  # what flies off may hit somebody: not said
        fitting, words = (2, 3), harm.damage  # what only costs things
    elif harm.grave and harm.sure:
        fitting, words = (0,), harm.grave
    elif harm.grave:
        fitting, words = (1,) if harm.possible else (0, 1), harm.grave
    else:
        fitting, words = (0, 1, 2) if harm.sure else (1, 2), harm.injury
    if rank not in fitting:
        nearest = min(fitting, key=lambda one: abs(one - rank))
        more = {"signal": signal.upper(), "wanted": order[nearest].upper(), "strong": rank < nearest}
        yield Found("signal-word", words, more)


def _action(every: list[Sentence], lexicon: Lexicon, note: bool) -> Iterator[Found]:
    """Looking first is a way to keep out of harm's way; a note tells of no harm."""
    for sentence in every:
        main = main_clause(sentence, lexicon)
        if not main.command or main.negated:
            continue
        low = sentence.low
        looks = lexicon.has("assuring", low[main.verb]) or lexicon.has("looking", low[main.verb])
        if (lexicon.at("avoiding", low, main.verb) and not (note and looks)) or any(
            lexicon.has("away", w) for w in low[main.verb + 1 : main.verb + 3]
        ):
            continue
        if any(lexicon.has("restricting", word) for word in low[main.verb + 1 :]):
            continue  # open it only outdoors: how, not that
        following = low[main.verb + 1] if main.verb + 1 < len(low) else ""
        if any(lexicon.has("possessives", word) for word in low[main.verb + 1 :]):
            continue  # cover your ears
        step = lexicon.has("operating", low[main.verb]) or any(lexicon.has("sequencing", word) for word in low)
        if not (note or step):
            continue  # match the colours
        if note and lexicon.has("referring", low[main.verb]):
            continue  # see figure 3
        if len(low) == main.verb + 2:
            continue  # wet paint
        if lexicon.has("nouns", low[main.verb]) and not lexicon.any(_OBJECTS, following):
            continue  # lock pins …
        yield Found("action-in-notice", sentence.text(main.verb, main.verb + 4))
        return


def _something_happens(low: list[str], lexicon: Lexicon) -> bool:
    """Whether a sentence seems to have a verb in words that no list knows: ``the film fogs``."""
    if lexicon.at("conditions", low, 0) and "," in low:
        low = low[low.index(",") + 1 :]
    ends = [i for i in range(1, len(low)) if lexicon.at("conditions", low, i)]
    low = low[: ends[0]] if ends else low
    if any(lexicon.has("be", word) for word in low):
        joined = [i for i, word in enumerate(low) if lexicon.has("joining", word)]
        return bool(joined) and _something_happens(low[joined[-1] + 1 :], lexicon)
    return len(low) > _SHORT or any(_happens(low, i, lexicon) for i in range(1, len(low)))


def _happens(low: list[str], i: int, lexicon: Lexicon) -> bool:
    """``the film fogs``, ``brine eats the copper``; not ``bare wires behind the panel``, ``moving parts``"""
    word, following = low[i], low[i + 1] if i + 1 < len(low) else ""
    if low[i - 1].endswith("s") and lexicon.has("articles", following) and not lexicon.any(_OBJECTS, word):
        return not lexicon.has("joining", word)  # magnets erase the card
    if not word.endswith("s") or word.endswith("ss") or len(word) <= 3:
        return False
    if lexicon.any(("articles", "prepositions"), low[i - 1]):
        return False
    if lexicon.any(("articles", "pronouns"), following):
        return True
    if i > 1 and lexicon.has("articles", low[0]):
        return True
    return bool(following) and not lexicon.any(("prepositions", "joining"), following)


def _half(every: list[Sentence], harm: Harm, lexicon: Lexicon) -> Iterator[Found]:
    avoided = said = caused = False
    for n, sentence in enumerate(every):
        main = main_clause(sentence, lexicon)
        plain = any(lexicon.any(("be", "modals"), word) for word in sentence.low)
        if main.command or main.negated or may_command(sentence, lexicon) or (n and said and not plain):
            avoided = True
            continue
        low = sentence.low
        avoided = avoided or any(lexicon.at("forbidding", low, i) for i in range(len(low)))
        avoided = avoided or any(
            (lexicon.has("joining", low[i]) or low[i] in (",", "so")) and lexicon.has("avoiding", low[i + 1])
            for i in range(len(low) - 1)
        )
        avoided = avoided or instructs(sentence, lexicon) or lexicon.has("restricting", low[0])
        stated = any(
            lexicon.any(("modals", "unable"), word) or lexicon.holds("consequences", word)
            for i, word in enumerate(low)
            if not lexicon.has("articles", low[i - 1] if i else "")
        )
        said = bool(said or stated or harm.injury or harm.damage or _something_happens(low, lexicon))
        caused = caused or not _only_the_outcome(low, lexicon)
    parts = (("the hazard", caused or not said), ("what may happen", said), ("how to avoid it", avoided))
    missing = [part for part, there in parts if not there]
    if missing:
        yield Found("half-a-notice", every[0].text(0, 6), {"missing": missing})


def _only_the_outcome(low: list[str], lexicon: Lexicon) -> bool:
    """``Damage to the seal can occur``: and nothing says of what."""
    at = 1 if lexicon.has("articles", low[0]) and len(low) > 1 else 0
    if not lexicon.holds("outcomes", low[at]) or not any(lexicon.holds("occurring", word) for word in low[at + 1 :]):
        return False
    return not any(lexicon.any(("means", "conditions", "subordinate"), word) for word in low[at + 1 :])
