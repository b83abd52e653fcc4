"""Somebody acts who is not in the crew."""

from __future__ import annotations

import re
from typing import Any

from jackstay.diagnostics.records import Diagnostic, Edit, Fix, Problem, Severity
from jackstay.rules.names._words import finding, label, listed, written
from jackstay.rules.records import Rule
from jackstay.source.spans import Span

_WORD = re.compile(r"[\w./-]+")

RULE = Rule("not-in-crew", Severity.ERROR, "Somebody acts who is not in the crew.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name, title, runs (the title of one who acts and whom this one runs, or empty), excursion, decl (of the
    excursion), crew (titles), crew_at (the crew's line, or None), routine_at (where in a routine it acts that the plan
    calls, or None)."""
    facts = problem.facts
    name, crew_at, runs = facts["name"], facts["crew_at"], facts.get("runs", "")
    edits: tuple[Edit, ...] = ()
    inside = label(facts.get("routine_at"), "acts in the routine, here")
    if (runs or name in _WORD.findall(written(plan, problem.at))) and crew_at is not None:
        edits = (Edit(Span(crew_at.path, crew_at.line, crew_at.end, crew_at.end), f", {name}"),)
    if crew_at is None:
        return finding(
            RULE,
            problem,
            f"{facts['title']} acts, and {facts['excursion']} has no crew.",
            "not in the crew",
            "nobody is named as crew",
            (*inside, *label(facts["decl"], "no line `crew` under it")),
            (Fix("write `crew` and all who act"),),
        )
    return finding(
        RULE,
        problem,
        f"{runs} acts, and {facts['title']}, who runs it, is not in the crew of {facts['excursion']}."
        if runs
        else f"{facts['title']} is not in the crew of {facts['excursion']}.",
        "not in the crew",
        f"the crew is {listed(facts['crew'])}",
        (*inside, *label(crew_at, "the crew")),
        (Fix(f"add {name} to the crew", edits),),
    )
