"""What keeps two steps apart that the text does not: the nominal durations, by so many minutes, or nothing at all."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from jackstay.flow.clocks import happens_before
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.flow.stays import Stay
from jackstay.rules.story import acting
from jackstay.timing.gaps import between, minutes, together
from jackstay.timing.records import Times


def times_of(plan: Any, flow: ExcursionFlow) -> Times | None:
    """Worked out once for each excursion, and only for a plan with findings. None too for what is not flown from its
    excursion's start (a fallback): nobody knows how long ago the others began what they finish first."""
    if plan.flow is None or not any(one is flow for one in plan.flow.excursions):
        return None
    if flow not in plan.times:
        from jackstay.timing.schedule import schedule

        plan.times[flow] = schedule(flow)
    found: Times | None = plan.times[flow]
    return found


def of_steps(plan: Any, flow: ExcursionFlow, first: Step, second: Step) -> str:
    """``by the nominal times they are 3 min apart: luck of the clock``; empty where a duration is missing."""
    times = times_of(plan, flow)
    gap = between(times, first.index, second.index) if times is not None else None
    if gap is None:
        return ""
    if gap.order == 0:
        return f"by the nominal times they overlap for {minutes(gap.seconds)}"
    if gap.order < 0:
        ahead = f" by {minutes(gap.seconds)}" if gap.seconds else ""
        return f"by the nominal times it is the other way round{ahead}: {acting(second)} first"
    return _apart(minutes(gap.seconds) if gap.seconds else "")


def of_stays(plan: Any, flow: ExcursionFlow, stays: Sequence[Stay]) -> str:
    """The same of facts that hold for a while."""
    times = times_of(plan, flow)
    if times is None:
        return ""
    index = [tuple(None if one is None else one.index for one in (stay.start, stay.end)) for stay in stays]
    gap = together(times, [(begun, over) for begun, over in index])
    if gap is None:
        return ""
    if gap < 0:
        return f"by the nominal times they meet for {minutes(-gap)}"
    return _apart(minutes(gap) if gap else "")


def _apart(length: str) -> str:
    if not length:
        return "by the nominal times the one begins as the other ends: luck of the clock"
    return f"by the nominal times they are {length} apart: luck of the clock"


def joined(because: str, luck: str) -> str:
    """A reason, and what the nominal times add to it."""
    return f"{because}; {luck}" if luck else because


def unordered(stays: Iterable[Stay]) -> tuple[list[Step], Step | None]:
    """The last step to make one of the facts, and up to two that end another and that nothing puts before it."""
    ended: dict[Step, list[Step]] = {}
    for one in stays:
        for other in stays:
            if one is not other and one.end is not None and other.start is not None and one.end is not other.start:
                pair = one.end, other.start
                if not happens_before(*pair) and not happens_before(*reversed(pair)) and one.end is not one.start:
                    ended.setdefault(other.start, []).append(one.end)
    early = max(ended, key=lambda step: step.index, default=None)
    late = {step.index: step for step in ended.get(early, ())} if early is not None else {}
    return [late[i] for i in sorted(late)][:2], early
