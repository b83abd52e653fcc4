"""A wait could mean either of two calls."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Edit, Fix, Problem, Severity
from jackstay.rules.names._words import finding, label, listed
from jackstay.rules.records import Rule

RULE = Rule("mark-of-two-tasks", Severity.ERROR, "A wait could mean either of two calls.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name, tasks (who say it), first, second (places)."""
    name, tasks = problem.facts["name"], problem.facts["tasks"]
    labels = (
        *label(problem.facts["first"], f"said in {tasks[0]}"),
        *label(problem.facts["second"], f"said in {tasks[1]}"),
    )
    if tasks[0] == tasks[1]:
        return finding(
            RULE,
            problem,
            f"Two calls of a routine in {tasks[0]} say {name}.",
            "which of the two?",
            "each call says its own",
            labels,
            (Fix("put the second call into a task of its own"),),
        )
    fixes = tuple(Fix(f"write {task}.{name}", (Edit(problem.at, f"{task}.{name}"),)) for task in dict.fromkeys(tasks))
    return finding(
        RULE,
        problem,
        f"The mark {name} is said in {listed(tasks)}.",
        "which of them?",
        "the wait does not say which it means",
        labels,
        fixes,
    )
