"""What stands on an order sheet, measured: boxes with their lines of text, the wires between them, their groups.

A box is as high as its lines need and as wide as `WIDTH`. A line about something on another sheet is a *stub*: it is
folded to one line whatever the sheet's number, so no size hangs on where the sheets are cut."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from jackstay.model.records import Thing
from jackstay.outputs.lettering import wrap_text
from jackstay.outputs.look import TEXT

WIDTH = 208.0
PAD = 5.0  # from the outline to the text
BAND = 6.0  # the actors' patterns along a box's left edge
BADGE = 15.5  # one badge in the heading
BADGES = 17.0  # the height of a row of them
SIGN = 13.0  # room for a line's sign
LINE = 9.2  # of small text, from one baseline to the next
WORDS = 10.4
INSET = 7.0  # how far a hand-over's sides point out
MOST_WORDS = 8  # lines of a heading
MOST_STUBS = 18
GROUP = 8.0  # from a group's outline to its boxes
GROUP_HEAD = 24.0


@dataclass(slots=True)
class Row:
    """One line. sort: ``in``, ``out`` (stubs), ``wait``, ``small``, ``time``, ``call``, ``card``, ``rank``.

    far: keys of the boxes on other sheets that the line names; their sheets stand between head and text. right: what
    stands at the right edge. data: as of `look.step_link`; of a stub, the other end (``data-from``, ``data-to``)."""

    sort: str
    text: str
    head: str = ""
    far: tuple[str, ...] = ()
    right: str = ""
    data: Mapping[str, str] = field(default_factory=dict)
    late: bool = False  # stands below the heading

    def shown(self, where: Mapping[str, str]) -> str:
        """where: box -> the sheet it is on, as it is named in print."""
        if not self.far:
            return self.text
        sheets = list(dict.fromkeys(where.get(key, "?") for key in self.far))
        named = f"sheet{'s' if len(sheets) > 1 else ''} {', '.join(sheets)}"
        return f"{self.head} {named}: {self.text}" if self.text else f"{self.head} {named}"


@dataclass(slots=True)
class Box:
    """A node of a sheet. shape: single, joint, meeting, handover, inserted, hole, card, task. rows: those above the
    heading come first. task: what it belongs to; rank: of that, for tasks. label: its accessible name."""

    key: str
    shape: str
    actors: list[Thing]
    words: str
    rows: list[Row]
    label: str
    data: Mapping[str, str]
    group: str = ""
    rank: str = ""
    critical: bool = False
    lines: list[str] = field(default_factory=list)
    height: float = 0.0

    @property
    def left(self) -> float:
        """From the box's left edge to its text."""
        return BAND + PAD + (INSET if self.shape in ("handover", "meeting") else 0)

    @property
    def room(self) -> float:
        """The width of its text."""
        right = {"handover": INSET, "meeting": INSET, "card": 6.0}.get(self.shape, 0.0)
        return WIDTH - self.left - PAD - right

    def measure(self) -> None:
        badges = BADGE * len(self.actors)
        beside = badges + 1.5 if self.badges_beside else 0
        self.lines = wrap_text(self.words, TEXT, self.room - beside, MOST_WORDS, True)
        above = sum(not row.late for row in self.rows)
        heading = max(WORDS * len(self.lines), BADGES if beside else 0) + (0 if beside or not badges else BADGES)
        self.height = 2 * PAD + above * LINE + heading + (len(self.rows) - above) * LINE

    @property
    def badges_beside(self) -> bool:
        """Whether the badges stand beside the heading, not above it."""
        return BADGE * len(self.actors) <= self.room * 0.45


@dataclass(frozen=True, slots=True)
class Wire:
    """From box to box of one panel. sort as of `order_graph.Link`; both: the two take turns. data: its two ends."""

    tail: str
    head: str
    sort: str
    label: str
    actor: Thing | None = None
    critical: bool = False
    both: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """A task's frame round its boxes. rank: as written."""

    key: str
    title: str
    about: str
    rank: str
    data: Mapping[str, str]


@dataclass(slots=True)
class Panel:
    """What is laid out together. head: what stands over it, for sections: (title, line below)."""

    boxes: dict[str, Box]
    wires: list[Wire]
    groups: list[Group] = field(default_factory=list)
    head: tuple[str, str] | None = None
    data: Mapping[str, str] = field(default_factory=dict)


def stubs(rows: list[Row], most: int = MOST_STUBS) -> list[Row]:
    """As many as are printed; of more, the last says how many are left out."""
    if len(rows) <= most:
        return rows
    far = tuple(dict.fromkeys(key for row in rows[most - 1 :] for key in row.far))
    words = f"{len(rows) - most + 1} more"
    return [*rows[: most - 1], Row(rows[most].sort, words, "and", far[:4], late=rows[most].late)]
