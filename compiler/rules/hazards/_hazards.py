"""What the rules about hazards share: the ways out that a hazard declares."""

from __future__ import annotations

from jackstay.diagnostics.records import Fix
from jackstay.model.records import Hazard


def _outs(hazard: Hazard) -> list[str]:
    return [" and ".join(f"`{test.text}`" for test in tests) for tests in hazard.unless]


def ways_out(hazard: Hazard) -> str:
    """The hazard, with what would do against it, in words."""
    outs = _outs(hazard) + (["a warning of it that comes first"] if hazard.warned else [])
    return f"the hazard: {hazard.title}" + (f"; it is answered by {', or '.join(outs)}" if outs else "")


def help_(hazard: Hazard) -> tuple[Fix, ...]:
    fixes = [Fix(f"see to it first that {out}") for out in _outs(hazard)]
    if hazard.warned:
        line = f'`warning of {hazard.name} "…"`'
        fixes.append(Fix(f"write {line} before this step, or before an earlier one that surely comes first"))
    return tuple(fixes)
