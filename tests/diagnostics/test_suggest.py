"""Did you mean."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as some

from jackstay.diagnostics.suggest import did_you_mean, distance, nearest


def full(a: str, b: str) -> int:
    """Optimal string alignment by the whole table: slow and plain."""
    table = {(i, j): i + j for i in range(len(a) + 1) for j in range(len(b) + 1) if not i * j}
    for i in range(1, len(a) + 1):
        for j in range(1, len(b) + 1):
            table[i, j] = min(table[i - 1, j] + 1, table[i, j - 1] + 1, table[i - 1, j - 1] + (a[i - 1] != b[j - 1]))
            if i > 1 and j > 1 and a[i - 1] == b[j - 2] and a[i - 2] == b[j - 1]:
                table[i, j] = min(table[i, j], table[i - 2, j - 2] + 1)
    return table[len(a), len(b)]


@given(some.text("abc", max_size=7), some.text("abc", max_size=7), some.integers(1, 5))
def test_the_band_gives_what_the_whole_table_gives(a: str, b: str, limit: int) -> None:
    assert distance(a, b, limit) == min(full(a, b), limit + 1)


def test_a_slip_is_found() -> None:
    names = ["old-pump", "new-pump", "porch", "pouch-1", "pouch-2"]
    assert nearest("old-pmup", names) == ("old-pump",)
    assert nearest("pump-old", names) == ("old-pump",)
    assert nearest("prch", names) == ("porch",)
    assert nearest("pouch", names) == ("porch", "pouch-1", "pouch-2")
    assert nearest("old-pump-2", names) == ("old-pump",)


def test_far_words_are_not_offered() -> None:
    assert nearest("winch", ["old-pump", "teal"]) == ()
    assert nearest("a", ["b", "c"]) == ()


def test_sentence_and_order_do_not_depend_on_the_order_of_names() -> None:
    names = ["bay1", "bay2", "bay3", "bay4", "bay5"]
    assert did_you_mean("bay", names) == did_you_mean("bay", reversed(names)) == "did you mean bay1, bay2 or bay3?"
    assert did_you_mean("tael", ["teal"]) == "did you mean teal?"
    assert did_you_mean("x", ["unlike"]) == ""
