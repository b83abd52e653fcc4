"""The tree of a plan file: one node a statement, as written, nothing resolved.

Columns are kept relative to the statement (``At``), so that equal lines share one node however often they occur;
`File.span` turns them into places. Every form is described in ``grammar/README.md``.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from jackstay.source.record import Record, fresh
from jackstay.source.spans import Span
from jackstay.syntax.tree_forms import Asks as Asks
from jackstay.syntax.tree_forms import Blank as Blank
from jackstay.syntax.tree_forms import Fill as Fill
from jackstay.syntax.tree_forms import Fills as Fills
from jackstay.syntax.tree_forms import Form as Form
from jackstay.syntax.tree_forms import Heading as Heading
from jackstay.syntax.tree_forms import Lists as Lists
from jackstay.syntax.tree_forms import Origin as Origin
from jackstay.syntax.tree_forms import WordDecl as WordDecl
from jackstay.syntax.tree_hazards import Exposes as Exposes
from jackstay.syntax.tree_hazards import Hazard as Hazard
from jackstay.syntax.tree_hazards import Spread as Spread
from jackstay.syntax.tree_hazards import Unless as Unless
from jackstay.syntax.tree_hazards import When as When
from jackstay.syntax.tree_hazards import WordLine as WordLine
from jackstay.syntax.tree_hazards import Words as Words
from jackstay.syntax.tree_times import Begins as Begins
from jackstay.syntax.tree_times import BodyDecl as BodyDecl
from jackstay.syntax.tree_times import Brings as Brings
from jackstay.syntax.tree_times import Clock as Clock
from jackstay.syntax.tree_times import EffortDecl as EffortDecl
from jackstay.syntax.tree_times import Expects as Expects
from jackstay.syntax.tree_times import Idle as Idle
from jackstay.syntax.tree_times import Light as Light
from jackstay.syntax.tree_times import NoFaster as NoFaster
from jackstay.syntax.tree_times import Orbit as Orbit
from jackstay.syntax.tree_times import SlowDay as SlowDay
from jackstay.syntax.tree_times import Supply as Supply
from jackstay.syntax.tree_times import Takes as Takes
from jackstay.syntax.tree_times import Together as Together
from jackstay.syntax.values import At as At
from jackstay.syntax.values import Binary as Binary
from jackstay.syntax.values import Formula as Formula
from jackstay.syntax.values import Lookup as Lookup
from jackstay.syntax.values import Name as Name
from jackstay.syntax.values import Number as Number
from jackstay.syntax.values import PropertyOf as PropertyOf
from jackstay.syntax.values import Quantity as Quantity
from jackstay.syntax.values import Text as Text
from jackstay.syntax.values import UnitTerm as UnitTerm

_new: Any = tuple.__new__  # places are made by the hundred thousand: past the constructor of named tuples


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


class Sight(NamedTuple):
    """``X [not] in sight of Y``"""

    subject: Ref
    negated: bool
    object: Ref
    at: At


class LineEnd(NamedTuple):
    """``L [not] from|to Y``"""

    subject: Ref
    negated: bool
    end: str  # from, to
    object: Ref
    at: At


class Compared(NamedTuple):
    """``[PROP of] X is [not] V``, ``PROP of X at least|at most FORMULA``. prop None: the short form.

    aboard: of ``PROP of everything of KIND on X``: the X."""

    prop: Name | None
    subject: Ref
    negated: bool
    op: str  # is, least, most
    value: Formula
    at: At
    aboard: Ref | None = None


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


Literal = Attached | Located | Reach | Sight | LineEnd | Compared | WorkingOn | MovingAt


class Effect(NamedTuple):
    literal: Literal
    from_afar: bool
    at: At


# --- statements: at the top ----------------------------------------------------------------------------------------


class Use(Record):
    module: Name  # may hold slashes
    alias: Name | None


class Let(Record):
    name: Name
    value: Formula
    origin: Origin | None = None


class Dimension(Record):
    name: Name


class UnitDecl(Record):
    """``unit kg measures mass`` (measures set), ``unit N = kg*m/s^2`` or ``unit lb = 0.4 kg`` (factor "1" or its text,
    term), ``unit degC = 1 K from 273.15 K`` (zero set, in the unit of term)."""

    name: Name
    measures: Name | None
    factor: str
    term: UnitTerm | None
    zero: str | None


class Table(Record):
    """``table NAME by WORD in UNIT gives UNIT, round up|round down|exact``"""

    name: Name
    argument: Name
    argument_unit: UnitTerm | None
    result_unit: UnitTerm | None
    rounding: str  # up, down, exact
    origin: Origin | None = None


class Row(Record):
    key: Number
    value: Number


class Kind(Record):
    name: Name
    title: Text | None
    parents: tuple[Name, ...]


class Has(Record):
    """type: exactly one of values, count, unit, kind is set."""

    name: Name
    values: tuple[Name, ...]
    count: bool
    type: UnitTerm | None  # a unit term, or a single word that may turn out to be a kind
    normally: Formula | None  # Name("all") for a count's total
    usually: Formula | None
    origin: Origin | None = None


class Holds(Record):
    limit: Number | Name | None  # None: any
    kind: Name | None
    manner: Name
    counting: Name | None


class Carries(Record):
    prop: Name
    limit: Formula
    origin: Origin | None = None


class Admits(Record):
    limit: Number | Name
    kind: Name | None


class Flag(Record):
    """``ends 2``, ``length PROP``, ``ground``, ``inside [, one by one in TIME]``"""

    name: Name
    value: Number | Name | Formula | None


# clauses of a thing


class SetTo(Record):
    """``PROP VALUE`` or ``PROP N of M``"""

    prop: Name
    value: Formula
    total: Number | None


class Normally(Record):
    value: Formula


class Placed(Record):
    word: str  # on, in, at
    manner: Name | None
    holder: Name


class Ends(Record):
    start: Name
    end: Name


class Within(Record):
    places: tuple[Name, ...]


class RunBy(Record):
    actor: Name


class Reaches(Record):
    places: tuple[Name, ...]


class Sees(Record):
    places: tuple[Name, ...]


ThingClause = SetTo | Normally | Placed | Ends | Within | RunBy | Reaches | Sees


class Thing(Record):
    """sort is "" in an area's children (they are locations). A bare word after a list clause has been joined to it."""

    sort: str  # actor, item, location
    names: tuple[Name, ...]
    title: Text | None
    range: tuple[int, int] | None
    kind: Name | None  # None: an area
    clauses: tuple[ThingClause, ...]


class Path(Record):
    a: Name
    b: Name
    length: Formula
    line_kind: Name | None
    line_place: Name | None


# actions and routines


class PatternPart(Record):
    """A fixed word (``words``: one or two that may stand there; "," is a word too) or a slot."""

    words: tuple[str, ...]
    slot: Name | None
    kinds: tuple[Name, ...]  # kinds of the slot; Name("count") and Name("text") are special
    at: At


class Action(Record):
    pattern: tuple[PatternPart, ...]


class Routine(Record):
    pattern: tuple[PatternPart, ...]


class By(Record):
    kinds: tuple[Name, ...]
    helper: tuple[Name, ...]
    along: tuple[Name, ...]  # slots whose actors are occupied too


class Needs(Record):
    literals: tuple[Literal, ...]


class During(Record):
    literals: tuple[Literal, ...]


class Uses(Record):
    literals: tuple[Literal, ...]


class WorksOn(Record):
    refs: tuple[Ref, ...]


class Makes(Record):
    effects: tuple[Effect, ...]


class Serves(Record):
    literal: Literal
    along_paths: bool


class Effort(Record):
    level: Name


class May(Record):
    outcome: Text  # words joined by single blanks


class CanStop(Record):
    after: Formula | None  # None: cannot stop
    leaves: tuple[Literal, ...]


class Rule(Record):
    name: Name
    title: Text | None


class Never(Record):
    literals: tuple[Literal, ...]
    meanwhile: tuple[Literal, ...]
    longer: Formula | None = None  # never ... longer than TIME
    again: Formula | None = None  # never ... again within TIME


class Always(Record):
    literals: tuple[Literal, ...]
    meanwhile: tuple[Literal, ...]
    every: Formula | None = None  # always ... made again every TIME


# --- statements: campaigns and excursions ----------------------------------------------------------------------------


class Campaign(Record):
    name: Name
    title: Text | None


class Excursions(Record):
    names: tuple[Name, ...]


class Excursion(Record):
    name: Name
    title: Text | None


class Crew(Record):
    members: tuple[tuple[Name, Name | None], ...]  # (actor, role)


class Starts(Record):
    how: str  # ends (as NAME ends), promise, as
    name: Name


class Bound(NamedTuple):
    """sort: says, on, while, by, not-before, within, light, expect, after, with, was (names and formulas as fit)."""

    sort: str
    names: tuple[Name, ...]
    formulas: tuple[Formula, ...]
    at: At


class Guard(NamedTuple):
    literals: tuple[Literal, ...]
    at: At


class Task(Record):
    name: Name
    title: Text | None
    rank: Name
    bounds: tuple[Bound | Guard, ...]


class Fallback(Record):
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


class Phrase(NamedTuple):
    """A heading, a step or a routine's call: told apart later, by its words. A comma inside is Name(",")."""

    words: tuple[PhraseWord, ...]
    bracket: Bracket | None
    bounds: tuple[Bound, ...]


class Hole(Record):
    pass


class Remark(Record):
    """of: the hazards that it warns of."""

    sort: str  # warning, caution, note, because
    text: Text
    of: tuple[Name, ...] = ()


class If(Record):
    outcome: Text
    fallback: Name | None  # None: go on


class DoneWhen(Record):
    literals: tuple[Literal, ...]


class LeftOutside(Record):
    names: tuple[Name, ...]
    until: Name | None


class ComesInside(Record):
    names: tuple[Name, ...]


class LeftSo(Record):
    literals: tuple[Literal, ...]
    until: Name | None


class Allow(Record):
    rule: Name
    because: Text | None
    until: str | None  # an ISO date
    until_at: At | None


class Unreadable(Record):
    """A statement that the parser could not read; its finding has been made, its children are kept unread."""

    text: str


# fmt: off
Node = (
    Use | Let | Dimension | UnitDecl | Table | Row | Kind | Has | Holds | Carries | Admits | Flag | Supply | Idle
    | Brings | EffortDecl | BodyDecl | Thing | Path | Action | Routine | By | Needs | During | Uses | WorksOn
    | Makes | Serves | Takes | Effort | May | CanStop | Rule | Never | Always | Campaign | Excursions | Excursion
    | Crew | Starts | Clock | Light | Orbit | SlowDay | Together | Begins | Task | Fallback | Phrase | Hole | Remark
    | NoFaster | Expects | Origin | Form | Heading | Lists | Blank | Asks | WordDecl | Fills | Fill
    | Hazard | Exposes | Unless | Spread | When | Words | WordLine
    | If | DoneWhen | LeftOutside | ComesInside | LeftSo | Allow | Unreadable
)
# fmt: on


class Statement(NamedTuple):
    """One logical line: its node, the columns of its text, and what is indented under it."""

    line: int
    start: int
    end: int
    node: Node
    children: list["Statement"]


class File(Record):
    """A parsed file. ``path`` as in `Span`; ``comments`` maps a line to its comment's text, for the formatter."""

    path: str
    statements: list[Statement]
    comments: dict[int, str] = fresh(factory=dict)

    def span(self, statement: Statement, at: At | None = None) -> Span:
        """The place of a word of a statement, or of the statement's first line."""
        line, start, end, _, _ = statement
        if at is not None:
            down, start, end = at
            line += down
        return _new(Span, (self.path, line, start, end))  # type: ignore[no-any-return]
