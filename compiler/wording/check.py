"""All that is wrong with the words of a plan. Runs only where there is a list of commands: with ``use wording``."""

from __future__ import annotations

from collections.abc import Iterator

from jackstay.diagnostics.records import Problem
from jackstay.model.records import World
from jackstay.wording.clauses import instructs
from jackstay.wording.judging import judge
from jackstay.wording.lexicon import Lexicon
from jackstay.wording.plan_texts import PlanText, texts_of
from jackstay.wording.records import Found
from jackstay.wording.sentences import sentences, tokens
from jackstay.wording.structure import judge_structure

_SHORT = 4  # what is said in so few words may be a value
_OF_VALUES = frozenset(("value-without-unit", "value-without-range", "empty-response"))


def check_wording(world: World, shipped: frozenset[str] = frozenset()) -> list[Problem]:
    """shipped: paths of the files that come with Jackstay; their texts are nobody's to mend here."""
    lexicon = Lexicon.of(world)
    problems: list[Problem] = []
    for text in texts_of(world, shipped):
        for found in (*_judged(text, lexicon), *_other_names(text, world)):
            facts = {"kind": text.kind, "text": text.text, "words": found.words, **found.more}
            problems.append(Problem(found.rule, text.at, facts))
    problems += judge_structure(world, lexicon, shipped)
    return problems


def _judged(text: PlanText, lexicon: Lexicon) -> Iterator[Found]:
    if text.kind not in ("spoken", "title"):
        yield from judge(text.kind, text.text, lexicon)
        return
    every = sentences(text.text)
    if any(instructs(sentence, lexicon) for sentence in every):
        yield from judge("instruction", text.text, lexicon)
        return
    yield from judge("description", text.text, lexicon)
    if text.kind == "spoken" and sum(sentence.length() for sentence in every) <= _SHORT:
        yield from (found for found in judge("reading", text.text, lexicon) if found.rule in _OF_VALUES)


def _other_names(text: PlanText, world: World) -> Iterator[Found]:
    """A thing called by a word that the plan has put aside for another."""
    known = world.word_lists.get("names")
    if known is None:
        return
    words = [word.low for word in tokens(text.text)]
    for entry, name in known.instead.items():
        other = [word.low for word in tokens(entry)]
        for i in range(len(words) - len(other) + 1):
            if words[i : i + len(other)] == other:
                yield Found("two-names-one-thing", entry, {"name": name, "listed": known.entries[entry]})
                break
