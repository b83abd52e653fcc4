"""Kinds: parents, properties, what they hold; everything inherited is folded in."""

from __future__ import annotations

from fractions import Fraction

from jackstay.diagnostics.suggest import nearest
from jackstay.model.formulas import constant, expect, fold, resolve, why_unknown
from jackstay.model.kind_times import read_times
from jackstay.model.records import NO_DIMENSION, Admit, Carry, Dimension, Hold, Kind, Property, Thing, Value
from jackstay.model.scope import Notebook, Scope
from jackstay.model.terms import Terms
from jackstay.model.units import SpanOf, Units, dimension_text, term_text
from jackstay.model.words import title_of, with_article
from jackstay.source.spans import NOWHERE
from jackstay.syntax import tree


def builtin_kinds() -> dict[str, Kind]:
    """thing, actor, item, location: all that is built in."""
    thing = Kind("thing", "Thing", "thing", NOWHERE)
    thing.lineage = (thing,)
    out = {"thing": thing}
    for name in ("actor", "item", "location"):
        kind = Kind(name, title_of(name), name, NOWHERE, (thing,))
        kind.lineage = (kind, thing)
        out[name] = kind
    return out


class KindBuilder:
    """Resolves the kinds of one module, in any order of declaration."""

    def __init__(
        self, scope: Scope, units: Units, notebook: Notebook, builtin: dict[str, Kind], file: tree.File
    ) -> None:
        self.scope = scope
        self.units = units
        self.notebook = notebook
        self.builtin = builtin
        self.file = file
        self.pending: dict[str, tree.Statement] = {}
        self.done: list[Kind] = []

    def declare(self, statement: tree.Statement) -> None:
        node = statement.node
        assert isinstance(node, tree.Kind)
        name, at = node.name.text, self.file.span(statement, node.name.at)
        first = self.scope.own_kinds.get(name) or self.builtin.get(name) or self.scope.seen_kinds.get(name)
        if first is not None:
            self.notebook.add("name-taken", at, name=name, first=first.decl)
            return
        title = node.title.value if node.title else title_of(name)
        self.scope.own_kinds[name] = Kind(name, title, "thing", at)
        self.pending[name] = statement

    def build(self) -> list[Kind]:
        """All kinds of the module, parents first."""
        for name in list(self.pending):
            self._build(name, ())
        for kind in self.done:
            for child in self.pending[kind.name].children:
                self._check_line(kind, child)
            read_times(kind, self.pending[kind.name].children, self._terms)
        return self.done

    def _build(self, name: str, path: tuple[str, ...]) -> None:
        statement = self.pending.get(name)
        kind = self.scope.own_kinds[name]
        if statement is None or kind.lineage:
            return
        node = statement.node
        assert isinstance(node, tree.Kind)
        parents: list[Kind] = []
        terms = self._terms(statement)
        for parent_name in node.parents:
            if parent_name.text == name or parent_name.text in path:
                circle = [*path[path.index(parent_name.text) :], name] if parent_name.text in path else [name]
                self.notebook.add("kind-in-circle", self.file.span(statement, parent_name.at), circle=circle)
                self.notebook.broken.add(kind)
                continue
            parent = terms.kind(parent_name)
            if parent is None:
                self.notebook.broken.add(kind)
                continue
            if parent_name.text in self.pending and not parent.lineage:
                self._build(parent_name.text, (*path, name))
            if parent.lineage and parent not in parents:
                parents.append(parent)
            if parent in self.notebook.broken or not parent.lineage:
                self.notebook.broken.add(kind)
        sorts = {p.sort for p in parents} - {"thing"}
        if len(sorts) > 1:
            self.notebook.add(
                "two-sorts",
                kind.decl,
                name=name,
                sorts=sorted(sorts),
                parents=[(p.name, p.sort, p.decl) for p in parents],
            )
            self.notebook.broken.add(kind)
            parents = parents[:1]
        # of no sort: it adds to kinds of any sort, and nothing is of this kind alone
        self._inherit(kind, parents or [self.builtin["thing"]])
        for child in statement.children:
            self._member(kind, child)
        self.done.append(kind)

    def _check_line(self, kind: Kind, statement: tree.Statement) -> None:
        """A line about a property or for one sort of kind; all kinds of the module are known."""
        node, terms = statement.node, self._terms(statement)
        if isinstance(node, tree.Holds):
            held = terms.kind(node.kind) if node.kind else None
            if node.counting and held is not None:
                self._needs_property(node.counting, held, "count", terms)
            if isinstance(node.limit, tree.Name):
                self._needs_property(node.limit, kind, "count", terms)
        elif isinstance(node, tree.Admits) and isinstance(node.limit, tree.Name):
            self._needs_property(node.limit, kind, "count", terms)
        elif isinstance(node, tree.Flag) and node.name.text == "length" and isinstance(node.value, tree.Name):
            self._needs_property(node.value, kind, "quantity", terms)
        elif isinstance(node, tree.Carries):
            self._check_carries(kind, node, terms)
        guest = terms.kind(node.kind) if isinstance(node, tree.Admits) and node.kind else None
        if guest is not None and guest.sort not in ("actor", "thing") and guest not in self.notebook.broken:
            self.notebook.add(
                "wrong-kind",
                terms.span(node.kind.at),  # type: ignore[union-attr]
                name=guest.name,
                found=f"a kind of {guest.sort}",
                wanted="a kind of actor",
                decl=guest.decl,
                candidates=[k for k in self.scope.kind_names() if k[1] == "actor"],
            )
        word, sort = _only_for(node)
        if sort and kind.sort != sort and kind not in self.notebook.broken:
            self.notebook.add("clause-not-for", terms.span(), clause=word, sort=sort, name=kind.name, decl=kind.decl)

    def _needs_property(self, name: tree.Name, kind: Kind, sort: str, terms: Terms) -> None:
        prop = terms.property_of(name, kind)
        if prop is not None and prop.sort != sort and prop not in self.notebook.broken:
            wanted = "a count" if sort == "count" else "a quantity"
            self.notebook.add(
                "wrong-dimension",
                terms.span(name.at),
                found="a word" if prop.values else "another sort of value",
                wanted=wanted,
                what=f"the property {name.text}",
                decl=prop.decl,
            )

    def _check_carries(self, kind: Kind, node: tree.Carries, terms: Terms) -> None:
        """Whatever is aboard may be of any kind: one kind at least has the property, and the limit its dimension."""
        every = [*self.scope.own_kinds.values(), *self.scope.seen_kinds.values()]
        props = [k.properties[node.prop.text] for k in every if node.prop.text in k.properties]
        if not props:
            known = {p.name: (p.name, "", p.decl) for k in every for p in k.properties.values() if p.sort == "quantity"}
            self.notebook.add(
                "unknown-property",
                terms.span(node.prop.at),
                name=node.prop.text,
                kind="",
                decl=kind.decl,
                candidates=list(known.values()),
            )
            return
        carry = next((c for c in kind.carries if c.decl == terms.span(node.prop.at)), None)
        wrong = next((p for p in props if carry is not None and p.dimension != carry.limit.dimension), None)
        if carry is not None and wrong is not None and wrong not in self.notebook.broken:
            self.notebook.add(
                "wrong-dimension",
                terms.span(node.limit.at),
                found=dimension_text(carry.limit.dimension),
                wanted=dimension_text(wrong.dimension),
                what=f"what is carried of {wrong.name}",
                decl=wrong.decl,
            )

    def _inherit(self, kind: Kind, parents: list[Kind]) -> None:
        kind.parents = tuple(parents)
        kind.sort = next((p.sort for p in parents if p.sort != "thing"), "thing")
        lineage = {kind: None}  # in order, each once
        for parent in parents:
            lineage.update((k, None) for k in parent.lineage)
            for name, prop in parent.properties.items():
                first = kind.properties.setdefault(name, prop)
                if first is not prop:
                    self.notebook.add(
                        "property-from-two-parents",
                        kind.decl,
                        name=name,
                        kind=kind.name,
                        first=first.decl,
                        second=prop.decl,
                    )
            kind.holds += tuple(h for h in parent.holds if h not in kind.holds)
            kind.carries += tuple(c for c in parent.carries if c not in kind.carries)
            kind.admits += tuple(a for a in parent.admits if a not in kind.admits)
            kind.ground |= parent.ground
            kind.inside |= parent.inside
            kind.ends |= parent.ends
            kind.length = kind.length or parent.length
        # the universal parents last, so that "nearest first" holds across two parents
        tail = [k for k in lineage if k in self.builtin.values()]
        kind.lineage = tuple([k for k in lineage if k not in tail] + sorted(tail, key=lambda k: k.name == "thing"))

    def _terms(self, statement: tree.Statement) -> Terms:
        return Terms(self.scope, self.units, self.notebook, self.builtin, SpanOf(self.file, statement))

    def _member(self, kind: Kind, statement: tree.Statement) -> None:
        node = statement.node
        terms = self._terms(statement)
        span = terms.span
        if isinstance(node, tree.Has):
            self._has(kind, node, terms)
        elif isinstance(node, tree.Holds):
            held = terms.kind(node.kind) if node.kind else None
            if node.kind and held is None:
                return
            hold = Hold(
                node.manner.text,
                _limit(node.limit),
                held,
                node.counting.text if node.counting else None,
                span(node.manner.at),
            )
            inherited = {id(h) for p in kind.parents for h in p.holds}
            kept = [h for h in kind.holds if not (h.manner == hold.manner and h.kind is hold.kind)]
            # own lines in the order written, before inherited ones: the first that fits is meant
            own = [h for h in kept if id(h) not in inherited]
            kind.holds = (*own, hold, *(h for h in kept if id(h) in inherited))
        elif isinstance(node, tree.Carries):
            measure = constant(node.limit, terms)
            if measure is not None:
                kind.carries = (
                    *(c for c in kind.carries if c.prop != node.prop.text),
                    Carry(
                        node.prop.text,
                        measure,
                        span(node.prop.at),
                        terms.origin(node.origin, f"{node.prop.text} that {kind.name} carries"),
                    ),
                )
        elif isinstance(node, tree.Admits):
            guest = terms.kind(node.kind) if node.kind else None
            if node.kind is None or guest is not None:
                limit = _limit(node.limit)
                assert limit is not None
                kind.admits = (*(a for a in kind.admits if a.kind is not guest), Admit(limit, guest, span()))
        elif isinstance(node, tree.Flag):
            if node.name.text == "ends":
                kind.ends = True
                if isinstance(node.value, tree.Number) and node.value.text != "2":
                    self.notebook.add(
                        "unknown-value",
                        span(node.value.at),
                        value=node.value.text,
                        of="the number of ends",
                        allowed=["2"],
                        several=[],
                        decl=kind.decl,
                    )
            elif node.name.text == "length" and isinstance(node.value, tree.Name):
                kind.length = node.value.text
            elif node.name.text == "ground":
                kind.ground = True
            elif node.name.text == "inside":
                kind.inside = True

    def _has(self, kind: Kind, node: tree.Has, terms: Terms) -> None:
        at = terms.span(node.name.at)
        name = node.name.text
        own = kind.properties.get(name)
        if own is not None and all(own is not p.properties.get(name) for p in kind.parents):
            self.notebook.add("name-taken", at, name=name, first=own.decl)
            return
        prop = Property(name, "values", tuple(v.text for v in node.values), NO_DIMENSION, None, None, False, None, at)
        if node.count:
            prop.sort = "count"
        elif node.type is not None:
            powers = node.type.powers
            single = powers[0][0] if len(powers) == 1 and powers[0][1] == 1 else None
            if single is not None and (self.scope.kind(single) or self.builtin.get(single)):
                prop.sort, prop.kind = "thing", self.scope.kind(single) or self.builtin.get(single)
            else:
                found = self._type(node.type, terms)
                prop.sort = "quantity"
                if found is None:
                    self.notebook.broken.add(prop)
                else:
                    prop.dimension = found
                    prop.unit, prop.scale = term_text(node.type), self.units.scale(node.type)
        if node.normally is not None:
            if prop.sort == "count" and isinstance(node.normally, tree.Name) and node.normally.text == "all":
                prop.normally_total = True
            else:
                prop.normally = self._value_of(prop, node.normally, terms)
        if node.usually is not None:
            prop.usually = self._value_of(prop, node.usually, terms)
        prop.origin = terms.origin(node.origin, f"{name} of {kind.name}")
        kind.properties[name] = prop

    def _type(self, type_: tree.UnitTerm, terms: Terms) -> Dimension | None:
        """The dimension of a property; a lone word that is no unit may have been meant as a kind."""
        name = type_.powers[0][0] if len(type_.powers) == 1 else ""
        kinds = [(k, f"a kind of {s}", at) for k, s, at in self.scope.kind_names()]
        if (
            name
            and name not in self.units.by_name
            and name not in self.units.broken
            and nearest(name, [k for k, *_ in kinds])
        ):
            known = [(u.name, "a unit", u.decl) for u in self.units.by_name.values()]
            self.notebook.add("unknown-unit", terms.span(type_.at), name=name, candidates=[*known, *kinds])
            return None
        found = self.units.term(type_, terms.span(type_.at))
        return None if found is None else found[0]

    def _value_of(self, prop: Property, node: tree.Formula, terms: Terms) -> Value:
        value = value_of(prop, node, terms)
        if value is None:
            self.notebook.broken.add(prop)
        return value


def _only_for(node: tree.Node) -> tuple[str, str]:
    """A line of a kind that makes sense for one sort only: its words, and the sort; else two empty texts."""
    if isinstance(node, tree.Flag):
        sort = "item" if node.name.text in ("ends", "length") else "location"
        return node.name.text, sort
    if isinstance(node, tree.Admits):
        return "admits", "location"
    if isinstance(node, (tree.Supply, tree.Idle, tree.Brings)):
        return type(node).__name__.lower(), "actor"
    return "", ""


def _limit(limit: tree.Number | tree.Name | None) -> int | str | None:
    if limit is None:
        return None
    return limit.text if isinstance(limit, tree.Name) else int(Fraction(limit.text))


def value_of(prop: Property, node: tree.Formula, terms: Terms) -> Value:
    """The value a declaration writes for a property; None when a finding was made."""
    at = terms.span(node.at)
    if prop in terms.notebook.broken:
        return None
    if prop.sort == "values":
        word = node.text if isinstance(node, (tree.Name, tree.Number)) else ""
        if word in prop.values:
            return word
        terms.notebook.add(
            "unknown-value", at, value=word, of=prop.name, allowed=list(prop.values), several=[], decl=prop.decl
        )
        return None
    if prop.sort == "thing":
        if not isinstance(node, tree.Name):
            terms.notebook.add(
                "wrong-dimension", at, found="a number", wanted="the name of a thing", what=f"the value of {prop.name}"
            )
            return None
        term = terms.name_term(node)
        if not isinstance(term, Thing):
            return None
        if prop.kind is not None and not term.kind.is_a(prop.kind):
            wanted = prop.kind
            terms.notebook.add(
                "wrong-kind",
                at,
                name=node.text,
                found=term.kind.name,
                wanted=with_article(wanted.name),
                decl=term.decl,
                candidates=terms.scope.things_where(lambda t: t.kind.is_a(wanted)),
            )
            return None
        return term
    formula = resolve(node, terms)
    if formula is None:
        return None
    value = fold(formula)
    if not expect(formula, prop.dimension, node, terms, f"the value of {prop.name}"):
        return None
    if value is None:
        terms.notebook.add("not-a-constant", at, why=why_unknown(formula))
    return value


def text_of(node: tree.Formula) -> str:
    """A written value, for printing."""
    if isinstance(node, tree.Quantity):
        return " ".join(f"{n} {term_text(t)}" for n, t in node.parts)
    if isinstance(node, (tree.Number, tree.Name)):
        return node.text
    return ""
