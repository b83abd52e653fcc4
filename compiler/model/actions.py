"""Actions and rules, resolved."""

from __future__ import annotations

from collections.abc import Iterable

from jackstay.model.formulas import constant, dimension_of, fold, mentions_way, reads_things, resolve
from jackstay.model.kinds import text_of
from jackstay.model.literals import resolve_all, resolve_effects, resolve_literal
from jackstay.model.patterns import RESERVED, RoutineDecl, Verb, pattern_text
from jackstay.model.records import (
    NO_DIMENSION,
    Action,
    Expect,
    Formula,
    Kind,
    Measure,
    Param,
    Part,
    Rule,
    Service,
    Slot,
    World,
)
from jackstay.model.scope import Notebook, Scope
from jackstay.model.terms import Terms
from jackstay.model.units import SpanOf, Units, dimension_text
from jackstay.model.words import title_of
from jackstay.source.spans import Span
from jackstay.syntax import tree

_ONCE = (  # the lines that an action has once
    (tree.By, "who does"),
    (tree.Takes, "the duration of"),
    (tree.Effort, "the effort of"),
    (tree.CanStop, "the stopping of"),
    (tree.NoFaster, "the pace of"),
    (tree.Expects, "the range of"),
)


class ActionBuilder:
    """Resolves the actions, routines' first lines and rules of one module."""

    def __init__(
        self,
        world: World,
        scope: Scope,
        units: Units,
        notebook: Notebook,
        builtin: dict[str, Kind],
        file: tree.File,
        lines: list[str],
        rules: dict[str, Span] | None = None,
    ) -> None:
        self.world = world
        self.rules = {} if rules is None else rules  # where each rule of the campaign is declared
        self.scope = scope
        self.units = units
        self.notebook = notebook
        self.builtin = builtin
        self.file = file
        self.lines = lines

    def terms(self, statement: tree.Statement) -> Terms:
        return Terms(self.scope, self.units, self.notebook, self.builtin, SpanOf(self.file, statement))

    def _pattern(
        self, pattern: tuple[tree.PatternPart, ...], statement: tree.Statement
    ) -> tuple[tuple[Part, ...], tuple[Param, ...], bool]:
        """Parts, params, and whether all is well. A slot named twice or before any verb is a finding."""
        terms = self.terms(statement)
        parts: list[Part] = []
        params: list[Param] = []
        good = True
        for part in pattern:
            if part.slot is None:
                parts.append(Part(part.words, -1))
                continue
            name = part.slot.text
            at = terms.span(part.slot.at)
            if not parts or any(p.name == name for p in params) or name in ("actor", "helper"):
                first = next((p.decl for p in params if p.name == name), at)
                self.notebook.add("bad-pattern", at, name=name, first=first, leads=not parts)
                good = False
                continue
            word = part.kinds[0].text if part.kinds else "thing"
            sort = word if word in ("count", "text") else "thing"
            kinds: tuple[Kind, ...] = ()
            if sort == "thing":
                found = [terms.kind(k) for k in part.kinds] or [self.builtin["thing"]]
                kinds = tuple(k for k in found if k is not None)
                good &= len(kinds) == len(found)
                kinds = kinds or (self.builtin["thing"],)
            parts.append(Part((), len(params) + 2))
            params.append(Param(name, sort, kinds, at))
        if parts and parts[0].words and parts[0].words[0] in RESERVED:
            self.notebook.add(
                "bad-pattern", terms.span(pattern[0].at), name=parts[0].words[0], first=terms.span(), leads=True
            )
            good = False
        return tuple(parts), tuple(params), good and bool(parts)

    def routine(self, statement: tree.Statement, module: str) -> RoutineDecl | None:
        node = statement.node
        assert isinstance(node, tree.Routine)
        parts, params, good = self._pattern(node.pattern, statement)
        if not good:
            return None
        return RoutineDecl(pattern_text(node.pattern), parts, params, self.file.span(statement), module, statement)

    def action(self, statement: tree.Statement, module: str) -> Verb | None:
        node = statement.node
        assert isinstance(node, tree.Action)
        parts, params, good = self._pattern(node.pattern, statement)
        action = Action(pattern_text(node.pattern), parts, params, self.file.span(statement), module)
        slots = {p.name: Slot(i + 2, p.name, p.kinds) for i, p in enumerate(params)}
        numbers = {p.name for p in params if p.sort == "count"}
        slots["actor"] = Slot(0, "actor", (self.builtin["actor"],))
        once: dict[str, Span] = {}
        for child in statement.children:
            what = next((words for sort, words in _ONCE if isinstance(child.node, sort)), "")
            at = self.file.span(child)
            if what and once.setdefault(what, at) != at:
                self.notebook.add("said-twice", at, what=f"{what} “{action.text}”", first=once[what])
        # who acts decides what the actor has: `by` is read first, wherever it stands
        for child in statement.children:
            if isinstance(child.node, tree.By):
                self._by(action, child, slots)
        for child in statement.children:
            terms = self.terms(child)
            terms.slots = slots
            terms.numbers = numbers
            terms.route = self.world.way or NO_DIMENSION
            self._line(action, child.node, terms)
        if not action.by:
            if not any(isinstance(c.node, (tree.By, tree.Unreadable)) for c in statement.children):
                self.notebook.add("nobody-acts", action.decl, action=action.text)
            return None
        return action if good else None

    def _by(self, action: Action, statement: tree.Statement, slots: dict[str, Slot]) -> None:
        node = statement.node
        assert isinstance(node, tree.By)
        terms = self.terms(statement)
        action.by = self._actors(node.kinds, terms)
        action.helped_by = self._actors(node.helper, terms)
        joined = []
        for name in node.along:
            slot = slots.get(name.text)
            if slot is None:
                self.notebook.add(
                    "unknown-name",
                    terms.span(name.at),
                    name=name.text,
                    wanted="a slot of this action",
                    candidates=[(s, "", action.decl) for s in slots],
                    places=[],
                    elsewhere=[],
                )
                continue
            wrong = next((k for k in slot.kinds if k.sort not in ("actor", "thing")), None)
            if wrong is not None or not slot.kinds:
                self.notebook.add(
                    "wrong-kind",
                    terms.span(name.at),
                    name=name.text,
                    found=wrong.name if wrong else "a number",
                    wanted="an actor, who is occupied too",
                    decl=wrong.decl if wrong else action.decl,
                    candidates=[],
                )
                continue
            joined.append(slot.index)
        action.joined = tuple(joined)
        if action.by:
            slots["actor"] = Slot(0, "actor", action.by)
        if action.helped_by:
            slots["helper"] = Slot(1, "helper", action.helped_by)

    def _actors(self, names: Iterable[tree.Name], terms: Terms) -> tuple[Kind, ...]:
        out = []
        for name in names:
            kind = terms.kind(name)
            if kind is None:
                continue
            if kind.sort != "actor":
                if kind not in self.notebook.broken:
                    terms.notebook.add(
                        "wrong-kind",
                        terms.span(name.at),
                        name=name.text,
                        found=f"a kind of {kind.sort}",
                        wanted="a kind of actor",
                        decl=kind.decl,
                        candidates=[k for k in self.scope.kind_names() if k[1] == "actor"],
                    )
                continue
            out.append(kind)
        return tuple(out)

    def _line(self, action: Action, node: tree.Node, terms: Terms) -> None:
        if isinstance(node, tree.Needs):
            action.needs += resolve_all(node.literals, terms, self.lines)
        elif isinstance(node, tree.During):
            action.during += resolve_all(node.literals, terms, self.lines)
        elif isinstance(node, tree.Uses):
            action.uses += resolve_all(node.literals, terms, self.lines)
        elif isinstance(node, tree.WorksOn):
            found = [terms.term(ref) for ref in node.refs]
            action.works_on += tuple(t for t in found if t is not None)
        elif isinstance(node, tree.Makes):
            action.effects += resolve_effects(node.effects, terms, self.lines)
        elif isinstance(node, tree.Serves):
            test = resolve_literal(node.literal, terms, self.lines)
            if test is not None:
                action.serves += (Service(test, node.along_paths),)
        elif isinstance(node, tree.Takes):
            parts = [
                self.duration(formula, terms, "how long this takes") if formula is not None else None
                for formula in (node.value, node.least, node.most)
            ]
            action.takes, action.takes_least, action.takes_most = parts
            action.origin = terms.origin(node.origin, f"the time of `{action.text}`") or action.origin
            value = fold(parts[0]) if parts[0] is not None else None
            if node.value is not None and value is not None and value <= 0:
                low = text_of(node.value)
                self.notebook.add("bad-range", terms.span(node.value.at), low=low, high="", likely="")
        elif isinstance(node, tree.NoFaster):
            action.no_faster = self.duration(node.least, terms, "the least time that this may take")
        elif isinstance(node, tree.Expects):
            self._expects(action, node, terms)
        elif isinstance(node, tree.Effort):
            action.effort = self.units.effort(node.level, terms.span(node.level.at))
        elif isinstance(node, tree.May):
            action.may += (node.outcome.value,)
        elif isinstance(node, tree.CanStop):
            if node.after is None:
                action.cannot_stop = True
            else:
                after = self.duration(node.after, terms, "when this can stop")
                if after is not None and (fold(after) or 0) < 0:
                    at = terms.span(node.after.at)
                    self.notebook.add("bad-time", at, what="bound", text=text_of(node.after), other="")
                    after = None
                action.stops_after = after
                action.leaves = resolve_all(node.leaves, terms, self.lines)

    def _expects(self, action: Action, node: tree.Expects, terms: Terms) -> None:
        at = terms.span()
        low, high = constant(node.low, terms), constant(node.high, terms)
        if low is None or high is None:
            return
        if low.dimension != high.dimension:
            found, wanted = dimension_text(high.dimension), dimension_text(low.dimension)
            self.notebook.add("wrong-dimension", at, found=found, wanted=wanted, what="the second end of this range")
        elif low.value > high.value:
            self.notebook.add("bad-range", at, low=low.text, high=high.text)
        else:
            action.expects = Expect(low, high, f"{low.text} to {high.text}", at)
            action.expects_origin = terms.origin(node.origin, f"the range of `{action.text}`")

    def duration(self, node: tree.Formula, terms: Terms, what: str) -> Formula | None:
        """A formula of time. Which dimension is time is fixed by the first duration that the campaign states."""
        formula = resolve(node, terms)
        if formula is None:
            return None
        found = dimension_of(formula)
        by_way = mentions_way(formula)
        if by_way and (self.world.way is None or self.world.time == NO_DIMENSION):
            return formula  # nothing has said yet what a length is, or a time
        if self.world.time == NO_DIMENSION:
            self.world.time = found
        if found != self.world.time:
            self.notebook.add(
                "wrong-dimension",
                terms.span(node.at),
                found=dimension_text(found),
                wanted=dimension_text(self.world.time),
                what=what,
            )
            return None
        return formula

    def rule(self, statement: tree.Statement) -> None:
        node = statement.node
        assert isinstance(node, tree.Rule)
        title = node.title.value if node.title else title_of(node.name.text)
        at = self.file.span(statement, node.name.at)
        first = self.rules.setdefault(node.name.text, at)
        if first != at:
            self.notebook.add("name-taken", at, name=node.name.text, first=first)
        says = (tree.Never, tree.Always, tree.Hole, tree.Unreadable)
        if not any(isinstance(child.node, says) for child in statement.children):
            lacks = "a line `never` or `always` under it"
            self.notebook.add("says-nothing", self.file.span(statement), line="rule", lacks=lacks)
        sources = [child for child in statement.children if isinstance(child.node, tree.Origin)]
        origin = self.terms(sources[0]).origin(sources[0].node, title) if sources else None  # type: ignore[arg-type]
        for child in statement.children:
            line = child.node
            if not isinstance(line, (tree.Never, tree.Always)):
                continue
            terms = self.terms(child)
            terms.new_slots = []
            tests = resolve_all(line.literals, terms, self.lines, wanted=isinstance(line, tree.Always))
            meanwhile = resolve_all(line.meanwhile, terms, self.lines, wanted=False)
            again = line.again if isinstance(line, tree.Never) else None
            limit = (line.longer or again) if isinstance(line, tree.Never) else line.every
            found = self._lasting(limit, terms, again is None) if limit is not None else None
            if limit is not None and found is None:
                continue
            never, measure = isinstance(line, tree.Never), found if isinstance(found, Measure) else None
            if len(tests) == len(line.literals) and len(meanwhile) == len(line.meanwhile):
                self.world.rules.append(
                    Rule(
                        node.name.text,
                        title,
                        isinstance(line, tree.Never),
                        tests,
                        meanwhile,
                        tuple(terms.new_slots),
                        self.file.span(statement),
                        measure if never and again is None else None,
                        None if never else measure,
                        None if isinstance(found, Measure) else found,
                        measure if again is not None else None,
                        origin,
                    )
                )

    def _lasting(self, node: tree.Formula, terms: Terms, formulas: bool) -> Measure | Formula | None:
        """How long a rule lets something be: a constant time, or (formulas) one to be worked out for its slots."""
        formula = self.duration(node, terms, "how long it may be")
        if formula is None:
            return None
        if formulas and reads_things(formula):
            return formula
        measure = constant(node, terms)
        if measure is not None and measure.value <= 0:
            self.notebook.add("bad-time", terms.span(node.at), what="lasting", text=measure.text, other="")
            return None
        return measure
