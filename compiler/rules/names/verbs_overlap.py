"""Two actions could be meant by one line."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.model.words import with_article
from jackstay.rules.names._words import finding, label
from jackstay.rules.records import Rule

RULE = Rule("verbs-overlap", Severity.ERROR, "Two actions could be meant by one line.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: text, other (the patterns), first, second (their places), kind (of two parents, that fits both; or None).

    The place is the second pattern's, or the kind's where both patterns stand in other files."""
    facts = problem.facts
    text, other, kind = facts["text"], facts["other"], facts["kind"]
    labels = label(facts["first"], "the first")
    if problem.at != facts["second"]:
        labels += label(facts["second"], "the second")
    elif kind is not None:
        labels += label(kind.decl, f"{with_article(kind.name)} falls under the kinds of both")
    because = "the same words, and nothing tells the kinds or the cast apart"
    if kind is not None:
        because = f"the same words, and {with_article(kind.name)} fits either"
    return finding(
        RULE,
        problem,
        f"“{text}” and “{other}” could be one and the same line.",
        "the second of the two" if problem.at == facts["second"] else "this kind fits both",
        because,
        labels,
        (Fix("change a word of one, or the kind of a slot"),),
    )
