"""A unit is named that does not exist here."""

from __future__ import annotations

import re
from typing import Any

from jackstay.diagnostics.records import Diagnostic, Edit, Fix, Problem, Severity
from jackstay.diagnostics.suggest import nearest
from jackstay.rules.names._words import finding, label, source_line, use_fix
from jackstay.rules.records import Rule
from jackstay.source.spans import Span

RULE = Rule("unknown-unit", Severity.ERROR, "A unit is named that does not exist here.")


def _place(plan: Any, at: Span, name: str) -> Span | None:
    """The unit's own place, when the line has it once behind where the quantity begins."""
    line = source_line(plan, at)
    found = [one for one in re.finditer(rf"(?<![\w-]){re.escape(name)}(?![\w-])", line) if one.start() >= at.start]
    return Span(at.path, at.line, found[0].start(), found[0].end()) if len(found) == 1 else None


def _short_for(word: str, names: list[str]) -> str:
    """The unit that the word may be written out: its letters stand in the word in their order, the first one first. Of
    several the longest, then by name; none: an empty text."""

    def fits(name: str) -> bool:
        rest = iter(word)
        return name[:1] == word[:1] and all(letter in rest for letter in name)

    return min((name for name in names if fits(name)), key=lambda name: (-len(name), name), default="")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name, candidates (units, and kinds where one could be meant)."""
    name, candidates = problem.facts["name"], problem.facts["candidates"]
    at = _place(plan, problem.at, name)
    if not candidates:
        return finding(
            RULE,
            problem,
            f"There is no unit called {name}.",
            "no such unit",
            "no file that is used here declares any unit",
            help=(use_fix(problem.at.path, "units"),),
        )
    near = nearest(name, [candidate[0] for candidate in candidates])
    fixes = tuple(Fix(f"write {other}", (Edit(at, other),) if at is not None else ()) for other in near)
    if not near and (short := _short_for(name, [candidate[0] for candidate in candidates])):
        near = (short,)  # one letter says little: `d` may not be what `degrees` are
        sure = len(short) > 1 and at is not None
        fixes = (Fix(f"write {short}, the unit's name", (Edit(at, short),) if sure and at is not None else ()),)
    known = next((c for c in candidates if near and c[0] == near[0]), None)
    labels = label(known[2], f"{known[0]}, {known[1]}") if known is not None else ()
    return finding(
        RULE,
        problem,
        f"There is no unit called {name}.",
        "no such unit",
        "neither this plan nor a vocabulary it uses declares it",
        labels,
        fixes or (Fix(f"declare it: `unit {name} = …`"),),
    )
