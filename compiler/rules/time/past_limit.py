"""An excursion that takes longer than its clock may show."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time._chain import added_up, clock, length

RULE = Rule("past-limit", Severity.ERROR, "By the nominal times an excursion ends past its limit.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: late (seconds past the limit less the reserve), zero (when the clock starts), chain (the parts that add
    up to the end), saved: (droppable tasks, seconds that dropping them brings)."""
    facts = problem.facts
    excursion, late = facts["excursion"], facts["late"]
    allowed = f"the limit of {excursion.limit.text}"
    if excursion.reserve is not None:
        allowed += f" less the reserve of {excursion.reserve.text}"
    begun = f"; the clock starts at {clock(facts['zero'])}" if facts["zero"] else ""
    shows = facts["chain"][-1].until - facts["zero"]
    return finding(
        RULE,
        f"{excursion.name} takes {length(shows)}, {length(late)} more than {allowed}.",
        problem.at,
        note="this limit",
        events=added_up(facts["chain"]),
        because="each of these begins as soon as the one before it lets it, and every step takes its usual time"
        + begun,
        fixes=_fits(facts["saved"], late),
    )


def _fits(saved: list[Any], late: Any) -> list[str]:
    """What may be dropped, and whether that is enough."""
    brings = [(naming.listed(task.name for task in tasks), seconds) for tasks, seconds in saved if seconds > 0]
    enough = [(names, seconds) for names, seconds in brings if seconds >= late]
    if enough:
        names, seconds = min(enough, key=lambda item: item[1])
        return [f"leave out {names}: that brings {length(seconds)}"]
    if brings:
        names, seconds = max(brings, key=lambda item: item[1])
        return [f"leaving out {names} brings {length(seconds)}, which is not enough: shorten the steps above as well"]
    return ["take something out of this chain, or do some of it beside the rest"]
