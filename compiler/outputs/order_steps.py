"""The boxes of an excursion's sheets: a written step each, with why it comes where it does, and a card each for what is
only done when it is called for."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from jackstay.model.records import Entry, Fallback, Mark, Task, Thing
from jackstay.outputs.clock import clock, minutes
from jackstay.outputs.lettering import fold, text_width
from jackstay.outputs.look import SMALL, TEXT, step_id, step_link
from jackstay.outputs.order_boxes import Box, Group, Panel, Row, Wire, stubs
from jackstay.outputs.order_graph import AFTER, BESIDE, CALL, CARD, OWN, Card, Graph, Link, Node, company
from jackstay.outputs.views import View
from jackstay.outputs.wording import caller, entry_text, label, labels, source_place, spoken, step_text

CARD_LINES = 14
WHO = 130.0  # of a heading: the names of who does it
NAME = 84.0  # of a line: the same


class Steps:
    """Makes the boxes of one excursion. units: the keys of what belongs together, task by task."""

    def __init__(self, graph: Graph) -> None:
        self.graph = graph
        self.view: View = graph.view
        self.tasks: list[Task] = list(self.view.excursion.tasks)
        self.number = {id(task): number for number, task in enumerate(self.tasks)}
        self.mine: dict[int, list[str]] = {}
        for index, node in graph.nodes.items():
            self.mine.setdefault(self.number[id(node.task)], []).append(key_of(index))
        self.into: dict[int, list[Link]] = {index: [] for index in graph.nodes}
        self.out: dict[int, list[Link]] = {index: [] for index in graph.nodes}
        for link in graph.links:
            self.into[link.head].append(link)
            self.out[link.tail].append(link)
        self.cards: dict[str, Card] = {f"f{number}": card for number, card in enumerate(graph.cards)}
        self.calls: dict[int, list[tuple[str, str]]] = {}
        for key, card in self.cards.items():
            for caller_at, outcome in card.callers:
                self.calls.setdefault(caller_at, []).append((key, outcome))
        self.guarded: dict[str, Task] = {}
        self.units = self._units()

    def _units(self) -> list[list[str]]:
        mine: dict[int, list[str]] = {number: [] for number in range(len(self.tasks))}
        beside: dict[int, list[str]] = {}
        loose: list[str] = []
        for key, card in self.cards.items():
            (beside.setdefault(card.home, []) if card.home is not None else loose).append(key)
        for index, node in self.graph.nodes.items():
            mine[self.number[id(node.task)]] += [key_of(index), *beside.get(index, [])]
        for number, task in enumerate(self.tasks):
            if task.guard is not None and not mine[number]:
                self.guarded[f"g{number}"] = task
                mine[number].append(f"g{number}")
        return [keys for keys in mine.values() if keys] + [[key] for key in loose]

    def before(self, key: str) -> list[str]:
        """What an arrow comes from, whatever the panel."""
        if key.startswith("n"):
            return [key_of(link.tail) for link in self.into[int(key[1:])]]
        card = self.cards.get(key)
        return [key_of(node) for node, _ in card.callers] if card is not None else []

    def box(self, key: str, inside: Collection[str]) -> Box:
        """inside: the keys of its panel; what lies outside becomes a stub."""
        if key.startswith("n"):
            box = self._node(self.graph.nodes[int(key[1:])], inside)
        elif key.startswith("g"):
            box = self._guarded(key)
        else:
            box = self._card(key, self.cards[key], inside)
        for row in box.rows:
            if row.far and not row.data:
                way = "data-to" if row.sort in ("out", "card") else "data-from"
                row.data = {way: " ".join(self._identity(far) for far in row.far)}
        box.measure()
        return box

    def _identity(self, key: str) -> str:
        """As in the data of the box itself."""
        if key.startswith("n"):
            return step_id(self.view, self.graph.nodes[int(key[1:])].step)
        return fallback_link(self.view, self.cards[key].fallback)["data-fallback"]

    def panel(self, keys: list[str]) -> Panel:
        inside = set(keys)
        boxes = {key: self.box(key, inside) for key in keys}
        groups = dict.fromkeys(box.group for box in boxes.values() if box.group)
        wires = [wire for key in keys for wire in self._wires(key, inside)]
        return Panel(boxes, wires, [self._group(self.tasks[int(group[1:])], group, inside) for group in groups])

    # --- a step ------------------------------------------------------------------------------------------------------

    def _node(self, node: Node, inside: Collection[str]) -> Box:
        step, view, i = node.step, self.view, node.index
        times = view.times
        assert times is not None
        who = labels(list(step.cast[:1]) + company(step)) or "nobody"
        shown = fold(who, TEXT, WHO, True)
        words = f"{shown}: {step_text(step)}"
        if node.handed and node.sort == "joint":
            words += f" ({labels(node.handed)} changes hands)"
        above = stubs(self._comes(node, inside))
        small = [Row("small", f"> {step_text(one)}", data=step_link(view, one)) for one in node.before]
        rows = [*above, *small]
        rows += [Row("small", f"> {step_text(one)}", data=step_link(view, one), late=True) for one in node.after]
        for key, outcome in self.calls.get(i, ()):
            title = self.cards[key].fallback.title
            if key in inside:
                rows.append(Row("card", f"if {outcome}: {title}", late=True))
            else:
                rows.append(Row("card", f"if {outcome}, {title}", "card on", (key,), late=True))
        first = min(one.index for one in node.steps)
        last = max(one.index for one in node.steps)
        vague = times.start_open[first]
        slack = times.slack[i]
        spare = f"slack {minutes(slack)}" if slack else "no slack"
        when = f"{clock(times.start[i], times.start_open[i])} · {minutes(times.durations[i])} · {spare}"
        box = Box(
            key_of(i), node.sort, list(step.cast), words, rows, "", step_link(view, step), self._group_key(node.task)
        )
        rows += when_rows(when, source_place(step.entry.at), box.room)
        says = [view.calls[one.index] for one in node.steps if one.index in view.calls]
        rows += [Row("call", f'calls "{spoken(mark)}"', late=True) for mark in says]
        rows += stubs(self._goes(node, inside))
        box.critical = node.critical
        box.rank = node.task.rank
        told = [row.text for row in (*above, *small)] + [row.text for row in rows if row.late and row.sort != "out"]
        if node.critical:
            told.append("on the critical chain")
        if vague or times.end_open[last]:
            told.append("at the earliest: a step before has no duration")
        box.label = f"{who}: {step_text(step)}. {'; '.join(told)}"
        return box

    def _comes(self, node: Node, inside: Collection[str]) -> list[Row]:
        own: dict[int, list[Thing]] = {}
        later: dict[int, list[int]] = {}
        rows: list[Row] = []
        waits: list[Row] = []
        told: set[Mark] = set()
        for link in self.into[node.index]:
            far = key_of(link.tail)
            if link.sort == CALL and link.mark is not None:
                told.add(link.mark)
                if far in inside:
                    waits.append(Row("wait", f'waits for {called_by(link.mark)}: "{spoken(link.mark)}"'))
                else:
                    waits.append(Row("wait", f'{speaker(link.mark)}, "{spoken(link.mark)}"', "from", (far,)))
            elif link.sort == BESIDE:
                what = f'beside "{step_text(self.graph.nodes[link.tail].step)}"'
                rows.append(Row("in", what, "from" if far not in inside else "", (far,) if far not in inside else ()))
            elif far not in inside:
                if link.sort == OWN and link.actor is not None:
                    own.setdefault(link.tail, []).append(link.actor)
                else:
                    later.setdefault(self.number[id(self.graph.nodes[link.tail].task)], []).append(link.tail)
        for step in node.steps:
            for wait in self.view.waits.get(step.index, ()):
                if wait.mark not in told:
                    told.add(wait.mark)
                    waits.append(Row("wait", f'waits for {called_by(wait.mark)}: "{spoken(wait.mark)}"'))
        for number, tails in later.items():
            rows.append(Row("in", f"after {self.tasks[number].title}", "from", _keys(tails)))
        for tail, actors in own.items():
            rows.append(Row("in", f'{names(actors)} after "{self._text(tail)}"', "from", (key_of(tail),)))
        return [*rows, *waits]

    def _goes(self, node: Node, inside: Collection[str]) -> list[Row]:
        own: dict[int, list[Thing]] = {}
        heard: dict[Mark, list[int]] = {}
        later: dict[int, list[int]] = {}
        rows: list[Row] = []
        for link in self.out[node.index]:
            far = key_of(link.head)
            if far in inside:
                continue
            if link.sort == OWN and link.actor is not None:
                own.setdefault(link.head, []).append(link.actor)
            elif link.sort == CALL and link.mark is not None:
                heard.setdefault(link.mark, []).append(link.head)
            elif link.sort == BESIDE:
                rows.append(Row("out", f'"{self._text(link.head)}" runs beside', "to", (far,), late=True))
            else:
                later.setdefault(self.number[id(self.graph.nodes[link.head].task)], []).append(link.head)
        for mark, heads in heard.items():
            waiting = dict.fromkeys(actor for head in heads for actor in self.graph.nodes[head].step.cast[:1])
            rows.append(Row("out", f'{names(waiting)} on "{spoken(mark)}"', "to", _keys(heads), late=True))
        for number, heads in later.items():
            rows.append(Row("out", f"{self.tasks[number].title} comes after", "to", _keys(heads), late=True))
        for head, actors in own.items():
            rows.append(Row("out", f'{names(actors)}, "{self._text(head)}"', "to", (key_of(head),), late=True))
        return rows

    def _text(self, index: int) -> str:
        return step_text(self.graph.nodes[index].step)

    def _wires(self, key: str, inside: Collection[str]) -> Iterable[Wire]:
        if key.startswith("n"):
            for link in self.into[int(key[1:])]:
                if key_of(link.tail) in inside:
                    yield Wire(key_of(link.tail), key, link.sort, _wire_label(link), link.actor, link.critical)
        elif key in self.cards:
            outcomes: dict[str, list[str]] = {}
            for node, outcome in self.cards[key].callers:
                if key_of(node) in inside:
                    outcomes.setdefault(key_of(node), []).append(outcome)
            for tail, words in outcomes.items():
                yield Wire(tail, key, CARD, f"if {' or '.join(words)}: {self.cards[key].fallback.title}")

    # --- a task's frame ----------------------------------------------------------------------------------------------

    def _group_key(self, task: Task) -> str:
        return f"t{self.number[id(task)]}"

    def _group(self, task: Task, key: str, inside: Collection[str]) -> Group:
        part = "" if all(one in inside for one in self.mine[self.number[id(task)]]) else " (part)"
        after = f" · after {', '.join(one.title for one in task.after)}" if task.after else ""
        about = f"{task.rank}{after} · {source_place(task.decl)}"
        return Group(key, f"{task.title}{part}", about, task.rank, task_link(self.view, task))

    # --- cards -------------------------------------------------------------------------------------------------------

    def _card(self, key: str, card: Card, inside: Collection[str]) -> Box:
        fallback = card.fallback
        rows = [Row("rank", f"fallback {fallback.name}", right=source_place(fallback.decl))]
        for node, outcome in card.callers:
            if key_of(node) not in inside:
                rows.append(Row("in", f'"{self._text(node)}" if {outcome}', "from", (key_of(node),)))
        told = [f"If {outcome} at: {self._text(node)}" for node, outcome in card.callers]
        if not card.callers:
            told.append("No step calls it by itself")
        if fallback.mark is not None:
            told.append(f'Holds from {caller(fallback.mark)}\'s "{spoken(fallback.mark)}" on')
        if fallback.instead:
            told.append(f"Instead of: {', '.join(task.title for task in fallback.instead)}")
        then = f"then {', '.join(task.title for task in fallback.then)}" if fallback.then else "nothing comes after it"
        rows = stubs(rows)
        rows += [Row("small", words, late=True) for words in told[len(card.callers) :]]
        rows += entry_rows(fallback.body.entries)
        rows.append(Row("small", then, late=True))
        label = f"Fallback, {fallback.title}. {'; '.join([*told, then])}"
        data = fallback_link(self.view, fallback)
        return Box(key, "card", _actors(fallback.body.entries), fallback.title, rows, label, data)

    def _guarded(self, key: str) -> Box:
        task = self.guarded[key]
        assert task.guard is not None
        only = f"only if {' and '.join(test.text for test in task.guard.tests)}"
        rows = [Row("rank", task.rank, right=source_place(task.decl)), Row("small", only, late=True)]
        rows += entry_rows(task.entries)
        data = task_link(self.view, task)
        return Box(key, "card", _actors(task.entries), task.title, rows, f"{task.title}, {only}", data)


def names(actors: Iterable[Thing]) -> str:
    """As much of them as leaves room for what they do; badges tell them apart."""
    return fold(labels(list(actors)), SMALL, NAME)


def speaker(mark: Mark) -> str:
    """Whose voice is waited for."""
    doer = mark.entry.cast[0] if mark.entry is not None and mark.entry.cast else None
    return fold(label(doer.runner or doer), SMALL, NAME) if doer is not None else "nobody"


def called_by(mark: Mark) -> str:
    """As `caller`, no longer than leaves room for the call."""
    return fold(caller(mark), SMALL, NAME)


def key_of(index: int) -> str:
    return f"n{index}"


def _keys(indices: list[int]) -> tuple[str, ...]:
    return tuple(key_of(index) for index in indices)


def task_link(view: View, task: Task) -> dict[str, str]:
    return {"data-task": f"{view.excursion.name}/{task.name}", "data-place": source_place(task.decl)}


def fallback_link(view: View, fallback: Fallback) -> dict[str, str]:
    return {"data-fallback": f"{view.excursion.name}/{fallback.name}", "data-place": source_place(fallback.decl)}


def when_rows(when: str, place: str, room: float) -> list[Row]:
    """Time and source line, on one line if they fit."""
    if text_width(when, SMALL) + text_width(place, SMALL) + 8 <= room:
        return [Row("time", when, right=place, late=True)]
    return [Row("time", when, late=True), Row("time", "", right=place, late=True)]


def entry_rows(entries: list[Entry]) -> list[Row]:
    """What is written on a card, a line each."""
    rows = []
    for entry in entries:
        if entry.action is None and not entry.hole:
            continue
        words = f"{names(entry.cast)}: {entry_text(entry)}"
        rows.append(Row("small", words, right=source_place(entry.at), late=True))
    if len(rows) > CARD_LINES:
        left = len(rows) - CARD_LINES + 1
        rows = [*rows[: CARD_LINES - 1], Row("small", f"… {left} more: see the card of the checklist", late=True)]
    return rows


def _actors(entries: list[Entry]) -> list[Thing]:
    return list(dict.fromkeys(actor for entry in entries for actor in entry.cast))[:8]


def _wire_label(link: Link) -> str:
    if link.sort == OWN and link.actor is not None:
        return f"{link.actor.title} goes on"
    if link.mark is not None:
        words = "beside, up to" if link.sort == BESIDE else "waits for"
        return f'{words} {caller(link.mark)}\'s "{spoken(link.mark)}"'
    return {AFTER: "the text says after", BESIDE: "runs beside"}.get(link.sort, "")
