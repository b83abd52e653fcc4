"""What the rules about wording share: the text's kind in words, a quotation of reasonable length."""

from __future__ import annotations

from jackstay.diagnostics.records import Diagnostic, Fix, Label, Problem
from jackstay.rules.records import Rule

_LONGEST = 60
_KINDS = {
    "step": "This step",
    "spoken": "What is said here",
    "title": "This title",
    "description": "This text",
    "reading": "This reading",
}


def kind(problem: Problem) -> str:
    """``This warning``"""
    sort = problem.facts["kind"]
    return str(_KINDS.get(sort, f"This {sort}"))


def quoted(text: str) -> str:
    cut = text if len(text) <= _LONGEST else text[: _LONGEST - 1].rstrip() + "…"
    return f"“{cut}”"


def words(problem: Problem) -> str:
    """The words it is about, quoted."""
    return quoted(problem.facts["words"])


def told(
    rule: Rule,
    problem: Problem,
    message: str,
    note: str,
    because: str,
    fix: str,
    labels: tuple[Label, ...] = (),
) -> Diagnostic:
    return Diagnostic(
        rule.name, rule.severity, message, problem.at, note=note, labels=labels, because=because, help=(Fix(fix),)
    )
