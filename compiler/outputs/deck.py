"""Each person's deck: one card for each visit to a worksite, then the cards that are used only when called."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from jackstay.flow.records import Step
from jackstay.model.records import Task, Thing, World
from jackstay.outputs.balance import changes_of_light
from jackstay.outputs.cards import aside, card_numbers
from jackstay.outputs.deck_carry import NOTHING, on_me
from jackstay.outputs.deck_records import Card, Deck, Part, Row
from jackstay.outputs.deck_rows import Numbers, light_row, step_rows, task_row
from jackstay.outputs.heads import frame_of_time
from jackstay.outputs.look import ActorStyle, actor_styles
from jackstay.outputs.situation import place, states
from jackstay.outputs.views import NOT_WORKED_OUT, View, is_written
from jackstay.outputs.wording import label, source_place
from jackstay.timing.formulas import location_in


def actors_of(views: list[View]) -> list[Thing]:
    """Everyone who has a checklist: the crews, and whoever else takes part in a step, in the order declared."""
    found = {actor.index: actor for view in views for actor in view.own}
    return [found[index] for index in sorted(found)]


def deck(world: World, views: list[View], actor: Thing, name: str) -> Deck:
    """The actor's cards over the whole campaign. name: as in the names of files."""
    cards = card_numbers(views)
    mine = [view for view in views if actor in view.own]
    style = actor_styles(views)[actor]
    return Deck(
        name,
        label(actor),
        label(actor.runner) if actor.runner is not None else "",
        style.letter,
        style.shape,
        tuple(part(view, len(views), actor, _cards(world, view, actor, cards)) for view in mine),
        tuple(card for view in mine for card in aside(view, actor, cards)),
    )


def part(view: View, of: int, actor: Thing | None, cards: Sequence[Card] = (), rows: Sequence[Row] = ()) -> Part:
    excursion = view.excursion
    role = next((member.role for member in excursion.crew if member.actor is actor and member.role), None)
    return Part(
        view.number,
        of,
        excursion.title,
        excursion.name,
        frame_of_time(excursion),
        role or "",
        source_place(excursion.decl),
        tuple(cards),
        tuple(rows),
        "" if view.times is not None else NOT_WORKED_OUT,
    )


def marks(styles: dict[Thing, ActorStyle]) -> tuple[tuple[str, str, str], ...]:
    return tuple((style.letter, style.shape, label(actor)) for actor, style in styles.items())


class _Site(NamedTuple):
    """doer: the actor, or the machine that the actor runs."""

    doer: Thing
    location: Thing | None
    seat: Thing | None


def _cards(world: World, view: View, actor: Thing, cards: Numbers) -> list[Card]:
    """The visits in order. The state before each of the actor's own steps says where that step is done."""
    if view.times is None:
        return []
    visits = _Visits(world, view, actor)
    state = list(view.flow.start)
    turns = changes_of_light(view, view.times)
    tasks: set[Task] = set()
    task: Task | None = None
    count = 0
    waiting = iter(states(view.flow))  # changes the state it hands out in place, after the step
    for step in view.flow.steps:
        if actor in step.cast:
            rows = list(step_rows(view, actor, step, count + 1, cards))
            if rows:
                count += is_written(step)
                new = visits.come_to(step, state)
                head: list[Row] = []
                while turns and turns[0][0] <= view.times.start[step.index]:
                    head.append(light_row(*turns.pop(0)))
                if step.entry.task is not task or new:
                    task = step.entry.task
                    row = task_row(task)
                    head.append(row if task not in tasks else row._replace(under=_reminder(row)))
                    tasks.add(task)
                visits.add(step, [*head, *rows])
        state = next(waiting)[1]
    return visits.done(state)


def _reminder(row: Row) -> tuple[tuple[str, str], ...]:
    """What is said again where a task goes on at another place."""
    return tuple(one for one in row.under if one[0].startswith(("may be dropped", "only if")))


class _Visits:
    """Cards as they come. A way to a heading's place opens one, and so does a step done elsewhere than the last."""

    def __init__(self, world: World, view: View, actor: Thing) -> None:
        self.world, self.view, self.actor = world, view, actor
        self.cards: list[Card] = []
        self.heading: Any = None  # the entry whose way is being gone
        self.site: _Site | None = None
        self.way: list[Row] = []
        self.rows: list[Row] = []
        self.arrival: tuple[tuple[str, str], ...] = ()
        self.open = False

    def come_to(self, step: Step, state: Sequence[Any]) -> bool:
        """Before a step's rows are added, with the state before it; whether a card begins."""
        new = False
        if _is_way(step):
            if not self.open or self.site is not None or self.heading is not step.entry:
                self._close(state)
                new = self.open = True
            self.heading = step.entry
            return new
        site = self._site(step, state)
        if self.site is not None and site != self.site:
            self._close(state)
        new = not self.open
        if self.site is None:
            self.open = True
            self.site = site
            self.arrival = self._carried(site, state)
        return new

    def add(self, step: Step, rows: list[Row]) -> None:
        (self.way if _is_way(step) else self.rows).extend(rows)

    def done(self, state: Sequence[Any]) -> list[Card]:
        self._close(state)
        return self.cards

    def _close(self, state: Sequence[Any]) -> None:
        if self.open:
            site = self.site or self._at(self.actor, state)
            leaving = self._carried(site, state)
            self.cards.append(
                Card(
                    f"{self.view.number}-{len(self.cards) + 1}",
                    "visit",
                    _title(site, self.actor),
                    f"in {label(site.seat)}" if site.seat is not None else "",
                    way=tuple(self.way),
                    arrival=self.arrival if self.site is not None else leaving,
                    rows=tuple(self.rows),
                    leaving=_changed(self.arrival, leaving) if self.site is not None else (),
                )
            )
        self.open, self.site, self.way, self.rows, self.arrival = False, None, [], [], ()

    def _site(self, step: Step, state: Sequence[Any]) -> _Site:
        lead = step.cast[0]
        return self._at(lead if lead is not self.actor and lead.runner is self.actor else self.actor, state)

    def _at(self, doer: Thing, state: Sequence[Any]) -> _Site:
        stands = place(state, doer)
        return _Site(
            doer, location_in(state, doer), stands if stands is not None and stands.sort != "location" else None
        )

    def _carried(self, site: _Site, state: Sequence[Any]) -> tuple[tuple[str, str], ...]:
        return on_me(self.world, state, site.doer)


def _is_way(step: Step) -> bool:
    """Inserted by a heading: the way to its place, the change of line, the seat."""
    return step.inserted and step.entry.action is None and not step.entry.hole


def _title(site: _Site, actor: Thing) -> str:
    near = site.location.near or (site.location,) if site.location is not None else ()
    where = " / ".join(label(one) for one in near) or "nowhere stated"
    return where if site.doer is actor else f"Running {label(site.doer)}, {where}"


def _changed(before: tuple[tuple[str, str], ...], after: tuple[tuple[str, str], ...]) -> tuple[tuple[str, str], ...]:
    gone = tuple((how, NOTHING) for how, _ in before if how not in dict(after))
    return (*(one for one in after if one not in before), *gone)
