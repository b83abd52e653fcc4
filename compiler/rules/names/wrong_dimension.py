"""A value is of another dimension than its place asks for."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import capital, finding, label
from jackstay.rules.records import Rule

RULE = Rule("wrong-dimension", Severity.ERROR, "A value is of another dimension than its place asks for.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: found, wanted (dimensions, in words), what (what is given), decl (of the property),
    because (where it is not the unit that is wrong)."""
    found, wanted, what = problem.facts["found"], problem.facts["wanted"], problem.facts["what"]
    labels = label(problem.facts.get("decl"), "the property")
    if what.startswith(("the two", "the parts")):
        message = f"{capital(what)} do not go together: {wanted} and {found}."
    elif what == "at least and at most":
        message = "Only a number can be at least or at most another."
    else:
        message = f"{capital(what.replace('a time', 'this time'))} is given as {found}, and has to be {wanted}."
    return finding(
        RULE,
        problem,
        message,
        f"{found}, not {wanted}",
        problem.facts.get("because") or "no unit turns the one into the other",
        labels,
        (Fix(f"write it in a unit of {wanted}" if wanted.isalpha() else f"give {wanted}"),),
    )
