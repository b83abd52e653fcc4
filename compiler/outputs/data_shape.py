"""What ``plan.json`` holds, as records: the published shape ``jackstay.plan/1``.

Within version 1 fields are only added. Times are seconds from the excursion's start, amounts are in base units, both
exact: a whole number, or a fraction as text (``370/3``). A name that ends in ``_`` here is written without it. Places
are ``FILE:LINE``. Forecasts are not part of it: they hang on a seed, the plan does not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal


class _Fraction:
    """Says in the schema how an exact fraction is written. Known to pydantic by its method's name."""

    def __get_pydantic_json_schema__(self, core: Any, handler: Any) -> Any:
        return {**handler(core), "pattern": r"^-?[0-9]+/[0-9]+$"}


Number = int | Annotated[str, _Fraction()]
Value = int | str | None


@dataclass(frozen=True, slots=True)
class Thing:
    name: str
    title: str
    sort: str
    kind: str
    source: str


@dataclass(frozen=True, slots=True)
class Member:
    actor: str
    role: str | None


@dataclass(frozen=True, slots=True)
class Begins:
    """date: ISO 8601. time: seconds after midnight. The plan states no time zone."""

    date: str
    time: Number


@dataclass(frozen=True, slots=True)
class Light:
    """dark of every, the first dark from ``first`` on."""

    dark: Number
    every: Number
    first: Number


@dataclass(frozen=True, slots=True)
class SlowDay:
    """Shares of the spread that are common to the run, and to each actor."""

    run: Number
    each: Number


@dataclass(frozen=True, slots=True)
class Clock:
    """What the limit counts: from the call ``starts`` to the call ``ends`` (null: the excursion's own start and end);
    from, until: when that is by the nominal times."""

    starts: str | None
    ends: str | None
    from_: Number
    until: Number


@dataclass(frozen=True, slots=True)
class Bound:
    """sort: by, not-before, within (of ``call``), light (``word``)."""

    sort: str
    value: Number
    call: str | None
    word: str
    source: str


@dataclass(frozen=True, slots=True)
class Task:
    """start, end: of its first and last step, null where it has none or a step without a duration comes before.
    slack: the least of its steps. steps: their indices. only_if: what must hold, or it is not done at all."""

    name: str
    title: str
    rank: str
    after: tuple[str, ...]
    source: str
    start: Number | None
    end: Number | None
    latest_end: Number | None
    slack: Number | None
    critical: bool
    steps: tuple[int, ...]
    only_if: tuple[str, ...]
    done_when: tuple[str, ...]
    bounds: tuple[Bound, ...]


@dataclass(frozen=True, slots=True)
class Remark:
    """sort: warning, caution, note."""

    sort: str
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Expect:
    """A reading's bounds in base units, and as written."""

    low: Number
    high: Number
    text: str


@dataclass(frozen=True, slots=True)
class Answer:
    """What to do when a step turns out otherwise; fallback null: go on."""

    outcome: str
    fallback: str | None
    source: str


@dataclass(frozen=True, slots=True)
class Change:
    """What a step changes. sort: place (of an actor), held (what an item hangs on), from, to (a line's ends), property.
    before, after: names of things; of ``held`` all attachments as ``MANNER HOLDER``."""

    thing: str
    sort: str
    property: str | None
    before: Value
    after: Value


@dataclass(frozen=True, slots=True)
class Step:
    """identity: stable as long as no step is added or taken away before it in its excursion; pictures have it too.

    duration: the likely one; least, most: its spread. start and end are null where a step without a duration comes
    before; ``start_at_least`` is then the lower bound. slack: how much later it may start without moving the end of the
    excursion or missing a bound. written: a person does it and ticks it off. after: indices of the steps directly
    before it. waits, beside: calls, as TASK.CALL; says: a call of its own task."""

    identity: str
    index: int
    task: str
    cast: tuple[str, ...]
    text: str
    place: str | None
    seat: str | None
    written: bool
    inserted: bool
    route: tuple[str, ...]
    duration: Number | None
    least: Number | None
    most: Number | None
    start: Number | None
    end: Number | None
    start_at_least: Number
    end_at_least: Number
    latest_start: Number
    latest_end: Number
    slack: Number
    critical: bool
    after: tuple[int, ...]
    waits: tuple[str, ...]
    beside: tuple[str, ...]
    says: str | None
    because: str | None
    expect: Expect | None
    remarks: tuple[Remark, ...]
    answers: tuple[Answer, ...]
    bounds: tuple[Bound, ...]
    changes: tuple[Change, ...]
    source: str


@dataclass(frozen=True, slots=True)
class Delay:
    """An actor standing still before a step. cause: the step that lets it go on (null: the clock or the light). why:
    empty (another step), not-before, light, within."""

    actor: str
    step: int
    since: Number
    until: Number
    cause: int | None
    call: str | None
    why: str


@dataclass(frozen=True, slots=True)
class ActorEnd:
    """at_least: a step without a duration comes before."""

    actor: str
    end: Number
    at_least: bool


@dataclass(frozen=True, slots=True)
class Supply:
    """written: the amount as in the plan. left, below_reserve_at, empty_at, bends: null or empty where it is not known
    how fast it is drawn. at_best: a step has no duration. bends: (time, amount left) wherever the rate changes."""

    actor: str
    supply: str
    amount: Number
    written: str
    reserve: Number | None
    from_: Number
    until: Number
    left: Number | None
    below_reserve_at: Number | None
    empty_at: Number | None
    at_best: bool
    effort_assumed: bool
    bends: tuple[tuple[Number, Number], ...]


@dataclass(frozen=True, slots=True)
class Margin:
    """What is left less what the way home takes, where that is least. by: the supply that binds (null: the clock)."""

    at: Number
    needed: Number
    left: Number
    margin: Number
    by: str | None


@dataclass(frozen=True, slots=True)
class WayHome:
    """longest: the most that the way home takes. turn_back: the last moment to turn back. no_way, not_known: from and
    until of the first stretch without a way home, or without a time for it."""

    actor: str
    out_from: Number | None
    out_until: Number | None
    longest: Number
    turn_back: Number | None
    least_margin: Margin | None
    no_way: tuple[Number, Number] | None
    not_known: tuple[Number, Number] | None


@dataclass(frozen=True, slots=True)
class Pair:
    """Two steps that nothing orders. apart: seconds from the end of the first to the start of the second by the nominal
    times, below nothing where they overlap or come the other way round. race: whether the plan fails by it."""

    first: int
    second: int
    share: tuple[str, ...]
    apart: Number | None
    race: bool


@dataclass(frozen=True, slots=True)
class CardStep:
    """One line of a fallback. Its way, tools and times hang on when it is called for, and are not worked out."""

    cast: tuple[str, ...]
    text: str
    place: str | None
    seat: str | None
    source: str


@dataclass(frozen=True, slots=True)
class Call:
    """Which step may call a fallback, and at what outcome."""

    step: int
    outcome: str


@dataclass(frozen=True, slots=True)
class Fallback:
    name: str
    title: str
    source: str
    from_call: str | None
    instead: tuple[str, ...]
    then: tuple[str, ...]
    callers: tuple[Call, ...]
    steps: tuple[CardStep, ...]


@dataclass(frozen=True, slots=True)
class Attachment:
    manner: str
    holder: str


@dataclass(frozen=True, slots=True)
class EndThing:
    """How a thing is left. inside: null for what hangs on nothing. until: for what is left outside."""

    name: str
    place: str | None
    on: tuple[Attachment, ...]
    from_: str | None
    to: str | None
    location: str | None
    inside: bool | None
    left_outside: bool
    until: str | None


@dataclass(frozen=True, slots=True)
class EndProperty:
    thing: str
    property: str
    value: Value


@dataclass(frozen=True, slots=True)
class Odd:
    """A property that does not stand as it normally does."""

    thing: str
    property: str
    value: Value
    normally: Value


@dataclass(frozen=True, slots=True)
class End:
    things: tuple[EndThing, ...]
    properties: tuple[EndProperty, ...]
    not_normal: tuple[Odd, ...]


@dataclass(frozen=True, slots=True)
class Excursion:
    """worked_out: false where its order is circular; then it has no steps, no times and no end. starts: written (in the
    plan), ends (as the excursion ``previous`` does) or promise. critical: indices of one chain of steps that follow on
    one another from the start to the end. together: seconds within which all who go outside end."""

    name: str
    title: str
    source: str
    number: int
    starts: str
    previous: str | None
    begins: Begins | None
    clock: str | None
    clock_runs: Clock | None
    limit: Number | None
    reserve: Number | None
    light: Light | None
    slow_day: SlowDay | None
    together: Number | None
    crew: tuple[Member, ...]
    worked_out: bool
    makespan: Number | None
    makespan_at_least: Number | None
    critical: tuple[int, ...]
    actors: tuple[ActorEnd, ...]
    tasks: tuple[Task, ...]
    steps: tuple[Step, ...]
    delays: tuple[Delay, ...]
    supplies: tuple[Supply, ...]
    way_home: tuple[WayHome, ...]
    luck: tuple[Pair, ...]
    fallbacks: tuple[Fallback, ...]
    end: End | None


@dataclass(frozen=True, slots=True)
class Plan:
    """A whole campaign. identity: a fingerprint of the source files. unchecked: it has not passed its check, and
    ``warning`` says so. findings: how many of each severity; and, where there are any, how many are ``allowed``,
    ``turned_off`` or ``lowered``, which ``safety`` tells of. safety: words that go with every copy."""

    schema: Literal["jackstay.plan/1"]
    campaign: str
    title: str
    identity: str
    unchecked: bool
    warning: str | None
    findings: dict[str, int]
    safety: tuple[str, ...]
    things: tuple[Thing, ...]
    excursions: tuple[Excursion, ...]
