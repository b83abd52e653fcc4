"""What is wrong with how a plan is made of its texts: their order, lists too long, calls that nobody answers."""

from __future__ import annotations

from collections.abc import Iterator

from jackstay.diagnostics.records import Problem
from jackstay.model.records import Action, Block, Const, Effect, Entry, Excursion, Task, World
from jackstay.source.spans import Span
from jackstay.wording.lexicon import Lexicon
from jackstay.wording.plan_texts import entries_of, tasks_of, written_at
from jackstay.wording.sentences import sentences, tokens

LONGEST = 12  # steps under one heading. Our own figure: the source says that long lists are split, and not where
FEW = 7  # a task of no more steps is over when its last is, for everybody to see. Our own figure, too
_RANK = {"warning": 0, "caution": 1, "note": 2}


def judge_structure(world: World, lexicon: Lexicon, shipped: frozenset[str]) -> Iterator[Problem]:
    acted = {
        _made(effect)
        for action in world.actions
        for effect in action.effects
        if not lexicon.has("looking", _verb(action))
    }
    for action in world.actions:
        if action.decl.path not in shipped:
            yield from _acting(action, lexicon, acted)
    told: set[tuple[str, Span]] = set()
    for excursion in world.excursions:
        for problem in _excursion(excursion, lexicon):
            key = (problem.rule, problem.at)
            if key not in told and problem.at.path not in shipped:
                told.add(key)
                yield problem


def _verb(action: Action) -> str:
    return action.pattern[0].words[0] if action.pattern and action.pattern[0].words else ""


def _made(effect: Effect) -> tuple[str | None, object]:
    """Which property an effect sets, and to what if that is a plain value."""
    value = effect.test.value
    return effect.test.prop, value.value if isinstance(value, Const) else None


def _acting(action: Action, lexicon: Lexicon, acted: set[tuple[str | None, object]]) -> Iterator[Problem]:
    """acted: what something else than a look makes so. What only looks make so says that somebody has looked."""
    verb = _verb(action)
    acts = [effect.test for effect in action.effects if effect.test.op != "is" or _made(effect) in acted]
    if lexicon.has("looking", verb) and acts:
        yield Problem("check-that-acts", action.decl, {"verb": verb, "effect": acts[0].text, "effect_at": acts[0].at})
    if lexicon.has("verifying", verb) and not action.effects:
        states = [test for test in (*action.needs, *action.during) if test.op not in ("reach", "sight", "located")]
        if not states:
            yield Problem("verify-without-look", action.decl, {"verb": verb})


def _excursion(excursion: Excursion, lexicon: Lexicon) -> Iterator[Problem]:
    answered = {wait.mark for entry in entries_of(excursion) for wait in (*entry.waits, *entry.beside)}
    answered |= {fallback.mark for fallback in excursion.fallbacks if fallback.mark is not None}
    for entry in entries_of(excursion):
        yield from _order(entry)
        yield from _time(entry, excursion, lexicon)
        if entry.says is None or entry.says not in answered:
            yield from _unheard(entry, lexicon)
    for task in tasks_of(excursion):
        yield from _lists(task)
        yield from _last(task)


def _order(entry: Entry) -> Iterator[Problem]:
    """Warnings first, then cautions, then notes."""
    before = None
    for remark in entry.remarks:
        if before is not None and _RANK.get(remark.sort, 0) < _RANK.get(before.sort, 0):
            yield Problem("notice-order", remark.at, {"sort": remark.sort, "before": before.sort, "first": before.at})
            return
        before = remark


def _time(entry: Entry, excursion: Excursion, lexicon: Lexicon) -> Iterator[Problem]:
    """A step that has to be over by then, and nothing that says what is done if it is not."""
    bound = next((one for one in entry.bounds if one.sort == "within"), None)
    if bound is None or entry.action is None:
        return
    said = [entry.because or "", *(remark.text for remark in entry.remarks)]
    if any(lexicon.has("missed", word.low) for text in said for word in tokens(text)):
        return
    marks = [mark for mark in (entry.says, bound.mark) if mark is not None]
    if any(fallback.mark in marks for fallback in excursion.fallbacks if fallback.mark is not None):
        return
    yield Problem("timed-step-without-overrun", entry.at, {"text": entry.text, "bound": bound.at, "mark": bound.mark})


def _unheard(entry: Entry, lexicon: Lexicon) -> Iterator[Problem]:
    """Somebody stops and calls, and nobody waits for that call."""
    for spoken in (one for one in entry.binding[2:] if isinstance(one, str)):
        every = sentences(spoken)
        low = every[0].low if every else []
        if low and lexicon.has("stopping", low[0]) and (len(low) == 1 or _calls(low, lexicon)):
            mark = entry.says.name if entry.says is not None else ""
            yield Problem("stop-call-without-handler", written_at(entry), {"words": spoken, "mark": mark})
            return


def _calls(low: list[str], lexicon: Lexicon) -> bool:
    return any(lexicon.has(name, word) for name in ("calling", "stopping") for word in low[1:])


def _lists(task: Task) -> Iterator[Problem]:
    steps: dict[Block, int] = {}
    for entry in task.entries:
        if entry.action is not None and entry.routine_at is None:
            steps[entry.block] = steps.get(entry.block, 0) + 1
    for block, count in steps.items():
        if count > LONGEST:
            yield Problem("long-list", block.at, {"count": count, "most": LONGEST, "task": task})


def _last(task: Task) -> Iterator[Problem]:
    steps = [entry for entry in task.entries if entry.action is not None and entry.routine_at is None]
    if len(steps) <= FEW or task.done_when:
        return
    ends: dict[Block, Entry] = {entry.block: entry for entry in steps}
    last = list(ends.values())[-1]
    if not any(_says(entry) for entry in ends.values()):
        yield Problem("no-last-item", task.decl, {"task": task, "count": len(steps), "last": last.at})


def _says(entry: Entry) -> bool:
    return entry.says is not None or any(isinstance(one, str) for one in entry.binding[2:])
