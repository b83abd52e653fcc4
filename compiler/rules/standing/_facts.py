"""What the two rules about standing rules share: the facts that meet, each with the step since which it holds."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Event, Label
from jackstay.flow.records import Step
from jackstay.flow.stays import Stay
from jackstay.model.records import Slot, Test
from jackstay.rules import naming
from jackstay.rules.story import Story, acting, event
from jackstay.source.spans import Span


def clauses(tests: tuple[Test, ...], binding: Any) -> list[str]:
    """Each literal as a clause about the things of this case."""
    return [naming.clause(test, binding) for test in tests]


def together(texts: list[str]) -> str:
    """``A is at bay4 while the feed is on``"""
    if len(texts) < 2:
        return texts[0] if texts else "this"
    return f"{naming.listed(texts[:-1])} while {texts[-1]}"


def since(stay: Stay) -> str:
    """From when to when a literal holds, in words."""
    start, end = stay.start, stay.end
    if start is not None and start is end:
        return "while this step runs"
    begun = "from the start" if start is None else f"since {acting(start)}"
    return begun if end is None else f"{begun}, until {acting(end)}"


def events(story: Story, stays: list[Stay], texts: list[str]) -> list[Event]:
    """The steps that begin and end the facts, in the replayed order, each with the facts that it begins or ends."""
    steps: dict[int, Step] = {}
    leaves: dict[int, list[str]] = {}
    for stay, text in zip(stays, texts, strict=False):
        for one, word in ((stay.start, ""), (stay.end, "no longer: ")):
            if one is None or (word and stay.end is stay.start):
                continue
            steps[one.index] = one
            leaves.setdefault(one.index, []).append(word + text)
    return [event(n, steps[i], "; ".join(leaves[i])) for n, i in enumerate(sorted(steps), 1)]


def edges(stays: list[Stay], texts: list[str], problem_at: Span) -> list[Label]:
    """Where each fact begins and ends."""
    found = []
    for stay, text in zip(stays, texts, strict=False):
        if stay.start is not None and stay.start.entry.at != problem_at:
            found.append(Label(stay.start.entry.at, f"since this, {text}"))
        if stay.end is not None and stay.end is not stay.start and stay.end.entry.at != problem_at:
            found.append(Label(stay.end.entry.at, f"only after this, {text} no longer"))
    return found


def labels(problem_at: Span, rule: Any, stays: list[Stay], texts: list[str]) -> list[Label]:
    """The same, and where the rule is."""
    return [*edges(stays, texts, problem_at), Label(rule.decl, f"the rule: {rule.title}")]


def initial(story: Story, stays: list[Stay], tests: tuple[Test, ...], binding: Any, texts: list[str]) -> list[Label]:
    """Where a literal holds from the start: the declaration of the thing that it is about."""
    found = []
    for stay, test, text in zip(stays, tests, texts, strict=False):
        thing = binding[test.a.index] if isinstance(test.a, Slot) else naming.resolved(test.a, binding)
        if stay.start is None and thing is not None and thing.decl.line:
            found.append(Label(thing.decl, f"from the start, {text}"))
    return found
