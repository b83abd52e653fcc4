"""Somebody is exposed to a hazard in some timing."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import luck, naming
from jackstay.rules.hazards import _hazards
from jackstay.rules.records import Rule
from jackstay.rules.standing import _facts
from jackstay.rules.story import Story, acting, finding

RULE = Rule(
    "may-be-exposed", Severity.ERROR, "In some timing somebody is exposed to a hazard, without guard or warning."
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, rule (the hazard), stays (one for each literal, which nothing keeps apart), step (the last to begin
    one of them; None: from the start), tests, binding (the things of this case)."""
    facts = problem.facts
    rule, stays = facts["rule"], facts["stays"]
    story = Story.of(plan, facts)
    texts = _facts.clauses(facts["tests"], facts["binding"])
    late, early = luck.unordered(stays)
    if early is not None:
        because = f"nothing says that {naming.listed(map(acting, late), 'or')} before {acting(early)}"
    else:
        because = "nothing keeps apart: " + "; ".join(
            f"{text} {_facts.since(stay)}" for text, stay in zip(texts, stays, strict=False)
        )
    return finding(
        RULE,
        f"It may be that {_facts.together(texts)}: the hazard “{rule.title}”, unguarded.",
        problem.at,
        note="may come while the rest holds",
        labels=[
            *_facts.edges(stays, texts, problem.at),
            Label(rule.decl, _hazards.ways_out(rule)),
            *_facts.initial(story, stays, facts["tests"], facts["binding"], texts),
        ],
        events=_facts.events(story, stays, texts),
        because=luck.joined(because, luck.of_stays(plan, facts["flow"], stays)),
        fixes=_hazards.help_(rule),
    )
