"""Actors, items, locations and paths: what exists and where it is at first."""

from __future__ import annotations

from fractions import Fraction

from jackstay.model.formulas import constant
from jackstay.model.kinds import text_of, value_of
from jackstay.model.records import GROUND, Holding, Kind, Path, Property, Thing, World
from jackstay.model.scope import Group, Notebook, Scope
from jackstay.model.terms import Terms
from jackstay.model.units import SpanOf, Units, dimension_text
from jackstay.model.words import title_of
from jackstay.source.spans import Span
from jackstay.syntax import tree


class ThingBuilder:
    """Declares the things of one module, then (all names known) reads their clauses."""

    def __init__(
        self, world: World, scope: Scope, units: Units, notebook: Notebook, builtin: dict[str, Kind], file: tree.File
    ) -> None:
        self.world = world
        self.scope = scope
        self.units = units
        self.notebook = notebook
        self.builtin = builtin
        self.file = file
        self.waiting: list[tuple[Thing, tree.Statement, tree.Thing]] = []

    def declare(self, statement: tree.Statement, area: str | None = None) -> None:
        node = statement.node
        assert isinstance(node, tree.Thing)
        if node.kind is None:
            title = node.title.value if node.title else title_of(node.names[0].text)
            for child in statement.children:
                if isinstance(child.node, tree.Thing):
                    self.declare(child, title)
            return
        terms = self._terms(statement)
        kind = terms.kind(node.kind)
        sort = node.sort or "location"
        if kind is not None and kind.sort != sort:
            if kind not in self.notebook.broken:
                fitting = [k for k in self.scope.kind_names() if k[1] == sort]
                found = "a kind of anything" if kind.sort == "thing" else f"a kind of {kind.sort}"
                self.notebook.add(
                    "wrong-kind",
                    terms.span(node.kind.at),
                    name=node.kind.text,
                    found=found,
                    wanted=f"a kind of {sort}",
                    decl=kind.decl,
                    candidates=fitting,
                )
            kind = None
        for name in node.names:
            if kind is None:
                self.scope.broken.add(name.text)
                continue
            if node.range is None:
                self._add(name.text, name, kind, sort, node, statement, area, None)
                continue
            low, high = node.range
            if high < low or high - low > 9999:
                self.notebook.add("bad-range", terms.span(name.at), low=low, high=high)
                self.scope.broken.add(name.text)
                continue
            members = [
                self._add(f"{name.text}-{i}", name, kind, sort, node, statement, area, name.text)
                for i in range(low, high + 1)
            ]
            if self._free(name.text, name, statement):
                self.scope.own_things[name.text] = Group(
                    name.text, tuple(m for m in members if m), self.file.span(statement, name.at)
                )

    def _free(self, full: str, name: tree.Name, statement: tree.Statement) -> bool:
        first = self.scope.own_things.get(full) or self.scope.seen_things.get(full)
        if first is not None:
            self.notebook.add("name-taken", self.file.span(statement, name.at), name=full, first=first.decl)
            return False
        return True

    def _add(
        self,
        full: str,
        name: tree.Name,
        kind: Kind,
        sort: str,
        node: tree.Thing,
        statement: tree.Statement,
        area: str | None,
        group: str | None,
    ) -> Thing | None:
        if not self._free(full, name, statement):
            return None
        title = node.title.value if node.title and len(node.names) == 1 else title_of(full)
        if node.title and group:
            title = f"{node.title.value} {full.rsplit('-', 1)[1]}"
        thing = Thing(len(self.world.things), full, title, sort, kind, self.file.span(statement, name.at), group, area)
        self.world.things.append(thing)
        self.scope.own_things[full] = thing
        self.waiting.append((thing, statement, node))
        return thing

    def _terms(self, statement: tree.Statement) -> Terms:
        return Terms(self.scope, self.units, self.notebook, self.builtin, SpanOf(self.file, statement))

    def read_clauses(self) -> None:
        """Second pass: every name of the module's reach is known now."""
        seen: set[int] = set()
        for thing, statement, node in self.waiting:
            terms = self._terms(statement)
            # one declaration for several things makes each mistake once
            quiet = Notebook() if id(node) in seen else self.notebook
            seen.add(id(node))
            terms.notebook = quiet
            self._clauses(thing, node, terms)

    def _clauses(self, thing: Thing, node: tree.Thing, terms: Terms) -> None:
        last: Property | None = None
        wrong: set[str] = set()
        said: dict[str, Span] = {}
        for clause in node.clauses:
            if isinstance(clause, tree.SetTo):
                last = terms.property_of(clause.prop, thing)
                if last is None:
                    continue
                at = terms.span(clause.prop.at)
                if said.setdefault(last.name, at) != at:
                    what = f"{last.name} of {thing.name}"
                    terms.notebook.add("said-twice", at, what=what, first=said[last.name])
                    continue
                value = value_of(last, clause.value, terms)
                if value is None:
                    wrong.add(last.name)
                    continue
                thing.values[last.name] = value
                thing.texts[last.name] = text_of(clause.value)
                if clause.total is not None:
                    thing.totals[last.name] = Fraction(clause.total.text)
                elif last.normally_total:
                    terms.notebook.add(
                        "missing-value",
                        terms.span(clause.value.at),
                        name=thing.name,
                        prop=last.name,
                        kind=thing.kind.name,
                        decl=last.decl,
                        written=text_of(clause.value),
                    )
                elif last.sort == "count" and isinstance(value, Fraction):
                    thing.totals[last.name] = value
            elif isinstance(clause, tree.Normally):
                if last is None:
                    terms.notebook.add("normally-of-nothing", terms.span(clause.value.at))
                elif isinstance(clause.value, tree.Name) and clause.value.text == "all" and last.sort == "count":
                    thing.normal[last.name] = thing.totals.get(last.name)
                else:
                    value = value_of(last, clause.value, terms)
                    if value is not None:
                        thing.normal[last.name] = value
            elif isinstance(clause, tree.Placed):
                self._placed(thing, clause, terms)
            elif isinstance(clause, tree.Ends):
                self._ends(thing, clause, terms)
            elif isinstance(clause, tree.Within):
                places = [terms.thing(p, ("location",)) for p in clause.places]
                if thing.sort != "location":
                    terms.notebook.add(
                        "clause-not-for",
                        terms.span(clause.places[0].at),
                        clause="within reach of",
                        sort="location",
                        name=thing.name,
                        decl=thing.decl,
                    )
                else:
                    thing.near = tuple(p for p in places if p is not None)
            elif isinstance(clause, tree.RunBy):
                if thing.sort != "actor":
                    terms.notebook.add(
                        "clause-not-for",
                        terms.span(clause.actor.at),
                        clause="run by",
                        sort="actor",
                        name=thing.name,
                        decl=thing.decl,
                    )
                thing.runner = terms.thing(clause.actor, ("actor",))
                if thing.runner is thing:
                    terms.notebook.add(
                        "wrong-kind",
                        terms.span(clause.actor.at),
                        name=thing.name,
                        found="one and the same",
                        wanted="another actor",
                        decl=thing.decl,
                        candidates=terms.scope.things_where(lambda t: t.sort == "actor" and t is not thing),
                    )
                    thing.runner = None
            elif isinstance(clause, tree.Reaches):
                places = [terms.thing(p, ("location",)) for p in clause.places]
                if thing.sort != "actor":
                    terms.notebook.add(
                        "clause-not-for",
                        terms.span(clause.places[0].at),
                        clause="reaches",
                        sort="actor",
                        name=thing.name,
                        decl=thing.decl,
                    )
                thing.reaches = tuple(p for p in places if p is not None)
            elif isinstance(clause, tree.Sees):
                self._sees(thing, clause, terms)
        self._defaults(thing, terms, wrong)

    def _sees(self, thing: Thing, clause: tree.Sees, terms: Terms) -> None:
        """Sight goes both ways."""
        if thing.sort != "location":
            at = terms.span(clause.places[0].at)
            terms.notebook.add("clause-not-for", at, clause="sees", sort="location", name=thing.name, decl=thing.decl)
            return
        for name in clause.places:
            place = terms.thing(name, ("location",))
            if place is not None and place is not thing:
                thing.sees = tuple(dict.fromkeys((*thing.sees, place)))
                place.sees = tuple(dict.fromkeys((*place.sees, thing)))

    def _placed(self, thing: Thing, clause: tree.Placed, terms: Terms) -> None:
        holder = terms.thing(clause.holder, ("location",) if clause.word == "at" else ("location", "item", "actor"))
        if holder is None:
            return
        if thing.sort == "location":
            terms.notebook.add(
                "clause-not-for",
                terms.span(clause.holder.at),
                clause=clause.word,
                sort="actor or item",
                name=thing.name,
                decl=thing.decl,
            )
        elif thing.sort == "actor":
            thing.place = holder
        elif clause.word == "at":
            terms.notebook.add(
                "clause-not-for",
                terms.span(clause.holder.at),
                clause="at",
                sort="actor",
                name=thing.name,
                decl=thing.decl,
            )
        else:
            known = sorted({h.manner for h in holder.kind.holds})
            if clause.manner and clause.manner.text not in known and holder.kind not in terms.notebook.broken:
                terms.notebook.add(
                    "unknown-manner",
                    terms.span(clause.manner.at),
                    name=clause.manner.text,
                    kind=holder.kind.name,
                    known=known,
                    decl=holder.kind.decl,
                )
            manner = clause.manner.text if clause.manner else first_manner(thing.kind, holder.kind)
            if manner is None and holder.kind.ground:
                manner = GROUND
            if manner is None:
                manner = holder.kind.holds[0].manner if holder.kind.holds else "on"
            thing.placed = (*thing.placed, Holding(manner, holder))

    def _ends(self, thing: Thing, clause: tree.Ends, terms: Terms) -> None:
        if not thing.kind.ends:
            terms.notebook.add(
                "clause-not-for",
                terms.span(clause.start.at),
                clause="from … to …",
                sort="line",
                name=thing.name,
                decl=thing.decl,
            )
            return
        thing.from_end = terms.thing(clause.start, ("location", "item", "actor"))
        thing.to_end = terms.thing(clause.end, ("location", "item", "actor"))

    def _defaults(self, thing: Thing, terms: Terms, wrong: set[str]) -> None:
        """Values a thing does not say: normal, else usual; a total where "normally all"."""
        missing = []
        for prop in thing.kind.properties.values():
            if prop.name not in thing.normal:
                if prop.normally_total and prop.name in thing.totals:
                    thing.normal[prop.name] = thing.totals[prop.name]
                elif prop.normally is not None:
                    thing.normal[prop.name] = prop.normally
            if prop.name in thing.values or prop.name in wrong:
                continue
            value = thing.normal.get(prop.name, prop.usually)
            if value is None and prop.sort == "count" and prop.normally_total:
                value = prop.usually if prop.usually is not None else Fraction(0)
                thing.normal[prop.name] = value
            if value is None and prop.sort in ("values", "count", "quantity"):
                missing.append(prop)
                continue
            thing.values[prop.name] = value
            if prop.sort == "count" and isinstance(value, Fraction):
                thing.totals[prop.name] = value
        for prop in [p for p in missing if p not in terms.notebook.broken]:
            terms.notebook.add(
                "missing-value",
                thing.decl,
                name=thing.name,
                prop=prop.name,
                kind=thing.kind.name,
                decl=prop.decl,
                found=prop.name,
            )

    def read_path(self, statement: tree.Statement) -> None:
        node = statement.node
        assert isinstance(node, tree.Path)
        terms = self._terms(statement)
        a = terms.thing(node.a, ("location",))
        b = terms.thing(node.b, ("location",))
        length = constant(node.length, terms)
        kind = terms.kind(node.line_kind) if node.line_kind else None
        place = terms.thing(node.line_place, ("location",)) if node.line_place else None
        if a is None or b is None or length is None:
            return
        if a is b or length.value < 0:
            self.notebook.add("bad-path", terms.span(node.b.at if a is b else node.length.at), a=a.name, b=b.name)
            return
        if kind is not None and not kind.ends and kind not in self.notebook.broken and node.line_kind:
            lines = [k for k in self.scope.kind_names() if (one := self.scope.kind(k[0])) is not None and one.ends]
            self.notebook.add(
                "wrong-kind",
                terms.span(node.line_kind.at),
                name=kind.name,
                found=f"a kind of {kind.sort}",
                wanted="a kind of line, with two ends",
                decl=kind.decl,
                candidates=lines,
            )
            return
        if self.world.way is None:
            self.world.way = length.dimension
        if self.world.way != length.dimension:
            self.notebook.add(
                "wrong-dimension",
                terms.span(node.length.at),
                found=dimension_text(length.dimension),
                wanted=dimension_text(self.world.way),
                what="the length of a path",
            )
            return
        same = next(
            (p for p in self.world.paths if {p.a, p.b} == {a, b} and (p.line_kind, p.line_place) == (kind, place)), None
        )
        if same is not None:
            what = f"the path from {a.name} to {b.name}"
            self.notebook.add("said-twice", terms.span(), what=what, first=same.decl)
            return
        self.world.paths.append(Path(a, b, length, kind, place, terms.span()))


def first_manner(kind: Kind, holder: Kind) -> str | None:
    """How a thing of this kind hangs on such a holder when the plan does not say: the first line that fits."""
    for hold in holder.holds:
        if hold.kind is None or kind.is_a(hold.kind):
            return hold.manner
    return None
