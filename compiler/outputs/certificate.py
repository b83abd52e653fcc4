"""The certificate of a clean check: why order and custody of a plan hold, as data that another program can check.

For every step: what it waits for and where that is written, what it reads and changes; for every item: who has it from
which step to which.
"""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from typing import Any

from jackstay.diagnostics.records import Severity
from jackstay.flow.analyse import entries_flown
from jackstay.flow.order import Order
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Entry, Thing, Wait, World
from jackstay.outputs.frame import source_texts
from jackstay.outputs.wording import source_place, step_text

SCHEMA = "jackstay.certificate/1"
CERTIFIES = (
    "Under any timing that the written order allows, every step finds each thing as the step before left it, and every "
    "item is always held by something. What a step reads and changes is the word of the compiler that made this. "
    "Durations, limits, rules, dropped tasks and fallbacks are not covered, nor is what is listed as undecided."
)


def certificate(checked: Any) -> bytes:
    """The certificate of a `Checked` plan without errors, as JSON. Raises ValueError where nothing was followed."""
    if checked.flow is None or not all(flow.complete for flow in checked.flow.excursions):
        raise ValueError("nothing was followed: there is nothing to certify")
    names = Names(checked.world)
    data = {
        "schema": SCHEMA,
        "certifies": CERTIFIES,
        "campaign": checked.world.name,
        "plan": next(reversed(checked.sources)),
        "sources": {path: hashlib.sha256(text.encode()).hexdigest() for path, text in sorted(source_texts(checked))},
        "variables": {
            name: {"sort": sort, "thing": thing} | ({} if prop is None else {"property": prop})
            for name, sort, thing, prop in names.variables
        },
        "excursions": [_excursion(flow, names) for flow in checked.flow.excursions],
        "undecided": [
            {"rule": one.rule, "place": source_place(one.at), "message": one.message}
            for one in checked.diagnostics
            if one.severity is Severity.UNDECIDED
        ],
    }
    return (json.dumps(data, indent=1, ensure_ascii=False) + "\n").encode()


class Names:
    """What things and variables are called: ``place wren``, ``held kit-a``, ``to reel-w``, ``bolts of old-pump``.

    Of things of two modules that share a name, each is called by the place of its declaration too."""

    def __init__(self, world: World) -> None:
        self._count = Counter(thing.name for thing in world.things)
        self.variables: list[tuple[str, str, str, str | None]] = []  # name, sort, thing, property
        for var in world.variables:
            thing = self.thing(var.thing)
            prop = var.prop if var.sort == "property" else None
            name = f"{var.sort} {thing}" if prop is None else f"{prop} of {thing}"
            self.variables.append((name, var.sort, thing, prop))

    def thing(self, thing: Thing) -> str:
        return thing.name if self._count[thing.name] == 1 else f"{thing.name}@{source_place(thing.decl)}"

    def value(self, var: int, value: Any) -> Any:
        """A thing's name, a list of (manner, holder), a property's word or exact number as text, or null."""
        if self.variables[var][1] == "held":
            return [[one.manner, self.thing(one.holder)] for one in value or ()]
        if isinstance(value, Thing):
            return self.thing(value)
        return None if value is None else str(value)

    def state(self, values: list[Any]) -> dict[str, Any]:
        return {names[0]: self.value(var, values[var]) for var, names in enumerate(self.variables)}


def _excursion(flow: ExcursionFlow, names: Names) -> dict[str, Any]:
    excursion = flow.excursion
    reasons = Reasons(flow, names)
    lengths = Counter(column for step in flow.steps for column, _ in step.positions)
    return {
        "name": excursion.name,
        "place": source_place(excursion.decl),
        "starts_after": excursion.previous.name if excursion.previous is not None else None,
        "columns": {name: lengths[column] for column, name in enumerate(reasons.columns)},
        "start": names.state(flow.start),
        "steps": [_step(step, reasons, names) for step in flow.steps],
        "custody": _custody(flow, names),
        "end": names.state(flow.end),
    }


def _step(step: Step, reasons: "Reasons", names: Names) -> dict[str, Any]:
    entry, mark = step.entry, step.entry.says
    place, *inner = _trail(entry)
    columns = reasons.columns
    written = {change.var for change in step.changes}
    says = mark is not None and reasons.main.get(id(entry)) == step.index
    return {
        "step": step.index,
        "task": entry.task.name,
        "place": place,
        "in_routine": inner,
        "text": step_text(step) if step.inserted else entry.text,
        "inserted": step.inserted,
        "cast": [names.thing(actor) for actor in step.cast],
        "positions": {columns[column]: position for column, position in step.positions},
        "clock": dict(zip(columns, step.clock, strict=True)),
        "says": [mark.name, source_place(mark.at)] if says and mark is not None else None,
        "after": reasons.after.get(step.index, []),
        "within": reasons.within.get(step.index, []),
        "reads": [names.variables[var][0] for var in step.reads if var not in written],
        "changes": [
            {
                "variable": names.variables[change.var][0],
                "before": names.value(change.var, change.before),
                "after": names.value(change.var, change.after),
            }
            for change in step.changes
        ],
    }


def _trail(entry: Entry) -> list[str]:
    """Where an entry is written: the line in the plan, then those in the routines through which it came."""
    return [source_place(at) for at in (*entry.calls, entry.routine_at or entry.at)]


def _custody(flow: ExcursionFlow, names: Names) -> dict[str, list[dict[str, Any]]]:
    """Per item and line end: what it is on, each from the end of the step that changed it (null: from the start)."""
    chains = {
        var: [{"from": None, "on": names.value(var, flow.start[var])}]
        for var, (_, sort, _, _) in enumerate(names.variables)
        if sort in ("held", "from", "to")
    }
    for step in flow.steps:
        for change in step.changes:
            if change.var in chains:
                chains[change.var].append({"from": step.index, "on": names.value(change.var, change.after)})
    return {names.variables[var][0]: chain for var, chain in chains.items()}


class Reasons:
    """Why each step comes after others, worked out again from the text's order and the steps as replayed.

    main: an entry's id -> the step whose end its mark names. after, within: a step -> its edges as written out."""

    def __init__(self, flow: ExcursionFlow, names: Names) -> None:
        self.flow = flow
        self.names = names
        self.columns = [names.thing(actor) for actor in flow.columns]
        self.order = Order(flow.excursion.tasks, entries_flown(flow.excursion, frozenset()))
        self.main: dict[int, int] = {}
        self.after: dict[int, list[dict[str, Any]]] = {}
        self.within: dict[int, list[dict[str, Any]]] = {}
        self.last: dict[Thing, int] = {}
        for i in self.order.sequence:
            self._entry(i, self.order.entries[i])
        for i in self.order.sequence:  # what runs within an entry comes before it: all main steps are known only now
            self._beside(self.order.entries[i])

    def _entry(self, i: int, entry: Entry) -> None:
        steps = self.flow.by_entry.get(entry.index, [])
        waits = self._waits(i, entry) if steps else []
        for step in steps:
            own: list[dict[str, Any]] = [
                {"step": self.last[actor], "why": "own", "actor": self.names.thing(actor)}
                for actor in step.cast
                if actor in self.last
            ]
            self.last.update((actor, step.index) for actor in step.cast)
            self.after[step.index] = own + (waits if step is steps[0] else [])
        written = [step.index for step in steps if not step.inserted]
        if written:
            self.main[id(entry)] = written[-1]
        elif steps:
            self.main[id(entry)] = steps[-1].index
        elif entry.cast[0] in self.last:
            self.main[id(entry)] = self.last[entry.cast[0]]

    def _waits(self, i: int, entry: Entry) -> list[dict[str, Any]]:
        edges = [self._wait("wait", wait) for wait in entry.waits if id(wait.mark.entry) in self.main]
        for edge in self.order.into[i]:
            before = self.order.entries[edge.before]
            if edge.why == "task" and id(before) in self.main:
                edges.append(
                    {
                        "step": self.main[id(before)],
                        "why": "task",
                        "task": before.task.name,
                        "place": source_place(entry.task.decl),
                        "heading": None if self.flow.by_entry.get(before.index) else _trail(before),
                    }
                )
        return edges

    def _wait(self, why: str, wait: Wait) -> dict[str, Any]:
        mark = wait.mark
        return {
            "step": self.main[id(mark.entry)],
            "why": why,
            "mark": mark.name,
            "says": source_place(mark.at),
            "on": source_place(wait.at),
        }

    def _beside(self, entry: Entry) -> None:
        edges = [self._wait("while", wait) for wait in entry.beside if id(wait.mark.entry) in self.main]
        if edges:
            for step in self.flow.by_entry.get(entry.index, []):
                self.within[step.index] = edges
