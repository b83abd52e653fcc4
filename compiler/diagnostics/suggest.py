"""Did you mean: the names nearest to one that does not exist."""

from __future__ import annotations

from collections.abc import Iterable

LONGEST = 64  # longer words are compared by their beginnings
MOST = 20_000  # candidates looked at; a scope with more names is no place to guess


def distance(a: str, b: str, limit: int) -> int:
    """Edits between two words (insert, delete, replace, swap neighbours), or limit + 1 once they are further apart.

    Optimal string alignment, only the band of the table that can stay within the limit: O(len(a) * limit)."""
    if abs(len(a) - len(b)) > limit:
        return limit + 1
    far = limit + 1
    before: list[int] = []
    row = [min(at, far) for at in range(len(b) + 1)]
    for i, left in enumerate(a, start=1):
        last, row = row, [far] * (len(b) + 1)
        if i <= limit:
            row[0] = i
        nearest = row[0]
        for j in range(max(1, i - limit), min(len(b), i + limit) + 1):
            cost = min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (left != b[j - 1]))
            if i > 1 and j > 1 and left == b[j - 2] and a[i - 2] == b[j - 1]:
                cost = min(cost, before[j - 2] + 1)
            row[j] = min(cost, far)
            nearest = min(nearest, row[j])
        if nearest >= far:
            return far
        before = last
    return row[len(b)]


def _one_part_apart(word: str, name: str) -> bool:
    short, long = sorted((word, name), key=len)
    return len(short) > 2 and long.startswith(short + "-") and "-" not in long[len(short) + 1 :]


def nearest(word: str, names: Iterable[str], most: int = 3) -> tuple[str, ...]:
    """The names that a slip of the hand may have turned into the word: at most one edit in three letters; nearest
    first, then by name. Counted as one edit: the hyphened parts in another order, and one part more or less at the
    end (``pouch`` for ``pouch-1``)."""
    word = word[:LONGEST]
    limit = max(1, min(len(word) // 3, 4))
    parts = sorted(word.split("-"))
    found: list[tuple[int, str]] = []
    for seen, name in enumerate(sorted(set(names))):
        if seen >= MOST:
            break
        if name == word:
            continue
        if ("-" in word and sorted(name.split("-")) == parts) or _one_part_apart(word, name):
            found.append((1, name))
            continue
        apart = distance(word, name[:LONGEST], limit)
        if apart <= limit and apart < len(word):
            found.append((apart, name))
    if not found:
        return ()
    best = min(apart for apart, _ in found)
    return tuple(name for apart, name in sorted(found) if apart <= best + 1)[:most]


def did_you_mean(word: str, names: Iterable[str]) -> str:
    """``did you mean old-pump?``, ``did you mean a, b or c?``, or an empty text."""
    near = nearest(word, names)
    if not near:
        return ""
    *first, last = near
    return f"did you mean {', '.join(first)} or {last}?" if first else f"did you mean {last}?"
