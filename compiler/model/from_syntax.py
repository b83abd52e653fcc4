"""From trees to a world: names, kinds, units, actions and choreography resolved, all mistakes in one run."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from functools import partial
from typing import Protocol

from jackstay.diagnostics.records import Problem
from jackstay.model.actions import ActionBuilder
from jackstay.model.choreography import ExcursionBuilder
from jackstay.model.efforts import read_efforts
from jackstay.model.forms import FormReader, read_word
from jackstay.model.formulas import constant
from jackstay.model.kind_times import check_later
from jackstay.model.kinds import KindBuilder, builtin_kinds
from jackstay.model.patterns import Phrasebook, RoutineDecl, pattern_text
from jackstay.model.records import Allowance, Excursion, Table, TableRow, Thing, Var, World
from jackstay.model.scope import LetValue, Notebook, Scope
from jackstay.model.terms import Terms
from jackstay.model.things import ThingBuilder
from jackstay.model.units import SpanOf, Units
from jackstay.model.words import title_of
from jackstay.source.spans import NOWHERE, Span
from jackstay.syntax import tree
from jackstay.syntax.salvage import declared


class SourceLike(Protocol):
    lines: list[str]


class ModuleLike(Protocol):
    """What this stage needs of a loaded module (`syntax.modules.Module`)."""

    name: str
    file: tree.File
    source: SourceLike
    uses: list[tuple[tree.Statement, str, str | None]]
    shipped: bool


def build_world(modules: dict[str, ModuleLike]) -> tuple[World, list[Problem]]:
    """modules: in dependency order, the root last. Never raises on any tree."""
    return WorldBuilder(modules).build()


class WorldBuilder:
    def __init__(self, modules: dict[str, ModuleLike]) -> None:
        self.modules = modules
        self.notebook = Notebook(lines={module.file.path: module.source.lines for module in modules.values()})
        self.units = Units(self.notebook)
        self.builtin = builtin_kinds()
        self.scopes: dict[str, Scope] = {}
        self.book = Phrasebook()
        self.rules: dict[str, Span] = {}
        self.listing: list[tuple[str, Span]] = []  # the campaign's excursions in its own order
        root = next(reversed(modules), "")
        self.world = World(root, title_of(root.rsplit("/", 1)[-1]), NOWHERE, kinds=list(self.builtin.values()))
        self.excursions: dict[str, tuple[Excursion, str]] = {}

    def build(self) -> tuple[World, list[Problem]]:
        self.declare()
        self.plan()
        return self.world, self.notebook.problems

    def declare(self) -> None:
        """All that the excursions are written in: it knows nothing of them."""
        builders = []
        for module in self.modules.values():
            builders.append(self._declare(module))
        self.world.way = next(
            (k.properties[k.length].dimension for k in self.world.kinds if k.length and k.length in k.properties), None
        )
        for module, things in builders:
            self._stand_at_places(module)
            for statement in module.file.statements:
                if isinstance(statement.node, tree.Path):
                    things.read_path(statement)
        self._act()
        self._forms()
        self._hazards()
        self._variables()

    def plan(self) -> None:
        """The excursions, in what has been declared."""
        self._choreograph()
        check_later(self.units, self.world.time, self.world.way)
        self._uncalled_routines()
        for module in self.modules.values():
            if not module.shipped:
                self._allowances(module, module.file.statements)

    def _declare(self, module: ModuleLike) -> tuple[ModuleLike, ThingBuilder]:
        scope = self._scope(module)
        file = module.file
        kinds = KindBuilder(scope, self.units, self.notebook, self.builtin, file)
        things = ThingBuilder(self.world, scope, self.units, self.notebook, self.builtin, file)
        for statement in file.statements:
            node = statement.node
            if isinstance(node, tree.Dimension):
                self.units.declare_dimension(node.name.text, file.span(statement))
            elif isinstance(node, tree.UnitDecl):
                self.units.declare(node, file.span(statement, node.name.at), SpanOf(file, statement))
            elif isinstance(node, tree.Kind):
                kinds.declare(statement)
            elif isinstance(node, tree.Unreadable):
                scope.broken.update(declared(node.text))
            elif isinstance(node, tree.Thing) and node.kind is None:
                for child in statement.children:
                    if isinstance(child.node, tree.Unreadable):
                        scope.broken.update(declared(child.node.text, in_area=True))
        self._values(file, scope)
        read_efforts(file, scope, self.units, self.notebook, self.builtin, self.world)
        self.world.kinds += kinds.build()
        for statement in file.statements:
            if isinstance(statement.node, tree.Thing):
                things.declare(statement)
        things.read_clauses()
        return module, things

    def _stand_at_places(self, module: ModuleLike) -> None:
        """An actor stands at a place; a fitting is only reached from one, and no fitting from another."""
        told: set[Thing] = set()
        for thing in self.scopes[module.name].own_things.values():
            if isinstance(thing, Thing) and thing not in told:
                far = next((p for p in thing.near if p.near), None)
                if far is not None:
                    told.update(thing.near)  # two within reach of each other: one mistake
                    self.notebook.add(
                        "wrong-kind",
                        thing.decl,
                        name=far.name,
                        found="a fitting, within reach of a place",
                        wanted="a place that others are reached from",
                        decl=far.decl,
                        candidates=[(p.name, p.kind.name, p.decl) for p in far.near if not p.near],
                    )
            if isinstance(thing, Thing) and thing.sort == "actor" and thing.place is not None and thing.place.near:
                near = [(p.name, p.kind.name, p.decl) for p in thing.place.near]
                self.notebook.add(
                    "wrong-kind",
                    thing.decl,
                    name=thing.place.name,
                    found="a fitting, within reach of a place",
                    wanted="the place that somebody stands at",
                    decl=thing.place.decl,
                    candidates=near,
                )

    def _scope(self, module: ModuleLike) -> Scope:
        scope = Scope(module.name, others=self.scopes)
        self.scopes[module.name] = scope
        reached = {module.name}
        seen_from: dict[str, str] = {}
        named: dict[str, Span] = {}  # aliases
        clashes: dict[tuple[str, str], list[str]] = {}
        for statement, used, alias in module.uses:
            inner = self.scopes.get(used)
            if inner is None:
                continue
            reached |= self.book.modules.get(used, frozenset())
            if alias is not None:
                at = module.file.span(statement)
                first_use = named.setdefault(alias, at)
                if first_use != at:
                    self.notebook.add("name-taken", at, name=alias, first=first_use)
                    continue
                scope.aliases[alias] = inner
                continue
            scope.broken |= inner.broken
            for space in ("things", "kinds"):
                seen = getattr(scope, f"seen_{space}")
                for name, decl in getattr(inner, f"own_{space}").items():
                    first = seen.setdefault(name, decl)
                    if first is not decl:
                        earlier = seen_from.get(name, "")
                        names = clashes.setdefault((earlier, used), [])
                        names.append(name)
                        if len(names) == 1:
                            self.notebook.add(
                                "name-from-two-files",
                                module.file.span(statement),
                                name=name,
                                names=names,
                                first=first.decl,
                                second=decl.decl,
                                first_file=earlier,
                                second_file=used,
                            )
                    else:
                        seen_from[name] = used
        self.book.modules[module.name] = frozenset(reached)
        return scope

    def _values(self, file: tree.File, scope: Scope) -> None:
        """Each value after those it is reckoned from, wherever they stand. A circle of values is a finding."""
        statements = [s for s in file.statements if isinstance(s.node, (tree.Let, tree.Table))]
        waiting: dict[str, tree.Statement] = {}
        for statement in statements:
            waiting.setdefault(_name_of(statement), statement)
        done: set[int] = set()
        for statement in statements:
            if id(statement) in done:
                continue
            if waiting.get(_name_of(statement)) is not statement:
                self._value(statement, scope, file)  # the second of its name, and said to be
                continue
            chain = [statement]
            named = {_name_of(statement)}
            while chain:
                current = chain[-1]
                needs = _names_in(current.node.value) if isinstance(current.node, tree.Let) else []
                following = next((n for n in needs if n in waiting and n not in named), None)
                if following is not None:
                    chain.append(waiting[following])
                    named.add(following)
                    continue
                chain.pop()
                done.add(id(current))
                del waiting[_name_of(current)]
                if isinstance(current.node, tree.Let) and (
                    any(n in named and n in waiting for n in needs) or _name_of(current) in needs
                ):
                    self.notebook.add("not-a-constant", file.span(current, current.node.value.at), why="circle")
                    scope.broken.update(_name_of(s) for s in (current, *chain))
                elif _name_of(current) not in scope.broken:
                    self._value(current, scope, file)

    def _value(self, statement: tree.Statement, scope: Scope, file: tree.File) -> None:
        node = statement.node
        terms = Terms(scope, self.units, self.notebook, self.builtin, SpanOf(file, statement))
        assert isinstance(node, (tree.Let, tree.Table))
        name, at = node.name.text, file.span(statement, node.name.at)
        first = scope.own_things.get(name) or scope.seen_things.get(name)
        if first is not None:
            self.notebook.add("name-taken", at, name=name, first=first.decl)
            return
        if isinstance(node, tree.Let):
            measure = constant(node.value, terms) if self._settled(node.value, terms) else None
            if measure is None:
                scope.broken.add(name)
            else:
                origin = terms.origin(node.origin, name)
                own = (origin, *measure.origins) if origin is not None else measure.origins
                scope.own_things[name] = LetValue(name, measure._replace(origins=own), at)
            return
        argument = self.units.term(node.argument_unit, at) if node.argument_unit else ((), 1)
        result = self.units.term(node.result_unit, at) if node.result_unit else ((), 1)
        if argument is None or result is None:
            scope.broken.add(name)
            return
        rows: dict[Fraction, TableRow] = {}
        places: dict[Fraction, Span] = {}
        for child in statement.children:
            if not isinstance(child.node, tree.Row):
                continue
            key = Fraction(child.node.key.text) * argument[1]
            if key in rows:
                self.notebook.add("bad-table", file.span(child), name=name, key=child.node.key.text, first=places[key])
                continue
            rows[key] = TableRow(key, Fraction(child.node.value.text) * result[1])
            places[key] = file.span(child)
        if not rows and not any(isinstance(child.node, tree.Unreadable) for child in statement.children):
            self.notebook.add("bad-table", at, name=name, key="", first=None)
        scope.own_things[name] = Table(
            name,
            argument[0],
            result[0],
            node.rounding,
            tuple(rows[k] for k in sorted(rows)),
            at,
            terms.origin(node.origin, f"table {name}"),
        )

    def _settled(self, node: tree.Formula, terms: Terms) -> bool:
        """Whether a value depends on no thing: things may change, and are declared after the values."""
        if isinstance(node, tree.PropertyOf):
            self.notebook.add("not-a-constant", terms.span(node.at), why="state")
            return False
        if isinstance(node, tree.Binary):
            return self._settled(node.left, terms) and self._settled(node.right, terms)
        return self._settled(node.argument, terms) if isinstance(node, tree.Lookup) else True

    def _forms(self) -> None:
        """What sheets and words the vocabularies and the plan declare."""
        self.world.said_figures = self.notebook.figures
        for module in self.modules.values():
            reader = FormReader(self.world, self.notebook, module.source.lines)
            terms_of = partial(self._terms, module)
            for statement in module.file.statements:
                node = statement.node
                if isinstance(node, tree.Form):
                    reader.read(statement, terms_of(statement), terms_of)
                elif isinstance(node, tree.WordDecl):
                    at = module.file.span(statement)
                    read_word(node, at, module.file.span(statement, node.name.at), self.world, self.notebook)

    def _hazards(self) -> None:
        """What is dangerous, what spreads, and which words are judged."""
        for module in self.modules.values():
            declared = [s for s in module.file.statements if isinstance(s.node, (tree.Hazard, tree.Spread, tree.Words))]
            if not declared:
                continue
            from jackstay.model.hazards import HazardReader, read_words  # most plans have none

            reader = HazardReader(self.world, self.notebook, module.source.lines)
            terms_of = partial(self._terms, module)
            for statement in declared:
                if isinstance(statement.node, tree.Hazard):
                    reader.hazard(statement, terms_of(statement), terms_of)
                elif isinstance(statement.node, tree.Spread):
                    reader.spread(statement, terms_of(statement), terms_of)
                else:
                    read_words(statement, terms_of(statement), self.world)

    def _terms(self, module: ModuleLike, statement: tree.Statement) -> Terms:
        span = SpanOf(module.file, statement)
        return Terms(self.scopes[module.name], self.units, self.notebook, self.builtin, span)

    def _act(self) -> None:
        """Actions, routines and rules; kinds and things are all known. Shipped ones included."""
        twofold = [kind for kind in self.world.kinds if len(kind.parents) > 1]
        for module in self.modules.values():
            builder = self._actions(module)
            for statement in module.file.statements:
                node = statement.node
                verb = None
                if isinstance(node, tree.Action):
                    verb = builder.action(statement, module.name)
                elif isinstance(node, tree.Routine):
                    verb = builder.routine(statement, module.name)
                elif isinstance(node, tree.Rule):
                    builder.rule(statement)
                if verb is None:
                    if isinstance(node, (tree.Action, tree.Routine)) and node.pattern:
                        self.book.broken.update(node.pattern[0].words)
                    continue
                for other, kind in self.book.add(verb, twofold):
                    # two verbs that were there before meet in a kind that came later: that is the line to mend
                    mine = kind is None or kind.decl.path in (verb.decl.path, other.decl.path)
                    self.notebook.add(
                        "verbs-overlap",
                        verb.decl if mine or kind is None else kind.decl,
                        first=other.decl,
                        second=verb.decl,
                        text=verb.text,
                        other=other.text,
                        kind=kind,
                        found=verb.text + other.text,
                    )
                if isinstance(node, tree.Action):
                    self.world.actions.append(verb)  # type: ignore[arg-type]

    def _actions(self, module: ModuleLike) -> ActionBuilder:
        return ActionBuilder(
            self.world,
            self.scopes[module.name],
            self.units,
            self.notebook,
            self.builtin,
            module.file,
            module.source.lines,
            self.rules,
        )

    def _variables(self) -> None:
        """Number the state variables, and fix which places reach which."""
        written = {e.test.prop for a in self.world.actions for e in a.effects if e.test.prop}
        written.update([effect.prop for spread in self.world.spreads for effect in spread.effects if effect.prop])
        variables = self.world.variables

        def new(sort: str, thing: Thing, prop: str = "") -> int:
            variables.append(Var(len(variables), sort, thing, prop))
            return len(variables) - 1

        for thing in self.world.things:
            if thing.sort == "actor":
                thing.place_var = new("place", thing)
            elif thing.sort == "item":
                thing.held_var = new("held", thing)
                if thing.kind.ends:
                    thing.from_var = new("from", thing)
                    thing.to_var = new("to", thing)
            else:
                thing.stations = frozenset((thing.index, *(p.index for p in thing.near)))
            for prop in thing.kind.properties.values():
                if prop.sort in ("values", "count") or prop.name in written:
                    thing.prop_vars[prop.name] = new("property", thing, prop.name)

    def _choreograph(self) -> None:
        found: list[tuple[ModuleLike, tree.Statement]] = []
        listed: list[tuple[ModuleLike, tree.Statement]] = []
        for module in self.modules.values():
            for statement in module.file.statements:
                node = statement.node
                if isinstance(node, tree.Excursion):
                    at = module.file.span(statement, node.name.at)
                    known = self.excursions.get(node.name.text)
                    if known is not None:
                        self.notebook.add("name-taken", at, name=node.name.text, first=known[0].decl)
                        continue
                    self.excursions[node.name.text] = (self._named(node, at, module), module.name)
                    found.append((module, statement))
                elif isinstance(node, tree.Campaign) and listed:
                    first_file, first = listed[0]
                    self.notebook.add(
                        "said-twice",
                        module.file.span(statement),
                        what="the campaign",
                        first=first_file.file.span(first),
                    )
                elif isinstance(node, tree.Campaign):
                    self.world.name = node.name.text
                    self.world.title = node.title.value if node.title else title_of(node.name.text)
                    self.world.decl = module.file.span(statement)
                    listed.append((module, statement))
        for module, statement in listed:
            self._listed(module, statement)
        by_name = {name: pair[0] for name, pair in self.excursions.items()}
        for module, statement in found:
            assert isinstance(statement.node, tree.Excursion)
            self._excursion(by_name[statement.node.name.text], statement, module, by_name)
        self._flying_order(by_name)

    def _named(self, node: tree.Excursion, at: Span, module: ModuleLike) -> Excursion:
        title = node.title.value if node.title else title_of(node.name.text)
        return Excursion(node.name.text, title, at, module.name)

    def _excursion(
        self, excursion: Excursion, statement: tree.Statement, module: ModuleLike, by_name: dict[str, Excursion]
    ) -> None:
        ExcursionBuilder(
            self.world,
            self.scopes[module.name],
            self.units,
            self.notebook,
            self.builtin,
            self.book,
            {m.name: m for m in self.modules.values()},
            self.scopes,
            by_name,
            module,
            self._actions(module),
            self.modules,
        ).build(excursion, statement)

    def _uncalled_routines(self) -> None:
        """A routine that no plan calls is read once all the same, with a stand-in for each slot: its author hears of
        mistakes before anybody uses it. Shipped vocabularies have tests of their own."""
        for verbs in list(self.book.by_first.values()):
            for routine in verbs:
                if not isinstance(routine, RoutineDecl) or routine.text in self.book.called:
                    continue
                module = self.modules[routine.module]
                if module.shipped:
                    continue
                self.book.called.add(routine.text)
                scratch = Excursion(routine.text, routine.text, routine.decl, routine.module)
                builder = ExcursionBuilder(
                    self.world,
                    self.scopes[module.name],
                    self.units,
                    self.notebook,
                    self.builtin,
                    self.book,
                    dict(self.modules),
                    self.scopes,
                    {},
                    module,
                    self._actions(module),
                    self.modules,
                )
                builder.rehearse(scratch, routine)

    def _listed(self, module: ModuleLike, statement: tree.Statement) -> None:
        lists = (tree.Excursions, tree.Hole, tree.Unreadable)
        if not any(isinstance(child.node, lists) for child in statement.children):
            at = module.file.span(statement)
            self.notebook.add("says-nothing", at, line="campaign", lacks="a line `excursions` under it")
        self.world.listed = any(isinstance(child.node, tree.Excursions) for child in statement.children)
        for child in statement.children:
            if isinstance(child.node, tree.Excursions):
                for name in child.node.names:
                    self.listing.append((name.text, module.file.span(child, name.at)))
                    if name.text not in self.excursions:
                        known = [(e.name, "excursion", e.decl) for e, _ in self.excursions.values()]
                        self.notebook.add(
                            "unknown-name",
                            module.file.span(child, name.at),
                            name=name.text,
                            wanted="an excursion of a file used here",
                            candidates=known,
                            places=[],
                            elsewhere=[],
                        )

    def _flying_order(self, by_name: dict[str, Excursion]) -> None:
        """Each excursion after the one it starts from; a circle is a finding and is cut."""
        done: list[Excursion] = []
        for start in by_name.values():
            chain: list[Excursion] = []
            at: Excursion | None = start
            while at is not None and at not in done and at not in chain:
                chain.append(at)
                at = at.previous
            if at is not None and at in chain:
                circle = chain[chain.index(at) :]
                self.notebook.add("excursions-in-circle", circle[-1].starts_at, circle=[e.name for e in circle])
                circle[-1].previous = None
                circle[-1].starts = "written"
            done += reversed(chain)
        self.world.excursions = done
        place = dict(reversed(self.listing))
        seen: dict[str, Span] = {}
        for name, listed_at in self.listing:
            previous = by_name[name].previous if name in by_name else None
            if name in seen:
                self.notebook.add("named-twice", listed_at, name=name, first=seen[name])
            elif previous is not None and previous.name in place and previous.name not in seen:
                starts_at = by_name[name].starts_at
                first = place[previous.name]
                self.notebook.add(
                    "listed-out-of-order",
                    listed_at,
                    name=name,
                    previous=previous.name,
                    first=first,
                    starts_at=starts_at,
                )
            seen.setdefault(name, listed_at)

    def _allowances(self, module: ModuleLike, statements: list[tree.Statement]) -> None:
        """What these statements of a module allow, with all that is under them."""

        def visit(statements: list[tree.Statement], above: tree.Statement | None) -> None:
            parent = above.node if above is not None else None
            for statement in statements:
                node = statement.node
                if isinstance(node, tree.Hole) and isinstance(parent, (tree.Action, tree.Rule, tree.Excursion)):
                    self.notebook.add("hole", module.file.span(statement), task=_called(parent))
                elif isinstance(node, tree.Allow):
                    at = module.file.span(statement)
                    reason = node.because.value if node.because else None
                    until = node.until
                    if until is not None and not _is_date(until):
                        self.notebook.add("bad-date", module.file.span(statement, node.until_at), text=until)
                        until = None
                    first = above.line if above is not None else 0
                    last = _last_line(above) if above is not None else len(module.source.lines) + 1
                    self.world.allowances.append(
                        Allowance(node.rule.text, module.file.path, first, last, at, reason, until)
                    )
                if statement.children:
                    visit(statement.children, statement)

        visit(statements, None)


def _names_in(node: tree.Formula) -> list[str]:
    """The names of values and tables in a formula."""
    if isinstance(node, tree.Binary):
        return _names_in(node.left) + _names_in(node.right)
    if isinstance(node, tree.Lookup):
        return [node.table.text, *_names_in(node.argument)]
    return [node.text] if isinstance(node, tree.Name) else []


def _called(node: tree.Action | tree.Rule | tree.Excursion) -> str:
    return pattern_text(node.pattern) if isinstance(node, tree.Action) else node.name.text


def _name_of(statement: tree.Statement) -> str:
    assert isinstance(statement.node, (tree.Let, tree.Table))
    return statement.node.name.text


def _is_date(text: str) -> bool:
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True


def _last_line(statement: tree.Statement) -> int:
    while statement.children:
        statement = statement.children[-1]
    return statement.line
