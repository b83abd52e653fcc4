"""An indentation that fits no level."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("odd-indent", Severity.ERROR, "A line is indented to no level that is open.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: reason (``first-line``, ``matches-nothing``, ``nothing-below``); indents (the widths of the open levels)
    or, for ``nothing-below``, form (of the line above)."""
    if problem.facts["reason"] == "first-line":
        message = "The first line of the file is indented."
        because = "there is nothing above that it could belong to"
        repair = "move it to the left edge"
    elif problem.facts["reason"] == "nothing-below":
        message = "Nothing can be indented here."
        because = f"a line of the form {problem.facts['form']}, as above, has nothing under it"
        repair = "line it up with the line above"
    else:
        levels = " or ".join(map(str, problem.facts["indents"]))
        message = f"This line is indented by {problem.at.end}, between the lines above it."
        because = f"the levels open here are indented by {levels}"
        repair = "line it up with the statement it belongs beside"
    return Diagnostic(RULE.name, RULE.severity, message, problem.at, because=because, help=(Fix(repair),))
