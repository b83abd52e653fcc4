"""An effort is named that no file declares."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Edit, Fix, Problem, Severity
from jackstay.diagnostics.suggest import nearest
from jackstay.rules.names._words import finding, label
from jackstay.rules.records import Rule

RULE = Rule("unknown-effort", Severity.ERROR, "An effort is named that no file declares.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name, candidates (the efforts declared, with their rates)."""
    name, candidates = problem.facts["name"], problem.facts["candidates"]
    near = nearest(name, [candidate[0] for candidate in candidates])
    fixes = tuple(Fix(f"write {other}", (Edit(problem.at, other),)) for other in near)
    known = next((c for c in candidates if near and c[0] == near[0]), None)
    return finding(
        RULE,
        problem,
        f"There is no effort called {name}.",
        "no such effort",
        "neither this plan nor a vocabulary it uses says what rate it stands for",
        label(known[2], f"{known[0]}, {known[1]}") if known is not None else (),
        fixes or (Fix(f"declare it: `effort {name} …`, with its rate"),),
    )
