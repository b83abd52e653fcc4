"""A kind is named that does not exist here."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding, found_elsewhere, suggested
from jackstay.rules.records import Rule

RULE = Rule("unknown-kind", Severity.ERROR, "A kind is named that does not exist here.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name, candidates, places (all in this file), elsewhere (module, alias, place: where it is declared)."""
    name = problem.facts["name"]
    other = found_elsewhere(problem)
    if other is not None:
        module, labels, fixes = other
        return finding(
            RULE,
            problem,
            f"{name} is a kind of {module}, which this file does not use.",
            "not known here",
            "a file sees only the kinds of the files that it uses itself",
            labels,
            fixes,
        )
    labels, fixes = suggested(problem, name, problem.facts["candidates"])
    return finding(
        RULE,
        problem,
        f"There is no kind called {name}.",
        "no such kind",
        "neither this file nor one that it uses declares it",
        labels,
        fixes or (Fix(f"declare it: `kind {name} is …`"),),
    )
