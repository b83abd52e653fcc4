"""The tree of a plan file: one node a statement, as written, nothing resolved.

Columns are kept relative to the statement (``At``), so that equal lines share one node however often they occur;
`File.span` turns them into places. Every form is described in ``grammar/README.md``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from jackstay.source.spans import Span


class At(NamedTuple):
    """Where a word stands: lines below the statement's first line, and columns."""

    down: int
    start: int
    end: int


class Name(NamedTuple):
    """A name or a word, as written (``old-pump``, ``first.cassette``, ``ITEM``)."""

    text: str
    at: At


# --- values and formulas -----------------------------------------------------------------------------------------


class Number(NamedTuple):
    text: str  # "18.5": converted exactly, later
    at: At


class UnitTerm(NamedTuple):
    """A product of powers of unit names: ``m/s`` is (("m", 1), ("s", -1))."""

    powers: tuple[tuple[str, int], ...]
    at: At


class Quantity(NamedTuple):
    """``6 h 30 min``: number texts with their units, to be added."""

    parts: tuple[tuple[str, UnitTerm], ...]
    at: At


class Text(NamedTuple):
    value: str
    at: At


class PropertyOf(NamedTuple):
    prop: Name
    of: Name
    at: At


class Binary(NamedTuple):
    op: str  # + - * /
    left: "Formula"
    right: "Formula"
    at: At


class Lookup(NamedTuple):
    table: Name
    argument: "Formula"
    at: At


Formula = Number | Quantity | Name | PropertyOf | Binary | Lookup


# --- literals ----------------------------------------------------------------------------------------------------


class Ref(NamedTuple):
    """What stands as a subject or object of a literal.

    quant: "" (a plain name, slot, ``actor``, ``helper``, ``here``), or one of everyone, anyone, nobody, everything,
    anything, nothing, a (``an`` is given as ``a``). kind: after ``of`` / ``a`` / the colon of a rule's slot."""

    quant: str
    name: Name | None
    kind: Name | None
    at: At


class Attached(NamedTuple):
    """``X [not] on|in [MANNER of] Y``"""

    subject: Ref
    negated: bool
    word: str  # on, in
    manner: Name | None
    object: Ref
    at: At


class Located(NamedTuple):
    """``X [not] at P``"""

    subject: Ref
    negated: bool
    object: Ref
    at: At


class Reach(NamedTuple):
    """``X [not] in reach [of Y]``; object None means the actor."""

    subject: Ref
    negated: bool
    object: Ref | None
    at: At


class LineEnd(NamedTuple):
    """``L [not] from|to Y``"""

    subject: Ref
    negated: bool
    end: str  # from, to
    object: Ref
    at: At


class Compared(NamedTuple):
    """``[PROP of] X is [not] V``, ``PROP of X at least|at most FORMULA``. prop None: the short form."""

    prop: Name | None
    subject: Ref
    negated: bool
    op: str  # is, least, most
    value: Formula
    at: At


class WorkingOn(NamedTuple):
    subject: Ref
    negated: bool
    object: Ref
    at: At


class MovingAt(NamedTuple):
    subject: Ref
    negated: bool
    object: Ref
    at: At


Literal = Attached | Located | Reach | LineEnd | Compared | WorkingOn | MovingAt


class Effect(NamedTuple):
    literal: Literal
    from_afar: bool
    at: At


# --- statements: at the top ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Use:
    module: Name  # may hold slashes
    alias: Name | None


@dataclass(frozen=True, slots=True)
class Let:
    name: Name
    value: Formula


@dataclass(frozen=True, slots=True)
class Dimension:
    name: Name


@dataclass(frozen=True, slots=True)
class UnitDecl:
    """``unit kg measures mass`` (measures set), ``unit N = kg*m/s^2`` or ``unit lb = 0.4 kg`` (factor "1" or its text,
    term), ``unit degC = 1 K from 273.15 K`` (zero set, in the unit of term)."""

    name: Name
    measures: Name | None
    factor: str
    term: UnitTerm | None
    zero: str | None


@dataclass(frozen=True, slots=True)
class Table:
    """``table NAME by WORD in UNIT gives UNIT, round up|round down|exact``"""

    name: Name
    argument: Name
    argument_unit: UnitTerm | None
    result_unit: UnitTerm | None
    rounding: str  # up, down, exact


@dataclass(frozen=True, slots=True)
class Row:
    key: Number
    value: Number


@dataclass(frozen=True, slots=True)
class Kind:
    name: Name
    title: Text | None
    parents: tuple[Name, ...]


@dataclass(frozen=True, slots=True)
class Has:
    """type: exactly one of values, count, unit, kind is set."""

    name: Name
    values: tuple[Name, ...]
    count: bool
    type: UnitTerm | None  # a unit term, or a single word that may turn out to be a kind
    normally: Formula | None  # Name("all") for a count's total
    usually: Formula | None


@dataclass(frozen=True, slots=True)
class Holds:
    limit: Number | Name | None  # None: any
    kind: Name | None
    manner: Name
    counting: Name | None


@dataclass(frozen=True, slots=True)
class Carries:
    prop: Name
    limit: Formula


@dataclass(frozen=True, slots=True)
class Admits:
    limit: Number | Name
    kind: Name | None


@dataclass(frozen=True, slots=True)
class Flag:
    """``ends 2``, ``length PROP``, ``ground``, ``inside``"""

    name: Name
    value: Number | Name | None


@dataclass(frozen=True, slots=True)
class Supply:
    name: Name
    amount: Quantity


# clauses of a thing


@dataclass(frozen=True, slots=True)
class SetTo:
    """``PROP VALUE`` or ``PROP N of M``"""

    prop: Name
    value: Formula
    total: Number | None


@dataclass(frozen=True, slots=True)
class Normally:
    value: Formula


@dataclass(frozen=True, slots=True)
class Placed:
    word: str  # on, in, at
    manner: Name | None
    holder: Name


@dataclass(frozen=True, slots=True)
class Ends:
    start: Name
    end: Name


@dataclass(frozen=True, slots=True)
class Within:
    places: tuple[Name, ...]


@dataclass(frozen=True, slots=True)
class RunBy:
    actor: Name


@dataclass(frozen=True, slots=True)
class Reaches:
    places: tuple[Name, ...]


ThingClause = SetTo | Normally | Placed | Ends | Within | RunBy | Reaches


@dataclass(frozen=True, slots=True)
class Thing:
    """sort is "" in an area's children (they are locations). A bare word after a list clause has been joined to it."""

    sort: str  # actor, item, location
    names: tuple[Name, ...]
    title: Text | None
    range: tuple[int, int] | None
    kind: Name | None  # None: an area
    clauses: tuple[ThingClause, ...]


@dataclass(frozen=True, slots=True)
class Path:
    a: Name
    b: Name
    length: Formula
    line_kind: Name | None
    line_place: Name | None


# actions and routines


@dataclass(frozen=True, slots=True)
class PatternPart:
    """A fixed word (``words``: one or two that may stand there; "," is a word too) or a slot."""

    words: tuple[str, ...]
    slot: Name | None
    kinds: tuple[Name, ...]  # kinds of the slot; Name("count") and Name("text") are special
    at: At


@dataclass(frozen=True, slots=True)
class Action:
    pattern: tuple[PatternPart, ...]


@dataclass(frozen=True, slots=True)
class Routine:
    pattern: tuple[PatternPart, ...]


@dataclass(frozen=True, slots=True)
class By:
    kinds: tuple[Name, ...]
    helper: tuple[Name, ...]
    along: tuple[Name, ...]  # slots whose actors are occupied too


@dataclass(frozen=True, slots=True)
class Needs:
    literals: tuple[Literal, ...]


@dataclass(frozen=True, slots=True)
class During:
    literals: tuple[Literal, ...]


@dataclass(frozen=True, slots=True)
class Uses:
    literals: tuple[Literal, ...]


@dataclass(frozen=True, slots=True)
class WorksOn:
    refs: tuple[Ref, ...]


@dataclass(frozen=True, slots=True)
class Makes:
    effects: tuple[Effect, ...]


@dataclass(frozen=True, slots=True)
class Serves:
    literal: Literal
    along_paths: bool


@dataclass(frozen=True, slots=True)
class Takes:
    value: Formula


@dataclass(frozen=True, slots=True)
class Effort:
    level: Name


@dataclass(frozen=True, slots=True)
class May:
    outcome: Text  # words joined by single blanks


@dataclass(frozen=True, slots=True)
class CanStop:
    after: Formula | None  # None: cannot stop
    leaves: tuple[Literal, ...]


@dataclass(frozen=True, slots=True)
class Rule:
    name: Name
    title: Text | None


@dataclass(frozen=True, slots=True)
class Never:
    literals: tuple[Literal, ...]
    meanwhile: tuple[Literal, ...]


@dataclass(frozen=True, slots=True)
class Always:
    literals: tuple[Literal, ...]
    meanwhile: tuple[Literal, ...]


# --- statements: campaigns and excursions ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Campaign:
    name: Name
    title: Text | None


@dataclass(frozen=True, slots=True)
class Excursions:
    names: tuple[Name, ...]


@dataclass(frozen=True, slots=True)
class Excursion:
    name: Name
    title: Text | None


@dataclass(frozen=True, slots=True)
class Crew:
    members: tuple[tuple[Name, Name | None], ...]  # (actor, role)


@dataclass(frozen=True, slots=True)
class Starts:
    how: str  # ends (as NAME ends), promise, as
    name: Name


@dataclass(frozen=True, slots=True)
class Clock:
    origin: str | None  # words after "clock from"
    limit: Formula | None
    reserve: Formula | None


@dataclass(frozen=True, slots=True)
class Light:
    dark: Formula
    every: Formula
    first: Formula


class Bound(NamedTuple):
    """sort: says, on, while, by, not-before, within, light, expect, after, with, was (names and formulas as fit)."""

    sort: str
    names: tuple[Name, ...]
    formulas: tuple[Formula, ...]
    at: At


class Guard(NamedTuple):
    literals: tuple[Literal, ...]
    at: At


@dataclass(frozen=True, slots=True)
class Task:
    name: Name
    title: Text | None
    rank: Name
    bounds: tuple[Bound | Guard, ...]


@dataclass(frozen=True, slots=True)
class Fallback:
    name: Name
    title: Text | None
    mark: Name | None
    instead: tuple[Name, ...]
    then: tuple[Name, ...]


class Bracket(NamedTuple):
    """``[12 min]`` likely only; ``[9 to 20 min]`` least and most; ``[12 min, 9 to 20]`` all three. Quantities all."""

    likely: Quantity | None
    least: Quantity | None
    most: Quantity | None
    at: At


PhraseWord = Name | Number | Quantity | Text


@dataclass(frozen=True, slots=True)
class Phrase:
    """A heading, a step or a routine's call: told apart later, by its words. A comma inside is Name(",")."""

    words: tuple[PhraseWord, ...]
    bracket: Bracket | None
    bounds: tuple[Bound, ...]


@dataclass(frozen=True, slots=True)
class Hole:
    pass


@dataclass(frozen=True, slots=True)
class Remark:
    sort: str  # warning, caution, note, because
    text: Text


@dataclass(frozen=True, slots=True)
class If:
    outcome: Text
    fallback: Name | None  # None: go on


@dataclass(frozen=True, slots=True)
class DoneWhen:
    literals: tuple[Literal, ...]


@dataclass(frozen=True, slots=True)
class LeftOutside:
    names: tuple[Name, ...]
    until: Name | None


@dataclass(frozen=True, slots=True)
class ComesInside:
    names: tuple[Name, ...]


@dataclass(frozen=True, slots=True)
class LeftSo:
    literals: tuple[Literal, ...]
    until: Name | None


@dataclass(frozen=True, slots=True)
class Allow:
    rule: Name
    because: Text | None
    until: str | None  # an ISO date
    until_at: At | None


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A statement that the parser could not read; its finding has been made, its children are kept unread."""

    text: str


Node = (
    Use | Let | Dimension | UnitDecl | Table | Row | Kind | Has | Holds | Carries | Admits | Flag | Supply | Thing
    | Path | Action | Routine | By | Needs | During | Uses | WorksOn | Makes | Serves | Takes | Effort | May | CanStop
    | Rule | Never | Always | Campaign | Excursions | Excursion | Crew | Starts | Clock | Light | Task | Fallback
    | Phrase | Hole | Remark | If | DoneWhen | LeftOutside | ComesInside | LeftSo | Allow | Unreadable
)


@dataclass(slots=True)
class Statement:
    """One logical line: its node, the columns of its text, and what is indented under it."""

    line: int
    start: int
    end: int
    node: Node
    children: list["Statement"] = field(default_factory=list)


@dataclass(slots=True)
class File:
    """A parsed file. ``path`` as in `Span`; ``comments`` maps a line to its comment's text, for the formatter."""

    path: str
    statements: list[Statement]
    comments: dict[int, str] = field(default_factory=dict)

    def span(self, statement: Statement, at: At | None = None) -> Span:
        """The place of a word of a statement, or of the statement's first line."""
        if at is None:
            return Span(self.path, statement.line, statement.start, statement.end)
        return Span(self.path, statement.line + at.down, at.start, at.end)
