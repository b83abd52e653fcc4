"""Two files that are used here declare the same name."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Edit, Fix, Problem, Severity
from jackstay.rules.names._words import finding, label, listed
from jackstay.rules.records import Rule
from jackstay.source.spans import Span

RULE = Rule("name-from-two-files", Severity.ERROR, "Two files that are used here declare the same name.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name, names (all such), first, second (places), first_file, second_file."""
    one, other = problem.facts["first_file"], problem.facts["second_file"]
    short = other.rsplit("/", 1)[-1]
    at = problem.at
    end = Span(at.path, at.line, at.end, at.end)
    text = f"write `as {short}` here, and {short}.{problem.facts['name']} where that one is meant"
    return finding(
        RULE,
        problem,
        f"{one} and {other} both declare {listed(problem.facts['names'])}.",
        "the second file",
        "a bare name could mean either",
        (*label(problem.facts["first"], f"in {one}"), *label(problem.facts["second"], f"in {other}")),
        (Fix(text, (Edit(end, f" as {short}"),)),),
    )
