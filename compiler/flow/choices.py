"""``any pouch``: which one of a group a step takes.

The choice is made as the step comes: the first member, in order of declaration, that satisfies the step's needs. The
replay makes it in its own order. When nothing that it went by is changed by a step that comes before or after as it
may, the choice is the same under every timing: by induction over the choices of any one timing, each finds all that it
looks at as the replay has it. Else only one choice has been followed, and that is said.
"""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING, Any, NamedTuple

from jackstay.flow.clocks import happens_before
from jackstay.flow.records import Step
from jackstay.flow.tests import Judge
from jackstay.model.records import Action, AnyOf, Entry, Quantified, Test, Thing

if TYPE_CHECKING:
    from jackstay.flow.replay import Replay

_MOST = 1000  # combinations, where a step takes several at once


class Choosing(NamedTuple):
    """first: the step with which the entry begins. binding: as chosen. reads: all variables that it went by; None:
    not all combinations have been tried."""

    entry: Entry
    first: int
    binding: tuple[Any, ...]
    reads: tuple[int, ...] | None


def choose(judge: Judge, action: Action, binding: tuple[Any, ...]) -> tuple[tuple[Any, ...], tuple[int, ...] | None]:
    """The binding with a member in place of each group, and the variables that decided it."""
    groups = [i for i, argument in enumerate(binding) if isinstance(argument, AnyOf)]
    tests = (*action.needs, *action.during)
    keep, judge.reads = judge.reads, []
    first: tuple[Any, ...] | None = None
    tried = 0
    try:
        for members in product(*(filter(judge.takes_part, binding[i].members) for i in groups)):
            if len(set(members)) < len(members):
                continue  # two of one group are two things
            trial = list(binding)
            for i, member in zip(groups, members, strict=True):
                trial[i] = member
            first = first or tuple(trial)
            if tried == _MOST:
                return first, None
            tried += 1
            if all(_holds(judge, test, trial) for test in tests):
                return tuple(trial), tuple(dict.fromkeys(v for v in judge.reads if v >= 0))
        if first is None:  # more of a group than it has
            first = tuple(a.members[0] if isinstance(a, AnyOf) else a for a in binding)
        return first, tuple(dict.fromkeys(v for v in judge.reads if v >= 0))
    finally:
        judge.reads = keep


def _holds(judge: Judge, test: Test, binding: list[Any]) -> bool:
    """Whether a need holds; all that could have decided it is read, of a whole kind too."""
    held = judge.holds(test, binding)
    quant = test.a if isinstance(test.a, Quantified) else test.b
    if isinstance(quant, Quantified):
        for thing in judge.among(quant):
            plain = test._replace(a=thing) if quant is test.a else test._replace(b=thing)
            if not isinstance(plain.a, Quantified) and not isinstance(plain.b, Quantified):
                judge.holds(plain, binding)
    return held


def check_choices(replay: Replay) -> None:
    """Report ``not-decided`` for each choice that another timing could make otherwise."""
    if not replay.choices:
        return
    steps = replay.flow.steps
    writers: dict[int, list[Step]] = {}
    for step in steps:
        for change in step.changes:
            writers.setdefault(change.var, []).append(step)
    for choosing in replay.choices:
        step = steps[choosing.first]
        against = _against(choosing, step, writers)
        if choosing.reads is not None and against is None:
            continue
        for argument, chosen in zip(choosing.entry.binding, choosing.binding, strict=True):
            if isinstance(argument, AnyOf) and isinstance(chosen, Thing):
                replay._tell(
                    "not-decided",
                    choosing.entry.at,
                    what="any",
                    name=argument.name,
                    chosen=chosen,
                    against=against,
                    excursion=replay.flow.excursion,
                )


def _against(choosing: Choosing, step: Step, writers: dict[int, list[Step]]) -> Step | None:
    """A step that nothing orders with this one, and that changes what the choice went by."""
    for var in choosing.reads or ():
        for writer in writers.get(var, ()):
            if writer.entry is not choosing.entry and not (
                happens_before(writer, step) or happens_before(step, writer)
            ):
                return writer
    return None
