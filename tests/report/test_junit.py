"""Findings as test results, valid by the schema beside this file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from report import made

from jackstay.diagnostics.aside import PLAN, Aside, How
from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.report import junit

SCHEMA = etree.XMLSchema(etree.parse(str(Path(__file__).with_name("junit.xsd"))))


def read(text: str) -> Any:
    assert text.isascii() and text.startswith("<?xml")
    document = etree.fromstring(text.encode("ascii"))
    SCHEMA.assertValid(document)
    return document


def test_suites_are_files_and_cases_findings() -> None:
    whole = read(junit.render(made.FINDINGS, made.SOURCES))
    counts = {suite.get("name"): tuple(map(suite.get, ("tests", "failures", "skipped"))) for suite in whole}
    assert counts == {
        "": ("1", "0", "1"),
        "gone.stay": ("1", "1", "0"),
        made.PATH: ("4", "1", "2"),
        "quiet.stay": ("1", "0", "0"),
        "stdlib:units": ("1", "0", "0"),
    }
    assert (whole.get("tests"), whole.get("failures"), whole.get("errors")) == ("8", "2", "0")
    (quiet,) = whole.xpath("testsuite[@name='quiet.stay']/testcase")
    assert quiet.get("name") == "nothing found" and len(quiet) == 0


def test_a_failure_tells_the_story() -> None:
    (failure,) = read(junit.render([made.FULL], made.SOURCES)).iter("failure")
    assert failure.get("message") == "Nothing says, 100 %: who is first."
    assert failure.get("type") == "may-come-first"
    assert "how it comes to this" in failure.text and "│       hand pump to teal" in failure.text
    (case,) = read(junit.render([made.FULL], made.SOURCES)).xpath("//testcase[failure]")
    assert case.get("name") == "may-come-first: excursion second / task swap / wren / hand pump to teal"


def test_alike_cases_have_names_of_their_own() -> None:
    cases = read(junit.render(made.FINDINGS, made.SOURCES)).xpath("//testcase")
    names = [(case.get("classname"), case.get("name")) for case in cases]
    assert len(set(names)) == len(names)
    assert any(name.endswith("(2)") for _, name in names)


@pytest.mark.parametrize(
    "severity, plain, strict",
    [
        ("error", "failure", "failure"),
        ("warning", "system-out", "failure"),
        ("undecided", "skipped", "failure"),
        ("note", "system-out", "system-out"),
    ],
)
def test_what_fails_is_what_the_exit_code_says(severity: str, plain: str, strict: str) -> None:
    finding = Diagnostic("hole", Severity(severity), "So.", made.FULL.at)
    for is_strict, tag in ((False, plain), (True, strict)):
        (case,) = read(junit.render([finding], {}, is_strict)).iter("testcase")
        assert [child.tag for child in case] == [tag]


def test_the_schema_refuses_what_is_none() -> None:
    text = junit.render(made.FINDINGS, made.SOURCES)
    for old, new in ((' failures="1"', ' failures="one"'), (' classname="quiet"', ""), ("<skipped ", "<missing ")):
        assert old in text
        broken = text.replace(old, new, 1).replace("</skipped>", "</missing>", 1 if "missing" in new else 0)
        assert not SCHEMA.validate(etree.fromstring(broken.encode("ascii")))


@pytest.mark.parametrize("strict", [False, True])
def test_what_is_left_out_is_skipped_with_the_reason(strict: bool) -> None:
    several = [
        Aside(made.FULL, How.ALLOWED, PLAN, "agreed"),
        Aside(made.FULL, How.LOWERED, "jackstay.toml", now=Severity.NOTE),
    ]
    whole = read(junit.render([], made.SOURCES, strict, several))
    (suite,) = whole.xpath(f"testsuite[@name='{made.PATH}']")
    assert tuple(map(suite.get, ("tests", "failures", "skipped"))) == ("1", "0", "1")
    (skipped,) = suite.iter("skipped")
    assert skipped.get("message") == 'allowed in the plan: "agreed": Nothing says, 100 %: who is first.'
    assert "how it comes to this" in skipped.text
