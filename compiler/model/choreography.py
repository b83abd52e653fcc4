"""Excursions: who does what, where, after what. Headings, steps and routine calls are told apart by their words."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from jackstay.model.actions import ActionBuilder
from jackstay.model.blocks import BlockBuilder, Pending
from jackstay.model.clocks import finish_clock, read_time_line
from jackstay.model.forms import read_fills
from jackstay.model.formulas import constant
from jackstay.model.literals import resolve_all
from jackstay.model.patterns import Phrasebook, RoutineDecl
from jackstay.model.records import (
    Answer,
    Entry,
    Excursion,
    Fallback,
    Guard,
    Kind,
    LeftState,
    LeftThing,
    Mark,
    Measure,
    Member,
    Task,
    Test,
    Thing,
    TimeBound,
    Wait,
    World,
)
from jackstay.model.scope import Group, Notebook, Scope
from jackstay.model.terms import Terms
from jackstay.model.units import SpanOf, Units, dimension_text
from jackstay.model.words import title_of
from jackstay.source.spans import NOWHERE, Span
from jackstay.syntax import tree

if TYPE_CHECKING:
    from jackstay.model.from_syntax import ModuleLike

_ZERO = Fraction(0)
_ONCE = (
    (tree.Starts, "where the excursion starts"),
    (tree.Clock, "the clock of the excursion"),
    ((tree.Light, tree.Orbit), "the light of the excursion"),
    (tree.SlowDay, "how slow a day may be"),
    (tree.Together, "how far apart the crew may end"),
    (tree.Begins, "when the excursion begins"),
)
RANKS = ("required", "wanted", "get-ahead")


class ExcursionBuilder:
    """Builds one excursion. Marks are resolved at the end, so that a wait may stand before its call."""

    def __init__(
        self,
        world: World,
        scope: Scope,
        units: Units,
        notebook: Notebook,
        builtin: dict[str, Kind],
        book: Phrasebook,
        modules: dict[str, "ModuleLike"],
        scopes: dict[str, Scope],
        excursions: dict[str, Excursion],
        module: "ModuleLike",
        actions: ActionBuilder,
        all_modules: dict[str, "ModuleLike"],
    ) -> None:
        self.world = world
        self.scope = scope
        self.units = units
        self.notebook = notebook
        self.builtin = builtin
        self.book = book
        self.modules = modules
        self.scopes = scopes
        self.excursions = excursions
        self.module = module
        self.file = module.file
        self.lines = module.source.lines
        self.actions = actions
        self.pending: list[Pending] = []
        self.by_mark_name: dict[str, list[Mark]] = {}
        self.unknown_marks: set[str] = set()
        self.fallback_uses: list[tuple[Entry, str, str, Span]] = []
        self.task_names: dict[str, Task] = {}
        self.task_waits: list[tuple[Task, str, tree.Name, Span]] = []
        self.crew_at: Span | None = None
        self.crew_unsure = (
            False  # a name of the crew means nothing, or the lack of a crew was told: nobody is missed there
        )
        self.all_tasks: dict[str, Span] = {}
        self.heads: dict[str, Span] = {}  # lines that an excursion has once, where they stand
        self.clock_marks: dict[str, tuple[tree.Name, Span]] = {}  # starts, ends
        self.fallback_nodes: list[tuple[Fallback, tree.Fallback, tree.Statement]] = []

    def terms(self, statement: tree.Statement) -> Terms:
        return Terms(self.scope, self.units, self.notebook, self.builtin, SpanOf(self.file, statement))

    def build(self, excursion: Excursion, statement: tree.Statement) -> None:
        self.excursion = excursion
        for child in statement.children:
            self._head(child)
            if isinstance(child.node, tree.Task):
                self.all_tasks.setdefault(child.node.name.text, self.file.span(child, child.node.name.at))
        blocks = BlockBuilder(self)
        for child in statement.children:
            if isinstance(child.node, tree.Task):
                self._task(child, child.node, blocks)
            elif isinstance(child.node, tree.Fallback):
                self._fallback(child, child.node, blocks)
        for index, entry in enumerate(excursion.entries):
            entry.index = index
        self._finish_tasks()
        self._finish_marks()
        self._finish_fallbacks()
        for child in statement.children:
            self._end_lines(child)

    def rehearse(self, scratch: Excursion, routine: RoutineDecl) -> None:
        """Read the body of a routine that nothing calls, with a stand-in for each slot."""
        self.excursion = scratch
        blocks = BlockBuilder(self)
        blocks.rehearse(routine, Task("", "", "required", scratch, routine.decl))
        self._finish_marks()

    # --- the excursion's own lines ---------------------------------------------------------------------------------

    def _head(self, child: tree.Statement) -> None:
        node, terms, excursion = child.node, self.terms(child), self.excursion
        line = next((words for sort, words in _ONCE if isinstance(node, sort)), "")
        if line and self.heads.setdefault(line, terms.span()) != terms.span():
            self.notebook.add("said-twice", terms.span(), what=line, first=self.heads[line])
            return
        if isinstance(node, tree.Crew):
            members: list[Member] = []
            self.crew_at = terms.span()
            for name, role in node.members:
                actor = self.thing(name, terms, ("actor",))
                if actor is None:
                    self.crew_unsure = True
                    continue
                if any(m.actor is actor for m in members):
                    first = next(n for n, _ in node.members if n.text == name.text)
                    self.notebook.add("named-twice", terms.span(name.at), name=name.text, first=terms.span(first.at))
                    continue
                members.append(Member(actor, role.text if role else None))
            excursion.crew += tuple(members)
        elif isinstance(node, tree.Starts):
            self._starts(node, terms)
        elif isinstance(node, tree.Fills):
            read_fills(self.world, excursion, child, self.terms)
        else:
            read_time_line(self, node, terms)

    def _starts(self, node: tree.Starts, terms: Terms) -> None:
        excursion = self.excursion
        excursion.starts_at = terms.span(node.name.at)
        if node.how == "as":
            if node.name.text not in self.modules:
                known = [(m, "file", NOWHERE) for m in self.modules]
                self.notebook.add(
                    "unknown-name",
                    excursion.starts_at,
                    name=node.name.text,
                    wanted="a file used here",
                    candidates=known,
                    places=[],
                    elsewhere=[],
                )
            return
        previous = self.excursions.get(node.name.text)
        if previous is None:
            self._no_excursion(node.name, excursion.starts_at, "an excursion of a file used here")
            return
        excursion.starts = node.how
        excursion.previous = previous

    def _no_excursion(self, name: tree.Name, at: Span, wanted: str) -> None:
        known = [(e.name, "excursion", e.decl) for e in self.excursions.values()]
        self.notebook.add("unknown-name", at, name=name.text, wanted=wanted, candidates=known, places=[], elsewhere=[])

    def time(self, node: tree.Formula, terms: Terms) -> Measure | None:
        """A constant duration."""
        measure = constant(node, terms)
        if measure is None:
            return None
        if self.world.time == ():
            self.world.time = measure.dimension
        if measure.dimension != self.world.time:
            self.notebook.add(
                "wrong-dimension",
                terms.span(node.at),
                found=dimension_text(measure.dimension),
                wanted=dimension_text(self.world.time),
                what="a time",
            )
            return None
        return measure

    def thing(self, name: tree.Name, terms: Terms, sorts: tuple[str, ...]) -> Thing | None:
        return terms.thing(name, sorts)

    def _end_lines(self, child: tree.Statement) -> None:
        node, terms = child.node, self.terms(child)
        if isinstance(node, (tree.LeftOutside, tree.ComesInside)):
            target = self.excursion.left_outside if isinstance(node, tree.LeftOutside) else self.excursion.comes_inside
            until = self._until(node.until, terms) if isinstance(node, tree.LeftOutside) else None
            for name in node.names:
                named = terms.scope.thing(name.text)
                members = named.members if isinstance(named, Group) else None
                if members is None:
                    thing = self.thing(name, terms, ("item",))
                    members = (thing,) if thing is not None else ()
                for member in members:
                    first = next((left.at for left in target if left.thing is member), None)
                    if first is not None:
                        self.notebook.add("named-twice", terms.span(name.at), name=member.name, first=first)
                    else:
                        target.append(LeftThing(member, until, terms.span(name.at)))
        elif isinstance(node, tree.LeftSo):
            until = self._until(node.until, terms)
            for test in resolve_all(node.literals, terms, self.lines):
                first = next((s.at for s in self.excursion.left_so if s.test[2:6] == test[2:6]), None)
                if test.op != "is" or test.negated:
                    self.notebook.add("cannot-make", test.at, text=test.text)
                elif first is not None:
                    self.notebook.add("said-twice", test.at, what="how this is left", first=first)
                else:
                    self.excursion.left_so.append(LeftState(test, until, test.at))

    def _until(self, name: tree.Name | None, terms: Terms) -> str | None:
        """The excursion that takes it. A campaign has them all; a file by itself need not know the later ones."""
        if name is None:
            return None
        if self.world.listed and name.text not in self.excursions:
            self._no_excursion(name, terms.span(name.at), "an excursion of the campaign")
        return name.text

    # --- tasks -----------------------------------------------------------------------------------------------------

    def _task(self, statement: tree.Statement, node: tree.Task, blocks: BlockBuilder) -> None:
        terms = self.terms(statement)
        at = terms.span(node.name.at)
        name = node.name.text
        if name in self.task_names:
            self.notebook.add("name-taken", at, name=name, first=self.task_names[name].decl)
        title = node.title.value if node.title else title_of(name)
        rank = node.rank.text
        if rank not in RANKS:
            self.notebook.add(
                "unknown-value",
                terms.span(node.rank.at),
                value=rank,
                of="a task's rank",
                allowed=list(RANKS),
                several=[],
                decl=NOWHERE,
            )
            rank = "required"
        task = Task(name, title, rank, self.excursion, at)
        self.task_names.setdefault(name, task)
        self.excursion.tasks.append(task)
        self._task_bounds(task, node, terms)
        blocks.body(statement.children, task, self.excursion.entries)
        task.done_when = self._done_when(statement)

    def _done_when(self, statement: tree.Statement) -> tuple[Test, ...]:
        tests: tuple[Test, ...] = ()
        for child in statement.children:
            if isinstance(child.node, tree.DoneWhen):
                tests += resolve_all(child.node.literals, self.terms(child), self.lines)
        return tests

    def _task_bounds(self, task: Task, node: tree.Task, terms: Terms) -> None:
        for bound in node.bounds:
            if isinstance(bound, tree.Bound) and bound.sort in ("after", "with"):
                for name in bound.names:
                    self.task_waits.append((task, bound.sort, name, terms.span(name.at)))
            elif isinstance(bound, tree.Bound) and bound.sort == "was":
                task.was = bound.names[0].text
            elif isinstance(bound, tree.Bound) and bound.sort == "on":
                for name in bound.names:
                    self.pending.append(Pending(None, "on", name, terms.span(name.at), {}, task))
            elif isinstance(bound, tree.Bound) and bound.sort in ("says", "while", "expect"):
                self.notebook.add("bound-not-here", terms.span(bound.at), sort=bound.sort, where="task")
                if bound.sort == "says":  # nobody misses the mark
                    self._add_mark(Mark(bound.names[0].text, task, None, terms.span(bound.at)))
            elif isinstance(bound, tree.Bound):
                time_bound = self.time_bound(bound, terms, None, {}, task)
                if time_bound is not None:
                    task.bounds += (time_bound,)
            else:
                self._guard(task, bound, terms)

    def _guard(self, task: Task, bound: tree.Guard, terms: Terms) -> None:
        tests = []
        for literal in bound.literals:
            value = getattr(literal, "value", None)
            name = literal.subject.name
            if isinstance(literal, tree.Compared) and isinstance(value, tree.Name) and value.text == "done" and name:
                if self._known_task(name, terms):
                    at = terms.span(literal.at)
                    tests.append(
                        Test(
                            "done",
                            literal.negated,
                            self.builtin_term(),
                            None,
                            None,
                            name.text,
                            None,
                            at,
                            self.lines[at.line - 1][at.start : at.end],
                        )
                    )
            else:
                tests += resolve_all([literal], terms, self.lines)
        task.guard = Guard(tuple(tests), terms.span(bound.at))

    def builtin_term(self) -> Thing:
        """A guard on a task has no thing as its subject; the excursion's first actor stands in."""
        if self.excursion.crew:
            return self.excursion.crew[0].actor
        return Thing(-1, "", "", "actor", self.builtin["actor"], NOWHERE)

    def _known_task(self, name: tree.Name, terms: Terms) -> bool:
        head, dot, rest = name.text.partition(".")
        excursion = self.excursions.get(head) if dot else self.excursion
        known = (
            {t.name: t.decl for t in excursion.tasks}
            if excursion and excursion is not self.excursion
            else self.all_tasks
        )
        if (excursion or not dot) and (rest if dot else head) in known:
            return True
        candidates = [(f"{e.name}.{t.name}", "task", t.decl) for e in self.excursions.values() for t in e.tasks]
        candidates += [(task, "task", at) for task, at in self.all_tasks.items()]
        self.notebook.add(
            "unknown-name",
            terms.span(name.at),
            name=name.text,
            wanted="a task",
            candidates=candidates,
            places=[],
            elsewhere=[],
        )
        return False

    def _finish_tasks(self) -> None:
        for task, sort, name, at in self.task_waits:
            other = self.task_names.get(name.text)
            if other is None or other is task:
                candidates = [(t.name, "task", t.decl) for t in self.excursion.tasks if t is not task]
                self.notebook.add(
                    "unknown-name",
                    at,
                    name=name.text,
                    wanted="another task of this excursion",
                    candidates=candidates,
                    places=[],
                    elsewhere=[],
                )
            elif sort == "after":
                task.after += (other,)
            else:
                task.along_with += (other,)

    # --- marks -----------------------------------------------------------------------------------------------------

    def say(self, entry: Entry, name: tree.Name, at: Span, local: dict[str, Mark] | None, task: Task) -> None:
        """The end of an entry is named. Inside a routine (local set) the mark is fresh to the call."""
        mark = Mark(name.text, task, entry, at)
        if local is None and name.text in self.all_tasks:
            self.notebook.add("name-taken", at, name=name.text, first=self.all_tasks[name.text])
        same = (
            local.get(name.text)
            if local is not None
            else next((m for m in self.marks_named(name.text) if m.task is task), None)
        )
        if same is not None:
            self.notebook.add("mark-said-twice", at, name=name.text, first=same.at, other=name.text)
            return
        if entry.says is not None:
            self.notebook.add("mark-said-twice", at, name=name.text, first=entry.says.at, other=entry.says.name)
            return
        entry.says = mark
        if local is not None:
            local[name.text] = mark
        self._add_mark(mark)

    def _add_mark(self, mark: Mark) -> None:
        self.excursion.marks.append(mark)
        self.by_mark_name.setdefault(mark.name, []).append(mark)

    def time_bound(
        self, bound: tree.Bound, terms: Terms, entry: Entry | None, local: dict[str, Mark], task: Task
    ) -> TimeBound | None:
        at = terms.span(bound.at)
        if bound.sort == "light":
            return TimeBound("light", _ZERO, None, bound.names[0].text, at)
        measure = self.time(bound.formulas[0], terms) if bound.formulas else None
        if measure is None:
            return None
        if measure.value < 0:
            self.notebook.add("bad-time", terms.span(bound.formulas[0].at), what="bound", text=measure.text, other="")
            return None
        made = TimeBound(bound.sort, measure.value, None, "", at)
        if bound.sort == "within" and bound.names:
            pending = Pending(entry, "within", bound.names[0], terms.span(bound.names[0].at), local, task)
            self.pending.append(pending)
        return made

    def mark(self, pending: Pending) -> Mark | None:
        name = pending.name.text
        if name in pending.local:
            return pending.local[name]
        head, dot, rest = name.rpartition(".")
        # what a fallback says is said only when it is taken: the plan cannot wait for it
        marks = [m for m in self.marks_named(rest) if m.task.rank != "fallback" or m.task is pending.task]
        if dot:
            found = [m for m in marks if m.task.name == head]
        else:
            found = [m for m in marks if m.task is pending.task] or [m for m in marks if not _in_routine(m)]
        if len(found) == 1:
            return found[0]
        if found:
            self.notebook.add(
                "mark-of-two-tasks",
                pending.span,
                name=name,
                first=found[0].at,
                second=found[1].at,
                tasks=[m.task.name for m in found],
            )
            return None
        if name in self.unknown_marks:
            return None  # said once: one cause
        self.unknown_marks.add(name)
        candidates = [
            (f"{m.task.name}.{m.name}" if _in_routine(m) else m.name, "mark", m.at)
            for m in self.excursion.marks
            if m.task.rank != "fallback" or m.task is pending.task
        ]
        said = next((m for m in self.marks_named(rest) if m not in marks), None)
        self.notebook.add(
            "unknown-mark",
            pending.span,
            name=name,
            candidates=candidates,
            fallback=said.task.title if said else "",
            said=said.at if said else None,
        )
        return None

    def marks_named(self, name: str) -> list[Mark]:
        """All marks of this name, whoever says them."""
        return self.by_mark_name.get(name, [])

    def _finish_marks(self) -> None:
        finish_clock(self)
        first_of: dict[int, list[Entry]] = {}
        for pending in self.pending:
            mark = self.mark(pending)
            if mark is None:
                continue
            if pending.sort == "within" and mark.entry is pending.entry and pending.entry is not None:
                self.notebook.add("bound-not-here", pending.span, sort="within", where="own")
            if pending.sort == "within":
                owner: Entry | Task = pending.task if pending.entry is None else pending.entry
                at = pending.span
                owner.bounds = tuple(
                    b._replace(mark=mark) if b.sort == "within" and b.at.start <= at.start < b.at.end else b
                    for b in owner.bounds
                )
                continue
            wait = Wait(mark, pending.span)
            if pending.entry is not None:
                if pending.sort == "on":
                    pending.entry.waits += (wait,)
                else:
                    pending.entry.beside += (wait,)
                continue
            # a task's `on`: the first entry of each actor in it
            entries = first_of.setdefault(id(pending.task), first_entries(pending.task))
            for entry in entries:
                entry.waits += (wait,)

    # --- fallbacks -------------------------------------------------------------------------------------------------

    def _fallback(self, statement: tree.Statement, node: tree.Fallback, blocks: BlockBuilder) -> None:
        terms = self.terms(statement)
        at = terms.span(node.name.at)
        title = node.title.value if node.title else title_of(node.name.text)
        first = next((f for f in self.excursion.fallbacks if f.name == node.name.text), None)
        if first is not None:
            self.notebook.add("name-taken", at, name=node.name.text, first=first.decl)
            return
        body = Task(node.name.text, title, "fallback", self.excursion, at)
        fallback = Fallback(node.name.text, title, body, None, (), (), at)
        self.excursion.fallbacks.append(fallback)
        self.fallback_nodes.append((fallback, node, statement))
        entries: list[Entry] = []
        blocks.body(statement.children, body, entries)
        body.done_when = self._done_when(statement)
        for index, entry in enumerate(entries):
            entry.index = index

    def _finish_fallbacks(self) -> None:
        for fallback, node, statement in self.fallback_nodes:
            terms = self.terms(statement)
            for names, target in ((node.instead, "instead"), (node.then, "then")):
                found = []
                for name in names:
                    task = self.task_names.get(name.text)
                    if task is None:
                        self.notebook.add(
                            "unknown-name",
                            terms.span(name.at),
                            name=name.text,
                            wanted="a task of this excursion",
                            candidates=[(t.name, "task", t.decl) for t in self.excursion.tasks],
                            places=[],
                            elsewhere=[],
                        )
                    else:
                        found.append(task)
                setattr(fallback, target, tuple(found))
            if node.mark is not None:
                fallback.mark = self.mark(Pending(None, "on", node.mark, terms.span(node.mark.at), {}, fallback.body))
        by_name = {f.name: f for f in self.excursion.fallbacks}
        for entry, outcome, called, at in self.fallback_uses:
            found_fallback = by_name.get(called) if called else None
            if called and found_fallback is None:
                self.notebook.add(
                    "unknown-name",
                    at,
                    name=called,
                    wanted="a fallback of this excursion",
                    candidates=[(f.name, "fallback", f.decl) for f in self.excursion.fallbacks],
                    places=[],
                    elsewhere=[],
                )
                continue
            entry.answers += (Answer(outcome, found_fallback, at),)

    def routine_module(self, routine: RoutineDecl) -> "ModuleLike":
        return self.modules[routine.module]


def _in_routine(mark: Mark) -> bool:
    return mark.entry is not None and mark.entry.routine_at is not None


def first_entries(task: Task) -> list[Entry]:
    """The first entry of each actor in a task (an entry may be several actors' first)."""
    seen: set[int] = set()
    out: list[Entry] = []
    for entry in task.entries:
        fresh = [a for a in entry.cast if a.index not in seen]
        seen.update(a.index for a in entry.cast)
        if fresh:
            out.append(entry)
    return out


def last_entries(task: Task) -> list[Entry]:
    """The last entry of each actor in a task."""
    seen: set[int] = set()
    out: list[Entry] = []
    for entry in reversed(task.entries):
        fresh = [a for a in entry.cast if a.index not in seen]
        seen.update(a.index for a in entry.cast)
        if fresh:
            out.append(entry)
    return out[::-1]
