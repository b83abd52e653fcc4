"""What is new of a check, and the baseline file."""

from __future__ import annotations

import json
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jackstay.diagnostics.fingerprints import Fingerprint
from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.policy.baseline import BadBaseline, known_in, outdated, text_of
from jackstay.policy.known import Known, known_from, split
from jackstay.source.files import SourceFile, source_from_text
from jackstay.source.spans import Span

TEXT = "excursion first\n  task one\n    wren\n      go\n  task two\n    wren\n      go\n"


def sources(*paths: str) -> dict[str, SourceFile]:
    return {path: source_from_text(path, TEXT) for path in paths or ("a.stay",)}


def finding(
    line: int = 4,
    rule: str = "crowded",
    path: str = "a.stay",
    severity: Severity = Severity.ERROR,
    names: Sequence[str] = (),
) -> Diagnostic:
    return Diagnostic(rule, severity, f"{rule} in line {line}.", Span(path, line, 0, 1), names=tuple(names))


def lines(findings: Sequence[Diagnostic]) -> list[int]:
    return [one.at.line for one in findings]


def test_what_is_known_is_old_and_the_rest_new() -> None:
    known = known_from([finding(4)], sources())
    parted = split([finding(4), finding(7)], sources(), known)
    assert (lines(parted.old), lines(parted.new), parted.gone) == ([4], [7], [])


def test_alike_ones_are_counted() -> None:
    known = known_from([finding(4), finding(4)], sources())
    assert [one.count for one in known] == [2]
    assert [len(split([finding(4)] * n, sources(), known).new) for n in (1, 2, 3)] == [0, 0, 1]
    (gone,) = split([finding(4)], sources(), known).gone
    assert (gone.count, gone.left) == (2, 1)
    assert split([finding(4)] * 2, sources(), known).gone == []


def test_what_has_become_graver_is_new() -> None:
    known = known_from([finding(severity=Severity.WARNING)], sources())
    assert len(split([finding(severity=Severity.ERROR)], sources(), known).new) == 1
    assert len(split([finding(severity=Severity.NOTE)], sources(), known).old) == 1


def test_a_renamed_file_keeps_what_is_known_a_copied_one_does_not() -> None:
    known = known_from([finding(path="a.stay")], sources("a.stay"))
    assert split([finding(path="b.stay")], sources("b.stay"), known).new == []
    both = split([finding(path="a.stay"), finding(path="b.stay")], sources("a.stay", "b.stay"), known)
    assert [one.at.path for one in both.new] == ["b.stay"]
    # the file is still there and free of it: that is no renaming
    assert len(split([finding(path="b.stay")], sources("a.stay", "b.stay"), known).new) == 1


def test_what_keeps_a_plan_from_being_followed_is_never_old() -> None:
    broken = finding(rule="unknown-kind")
    assert known_from([broken], sources()) == []
    entry = Known(
        "a.stay", Fingerprint("unknown-kind", ("excursion first", "task one", "wren", "go"), ()), Severity.ERROR, 1
    )
    assert split([broken], sources(), [entry]).new == [broken]


@given(
    st.lists(
        st.tuples(st.sampled_from([4, 7]), st.sampled_from(["crowded", "no-way"]), st.sampled_from("xy")), max_size=8
    ),
    st.lists(
        st.tuples(st.sampled_from([4, 7]), st.sampled_from(["crowded", "no-way"]), st.sampled_from("xy")), max_size=8
    ),
)
def test_nothing_is_lost(before: list[tuple[int, str, str]], after: list[tuple[int, str, str]]) -> None:
    """New and old together are all findings; of each sort as many are new as there are more than before."""
    known = known_from([finding(line, rule, names=[name]) for line, rule, name in before], sources())
    now = [finding(line, rule, names=[name]) for line, rule, name in after]
    parted = split(now, sources(), known)
    assert sorted(map(Diagnostic.order, parted.new + parted.old)) == sorted(map(Diagnostic.order, now))
    for sort in {*before, *after}:
        new = [one for one in parted.new if (one.at.line, one.rule, one.names[0]) == sort]
        assert len(new) == max(0, after.count(sort) - before.count(sort))
    assert sum(one.left for one in parted.gone) == sum(max(0, before.count(s) - after.count(s)) for s in set(before))


def test_the_file_says_what_it_knows_an_entry_a_line() -> None:
    known = known_from([finding(4, names=["wren", "bücher"]), finding(7), finding(7)], sources())
    text = text_of(known)
    assert text.isascii() and text.endswith("]}\n")
    rows = text.splitlines()
    assert rows[0] == '{"schema": "jackstay.baseline/1", "findings": ['
    assert json.loads(rows[1].rstrip(",")) == {
        "rule": "crowded",
        "severity": "error",
        "path": "a.stay",
        "inside": ["excursion first", "task one", "wren", "go"],
        "names": ["wren", "bücher"],
        "count": 1,
    }
    again = known_in(text)
    assert [(one.path, one.print, one.severity, one.count) for one in again] == [
        (one.path, one.print, one.severity, one.count) for one in known
    ]
    assert [one.line for one in again] == [2, 3]
    assert text_of(again) == text and known_in(text_of([])) == []


def test_the_order_of_the_findings_does_not_matter() -> None:
    found = [finding(4), finding(7), finding(4, "no-way"), finding(7, names=["x"])]
    assert text_of(known_from(found, sources())) == text_of(known_from(found[::-1], sources()))


def entry(**parts: object) -> str:
    found = {"rule": "x", "path": "a", "inside": [], "names": []} | parts
    return json.dumps({"schema": "jackstay.baseline/1", "findings": [found]})


@pytest.mark.parametrize(
    "text, why",
    [
        ("", "no JSON"),
        ("{", "no JSON"),
        ("[" * 100_000, "no JSON"),
        ("[]", "schema"),
        ('{"schema": "jackstay.baseline/2", "findings": []}', "schema"),
        ('{"schema": "jackstay.baseline/1"}', "no list"),
        ('{"schema": "jackstay.baseline/1", "findings": [3]}', "number 1"),
        (entry(names=[3]), "number 1"),
        (entry(inside="so"), "number 1"),
        (entry(count=0), "count"),
        (entry(count=True), "count"),
        (entry(rule=None), "rule"),
        (entry(severity="loud"), "severity"),
    ],
)
def test_what_is_no_baseline(text: str, why: str) -> None:
    with pytest.raises(BadBaseline, match=why):
        known_in(text)


def test_what_no_longer_occurs_is_told_of_files_that_were_read() -> None:
    gone = split([], sources(), known_in(text_of(known_from([finding(4), finding(7), finding(7)], sources())))).gone
    told = outdated(gone, "known.json", ["a.stay"], whole=False)
    assert [(one.at.path, one.at.line, one.severity) for one in told] == [
        ("known.json", 2, Severity.NOTE),
        ("known.json", 3, Severity.NOTE),
    ]
    assert "2 are gone" in told[1].message
    assert outdated(gone, "known.json", ["b.stay"], whole=False) == []
    assert len(outdated(gone, "known.json", ["b.stay"], whole=True)) == 2
