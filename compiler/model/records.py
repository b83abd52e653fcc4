"""The checked world of a campaign: what exists, what can be done, and what is to be done, all names resolved.

Everything here is built once by ``model.from_syntax`` and not changed afterwards. Things, kinds and actions compare by
identity. Quantities are exact fractions in the base units of their dimension (minutes are 60 s)."""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple, Union

from jackstay.model.crew_records import LeftState as LeftState
from jackstay.model.crew_records import LeftThing as LeftThing
from jackstay.model.crew_records import Member as Member
from jackstay.model.form_records import Filled as Filled
from jackstay.model.form_records import Form as Form
from jackstay.model.form_records import Heading as Heading
from jackstay.model.form_records import Origin as Origin
from jackstay.model.form_records import Query as Query
from jackstay.model.hazard_records import Hazard as Hazard
from jackstay.model.hazard_records import Spread as Spread
from jackstay.model.hazard_records import WordList as WordList
from jackstay.model.time_records import Begins as Begins
from jackstay.model.time_records import Body as Body
from jackstay.model.time_records import Effort as Effort
from jackstay.model.time_records import EffortRate as EffortRate
from jackstay.model.time_records import Light as Light
from jackstay.model.time_records import Rescue as Rescue
from jackstay.model.time_records import SlowDay as SlowDay
from jackstay.model.time_records import Supply as Supply
from jackstay.model.time_records import Together as Together
from jackstay.source.record import Entity, fresh
from jackstay.source.spans import NOWHERE, Span

Dimension = tuple[tuple[str, int], ...]  # sorted (base dimension, power); () is a bare number
NO_DIMENSION: Dimension = ()
GROUND = "ground"  # the manner of what lies at a location with ground


class Unit(NamedTuple):
    """factor: base units in one of this unit. zero: what the scale's zero is, in base units."""

    name: str
    dimension: Dimension
    factor: Fraction
    zero: Fraction
    decl: Span


class Measure(NamedTuple):
    """A quantity as computed (base units) and as written (for printing). origins: of the figures it is made from."""

    value: Fraction
    dimension: Dimension
    text: str
    origins: tuple[Origin, ...] = ()


class Allowance(NamedTuple):
    """``allow RULE because … until …``: hides findings of the rule between two lines of a file."""

    rule: str
    path: str
    first_line: int
    last_line: int
    at: Span
    reason: str | None
    until: str | None


# --- kinds ---------------------------------------------------------------------------------------------------------

Value = Union[str, Fraction, "Thing", None]  # a finite value's word, a count or quantity, a referred thing, unset


class Property(Entity):
    """sort: values, count, quantity, thing."""

    name: str
    sort: str
    values: tuple[str, ...]
    dimension: Dimension
    kind: "Kind | None"
    normally: Value
    normally_total: bool  # "normally all"
    usually: Value
    decl: Span
    origin: Origin | None = None
    unit: str = ""  # of a quantity, as its kind writes it
    scale: tuple[Fraction, Fraction] = (Fraction(1), Fraction(0))  # base units in one of it, and where its zero is


class Hold(Entity):
    """At most ``limit`` (None: any; a property name: the holder's count) things of ``kind`` by this manner."""

    manner: str
    limit: int | str | None
    kind: "Kind | None"
    counting: str | None
    decl: Span


class Carry(NamedTuple):
    prop: str
    limit: Measure
    decl: Span
    origin: Origin | None = None


class Admit(NamedTuple):
    limit: int | str
    kind: "Kind | None"
    decl: Span


class Kind(Entity):
    """A kind with everything inherited folded in. lineage: itself and all it is, nearest first."""

    name: str
    title: str
    sort: str  # actor, item, location, thing
    decl: Span
    parents: tuple["Kind", ...] = ()
    lineage: tuple["Kind", ...] = ()
    properties: dict[str, Property] = fresh(factory=dict)
    holds: tuple[Hold, ...] = ()
    carries: tuple[Carry, ...] = ()
    admits: tuple[Admit, ...] = ()
    supplies: tuple[Supply, ...] = ()
    ground: bool = False
    inside: bool = False
    one_by_one: Measure | None = None  # how long each takes to come in, one after the other
    idle: Effort | None = None  # what waiting costs
    rescues: tuple[Rescue, ...] = ()
    ends: bool = False
    length: str | None = None

    def is_a(self, other: "Kind") -> bool:
        return other in self.lineage


# --- things --------------------------------------------------------------------------------------------------------


class Holding(NamedTuple):
    """One attachment: how, and on what."""

    manner: str
    holder: "Thing"


class Thing(Entity):
    """An actor, item or location. The ``*_var`` numbers index a state; -1 where the thing has no such variable.

    values: properties that never change are read here too (the initial value). totals: a count's total, if written.
    normal: property -> how it must stand at an excursion's end."""

    index: int
    name: str
    title: str
    sort: str
    kind: Kind
    decl: Span
    group: str | None = None
    area: str | None = None
    values: dict[str, Value] = fresh(factory=dict)
    texts: dict[str, str] = fresh(factory=dict)  # values as written
    totals: dict[str, Fraction] = fresh(factory=dict)
    normal: dict[str, Value] = fresh(factory=dict)
    placed: tuple[Holding, ...] = ()
    place: "Thing | None" = None
    from_end: "Thing | None" = None
    to_end: "Thing | None" = None
    near: tuple["Thing", ...] = ()  # a fitting: the places within reach
    stations: frozenset[int] = frozenset()  # a location: indices of itself and the places within reach
    runner: "Thing | None" = None
    reaches: tuple["Thing", ...] = ()
    sees: tuple["Thing", ...] = ()  # a location: the places in sight of it, both ways
    place_var: int = -1
    held_var: int = -1
    from_var: int = -1
    to_var: int = -1
    prop_vars: dict[str, int] = fresh(factory=dict)

    def __repr__(self) -> str:
        return f"<{self.name}>"


class Var(NamedTuple):
    """A state variable. sort: place, held, from, to, property."""

    id: int
    sort: str
    thing: Thing
    prop: str


class Path(NamedTuple):
    a: Thing
    b: Thing
    length: Measure
    line_kind: Kind | None
    line_place: Thing | None
    decl: Span


class TableRow(NamedTuple):
    key: Fraction
    value: Fraction


class Table(Entity):
    """Keys ascending, in base units."""

    name: str
    argument: Dimension
    result: Dimension
    rounding: str
    rows: tuple[TableRow, ...]
    decl: Span
    origin: Origin | None = None


# --- terms, formulas, tests ------------------------------------------------------------------------------------------


class Slot(NamedTuple):
    """A place in a binding: 0 the actor, 1 the helper, 2 and up an action's own slots. In a rule: its slots from 0."""

    index: int  # type: ignore[assignment]
    name: str
    kinds: tuple[Kind, ...]


class Here(NamedTuple):
    """The location the actor is at."""

    name: str = "here"


class Quantified(NamedTuple):
    """quant: every (everyone, everything), some (anyone, anything, a), none (nobody, nothing). word: as written."""

    quant: str
    kind: Kind
    word: str
    crew: bool = False  # of actors only the excursion's crew counts: that one more is there makes the plan hold


Term = Slot | Here | Quantified | Thing


class Const(NamedTuple):
    value: Value
    dimension: Dimension
    text: str
    origins: tuple[Origin, ...] = ()


class SlotNumber(NamedTuple):
    slot: Slot


class PropertyValue(NamedTuple):
    prop: str
    term: Term
    dimension: Dimension


class TotalOf(NamedTuple):
    """``all``: a count's total."""

    prop: str
    term: Term


class RouteLength(NamedTuple):
    dimension: Dimension


class Arithmetic(NamedTuple):
    op: str
    left: "Formula"
    right: "Formula"
    dimension: Dimension


class TableLookup(NamedTuple):
    table: Table
    argument: "Formula"
    dimension: Dimension


Formula = (
    Const | SlotNumber | PropertyValue | TotalOf | RouteLength | Arithmetic | TableLookup | EffortRate | Slot | Thing
)


class Test(NamedTuple):
    """A resolved literal. op: attached, located, reach, sight, from, to, is, least, most, working, moving, done.

    a, b: the terms (b None for property tests). manner: of ``attached``, or None for any. prop: of is/least/most."""

    op: str
    negated: bool
    a: Term
    b: Term | None
    manner: str | None
    prop: str | None
    value: Formula | None
    at: Span
    text: str  # as written
    aboard: Term | None = None  # of ``PROP of everything of KIND on X``: the X


class Effect(NamedTuple):
    test: Test
    from_afar: bool


# --- actions ---------------------------------------------------------------------------------------------------------


class Part(NamedTuple):
    """A pattern's place: fixed words (any of them), or a slot's index in the binding (words empty)."""

    words: tuple[str, ...]
    slot: int


class Param(NamedTuple):
    """sort: thing, count, text."""

    name: str
    sort: str
    kinds: tuple[Kind, ...]
    decl: Span


class Service(NamedTuple):
    test: Test
    along_paths: bool


class Action(Entity):
    """pattern and params: ``params[i]`` is bound at index i + 2. joined: slots whose actors are cast too."""

    text: str
    pattern: tuple[Part, ...]
    params: tuple[Param, ...]
    decl: Span
    module: str
    by: tuple[Kind, ...] = ()
    helped_by: tuple[Kind, ...] = ()
    joined: tuple[int, ...] = ()
    needs: tuple[Test, ...] = ()
    during: tuple[Test, ...] = ()
    uses: tuple[Test, ...] = ()
    works_on: tuple[Term, ...] = ()
    effects: tuple[Effect, ...] = ()
    serves: tuple[Service, ...] = ()
    takes: Formula | None = None  # the likely time; with least and most, or without
    takes_least: Formula | None = None
    takes_most: Formula | None = None
    origin: Origin | None = None  # of the times it takes
    no_faster: Formula | None = None  # no plan may have it take less
    expects: Expect | None = None  # of a reading: no plan may want it wider
    expects_origin: Origin | None = None
    effort: Effort | None = None
    may: tuple[str, ...] = ()
    stops_after: Formula | None = None
    cannot_stop: bool = False
    leaves: tuple[Test, ...] = ()


class Rule(Entity):
    """never: ``tests`` (with ``meanwhile``) at no instant all true. always: whenever ``meanwhile``, all true."""

    name: str
    title: str
    never: bool
    tests: tuple[Test, ...]
    meanwhile: tuple[Test, ...]
    slots: tuple[Slot, ...]
    decl: Span
    longer_than: Measure | None = None  # never: for so long it may be
    every: Measure | None = None  # always: made again so often
    longer_by: Formula | None = None  # never: as ``longer_than``, worked out for its slots at each moment
    again: Measure | None = None  # never: not again so soon after it was over
    origin: Origin | None = None

    @property
    def on_clock(self) -> bool:
        """Whether it speaks of how long, how often or how soon: then the clock judges it."""
        return any(one is not None for one in (self.longer_than, self.longer_by, self.every, self.again))


# --- choreography -----------------------------------------------------------------------------------------------------


class Duration(NamedTuple):
    """Seconds, exact; least <= likely <= most where given."""

    likely: Fraction | None
    least: Fraction | None
    most: Fraction | None


class Remark(NamedTuple):
    """of: the hazards that it warns of."""

    sort: str  # warning, caution, note
    text: str
    at: Span
    of: tuple[Hazard, ...] = ()


class Answer(NamedTuple):
    outcome: str
    fallback: "Fallback | None"  # None: go on
    at: Span


class Expect(NamedTuple):
    low: Measure
    high: Measure
    text: str
    at: Span


class TimeBound(NamedTuple):
    """sort: by, not-before, within (of a mark), light. value in seconds."""

    sort: str
    value: Fraction
    mark: "Mark | None"
    word: str
    at: Span


class Mark(Entity):
    """scope: the task it is said in (unique with its name). entry: who says it."""

    name: str
    task: "Task"
    entry: "Entry | None"
    at: Span


class AnyOf(NamedTuple):
    """``any pouch``: one of a group, whichever fits when the step comes."""

    name: str
    members: tuple[Thing, ...]


class Wait(NamedTuple):
    mark: Mark
    at: Span


class Entry(Entity):
    """One item of the choreography: an arrival (``step`` is None: the heading's business) or a step.

    cast: all who are occupied, doers first, then joined actors, then who runs an arm. index: text order.
    binding: actor, helper, arguments (things, numbers as Fraction, texts)."""

    index: int
    task: "Task"
    block: "Block"
    cast: tuple[Thing, ...]
    at: Span
    action: Action | None = None
    binding: tuple[Thing | Fraction | str | AnyOf | None, ...] = ()
    text: str = ""
    duration: Duration | None = None
    says: Mark | None = None
    waits: tuple[Wait, ...] = ()
    beside: tuple[Wait, ...] = ()  # while MARK
    expect: Expect | None = None
    remarks: tuple[Remark, ...] = ()
    because: str | None = None
    answers: tuple[Answer, ...] = ()
    bounds: tuple[TimeBound, ...] = ()
    routine_at: Span | None = None  # where in a routine it is written, if it came from one
    calls: tuple[Span, ...] = ()  # the routine calls that led to it, outermost first
    hole: bool = False

    def place_of(self, at: Span) -> Span:
        """Where the plan says what its heading says at a place: of a routine's, at the plan's call."""
        return at if self.routine_at is None else self.at


class Block(Entity):
    """A heading: who (doers), riders, where. place and seat may be None."""

    doers: tuple[Thing, ...]
    riders: tuple[Thing, ...]
    place: Thing | None
    seat: Thing | None
    at: Span
    place_at: Span = NOWHERE
    seat_at: Span = NOWHERE


class Guard(NamedTuple):
    tests: tuple[Test, ...]
    at: Span


class Task(Entity):
    name: str
    title: str
    rank: str
    excursion: "Excursion"
    decl: Span
    entries: list[Entry] = fresh(factory=list)
    after: tuple["Task", ...] = ()
    along_with: tuple["Task", ...] = ()
    guard: Guard | None = None
    done_when: tuple[Test, ...] = ()
    bounds: tuple[TimeBound, ...] = ()
    was: str | None = None


class Fallback(Entity):
    """A task in waiting: its entries are resolved, not part of the nominal order."""

    name: str
    title: str
    body: Task
    mark: Mark | None
    instead: tuple[Task, ...]
    then: tuple[Task, ...]
    decl: Span


class Excursion(Entity):
    """starts: ends, promise (of ``previous``) or written."""

    name: str
    title: str
    decl: Span
    module: str
    crew: tuple[Member, ...] = ()
    starts: str = "written"
    starts_at: Span = NOWHERE
    previous: "Excursion | None" = None
    clock: str | None = None
    clock_at: Span = NOWHERE
    clock_starts: Mark | None = None  # the limit counts from this call; None: from the start
    clock_ends: Mark | None = None  # ... to this one; None: to the end
    limit: Measure | None = None
    reserve: Measure | None = None
    light: Light | None = None
    slow_day: SlowDay | None = None
    together: Together | None = None
    begins: Begins | None = None
    tasks: list[Task] = fresh(factory=list)
    fallbacks: list[Fallback] = fresh(factory=list)
    entries: list[Entry] = fresh(factory=list)  # of all tasks, in text order
    marks: list[Mark] = fresh(factory=list)
    fills: list[Filled] = fresh(factory=list)
    left_outside: list[LeftThing] = fresh(factory=list)
    comes_inside: list[LeftThing] = fresh(factory=list)
    left_so: list[LeftState] = fresh(factory=list)


class Use(Entity):
    """One mention of a declared name, kept for the editor and for renames."""

    at: Span
    target: Span


class World(Entity):
    """The whole campaign. excursions: in flying order (each after the one it starts from)."""

    name: str
    title: str
    decl: Span
    kinds: list[Kind] = fresh(factory=list)
    things: list[Thing] = fresh(factory=list)
    variables: list[Var] = fresh(factory=list)
    paths: list[Path] = fresh(factory=list)
    actions: list[Action] = fresh(factory=list)
    rules: list[Rule] = fresh(factory=list)
    efforts: dict[str, Effort] = fresh(factory=dict)
    bodies: dict[str, Body] = fresh(factory=dict)
    forms: dict[str, Form] = fresh(factory=dict)
    hazards: dict[str, Hazard] = fresh(factory=dict)
    spreads: list[Spread] = fresh(factory=list)
    word_lists: dict[str, WordList] = fresh(factory=dict)  # what judges the words of texts; empty: nobody does
    words: dict[str, str] = fresh(factory=dict)  # what printed outputs call something
    said_figures: list[tuple[Origin, Span]] = fresh(factory=list)  # each mention of a value that has an origin
    excursions: list[Excursion] = fresh(factory=list)
    allowances: list[Allowance] = fresh(factory=list)
    uses: list[Use] = fresh(factory=list)
    listed: bool = False  # a campaign lists its excursions: all are known
    time: Dimension = NO_DIMENSION  # the dimension that step brackets are written in
    way: Dimension | None = None  # the dimension of a way's length; None while nothing in the campaign has fixed it
