"""Patterns of paths."""

from __future__ import annotations

import pytest

from jackstay.policy.globs import matches, wrong_with


@pytest.mark.parametrize(
    "glob, fits, does_not",
    [
        (
            "drafts/**",
            ["drafts/a.stay", "drafts/x/y/a.stay"],
            ["drafts", "a.stay", "x/drafts/a.stay", "draftsx/a.stay"],
        ),
        ("**/drafts/*.stay", ["drafts/a.stay", "x/y/drafts/a.stay"], ["drafts/x/a.stay", "xdrafts/a.stay"]),
        ("north/*.stay", ["north/a.stay", "north/.stay"], ["north/x/a.stay", "a.stay"]),
        ("trial-*.stay", ["trial-1.stay", "x/y/trial-.stay"], ["trial.stay", "x/trial-1.stay/y"]),
        ("a?.stay", ["ab.stay", "x/ab.stay"], ["a.stay", "a/.stay"]),
        ("[ab].stay", ["a.stay", "b.stay"], ["c.stay", "-.stay"]),
        ("x/[!a-c].stay", ["x/d.stay"], ["x/a.stay", "x//.stay"]),
        ("**", ["a.stay", "x/y.stay"], []),
        ("a+(b).stay", ["a+(b).stay"], ["aab.stay"]),
        ("a.stay", ["a.stay", "x/a.stay"], ["aXstay"]),
    ],
)
def test_what_fits(glob: str, fits: list[str], does_not: list[str]) -> None:
    assert not wrong_with(glob)
    assert [path for path in fits if not matches(glob, path)] == []
    assert [path for path in does_not if matches(glob, path)] == []


@pytest.mark.parametrize(
    "glob, why",
    [
        ("", "empty"),
        ("  ", "empty"),
        ("/a/b.stay", "root"),
        ("C:/a.stay", "root"),
        ("a\\b.stay", "backslash"),
        ("../a.stay", "down from"),
        ("a/./b.stay", "down from"),
        ("a//b.stay", "in a row"),
        ("a**/b.stay", "whole folders"),
        ("a/**b", "whole folders"),
        ("drafts/", "drafts/**"),
        ("[ab.stay", "names no letters"),
        ("a].stay", "names no letters"),
        ("[].stay", "names no letters"),
        ("[z-a].stay", "names no letters"),
        ("[!].stay", "names no letters"),
        ("*" * 401, "longer"),
    ],
)
def test_what_is_wrong(glob: str, why: str) -> None:
    assert why in wrong_with(glob)


def test_a_hostile_pattern_is_quick() -> None:
    glob = "*a" * 15 + "b"
    assert not wrong_with(glob) and not matches(glob, "a" * 40)
