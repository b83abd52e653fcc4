"""Durations and the common cause from made-up rehearsals with known parameters, and logs that are not in order."""

from __future__ import annotations

from math import sqrt
from statistics import fmean
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from outputs.small_plan import pier
from scipy.stats import beta, chi2, norm

from jackstay.timing.calibration import FEWEST, fit, written
from jackstay.timing.calibration_common import ENOUGH_RUNS, Common, Record, chi_squared, common
from jackstay.timing.calibration_log import read_log
from jackstay.timing.calibration_names import Names, NotNamed
from jackstay.timing.calibration_study import study

# --- three points ----------------------------------------------------------------------------------------------------


def planted(least: float, likely: float, most: float, z: Any) -> Any:
    stand = (likely - least) / (most - least)
    return least + (most - least) * beta.ppf(norm.cdf(z), 1 + 4 * stand, 5 - 4 * stand)


@pytest.mark.parametrize("likely", [11.0, 15.0, 22.0])
def test_many_runs_give_the_planted_points_back(likely: float) -> None:
    rng = np.random.default_rng(1)
    found = fit([float(x) for x in planted(10, likely, 30, rng.standard_normal(2000))])
    assert found is not None
    assert abs(found.mean - (10 + 4 * likely + 30) / 6) < 4 * found.error
    assert abs(found.least - 10) < 2.5 and abs(found.most - 30) < 2.5
    assert abs(found.likely - likely) < 1.6


def test_fewer_runs_are_given_more_room() -> None:
    """On average over many logs: the range proposed from few runs is wider than they were apart, and than from many."""
    rng = np.random.default_rng(2)
    few, apart = [], []
    for _ in range(200):
        runs = [float(x) for x in planted(10, 15, 30, rng.standard_normal(4))]
        found = fit(runs)
        assert found is not None
        few.append(found.most - found.least)
        apart.append(max(runs) - min(runs))
    assert fmean(few) > 1.8 * fmean(apart)
    assert fmean(few) > 18


@given(st.lists(st.floats(0.1, 500), min_size=FEWEST, max_size=12))
def test_a_proposal_is_in_order_and_holds_every_run(runs: list[float]) -> None:
    found = fit(runs)
    assert found is not None
    assert 0 < found.least <= found.likely <= found.most
    if max(runs) - min(runs) > 1e-6 * max(runs):
        grid = 0.1 if found.most < 5 else 0.5
        assert found.least <= max(min(runs), grid) + 1e-6
        assert found.most >= max(runs) - 1e-3


def test_too_few_runs_and_runs_that_are_all_alike() -> None:
    assert fit([5.0] * (FEWEST - 1)) is None
    same = fit([12.0] * 4)
    assert same is not None and written(same) == "[12 min, 11.5 to 12.5]"


def test_brackets_are_written_as_a_plan_has_them() -> None:
    found = fit([9.0, 12.0, 20.0, 11.0])
    assert found is not None
    text = written(found)
    assert text.startswith("[") and " min, " in text and text.endswith("]")
    small = fit([0.4, 0.5, 0.7])
    assert small is not None and written(small).count(".") == 3


# --- in common -------------------------------------------------------------------------------------------------------


def rehearsals(rng: np.random.Generator, runs: int, steps: int, run: float, each: float) -> list[Record]:
    days, actors = rng.standard_normal(runs), rng.standard_normal((runs, 3))
    found = []
    for step in range(steps):
        for k in range(runs):
            z = sqrt(run) * days[k] + sqrt(each) * actors[k, step % 3]
            z += sqrt(1 - run - each) * rng.standard_normal()
            found.append(
                Record(f"s{step}", f"a{step % 3}", f"r{k}", float(planted(5 + step, 8 + step, 15 + 3 * step, z)))
            )
    return found


@pytest.mark.parametrize("run, each", [(0.3, 0.1), (0.0, 0.0), (0.2, 0.3)])
@pytest.mark.parametrize("runs", [4, 12])
def test_the_band_holds_the_planted_shares_nine_times_in_ten(run: float, each: float, runs: int) -> None:
    rng = np.random.default_rng(5)
    logs = 60
    held = {"run": 0, "each": 0}
    values: list[float] = []
    for _ in range(logs):
        found = common(rehearsals(rng, runs, 12, run, each))
        assert found.run is not None and found.each is not None
        held["run"] += found.run.low <= run <= found.run.high
        held["each"] += found.each.low <= each <= found.each.high
        values.append(found.run.value)
    assert min(held.values()) / logs > 0.8  # 0.9 less three standard errors of sixty
    assert abs(fmean(values) - run) < 0.08


def test_under_six_runs_there_is_no_number() -> None:
    rng = np.random.default_rng(5)
    assert not common(rehearsals(rng, ENOUGH_RUNS - 1, 9, 0.2, 0.1)).enough
    assert common(rehearsals(rng, ENOUGH_RUNS, 9, 0.2, 0.1)).enough


def test_more_runs_narrow_the_band() -> None:
    rng = np.random.default_rng(6)
    few, many = common(rehearsals(rng, 4, 12, 0.3, 0.1)).run, common(rehearsals(rng, 60, 12, 0.3, 0.1)).run
    assert few is not None and many is not None
    assert many.high - many.low < (few.high - few.low) / 2


def test_what_cannot_be_compared_is_not_told() -> None:
    assert common([]) == Common(0, 0, None, None)
    alike = [Record("s", "a", f"r{k}", 5.0) for k in range(9)]
    assert common(alike).run is None
    rng = np.random.default_rng(1)
    alone = [one._replace(actor="a") for one in rehearsals(rng, 8, 6, 0.3, 0.0)]
    assert common(alone).run is not None and common(alone).each is None


@pytest.mark.parametrize("freedom", [1, 2, 5, 30])
@pytest.mark.parametrize("chance", [0.05, 0.5, 0.95])
def test_chi_squared_quantiles(freedom: int, chance: float) -> None:
    assert chi_squared(freedom, chance) == pytest.approx(chi2.ppf(chance, freedom), rel=1e-6)


# --- logs ------------------------------------------------------------------------------------------------------------


def faults_of(text: str | bytes) -> list[tuple[int, str]]:
    data = text if isinstance(text, bytes) else text.encode()
    return [(fault.line, fault.text) for fault in read_log("log.csv", data)[1]]


def test_columns_in_any_order_and_others_beside() -> None:
    rows, faults = read_log(
        "log.csv", b'\xef\xbb\xbfrun, note,minutes ,step\r\nr1,,12.5,a.b.c\r\n\r\nr2,"x, y",7,a.b.c\r\n'
    )
    assert not faults
    assert [(row.line, row.step, row.run, row.minutes) for row in rows] == [
        (2, "a.b.c", "r1", 12.5),
        (4, "a.b.c", "r2", 7),
    ]


@pytest.mark.parametrize(
    "text, line, words",
    [
        ("", 1, "empty"),
        ("step,run\n", 1, "minutes missing"),
        ("step,run,minutes,run\n", 1, "run twice"),
        ("step,run,minutes\na,b\n", 2, "2 cells"),
        ("step,run,minutes\na,,3\n", 2, "nothing under run"),
        ("step,run,minutes\na,b,nan\n", 2, "nan is no number of minutes"),
        ("step,run,minutes\na,b,-3\n", 2, "-3 is no number"),
        ("step,run,minutes\na,b,0\n", 2, "0 is no number"),
        ("step,run,minutes\na,b,1e9\n", 2, "1e9 is no number"),
        ("step,run,minutes\na,b,1_0\n", 2, "1_0 is no number"),
        ('step,run,minutes\na,b,3\n"a,b,4\n', 3, "not CSV"),
        (b"step,run,minutes\na,b,3\n\xff,b,3\n", 3, "not UTF-8"),
    ],
)
def test_what_is_wrong_with_a_log_is_told_with_its_line(text: str | bytes, line: int, words: str) -> None:
    ((at, told),) = faults_of(text)
    assert at == line and words in told


@given(st.binary(max_size=200))
def test_no_file_breaks_the_reading(data: bytes) -> None:
    rows, faults = read_log("log.csv", b"step,run,minutes\n" + data)
    assert all(row.minutes > 0 and row.step and row.run for row in rows)
    assert all(fault.line >= 1 and fault.text for fault in faults)


# --- names -----------------------------------------------------------------------------------------------------------


def test_a_step_by_its_call_its_line_and_its_name() -> None:
    flow = pier().flow.excursions[0]
    names = Names([flow], "plans")
    entry = next(one for one in flow.excursion.entries if one.says is not None)
    ways = [
        "only.release.bolts-out",
        f"pier.stay:{entry.at.line}",
        f"plans/pier.stay:{entry.at.line}",
        "only/release/wren/undo bolts of lamp with driver",
    ]
    assert {names.find(way).site for way in ways} == {entry.at}
    assert names.find(ways[0]).actor == "wren"


@pytest.mark.parametrize(
    "name, words",
    [
        ("only.release.bolts-in", "there is no step called only.release.bolts-in"),
        ("only/release/wren/take driver from kit", "inserted by the compiler"),
        ("", "no step called"),
    ],
)
def test_a_name_of_no_step_is_told_why(name: str, words: str) -> None:
    with pytest.raises(NotNamed, match=words):
        Names(pier().flow.excursions, ".").find(name)


def test_a_second_record_of_one_run_is_a_fault_and_does_not_count() -> None:
    flow = pier().flow
    rows, _ = read_log("log.csv", b"step,run,minutes\nonly.release.bolts-out,r1,7\nonly.release.bolts-out,r1,70\n")
    found = study(flow, rows, Names(flow.excursions, "."))
    assert [(fault.line, fault.text) for fault in found.faults] == [
        (3, "run r1 of only.release.bolts-out stands on line 2 already")
    ]
    assert [line.minutes for line in found.lines] == [(7.0,)]
    assert found.brackets() == {}
