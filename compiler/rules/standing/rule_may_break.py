"""A standing rule that some timing of the plan breaks."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.flow.clocks import happens_before
from jackstay.flow.records import Step
from jackstay.flow.stays import Stay
from jackstay.rules import luck, naming
from jackstay.rules.records import Rule
from jackstay.rules.standing import _facts
from jackstay.rules.story import Story, acting, finding

RULE = Rule("rule-may-break", Severity.ERROR, "Some timing of the plan breaks a standing rule.")


def _unordered(stays: Iterable[Stay]) -> tuple[list[Step], Step | None]:
    """The last step to make one of the facts, and up to two that end another and that nothing puts before it."""
    ended: dict[Step, list[Step]] = {}
    for one in stays:
        for other in stays:
            if one is not other and one.end is not None and other.start is not None and one.end is not other.start:
                pair = one.end, other.start
                if not happens_before(*pair) and not happens_before(*reversed(pair)) and one.end is not one.start:
                    ended.setdefault(other.start, []).append(one.end)
    early = max(ended, key=lambda step: step.index, default=None)
    late = {step.index: step for step in ended.get(early, ())} if early is not None else {}
    return [late[i] for i in sorted(late)][:2], early


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, rule, stays (one for each literal, which nothing keeps apart), step (the last to begin
    one of them; None: from the start), tests, binding (the things of this case)."""
    facts = problem.facts
    rule, stays = facts["rule"], facts["stays"]
    story = Story.of(plan, facts)
    texts = _facts.clauses(facts["tests"], facts["binding"])
    late, early = _unordered(stays)
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
            *_facts.labels(story, problem.at, rule, stays, texts),
            *_facts.initial(story, stays, facts["tests"], facts["binding"], texts),
        ],
        events=_facts.events(story, stays, texts),
        because=luck.joined(because, luck.of_stays(plan, facts["flow"], stays)),
    )
