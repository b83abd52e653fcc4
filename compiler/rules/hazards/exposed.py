"""Somebody is exposed to a hazard in every timing."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.hazards import _hazards
from jackstay.rules.records import Rule
from jackstay.rules.standing import _facts
from jackstay.rules.story import Story, finding

RULE = Rule("exposed", Severity.ERROR, "Somebody is exposed to a hazard, without guard or warning.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, rule (the hazard), stays (one for each literal, all together at some moment of every timing), step
    (the last that begins one of them; None: from the start), tests, binding (the things of this case)."""
    facts = problem.facts
    rule, stays, step = facts["rule"], facts["stays"], facts["step"]
    story = Story.of(plan, facts)
    texts = _facts.clauses(facts["tests"], facts["binding"])
    since = [f"{text} {_facts.since(stay)}" for text, stay in zip(texts, stays, strict=False)]
    return finding(
        RULE,
        f"{_facts.together(texts)}: the hazard “{rule.title}”, unguarded.",
        problem.at,
        note="from here on" if step is not None else "from the start",
        labels=[
            *_facts.edges(stays, texts, problem.at),
            Label(rule.decl, _hazards.ways_out(rule)),
            *_facts.initial(story, stays, facts["tests"], facts["binding"], texts),
        ],
        events=_facts.events(story, stays, texts),
        because="; ".join(since),
        fixes=_hazards.help_(rule),
    )
