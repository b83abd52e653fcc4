"""The benchmark of schedules counts what it says, on a small excursion."""

from __future__ import annotations

from tests.benchmarks.schedule import lines, made_up, measure


def test_all_find_the_same_longest_path() -> None:
    row = measure(300, times=1)  # asks each library for the figure, and refuses to go on where they differ
    assert row.longest > 0
    assert row.networkx is not None and row.forward > 0 and row.both > 0


def test_the_table() -> None:
    head, row = lines((200,))
    assert head.count("|") == row.count("|") == 5
    assert row.startswith("200 | ")


def test_an_excursion_is_made_the_same_twice() -> None:
    assert made_up(80).predecessors == made_up(80).predecessors
