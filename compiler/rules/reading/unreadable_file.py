"""A file that cannot be read as text."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("unreadable-file", Severity.ERROR, "A file cannot be read as text.")

_REPAIRS = {
    "missing": "check the name and the folder",
    "not a file": "name a file",
    "larger than 64 MB": "split it into modules",
}


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: path (as shown), reason (``missing``, ``not UTF-8 at byte 7``, ...)."""
    path, reason = problem.facts["path"], problem.facts["reason"]
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"{path} cannot be read: {reason}.",
        problem.at,
        because="a plan is plain text in UTF-8, and nothing in this file has been looked at",
        help=(Fix(_REPAIRS.get(reason, "save it again as UTF-8 text")),),
    )
