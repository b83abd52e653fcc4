"""The project's settings: what they make of findings, and what is wrong with them."""

from __future__ import annotations

import datetime
from typing import Any

import pytest

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.policy.settings import PlanSettings, Settings, read_settings
from jackstay.rules import registry
from jackstay.source.files import source_from_text, unreadable
from jackstay.source.spans import Span

TODAY = datetime.date(2026, 5, 1)


def read(text: str) -> Settings:
    return read_settings(source_from_text("jackstay.toml", text))


def wrong(text: str) -> list[tuple[str, int, int, int, Any]]:
    """What is wrong: rule, its place, and the fact that says most."""
    told = []
    for problem in read(text).problems:
        facts = problem.facts
        finding = registry.tell(problem, None)  # every problem can be told
        assert finding.message and finding.at == problem.at
        told.append(
            (problem.rule, problem.at.line, problem.at.start, problem.at.end, facts.get("sort", facts.get("rule")))
        )
    return told


def finding(rule: str, path: str = "a.stay", line: int = 3) -> Diagnostic:
    return Diagnostic(rule, registry.rule(rule).severity, "So.", Span(path, line, 0, 1))


def judged(text: str, *findings: Diagnostic, prefix: str = "") -> tuple[list[tuple[str, str]], PlanSettings]:
    settings = PlanSettings(read(text), prefix, TODAY)
    assert settings.settings.problems == []
    return [(one.rule, one.severity.value) for one in settings.apply(findings, None)], settings


def test_severities_of_rules_and_families() -> None:
    text = '[severity]\ncrowded = "warning"\nends = "note"\nleft-behind = "off"\nreading-unanswered = "error"\n'
    names = ("crowded", "moved-unsaid", "left-behind", "reading-unanswered", "wrong-state")
    left, settings = judged(text, *map(finding, names))
    assert left == [
        ("crowded", "warning"),
        ("moved-unsaid", "note"),
        ("reading-unanswered", "error"),
        ("wrong-state", "error"),
    ]
    assert [one.rule for one in settings.off] == ["left-behind"]


def test_of_the_tables_that_fit_the_last_one_counts() -> None:
    text = """
[severity]
crowded = "error"
[severity."drafts/**"]
laws = "note"
[severity."drafts/old/*"]
crowded = "off"
"""
    for path, level in (("a.stay", "error"), ("drafts/a.stay", "note"), ("drafts/old/a.stay", None)):
        left, _ = judged(text, finding("crowded", path))
        assert [word for _, word in left] == ([level] if level else [])


def test_paths_count_from_the_settings_folder() -> None:
    text = '[severity."north/*.stay"]\ncrowded = "warning"\n'
    assert judged(text, finding("crowded"), prefix="north/")[0] == [("crowded", "warning")]
    assert judged(text, finding("crowded"), prefix="south/")[0] == [("crowded", "error")]
    assert judged(text, finding("crowded", "stdlib:suited"), prefix="north/")[0] == [("crowded", "error")]


def test_a_family_passes_over_what_cannot_be_less() -> None:
    """`plan` holds rules that say what is not decided, `policy` the rules about allowances."""
    text = '[severity]\nplan = "off"\n'
    left, settings = judged(text, finding("hole"), finding("not-decided"), finding("reading-unanswered"))
    assert left == [("hole", "undecided"), ("not-decided", "undecided")]
    assert len(settings.off) == 1
    assert judged('[severity]\nplan = "error"\n', finding("hole"))[0] == [("hole", "error")]


def test_an_allowance_of_the_project() -> None:
    text = '[[allow]]\nrule = "crowded"\npaths = "n/*.stay"\nbecause = "agreed"\n'
    left, settings = judged(
        text, finding("crowded", "n/a.stay"), finding("crowded", "s/a.stay"), finding("no-way", "n/a.stay")
    )
    assert left == [("crowded", "error"), ("no-way", "error")]
    assert settings.used == {0} and settings.off == []
    assert judged(text.replace("paths", "#"), finding("crowded", "s/a.stay"))[0] == []


def test_the_last_day_counts_and_the_next_does_not() -> None:
    text = '[[allow]]\nrule = "crowded"\nbecause = "agreed"\nuntil = 2026-05-01\n'
    settings = PlanSettings(read(text), "", TODAY)
    assert settings.apply([finding("crowded")], None) == [] and settings.used == {0}
    settings = PlanSettings(read(text), "", TODAY + datetime.timedelta(days=1))
    assert len(settings.apply([finding("crowded"), finding("crowded", line=9)], None)) == 2
    assert settings.used == set() and len(settings.back[0]) == 2


def test_what_is_waved_through_is_waived_for_what_builds_on_it() -> None:
    text = '[severity]\ncrowded = "note"\nends = "error"\nno-way = "off"\n'
    text += '[[allow]]\nrule = "wrong-state"\nbecause = "so"\n'
    settings = PlanSettings(read(text), "", TODAY)

    def waived(rule: str) -> bool:
        return settings.waives(Problem(rule, Span("a.stay", 1, 0, 0), {}))

    assert waived("crowded") and waived("no-way") and waived("wrong-state")
    assert not waived("left-behind") and not waived("out-of-reach") and not waived("unknown-kind")


@pytest.mark.parametrize(
    "text, told",
    [
        ("", []),
        ("# nothing\n[severity]\n", []),
        ('[severity]\ncrowded = "eror"\n', [("bad-setting", 2, 10, 16, "level")]),
        ("[severity]\ncrowded = 3  # so\n", [("bad-setting", 2, 10, 11, "level")]),
        ('[severity]\ncrowdet = "error"\n', [("unknown-rule", 2, 0, 7, "crowdet")]),
        ('severity = "error"\n', [("bad-setting", 1, 0, 8, "not-a-table")]),
        (
            'severity = { crowded = "loud", laws = "x" }\n',
            [("bad-setting", 1, 23, 29, "level"), ("bad-setting", 1, 38, 41, "level")],
        ),
        ('severity.crowded = "loud"\n', [("bad-setting", 1, 19, 25, "level")]),
        ('[severity."../x"]\ncrowded = "off"\n', [("bad-setting", 1, 1, 16, "glob")]),
        (
            '[severity]\nhole = "warning"\nunknown-kind = "off"\n',
            [("cannot-be-allowed", 2, 0, 4, "hole"), ("cannot-be-allowed", 3, 0, 12, "unknown-kind")],
        ),
        ('[severity]\nnames = "warning"\nreading = "error"\n', [("cannot-be-allowed", 2, 0, 5, "names")]),
        ('[severity]\nallow-without-reason = "off"\n', [("cannot-be-allowed", 2, 0, 20, "allow-without-reason")]),
        ("[colour]\nx = 1\n", [("bad-setting", 1, 1, 7, "unknown-key")]),
        ('allow = "crowded"\n', [("bad-setting", 1, 0, 5, "not-a-list")]),
        ('[allow]\nrule = "crowded"\n', [("bad-setting", 1, 1, 6, "not-a-list")]),
        ('[[allow]]\nbecause = "so"\n', [("bad-setting", 1, 2, 7, "no-rule")]),
        ("[[allow]]\nrule = 3\n", [("bad-setting", 2, 0, 4, "no-rule")]),
        ('[[allow]]\nrule = "crowded"\n', [("allow-without-reason", 2, 8, 15, "crowded")]),
        ('[[allow]]\nrule = "crowded"\nbecause = " "\n', [("allow-without-reason", 2, 8, 15, "crowded")]),
        ('[[allow]]\nrule = "crowded"\nbecause = 3\n', [("bad-setting", 3, 10, 11, "type")]),
        ('[[allow]]\nrule = "crowdet"\nbecause = "so"\n', [("unknown-rule", 2, 8, 15, "crowdet")]),
        ('[[allow]]\nrule = "hole"\nbecause = "so"\n', [("cannot-be-allowed", 2, 8, 12, "hole")]),
        ('[[allow]]\nrule = "crowded"\nbecause = "so"\nuntil = "2027-01-01"\n', [("bad-setting", 4, 8, 20, "date")]),
        (
            '[[allow]]\nrule = "crowded"\nbecause = "so"\nuntil = 2027-01-01T10:00:00\n',
            [("bad-setting", 4, 8, 27, "date")],
        ),
        ('[[allow]]\nrule = "crowded"\nbecause = "so"\npaths = []\n', [("bad-setting", 4, 8, 10, "type")]),
        ('[[allow]]\nrule = "crowded"\nbecause = "so"\npaths = ["/x"]\n', [("bad-setting", 4, 8, 14, "glob")]),
        ('[[allow]]\nrule = "crowded"\nbecause = "so"\nreason = "so"\n', [("bad-setting", 4, 0, 6, "unknown-key")]),
        ("[severity\n", [("bad-setting", 1, 9, 9, "toml")]),
        ('[severity]\na = "x"\na = "y"\n', [("bad-setting", 3, 7, 7, "toml")]),
        ("x = [" * 3000, [("bad-setting", 1, 3, 4, "toml")]),
    ],
)
def test_what_is_wrong_is_told_with_its_place(text: str, told: list[tuple[str, int, int, int, Any]]) -> None:
    if text.startswith("x = [x"):
        assert [one[4] for one in wrong(text)] == ["toml"]
    else:
        assert wrong(text) == told


def test_the_second_of_several_is_pointed_at() -> None:
    text = '[[allow]]\nrule = "crowded"\nbecause = "so"\n\n[[allow]]\nbecause = "so"\nrule = "crowdet"\n'
    assert wrong(text) == [("unknown-rule", 7, 8, 15, "crowdet")]


def test_what_is_wrong_leaves_the_rest_standing() -> None:
    text = '[severity]\ncrowded = "note"\nno-way = "loud"\n[[allow]]\nrule = "left-behind"\n'
    settings = read(text)
    assert len(settings.problems) == 2
    assert settings.level("crowded", "a.stay") == "note" and settings.level("no-way", "a.stay") is None
    assert [waiver.rule for waiver in settings.waivers] == ["left-behind"]  # its reason is missing, and told


def test_a_day_that_is_none_allows_nothing() -> None:
    text = '[[allow]]\nrule = "crowded"\nbecause = "so"\nuntil = "2027-01-01"\n'
    assert read(text).waivers == []


def test_a_bad_pattern_does_not_open_the_allowance_to_all() -> None:
    assert read('[[allow]]\nrule = "crowded"\nbecause = "so"\npaths = ["/x"]\n').waivers == []


def test_a_file_that_cannot_be_read() -> None:
    settings = read_settings(unreadable("jackstay.toml", "not UTF-8 at byte 3"))
    assert [problem.facts["sort"] for problem in settings.problems] == ["unreadable"]


@pytest.mark.parametrize("word, near", [("eror", ['"error"']), ("of", ['"off"']), ("silent", [])])
def test_a_slip_comes_with_the_word_that_was_meant(word: str, near: list[str]) -> None:
    (problem,) = read(f'[severity]\ncrowded = "{word}"\n').problems
    assert [edit.text for fix in registry.tell(problem, None).help for edit in fix.edits] == near


def test_levels_make_a_severity() -> None:
    left, _ = judged('[severity]\nleft-behind = "note"\n', finding("left-behind"))
    assert left == [("left-behind", Severity.NOTE.value)]


def test_what_the_project_does_is_set_aside_with_its_reason() -> None:
    text = """
[severity]
left-behind = "off"
no-way = "note"
reading-unanswered = "error"
[[allow]]
rule = "crowded"
because = "agreed"
until = 2026-05-01
"""
    _, settings = judged(text, *map(finding, ("crowded", "left-behind", "no-way", "reading-unanswered")))
    assert [(one.finding.rule, one.how.value, one.by, one.reason, one.until) for one in settings.aside] == [
        ("crowded", "allowed", "jackstay.toml", "agreed", "2026-05-01"),
        ("left-behind", "turned_off", "jackstay.toml", "", ""),
        ("no-way", "lowered", "jackstay.toml", "", ""),
    ]
    assert [one.finding.severity.value for one in settings.aside] == ["error", "error", "error"]
