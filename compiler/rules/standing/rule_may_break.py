"""A standing rule that some timing of the plan breaks."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules import luck, naming
from jackstay.rules.order._mending import mend_by
from jackstay.rules.records import Rule
from jackstay.rules.standing import _facts
from jackstay.rules.story import Story, acting, finding

RULE = Rule("rule-may-break", Severity.ERROR, "Some timing of the plan breaks a standing rule.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, rule, stays (one for each literal, which nothing keeps apart), step (the last to begin
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
        f"It may be that {_facts.together(texts)}: that would break the rule “{rule.title}”.",
        problem.at,
        note="may come while the rest holds",
        labels=[
            *_facts.labels(problem.at, rule, stays, texts),
            *_facts.initial(story, stays, facts["tests"], facts["binding"], texts),
            *story.bystanders(facts["tests"], facts["binding"]),
        ],
        events=_facts.events(story, stays, texts),
        because=luck.joined(because, luck.of_stays(plan, facts["flow"], stays)),
        fixes=mend_by(plan, facts, "keep the rule in every timing"),
    )
