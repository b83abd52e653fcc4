"""Every rule's page runs: its failing plans fail with exactly that rule, its repaired plans are clean, and what its
findings prescribe clears them."""

from __future__ import annotations

import re
from pathlib import Path

import pages
import pytest

from jackstay.diagnostics.records import Severity
from jackstay.rules import registry

SECTIONS = ("What it finds", "Why it matters", "Fails", "Repaired", "When to allow it")
_COMES_WITH = re.compile(r"comes\s+with `([a-z-]+)`")
NAMES = registry.all_names()


def test_there_are_rules() -> None:
    assert len(NAMES) > 10


@pytest.mark.parametrize("name", NAMES)
def test_form(name: str) -> None:
    """The page has its title, the rule's own sentence, and its sections in order."""
    lines = registry.page(name).splitlines()
    assert lines[0] == f"# {name}"
    rule = registry.rule(name)
    assert rule.name == name
    summary = next(line for line in lines[1:] if line.strip())
    assert summary == rule.summary
    assert summary.endswith(".")
    headings = [line[3:] for line in lines if line.startswith("## ")]
    assert headings[: len(SECTIONS)] == list(SECTIONS)
    assert headings[len(SECTIONS) :] in ([], ["Source"])


@pytest.mark.parametrize("name", NAMES)
def test_plans(name: str, tmp_path: Path) -> None:
    runs = {"Fails": 0, "Repaired": 0}
    for number, project in enumerate(pages.projects(registry.page(name))):
        part = project.headings[0]
        if part not in runs:
            continue
        runs[part] += 1
        folder = tmp_path / str(number)
        folder.mkdir()
        found = pages.findings(project, folder)
        assert not pages.differences(project, found), project.title
        if part == "Repaired":
            assert not project.marks, "a repaired plan expects nothing"
            continue
        rules = {mark.rule for mark in project.marks}
        assert name in rules and rules <= {name, *_COMES_WITH.findall(registry.page(name))}
        for finding in found:
            for fix, proposed in enumerate(finding.help):
                if not proposed.edits:
                    continue
                again = tmp_path / f"{number}-{found.index(finding)}-{fix}"
                again.mkdir()
                after = pages.findings(pages.after_fix(project, finding, fix), again)
                assert (finding.rule, finding.message) not in {(one.rule, one.message) for one in after}
                errors = sum(one.severity is Severity.ERROR for one in found)
                assert sum(one.severity is Severity.ERROR for one in after) <= errors, proposed.text
    assert all(runs.values()), f"the page needs plans under Fails and Repaired: {runs}"
