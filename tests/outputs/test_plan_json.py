"""plan.json keeps to its published schema, says all of the plan, and says it as the compiler has it."""

from __future__ import annotations

import json
from fractions import Fraction
from functools import cache
from typing import Any

import jsonschema
import pytest
from outputs import plan_schema
from outputs.plan_schema import schema
from outputs.plans import PLANS, plan
from outputs.small_plan import Checked, crane, pier

from jackstay.commands.main import main
from jackstay.model.records import Begins
from jackstay.outputs.data import SCHEMA, plan_json
from jackstay.outputs.frame import frame_of
from jackstay.outputs.views import views_of

SMALL_PLANS = {"pier": pier, "crane": crane}
ALL = (*PLANS, *SMALL_PLANS)


def text_of(one: Any) -> str:
    return plan_json(one.world, views_of(one.flow), frame_of(one, False))


@cache
def checked(name: str) -> Any:
    return SMALL_PLANS[name]() if name in SMALL_PLANS else plan(name)


@cache
def data(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(text_of(checked(name)))
    return found


@cache
def strict() -> jsonschema.Draft202012Validator:
    """The published schema, and nothing that it does not name."""

    def close(node: Any) -> Any:
        if isinstance(node, list):
            return [close(part) for part in node]
        if not isinstance(node, dict):
            return node
        closed = {key: close(value) for key, value in node.items()}
        if "properties" in node and isinstance(node["properties"], dict) and node.get("type") == "object":
            closed["additionalProperties"] = False
        return closed

    found = close(schema())
    jsonschema.Draft202012Validator.check_schema(found)
    return jsonschema.Draft202012Validator(found)


def number(value: int | str) -> Fraction:
    return Fraction(value)


@pytest.mark.parametrize("name", ALL)
def test_it_keeps_to_the_schema(name: str) -> None:
    assert [error.message for error in strict().iter_errors(data(name))] == []


def test_the_schema_is_of_the_draft_and_finds_what_is_wrong() -> None:
    assert schema()["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert data("pier")["schema"] == SCHEMA == schema()["properties"]["schema"]["const"]

    def errors(change: Any) -> int:
        broken = json.loads(json.dumps(data("pier")))
        change(broken)
        return len(list(strict().iter_errors(broken)))

    assert errors(lambda one: None) == 0
    assert errors(lambda one: one["excursions"][0]["steps"][0].update(start=1.5)) == 1
    assert errors(lambda one: one["excursions"][0]["steps"][0].update(slack="7 min")) == 1
    assert errors(lambda one: one["excursions"][0]["steps"][0].pop("source")) == 1
    assert errors(lambda one: one.update(schema="jackstay.plan/2")) == 1
    assert errors(lambda one: one.update(more=1)) == 1


def test_the_schema_that_is_published_is_that_of_the_records() -> None:
    assert plan_schema.PUBLISHED.read_text(encoding="utf-8") == plan_schema.text(), (
        "python -m tests.outputs.plan_schema"
    )


def test_the_schema_is_printed_without_a_plan(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["build", "--schema"]) == 0
    assert json.loads(capsys.readouterr().out) == schema()


def test_a_build_without_a_folder_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["build"]) == 2
    assert "-o DIR" in capsys.readouterr().err


@pytest.mark.parametrize("name", ALL)
def test_every_step_is_there_with_its_times_and_its_line(name: str) -> None:
    views = views_of(checked(name).flow)
    assert len(data(name)["excursions"]) == len(views)
    for view, told in zip(views, data(name)["excursions"], strict=True):
        times = view.times
        assert times is not None
        assert len({step["identity"] for step in told["steps"]}) == len(view.flow.steps) == len(told["steps"])
        assert told["critical"] == list(times.critical)
        for step, one in zip(view.flow.steps, told["steps"], strict=True):
            i = step.index
            assert one["source"] == f"{step.entry.at.path}:{step.entry.at.line}"
            assert number(one["start_at_least"]) == times.start[i] and number(one["end_at_least"]) == times.end[i]
            assert number(one["latest_start"]) - number(one["start_at_least"]) == number(one["slack"]) == times.slack[i]
            assert one["critical"] == (i in times.critical)
            triple = times.triples[i]
            if triple is None:
                assert one["least"] is one["duration"] is one["most"] is None
            else:
                assert [number(one[key]) for key in ("least", "duration", "most")] == list(triple)
            assert [one["start"] is None, one["end"] is None] == [times.start_open[i], times.end_open[i]]
            assert len(one["changes"]) == len(step.changes)


def test_remarks_readings_answers_and_fallbacks_of_the_demo() -> None:
    first, second, _ = data("demo")["excursions"]
    remarks = [remark for step in second["steps"] for remark in step["remarks"]]
    written = [remark for entry in checked("demo").world.excursions[1].entries for remark in entry.remarks]
    assert [(one["sort"], one["text"]) for one in remarks] == [(one.sort, one.text) for one in written]
    reading = next(step for step in second["steps"] if step["text"] == "read cold-gauge")
    assert reading["expect"] == {"low": 210000, "high": 230000, "text": "210 kPa to 230 kPa"}
    assert [(one["outcome"], one["fallback"]) for one in reading["answers"]] == [("outside", "leak")]
    stuck = next(one for one in second["fallbacks"] if one["name"] == "bolt-stuck")
    assert stuck["then"] == ["back"] and len(stuck["steps"]) > 8
    (call,) = stuck["callers"]
    assert call["outcome"] == "a bolt sticks"
    assert second["steps"][call["step"]]["text"] == "undo bolts of old-cooler with driver-t"
    excursion = checked("demo").world.excursions[0]
    assert {key: number(value) for key, value in first["light"].items()} == {
        key: getattr(excursion.light, key).value for key in ("dark", "every", "first")
    }
    assert number(first["limit"]) == excursion.limit.value and number(first["reserve"]) == excursion.reserve.value
    assert number(first["together"]) == excursion.together.within.value
    assert first["clock_runs"]["starts"] == "out.lock-empty" and second["previous"] == "first"
    assert {one["actor"] for one in second["way_home"]} == {"wren", "teal"}
    margin = next(one["least_margin"] for one in second["way_home"] if one["actor"] == "wren")
    assert number(margin["left"]) - number(margin["needed"]) == number(margin["margin"]) > 0


def test_tasks_have_the_span_of_their_steps() -> None:
    for told in data("demo")["excursions"]:
        for task in told["tasks"]:
            mine = [told["steps"][i] for i in task["steps"]]
            assert mine and all(step["task"] == task["name"] for step in mine)
            assert number(task["start"]) == min(number(step["start"]) for step in mine)
            assert number(task["end"]) == max(number(step["end"]) for step in mine)
            assert number(task["slack"]) == min(number(step["slack"]) for step in mine)
            assert task["critical"] == any(step["critical"] for step in mine)


def test_the_end_follows_from_the_start_by_the_changes() -> None:
    """Whoever reads only the data can follow every thing."""
    holder: dict[str, str | None] = {}
    for told in data("demo")["excursions"]:
        for step in told["steps"]:
            for change in step["changes"]:
                if change["sort"] == "held":
                    assert change["before"] == holder.get(change["thing"], change["before"])
                    holder[change["thing"]] = change["after"]
        ends = {one["name"]: one["on"] for one in told["end"]["things"]}
        for name, last in holder.items():
            assert (last or "") == ", ".join(f"{one['manner']} {one['holder']}" for one in ends[name])
    assert len(holder) > 10


def test_a_date_is_handed_on() -> None:
    one = pier()
    (only,) = one.world.excursions
    only.begins = Begins("2031-03-02", Fraction(9 * 3600 + 1800), only.decl)
    told = json.loads(text_of(one))["excursions"][0]
    assert told["begins"] == {"date": "2031-03-02", "time": 34200}


def test_a_circular_excursion_has_no_steps_no_times_and_no_end() -> None:
    one: Checked = pier()
    one.flow.excursions[0].complete = False
    told = json.loads(text_of(one))
    assert [error.message for error in strict().iter_errors(told)] == []
    excursion = told["excursions"][0]
    assert excursion["worked_out"] is False
    assert excursion["steps"] == [] and excursion["end"] is None and excursion["makespan"] is None


def test_the_same_plan_gives_the_same_text() -> None:
    assert text_of(pier()) == text_of(pier())
    assert text_of(checked("demo")).encode() == text_of(plan("demo")).encode()
