"""A standing rule that the plan breaks in every timing."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.standing import _facts
from jackstay.rules.story import Story, finding

RULE = Rule("rule-broken", Severity.ERROR, "The plan breaks a standing rule.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, rule, stays (one for each literal, all together at some moment of every timing), step (the last that
    begins one of them; None: from the start), tests, binding (the things of this case)."""
    facts = problem.facts
    rule, stays, step = facts["rule"], facts["stays"], facts["step"]
    story = Story.of(plan, facts)
    texts = _facts.clauses(facts["tests"], facts["binding"])
    since = [f"{text} {_facts.since(stay)}" for text, stay in zip(texts, stays, strict=False)]
    return finding(
        RULE,
        f"{_facts.together(texts)}: that breaks the rule “{rule.title}”.",
        problem.at,
        note="from here on" if step is not None else "from the start",
        labels=[
            *_facts.labels(problem.at, rule, stays, texts),
            *_facts.initial(story, stays, facts["tests"], facts["binding"], texts),
            *story.bystanders(facts["tests"], facts["binding"]),
        ],
        events=_facts.events(story, stays, texts),
        because="; ".join(since),
    )
