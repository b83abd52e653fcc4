"""Findings that appear and disappear. A line that moves, or a name that is another now, makes no new finding; and what
nobody has looked for on one side, because the plan could not be followed so far, is neither there nor gone. What a side
allows or turns off is not gone either: it is told with that decision."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from typing import Any

from jackstay.comparing.names import Names
from jackstay.comparing.read_declared import at_line
from jackstay.comparing.records import Change, Finding, FindingAppeared, FindingGone, FindingReworded, NotCompared
from jackstay.diagnostics.aside import How
from jackstay.diagnostics.records import Diagnostic
from jackstay.rules.registry import family
from jackstay.source.record import replaced

Row = tuple[Diagnostic, str]  # the finding, and its line in the plan


def finding_changes(old: Any, new: Any, names: Names) -> Iterator[Change]:
    """old, new: anything with ``diagnostics``, ``sources`` and ``judged``, and ``aside`` if there is any. First what is
    said alike, then what is said otherwise at a line that reads alike."""
    gone, come = _rows(old), _rows(new)
    for same in (_word_for_word, _but_for_names):
        pairs = _paired(gone, come, same, names)
        gone, come = _rest(gone, come, pairs)
    by_line = _paired(gone, come, _at_the_same_line, names)
    for i, j in by_line:
        yield FindingReworded(_finding(gone[i][0]), _finding(come[j][0]))
    gone, come = _rest(gone, come, by_line)
    for diagnostic, _ in gone:
        if _looked_for(diagnostic, new):
            yield FindingGone(_finding(diagnostic))
    for diagnostic, _ in come:
        if _looked_for(diagnostic, old):
            yield FindingAppeared(_finding(diagnostic))
    unseen = [
        [_finding(one) for one, _ in rows if not _looked_for(one, other)] for rows, other in ((come, old), (gone, new))
    ]
    if any(unseen):
        yield NotCompared(None, "findings", *(_unseen(rows) for rows in unseen))


def _looked_for(diagnostic: Diagnostic, side: Any) -> bool:
    return side.judged is None or family(diagnostic.rule) in side.judged


def _unseen(rows: list[Finding]) -> str | None:
    """Why a side says nothing of what the other has found."""
    told = ", ".join(f"{one.rule} ({one.at})" for one in rows)
    return f"nobody has looked for what the other has: {told}" if told else None


def _rows(side: Any) -> list[Row]:
    """Those that are set aside among them, with who decided that and why as part of what they say."""
    found = list(side.diagnostics)
    for one in getattr(side, "aside", ()):
        if one.how is not How.LOWERED:
            found.append(replaced(one.finding, message=f"{one.finding.message} ({one.decision})"))
    return [(one, at_line(side.sources, one.at)) for one in sorted(found, key=Diagnostic.order)]


def _word_for_word(one: Row, other: Row, names: Names) -> bool:
    return one[0].message == other[0].message and one[0].severity is other[0].severity


def _but_for_names(one: Row, other: Row, names: Names) -> bool:
    return names.same(one[0].message, other[0].message) and one[0].severity is other[0].severity


def _at_the_same_line(one: Row, other: Row, names: Names) -> bool:
    return names.same(one[1], other[1])


def _paired(
    gone: list[Row], come: list[Row], same: Callable[[Row, Row, Names], bool], names: Names
) -> list[tuple[int, int]]:
    """Of findings of one rule in one file, those that are the same, in their order."""
    places: defaultdict[tuple[str, str], list[int]] = defaultdict(list)
    for j, (diagnostic, _) in enumerate(come):
        places[diagnostic.rule, diagnostic.at.path].append(j)
    found = []
    for i, row in enumerate(gone):
        others = places[row[0].rule, row[0].at.path]
        at = next((j for j in others if same(row, come[j], names)), None)
        if at is not None:
            others.remove(at)
            found.append((i, at))
    return found


def _rest(gone: list[Row], come: list[Row], pairs: list[tuple[int, int]]) -> tuple[list[Row], list[Row]]:
    olds, news = {i for i, _ in pairs}, {j for _, j in pairs}
    return (
        [row for i, row in enumerate(gone) if i not in olds],
        [row for j, row in enumerate(come) if j not in news],
    )


def _finding(diagnostic: Diagnostic) -> Finding:
    at = diagnostic.at
    place = f"{at.path}:{at.line}" if at.path else ""
    return Finding(diagnostic.rule, diagnostic.severity.value, diagnostic.message, place)
