"""The flow analysis against every timing of small plans.

More plans than fit here: ``python tests/oracles/run.py --plans 100000 --jobs 2``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from oracles.brute import Lit, Plan, Step, Thing
from oracles.generate import plan_from
from oracles.judging import Case, case_of, compare, judge, strength
from oracles.run import explain
from oracles.timings import CLEAN, DOES_NOT, MAY_NOT
from oracles.vocabulary import OWN_ACTIONS, OWN_KINDS

from jackstay.flow import analyse as analysis
from jackstay.flow import choices, clocks, counts, ends, lengths, replay, standing, sums
from jackstay.flow.laws import Laws
from jackstay.flow.records import ExcursionFlow
from jackstay.flow.state import State
from jackstay.flow.stays import Stay
from jackstay.flow.tests import Judge
from jackstay.model.records import Thing as Known

QUICK = 250
WHO_IS_THERE = (260, 416, 636, 980)  # it matters whether those who are there are of the crew


def changing_places() -> Plan:
    """One goes as the other comes: nothing orders them, and there is room for one."""
    go = next(a for a in OWN_ACTIONS if a.words[0] == "go")
    things = [Thing("deck", "site", {"room": 1}), Thing("quay", "site", {"room": 2})]
    things += [Thing("ana", "crew", place="deck"), Thing("ben", "crew", place="quay")]
    steps = [Step(go, "ana", None, {"PLACE": "quay"}), Step(go, "ben", None, {"PLACE": "deck"})]
    return Plan(OWN_KINDS, {t.name: t for t in things}, [("deck", "quay", 3)], [], steps)


def on_one_rope() -> Plan:
    """Each goes two places on, with five metres of rope between them: only together is it long enough."""
    go = next(a for a in OWN_ACTIONS if a.words[0] == "go")
    things = [Thing(place, "site", {"room": 2}) for place in ("deck", "quay", "roof")]
    things += [Thing("ana", "crew", place="deck"), Thing("ben", "crew", place="deck")]
    things += [Thing("rope", "cord", {"mass": 1, "hands": 1, "bolts": 0, "length": 5}, ends=("ana", "ben"))]
    steps = [Step(go, who, None, {"PLACE": place}) for place in ("quay", "roof") for who in ("ana", "ben")]
    return Plan(OWN_KINDS, {t.name: t for t in things}, [("deck", "quay", 3), ("quay", "roof", 3)], [], steps)


def done_beside() -> Plan:
    """A task is done by what another does while its only step runs."""
    wait, shut = (next(a for a in OWN_ACTIONS if a.words[0] == word) for word in ("wait", "shut"))
    things = [Thing("deck", "site", {"room": 2}), Thing("tap", "valve", {"power": "on"}, near=("deck",))]
    things += [Thing("ana", "crew", place="deck"), Thing("ben", "crew", place="deck")]
    steps = [Step(wait, "ana", None, {}, task=0), Step(shut, "ben", None, {"VALVE": "tap"}, task=1, beside=(0,))]
    done = {0: (Lit("is", "tap", prop="power", value="off"),)}
    return Plan(OWN_KINDS, {t.name: t for t in things}, [], [], steps, done=done)


@pytest.fixture(scope="module")
def cases() -> list[Case]:
    written = (changing_places(), on_one_rope(), done_beside())
    made = [case_of(plan) for plan in (*(plan_from(seed) for seed in (*range(QUICK), *WHO_IS_THERE)), *written)]
    kept = [case for case in made if case is not None]
    assert len(kept) > 0.95 * QUICK, "too many plans with too many situations"
    return kept


def test_every_verdict_agrees_with_all_timings(cases: list[Case]) -> None:
    stats: Counter[str] = Counter()
    for case in cases:
        verdicts = judge(case)
        stats[strength(verdicts)] += 1
        assert verdicts.agrees, explain(case.plan)
    print(dict(stats))
    by_oracle = Counter(case.oracle for case in cases)
    assert by_oracle[CLEAN] > len(cases) / 4, "too few plans that hold: a mute analysis would pass"
    assert min(by_oracle[v] for v in (CLEAN, DOES_NOT, MAY_NOT)) > 10, by_oracle
    assert stats["not decided"] < len(cases) / 50


@settings(max_examples=25, deadline=None, derandomize=True, database=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.integers(10**6, 10**9))
def test_other_plans_agree_too(seed: int) -> None:
    plan = plan_from(seed)
    verdicts = compare(plan)
    assert verdicts is None or verdicts.agrees, f"seed {seed}\n{explain(plan)}"


FOUND_WRONG = (1016998, 1021657, 1051008, 1055763, 1064467)


@pytest.mark.parametrize("seed", FOUND_WRONG)
def test_what_once_disagreed_agrees(seed: int) -> None:
    plan = plan_from(seed)
    verdicts = compare(plan)
    assert verdicts is not None and verdicts.agrees, explain(plan)


def test_a_line_is_measured_in_every_order() -> None:
    case = case_of(on_one_rope())
    assert case is not None
    assert (case.oracle, judge(case).found) == (MAY_NOT, ("line-may-be-too-short",))


def test_what_runs_beside_the_last_step_is_over_with_it() -> None:
    case = case_of(done_beside())
    assert case is not None
    assert (case.oracle, judge(case).found) == (CLEAN, ())


def test_a_plan_of_no_steps_is_judged_by_its_start() -> None:
    plan = changing_places()
    empty = replace(plan, steps=[], things={**plan.things, "ben": replace(plan.things["ben"], place="deck")})
    case = case_of(empty)
    assert case is not None
    assert (case.oracle, judge(case).found) == (DOES_NOT, ("crowded",))


# --- an analysis that is broken on purpose is found out --------------------------------------------------------------


def _no_contact_reads(patch: pytest.MonkeyPatch) -> None:
    whole = Laws._contact

    def contact(self: Laws, *args: Any) -> bool:
        keep = len(self.judge.reads)
        met = whole(self, *args)
        del self.judge.reads[keep:]
        return met

    patch.setattr(Laws, "_contact", contact)


def _old_holders_forgotten(patch: pytest.MonkeyPatch) -> None:
    whole = Laws._contact

    def contact(self: Laws, effect: Any, doers: Any, others: Any, what: Any) -> bool:
        return whole(self, effect, doers, others[-1:], what)

    patch.setattr(Laws, "_contact", contact)


def _reach_reads_nothing(patch: pytest.MonkeyPatch) -> None:
    whole = State.meet
    patch.setattr(State, "meet", lambda self, a, b: (whole(self, a, b)[0], ()))


def _joint_steps_follow_the_first_actor_only(patch: pytest.MonkeyPatch) -> None:
    def half(flow: ExcursionFlow) -> None:
        keep = list(flow.predecessors)
        for step in flow.steps:
            own = {c for c, _ in step.positions[:1]}
            flow.predecessors[step.index] = tuple(
                p for p in keep[step.index] if len(step.positions) == 1 or own & {c for c, _ in flow.steps[p].positions}
            )
        clocks.set_clocks(flow)
        flow.predecessors[:] = keep

    patch.setattr(analysis, "set_clocks", half)


def _replay_without_races(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(analysis, "find_races", lambda flow: [])


def _counts_along_the_replay_only(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(analysis, "check_counts", lambda replay: None)


def _lines_along_the_replay_only(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(analysis, "check_lines", lambda replay: None)


def _a_line_hangs_by_its_ends_alone(patch: pytest.MonkeyPatch) -> None:
    """Where what it is tied to is, counts as it is in the end."""
    whole = lengths._Line._chain

    def chain(self: Any, var: int) -> list[Stay]:
        found = whole(self, var)
        return found if var in lengths._own(self.line) else [Stay(None, None, found[-1].thing)]

    patch.setattr(lengths._Line, "_chain", chain)


def _what_runs_beside_does_not_count(patch: pytest.MonkeyPatch) -> None:
    def alone(flow: ExcursionFlow, step: Any) -> tuple[int, ...]:
        own = dict(step.positions)
        return tuple(max(n, own.get(c, -1) + 1) for c, n in enumerate(step.clock))

    patch.setattr(ends, "over_with", alone)


def _sums_along_the_replay_only(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(counts, "_check_sum", lambda replay, book, load: None)


def _contents_left_behind(patch: pytest.MonkeyPatch) -> None:
    """Only what hangs on a carrier directly is summed."""

    class Shallow(State):
        def everything_aboard(self, holder: Known) -> Iterator[Known]:
            return iter(list(self.aboard.get(holder.index, ())))

    patch.setattr(sums, "State", Shallow)


def _what_grows_counts_as_before(patch: pytest.MonkeyPatch) -> None:
    class Stubborn(State):
        def put(self, variable: Any, value: Any) -> None:
            if variable.sort != "property" or self.values[variable.id] is None:
                super().put(variable, value)

    patch.setattr(sums, "State", Stubborn)


def _any_choice_counts_as_sure(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(analysis, "check_choices", lambda replay: None)


def _a_choice_goes_by_its_own_only(patch: pytest.MonkeyPatch) -> None:
    """What the members that were passed over are like is not thought of."""
    whole = choices.choose

    def choose(judge: Any, action: Any, binding: Any) -> Any:
        chosen, reads = whole(judge, action, binding)
        own = {v for t in chosen if isinstance(t, Known) for v in (t.held_var, *t.prop_vars.values())}
        return chosen, tuple(v for v in reads or () if v in own)

    patch.setattr(replay, "choose", choose)


def _rules_along_the_replay_only(patch: pytest.MonkeyPatch) -> None:
    def meet(chains: list[list[Stay]]) -> list[Stay] | None:
        def over(a: Stay, b: Stay) -> bool:
            return a.end is not None and b.start is not None and a.end.index < b.start.index

        def grow(chosen: list[Stay]) -> list[Stay] | None:
            if len(chosen) == len(chains):
                return chosen
            for stay in chains[len(chosen)]:
                if not any(over(stay, other) or over(other, stay) for other in chosen):
                    found = grow([*chosen, stay])
                    if found:
                        return found
            return None

        return grow([])

    patch.setattr(standing, "meet", meet)


def _bystanders_help(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(Judge, "among", lambda self, quant: self.things_of(quant.kind))


def _bystanders_are_not_seen(patch: pytest.MonkeyPatch) -> None:
    whole = Judge.things_of
    patch.setattr(Judge, "things_of", lambda self, kind: [t for t in whole(self, kind) if self.takes_part(t)])


def _waits_forgotten(patch: pytest.MonkeyPatch) -> None:
    def blind(flow: ExcursionFlow) -> None:
        keep = list(flow.predecessors)
        for step in flow.steps:
            own = {c for c, _ in step.positions}
            flow.predecessors[step.index] = tuple(
                p for p in keep[step.index] if own & {c for c, _ in flow.steps[p].positions}
            )
        clocks.set_clocks(flow)
        flow.predecessors[:] = keep

    patch.setattr(analysis, "set_clocks", blind)


@pytest.mark.parametrize(
    "breaking",
    [
        _no_contact_reads,
        _old_holders_forgotten,
        _reach_reads_nothing,
        _joint_steps_follow_the_first_actor_only,
        _replay_without_races,
        _counts_along_the_replay_only,
        _lines_along_the_replay_only,
        _a_line_hangs_by_its_ends_alone,
        _what_runs_beside_does_not_count,
        _rules_along_the_replay_only,
        _sums_along_the_replay_only,
        _contents_left_behind,
        _what_grows_counts_as_before,
        _any_choice_counts_as_sure,
        _a_choice_goes_by_its_own_only,
        _waits_forgotten,
        _bystanders_help,
        _bystanders_are_not_seen,
    ],
    ids=lambda f: f.__name__.strip("_"),
)
def test_a_broken_analysis_is_caught(
    cases: list[Case], breaking: Callable[[pytest.MonkeyPatch], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    good = [case for case in cases if judge(case).agrees]
    breaking(monkeypatch)
    assert any(not judge(case).agrees for case in good)
