"""The boxes of the campaign sheet: a task each, with who, when, how long, how much to spare, what it comes after."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

from jackstay.model.records import Fallback, Task, Thing
from jackstay.outputs.clock import clock, minutes, total
from jackstay.outputs.order_boxes import Box, Panel, Row, Wire, stubs
from jackstay.outputs.order_graph import AFTER, BESIDE, CALL, CARD, OWN, Graph, Node
from jackstay.outputs.order_steps import called_by, fallback_link, names, task_link, when_rows
from jackstay.outputs.views import View
from jackstay.outputs.wording import labels, source_place, spoken

MOST_WHY = 7


@dataclass(slots=True)
class _Why:
    """Why one task comes after another."""

    calls: dict[str, None] = field(default_factory=dict)
    after: bool = False
    beside: bool = False
    actors: dict[Thing, None] = field(default_factory=dict)
    critical: bool = False

    @property
    def sort(self) -> str:
        return CALL if self.calls else AFTER if self.after else OWN if self.actors else BESIDE


class Tasks:
    """Makes the boxes of one excursion's section. sheets: task -> the sheets its steps are on, as printed."""

    def __init__(self, graph: Graph) -> None:
        self.graph = graph
        self.view: View = graph.view
        self.number = {id(task): number for number, task in enumerate(self.view.excursion.tasks)}
        self.nodes: dict[str, list[Node]] = {}
        for node in graph.nodes.values():
            self.nodes.setdefault(self._key(node.task), []).append(node)
        self.tasks = {self._key(task): task for task in self.view.excursion.tasks}
        self.fallbacks: dict[str, Fallback] = {}
        self.callers: dict[str, dict[str, list[str]]] = {}  # fallback -> task that may call it -> outcomes
        for number, card in enumerate(graph.cards):
            key = f"f{number}"
            self.fallbacks[key] = card.fallback
            self.callers[key] = {}
            for index, outcome in card.callers:
                said = self.callers[key].setdefault(self._key(graph.nodes[index].task), [])
                if outcome not in said:
                    said.append(outcome)
        self.why: dict[str, dict[str, _Why]] = {key: {} for key in self.tasks}  # head -> tail -> reasons
        self._reasons()
        self.units = self._units()

    def _key(self, task: Task) -> str:
        return f"t{self.number[id(task)]}"

    def _units(self) -> list[list[str]]:
        units = {key: [key] for key in self.tasks}
        loose: list[str] = []
        for number, card in enumerate(self.graph.cards):
            key = f"f{number}"
            home = next(iter(self.callers[key]), None)
            if home is None and card.fallback.instead:
                home = self._key(card.fallback.instead[0])
            units.get(home or "", loose).append(key)
        return [*units.values(), *([key] for key in loose)]

    def _reasons(self) -> None:
        nodes = self.graph.nodes
        for link in self.graph.links:
            tail, head = self._key(nodes[link.tail].task), self._key(nodes[link.head].task)
            if tail == head:
                continue
            why = self.why[head].setdefault(tail, _Why())
            why.critical |= link.critical
            if link.sort == CALL and link.mark is not None:
                why.calls[f'{called_by(link.mark)}\'s "{spoken(link.mark)}"'] = None
            elif link.sort == AFTER:
                why.after = True
            elif link.sort == BESIDE:
                why.beside = True
            elif link.actor is not None:
                why.actors[link.actor] = None
        for head, task in self.tasks.items():
            for earlier in task.after:
                if id(earlier) in self.number:
                    self.why[head].setdefault(self._key(earlier), _Why()).after = True

    def before(self, key: str) -> list[str]:
        if key in self.callers:
            return list(self.callers[key])
        number = int(key[1:])
        return [tail for tail in self.why[key] if int(tail[1:]) < number]  # tasks may take turns: as they are written

    def panel(self, keys: list[str]) -> Panel:
        inside = set(keys)
        boxes = {key: self.box(key, inside) for key in keys}
        wires: list[Wire] = []
        for head in keys:
            if head in self.callers:
                for tail, outcomes in self.callers[head].items():
                    if tail in inside:
                        wires.append(Wire(tail, head, CARD, f"if {' or '.join(outcomes)}"))
                continue
            for tail, why in self.why[head].items():
                back = self.why[tail].get(head)
                if tail not in inside or (back is not None and int(tail[1:]) > int(head[1:])):
                    continue
                actor = next(iter(why.actors)) if why.sort == OWN and len(why.actors) == 1 else None
                told = "; ".join(self._told(why))
                critical = why.critical or (back is not None and back.critical)
                wires.append(Wire(tail, head, why.sort, told, actor, critical, back is not None))
        return Panel(boxes, wires, head=self._head(keys), data=self._data())

    def _data(self) -> dict[str, str]:
        excursion = self.view.excursion
        return {"data-excursion": excursion.name, "data-place": source_place(excursion.decl)}

    def _head(self, keys: list[str]) -> tuple[str, str]:
        excursion, times = self.view.excursion, self.view.times
        assert times is not None
        part = "" if sum(map(len, self.units)) == len(keys) else " (part)"
        words = [f"ends at {total(times.makespan, times.makespan_open)}"]
        if excursion.limit is not None:
            words.append(f"limit {excursion.limit.text}" + (f" from {excursion.clock}" if excursion.clock else ""))
        if excursion.reserve is not None:
            words.append(f"reserve {excursion.reserve.text}")
        if excursion.previous is not None:
            words.append(f"starts as {excursion.previous.title} ends")
        words.append(source_place(excursion.decl))
        return f"{self.view.number}  {excursion.title}{part}", " · ".join(words)

    def _told(self, why: _Why) -> list[str]:
        told = [f"on {', '.join(why.calls)}"] if why.calls else []
        told += ["the text says after"] if why.after else []
        told += [f"{labels(list(why.actors))} goes on"] if why.actors else []
        return told + (["runs beside"] if why.beside else [])

    def box(self, key: str, inside: Collection[str]) -> Box:
        box = self._fallback(key, inside) if key in self.fallbacks else self._task(key, inside)
        box.measure()
        return box

    def _task(self, key: str, inside: Collection[str]) -> Box:
        task, times = self.tasks[key], self.view.times
        assert times is not None
        nodes = self.nodes.get(key, [])
        steps = [step.index for node in nodes for step in node.steps]
        actors = [actor for actor in self.view.own if any(actor in node.step.cast for node in nodes)]
        rows: list[Row] = []
        words = task.rank
        if task.guard is not None:
            words += f", only if {' and '.join(test.text for test in task.guard.tests)}"
        rows.append(Row("rank", words, right=source_place(task.decl)))
        box = Box(key, "task", actors, task.title, rows, "", task_link(self.view, task), rank=task.rank)
        if steps:
            first, last = min(times.start[i] for i in steps), max(times.end[i] for i in steps)
            vague = any(times.start_open[i] or times.end_open[i] for i in steps)
            spare = min(times.slack[i] for i in steps)
            late = max(times.latest_end[i] for i in steps)
            told = f"{clock(first, vague)} to {total(last, vague)}, latest {total(late, vague)}"
            rest = f"{minutes(last - first)} · {f'slack {minutes(spare)}' if spare else 'no slack'}"
            rows += when_rows(told, rest, box.room)
            box.critical = any(node.critical for node in nodes)
        else:
            rows.append(Row("time", "no steps of its own in this order", late=True))
        if nodes:
            count = f"{len(nodes)} step{'s' if len(nodes) > 1 else ''} on"
            far = tuple(f"{self.view.number}/n{node.index}" for node in nodes)
            rows.append(Row("out", "", count, far, late=True))
        whys: list[Row] = []
        for tail, why in self.why[key].items():
            title = self.tasks[tail].title
            far = () if tail in inside else (tail,)
            if why.calls:
                whys += [Row("wait", f"on {call}", "from" if far else "", far, late=True) for call in why.calls]
            if why.after:
                whys.append(Row("in", f"after {title}", "from" if far else "", far, late=True))
            elif far and not why.calls:
                whys.append(Row("in", f"{names(why.actors)} after {title}".strip(), "from", far, late=True))
        rows += stubs(whys, MOST_WHY)
        box.label = f"{task.title}, {labels(actors)}. {'; '.join(row.text for row in rows if row.text)}"
        if box.critical:
            box.label += "; on the critical chain"
        return box

    def _fallback(self, key: str, inside: Collection[str]) -> Box:
        fallback = self.fallbacks[key]
        rows = [Row("rank", f"fallback {fallback.name}", right=source_place(fallback.decl))]
        for tail, outcomes in self.callers[key].items():
            far = () if tail in inside else (tail,)
            rows.append(Row("in", f"if {' or '.join(outcomes)}", "from" if far else "", far, late=True))
        if fallback.instead:
            rows.append(Row("small", f"instead of {', '.join(one.title for one in fallback.instead)}", late=True))
        if fallback.then:
            rows.append(Row("small", f"then {', '.join(one.title for one in fallback.then)}", late=True))
        data = fallback_link(self.view, fallback)
        actors = [one for one in self.view.own if any(one in entry.cast for entry in fallback.body.entries)]
        label = f"Fallback, {fallback.title}. {'; '.join(row.text for row in rows)}"
        return Box(key, "card", actors, fallback.title, rows, label, data)
