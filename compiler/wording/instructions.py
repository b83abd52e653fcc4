"""What is wrong with how an instruction is put: length, number, voice, mood, order of its clauses."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from jackstay.wording.clauses import commands_after, main_clause, passives
from jackstay.wording.lexicon import Lexicon, forms
from jackstay.wording.records import Found
from jackstay.wording.sentences import Sentence

MOST_TOLD = 20  # words in a sentence that instructs (ASD-STE100)
MOST_SAID = 25  # in any other (ASD-STE100)
_AFTER_VERBS = ("determiners", "prepositions")
_SUBJECT = 6  # a modal verb so near the start belongs to the sentence's own subject


def too_long(sentence: Sentence, instructs: bool) -> Iterator[Found]:
    most = MOST_TOLD if instructs else MOST_SAID
    count = sentence.length()
    if count > most:
        yield Found("long-instruction", sentence.text(0, 5) + " …", {"count": count, "most": most})


def mood(sentence: Sentence, lexicon: Lexicon, first: bool, alone: bool) -> Iterator[Found]:
    """``several-instructions``, ``passive-instruction``, ``not-imperative``. first: of its text; a later sentence may
    tell what somebody does about it. alone: the only one."""
    main = main_clause(sentence, lexicon)
    if main.command:
        further = [] if main.negated else commands_after(sentence, lexicon, main)
        if further:
            both = [main.verb, *further]
            yield Found(
                "several-instructions",
                " … ".join(sentence.text(i, i + 3) for i in both),
                {"verbs": [sentence.low[i] for i in both]},
            )
        return
    done = passives(sentence, lexicon, main.start)
    if done and lexicon.at("duties", sentence.low, main.start) < 2:
        if len(done) > 1 and any(lexicon.has("joining", word) for word in sentence.low[done[0] : done[1]]):
            verbs = [sentence.low[i] for i in done]
            words = " … ".join(sentence.text(i, i + 1) for i in done)
            yield Found("several-instructions", words, {"verbs": verbs})
        yield Found("passive-instruction", sentence.text(max(main.start, done[0] - 4), done[0] + 1))
        return
    words = _told(sentence, lexicon, main.start, first)
    if not words and alone:
        words = _stated(sentence, lexicon, main.start)
    if words:
        yield Found("not-imperative", words)


def _told(sentence: Sentence, lexicon: Lexicon, start: int, first: bool) -> str:
    """The words that show that a sentence tells, and does not command; "" if nothing shows it."""
    low = sentence.low
    if start >= len(low):
        return ""
    duty = lexicon.first("duties", low, start)
    if duty is not None and duty[0] - start <= _SUBJECT:
        return sentence.text(start, duty[0] + duty[1])
    for i in range(start, min(len(low), start + _SUBJECT)):
        if any(lexicon.has(name, low[i]) for name in ("conditions", "untils", "relatives", "subordinate")):
            break
        if lexicon.has("obliging", low[i]) or (first and lexicon.has("modals", low[i])):
            return sentence.text(start, i + 1)
        if low[i] == "to" and start < i < start + 4 and i + 1 < len(low) and lexicon.has("commands", low[i + 1]):
            return sentence.text(start, i + 2)
        if first and i > start and (_done_by_it(low, i, start, lexicon) or _done_by_us(low, i, start, lexicon)):
            return sentence.text(start, i + 1)
    if start + 1 < len(low) and low[start + 1] == "of" and _nominal(low[start], lexicon):
        return sentence.text(start, start + 2)
    return ""


def _stated(sentence: Sentence, lexicon: Lexicon, start: int) -> str:
    """Of a text that is nothing but one statement, how it begins: ``Your next task is …``, ``Checking the wires``."""
    low = sentence.low
    if start + 1 >= len(low) or any(word.text in ",:;" for word in sentence.words[start:]):
        return ""
    if any(lexicon.any(("be", "modals"), word) for word in low[start + 1 :]):
        is_at = next((i for i in range(start + 1, len(low)) if lexicon.has("be", low[i])), len(low))
        told = lexicon.any(("articles", "owners"), low[start]) and is_at - start <= _SUBJECT
        return sentence.text(start, is_at + 1) if told else ""
    count = start + lexicon.has("numbers", low[start])
    many = low[count].endswith("s") and not lexicon.has("commands", low[count]) and count + 2 < len(low)
    if many and lexicon.has("commands", low[count + 1]) and lexicon.any(_AFTER_VERBS, low[count + 2]):
        return sentence.text(start, count + 2)  # two divers carry the case
    doing = low[start].endswith("ing") and any(lexicon.has("commands", form) for form in forms(low[start])[1:])
    on_it = lexicon.any(("articles", "pronouns", "prepositions"), low[start + 1])
    return sentence.text(start, start + 2) if doing and on_it else ""


def _done_by_it(low: list[str], i: int, start: int, lexicon: Lexicon) -> bool:
    """``The crew opens the gate``: a subject, and what it does."""
    if not low[i].endswith("s") or i + 1 >= len(low):
        return False
    if not any(lexicon.has("commands", form) for form in forms(low[i])[1:]):
        return False
    named = any(lexicon.has(name, low[start]) for name in ("articles", "pronouns")) and i - start >= 1
    alone = not lexicon.has("commands", low[start]) and all(lexicon.has("leading", w) for w in low[start + 1 : i])
    return (named or alone) and any(lexicon.has(name, low[i + 1]) for name in ("articles", "pronouns", "prepositions"))


def _done_by_us(low: list[str], i: int, start: int, lexicon: Lexicon) -> bool:
    """``We now turn the key``"""
    if not lexicon.has("tellers", low[start]) or not lexicon.has("commands", low[i]):
        return False
    return all(lexicon.has("leading", word) for word in low[start + 1 : i])


def _nominal(word: str, lexicon: Lexicon) -> bool:
    return not lexicon.has("commands", word) and word.endswith(("ing", "al", "ion", "ment", "ure", "ance"))


def buried_condition(sentence: Sentence, lexicon: Lexicon) -> Iterator[Found]:
    main = main_clause(sentence, lexicon)
    low = sentence.low
    begin = main.verb
    if not main.command:  # told as a duty: what was to be commanded stands before its participle
        done = passives(sentence, lexicon, main.start)
        if not done:
            return
        begin = done[0]
    for i in range(begin + 1, len(low)):
        size = lexicon.at("conditions", low, i)
        turned = lexicon.has("inverted", low[i]) and i + 1 < len(low)
        if turned and lexicon.any(("articles", "pronouns"), low[i + 1]) and not any(
            lexicon.any(("relatives", "conditions"), word) for word in low[begin:i]
        ):  # fmt: skip
            size = 1  # stop the drill should the shaft jam
        if not size or i + size >= len(low) or lexicon.at("vague", low, i):
            continue
        if low[i - 1] in (";", ":", "–", "—") or (low[i - 1] == "," and low[i - 2] == "or"):
            return  # another sentence, in all but its full stop
        if sentence.words[i + size].sort == "mark" or lexicon.has("joining", low[i + size]):
            continue
        if size == 1 and low[i] != "in" and lexicon.has("prepositions", low[i + size]):
            continue  # turn it once to the left
        if any(lexicon.at(name, low, i) > size for name in ("stops", "asides", "vague")) or lexicon.at(
            "asides", low, i
        ):
            continue
        if (
            size == 1
            and lexicon.has("articles", low[i + 1])
            and any(lexicon.has("times", w) for w in low[i + 2 : i + 4])
        ):
            continue  # once an hour
        if low[i] == "if" and lexicon.has("asking", low[begin]) and i <= begin + 3:
            continue  # ask her if it is so
        sees = lexicon.has("looking", low[begin]) and not lexicon.has("calling", low[begin])
        if low[i] == "if" and (sees or any(lexicon.holds("looking", word) for word in low[max(begin, i - 3) : i])):
            continue  # to see if something is so
        limit = lexicon.has("limits", low[i - 1]) and not lexicon.has("restricting", low[i - 1])
        if limit or lexicon.has("moments", low[i - 1]):
            continue  # the time when something is so
        yield Found("buried-condition", sentence.text(i, i + 5))
        return


def choice(sentence: Sentence, lexicon: Lexicon, first: bool) -> Iterator[Found]:
    """first: of its text; a later sentence may tell of answers."""
    low = sentence.low
    main = main_clause(sentence, lexicon)
    found = lexicon.first("choices", low, main.start if lexicon.at("conditions", low, 0) else 0)
    if found is not None:
        yield Found("choice-in-prose", sentence.text(found[0], found[0] + max(3, found[1])))
        return
    if main.negated or any(lexicon.any(("negatives", "inclusive"), word) for word in low[main.start :]):
        return  # remove any dust or oil: all of it
    if not (main.command or first):
        return
    if main.command and lexicon.has("looking", low[main.verb]):
        return
    for i in range(max(main.start, main.verb) + 1, len(low) - 1):
        if any(lexicon.at(name, low, i) for name in ("conditions", "untils", "subordinate", "relatives")):
            return
        if low[i] in ("or", "and/or"):
            if lexicon.has("compared", low[i + 1]):
                continue
            around = (sentence.words[i - 1], sentence.words[i + 1])
            if all(word.sort == "number" or lexicon.has("numbers", word.low) for word in around):
                continue
            if any(word.sort == "mark" and word.text != "," for word in around):
                continue  # "go" or "stay": what somebody says
            yield Found("choice-in-prose", sentence.text(i - 1, i + 3))
            return


def repeat(sentence: Sentence, lexicon: Lexicon) -> Iterator[Found]:
    main = main_clause(sentence, lexicon)
    if not main.command or main.negated:
        return
    low = sentence.low
    if any(lexicon.at("stops", low, i) and not lexicon.at("again", low, i) for i in range(len(low))):
        return
    if any(low[i] == "for" and sentence.words[i + 1].sort == "number" for i in range(len(low) - 1)):
        return
    over = lexicon.first("again", low)
    if over is not None:
        yield Found("repeat-without-stop", sentence.text(over[0], over[0] + over[1]))
        return
    for verb in (main.verb, *commands_after(sentence, lexicon, main)):
        size = lexicon.at("continuing", low, verb)
        following = low[verb + size] if verb + size < len(low) else ""
        goes_on = _gerund(following, lexicon) or (following == "to" and _to_do(low, verb + size + 1, lexicon))
        echo = lexicon.has("echoing", low[-1]) or lexicon.has("echoing", following)
        again = lexicon.has("repeating", low[verb]) and not echo
        if again or (size and goes_on):
            yield Found("repeat-without-stop", sentence.text(verb, verb + 3))
            return


def _gerund(word: str, lexicon: Lexicon) -> bool:
    """``turning``, not ``string`` or ``bearing``"""
    return word.endswith("ing") and any(lexicon.has("commands", form) for form in forms(word)[1:])


def _to_do(low: list[str], i: int, lexicon: Lexicon) -> bool:
    """``continue to pump``, not ``continue to rack 4``"""
    if i >= len(low) or not lexicon.has("commands", low[i]):
        return False
    return not (lexicon.has("nouns", low[i]) and i + 1 < len(low) and low[i + 1][:1].isdigit())


def timed(sentence: Sentence, lexicon: Lexicon) -> Iterator[Found]:
    """``Wait 5 min``, ``hold … for 30 s``, with nothing that says from when."""
    low = sentence.low
    main = main_clause(sentence, lexicon)
    verb = low[main.verb] if main.command and not main.negated else ""
    lasts = lexicon.has("waiting", verb) or lexicon.has("lasting", verb)
    for i in range(1, len(low) - 1):
        number = sentence.words[i].sort == "number" or lexicon.has("numbers", low[i]) or low[i] in ("a", "an")
        if not number or not lexicon.has("times", low[i + 1]):
            continue
        if lexicon.has("rates", low[i - 1]):
            continue  # every 5 min
        begin = i - 1
        while begin > 0 and lexicon.any(("articles", "numbers", "hourly"), low[begin]):
            begin -= 1
        lasting = low[begin] == "for" or "for" in low[max(0, i - 3) : i]
        in_time = (
            main.command and not main.negated and lexicon.has("deadlines", low[i - 1]) and low[i + 2 : i + 3] != ["of"]
        )
        if not lasting and not in_time and (not lasts or lexicon.has("prepositions", low[i - 1])):
            continue
        if any(lexicon.at("starts", low, k) for k in range(len(low))):
            return
        yield Found("timed-without-start", sentence.text(max(0, i - 1), i + 2))
        return


def negatives(sentence: Sentence, lexicon: Lexicon) -> Iterator[Found]:
    low = sentence.low
    forbids = main_clause(sentence, lexicon).negated
    found = [i for i in range(len(low)) if lexicon.has("negatives", low[i]) and not _no_turn(low, i, forbids, lexicon)]
    # two prohibitions side by side are two, not one turned round
    apart = [
        i
        for before, i in pairwise(found)
        if lexicon.has("joining", low[i - 1])
        or _beside(low[before + 1 : i], lexicon)
        or (i > 1 and lexicon.has("joining", low[i - 2]))
        or (
            (low[i - 1] == "," or (low[i - 2] == "," and lexicon.at("forbidding", low, i - 1)))
            and not lexicon.at("conditions", low, 0)
        )
    ]
    if len(found) - len(apart) > 1:
        yield Found("several-negatives", " … ".join(sentence.text(i, i + 2) for i in found))


def _beside(between: list[str], lexicon: Lexicon) -> bool:
    """Whether what stands between two negations parts them: ``it is not lit and the fan is not on``"""
    return any(lexicon.has("joining", word) for word in between) and not any(
        lexicon.any(("relatives", "conditions", "subordinate"), word) for word in between
    )


def _no_turn(low: list[str], i: int, forbids: bool, lexicon: Lexicon) -> bool:
    """What looks like a negation and turns nothing round: ``no more than``, ``neither … nor``, a quoted no; and what a
    prohibition is usually limited with (do not dive without a partner)."""
    if lexicon.at("limits", low, i) > 1 or (i > 0 and lexicon.at("limits", low, i - 1) > 1):
        return True
    if lexicon.has("linking", low[i]) and any(lexicon.has("negatives", word) for word in low[:i]):
        return True
    if lexicon.has("lacking", low[i]) and forbids:
        return True
    quoted = '"“”'
    return 0 < i < len(low) - 1 and low[i - 1] in quoted and low[i + 1] in quoted


def unanswered(every: list[Sentence], lexicon: Lexicon) -> Iterator[Found]:
    """``Stop and call …`` with nobody who answers, in a text."""
    for n, sentence in enumerate(every):
        low = sentence.low
        if n + 1 < len(every) and _stops(sentence, lexicon) and _calls(every[n + 1], lexicon):
            rest = [word for other in every[n + 2 :] for word in other.low]
            if not any(lexicon.holds("answers", word) for word in rest):
                yield Found("stop-without-answer", f"{sentence.text(0, 3)}. {every[n + 1].text(0, 3)}")
                return
        for i, word in enumerate(low):
            if not (lexicon.has("joining", word) or word in (",", ";")) or i == 0 or i + 1 >= len(low):
                continue
            if not lexicon.has("calling", low[i + 1]):
                continue
            if not any(lexicon.has("stopping", before) for before in low[max(0, i - 6) : i]):
                continue
            rest = [*low[i + 2 :], *(word for other in every[n + 1 :] for word in other.low)]
            if not any(lexicon.holds("answers", word) for word in rest):
                yield Found("stop-without-answer", sentence.text(max(0, i - 2), i + 3))
                return


def _stops(sentence: Sentence, lexicon: Lexicon) -> bool:
    main = main_clause(sentence, lexicon)
    return main.command and not main.negated and lexicon.has("stopping", sentence.low[main.verb])


def _calls(sentence: Sentence, lexicon: Lexicon) -> bool:
    main = main_clause(sentence, lexicon)
    return (
        main.command
        and not main.negated
        and main.verb == main.start
        and lexicon.has("calling", sentence.low[main.verb])
    )
