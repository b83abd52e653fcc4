"""Kinds: parents, properties, what they hold; everything inherited is folded in."""

from __future__ import annotations

from fractions import Fraction

from jackstay.model.formulas import constant, fold, resolve
from jackstay.model.records import NO_DIMENSION, Admit, Carry, Const, Hold, Kind, Property, Supply, Value
from jackstay.model.scope import Notebook, Scope
from jackstay.model.terms import Terms
from jackstay.model.units import SpanOf, Units
from jackstay.model.words import title_of
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

    def __init__(self, scope: Scope, units: Units, notebook: Notebook, builtin: dict[str, Kind], file: tree.File) -> None:
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
                continue
            parent = terms.kind(parent_name)
            if parent is None:
                continue
            if parent_name.text in self.pending and not parent.lineage:
                self._build(parent_name.text, (*path, name))
            if parent.lineage and parent not in parents:
                parents.append(parent)
        sorts = {p.sort for p in parents} - {"thing"}
        if len(sorts) > 1:
            self.notebook.add("two-sorts", kind.decl, name=name, sorts=sorted(sorts))
            parents = parents[:1]
        if not sorts:
            if node.parents and any(p.name == "thing" for p in parents):
                self.notebook.add("two-sorts", kind.decl, name=name, sorts=[])
            parents = parents or [self.builtin["thing"]]
        self._inherit(kind, parents)
        for child in statement.children:
            self._member(kind, child)
        self.done.append(kind)

    def _inherit(self, kind: Kind, parents: list[Kind]) -> None:
        kind.parents = tuple(parents)
        kind.sort = next((p.sort for p in parents if p.sort != "thing"), "thing")
        lineage = [kind]
        for parent in parents:
            lineage += [k for k in parent.lineage if k not in lineage]
            for name, prop in parent.properties.items():
                first = kind.properties.setdefault(name, prop)
                if first is not prop:
                    self.notebook.add("property-from-two-parents", kind.decl, name=name, kind=kind.name,
                                      first=first.decl, second=prop.decl)
            kind.holds += tuple(h for h in parent.holds if h not in kind.holds)
            kind.carries += tuple(c for c in parent.carries if c not in kind.carries)
            kind.admits += tuple(a for a in parent.admits if a not in kind.admits)
            kind.supplies += tuple(s for s in parent.supplies if s not in kind.supplies)
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
            hold = Hold(node.manner.text, _limit(node.limit), held, node.counting.text if node.counting else None,
                        span(node.manner.at))
            kept = tuple(h for h in kind.holds if not (h.manner == hold.manner and h.kind is hold.kind))
            kind.holds = (hold, *kept)
        elif isinstance(node, tree.Carries):
            measure = constant(node.limit, terms)
            if measure is not None:
                kind.carries = (*(c for c in kind.carries if c.prop != node.prop.text),
                                Carry(node.prop.text, measure, span(node.prop.at)))
        elif isinstance(node, tree.Admits):
            guest = terms.kind(node.kind) if node.kind else None
            if node.kind is None or guest is not None:
                limit = _limit(node.limit)
                assert limit is not None
                kind.admits = (*(a for a in kind.admits if a.kind is not guest), Admit(limit, guest, span()))
        elif isinstance(node, tree.Supply):
            amount = self.units.quantity(node.amount, span(node.amount.at))
            if amount is not None:
                kind.supplies = (*kind.supplies, Supply(node.name.text, amount, span()))
        elif isinstance(node, tree.Flag):
            if node.name.text == "ends":
                kind.ends = True
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
                found = self.units.term(node.type, terms.span(node.type.at))
                if found is None:
                    return
                prop.sort, prop.dimension = "quantity", found[0]
        if node.normally is not None:
            if prop.sort == "count" and isinstance(node.normally, tree.Name) and node.normally.text == "all":
                prop.normally_total = True
            else:
                prop.normally = value_of(prop, node.normally, terms)
        if node.usually is not None:
            prop.usually = value_of(prop, node.usually, terms)
        kind.properties[name] = prop


def _limit(limit: tree.Number | tree.Name | None) -> int | str | None:
    if limit is None:
        return None
    return limit.text if isinstance(limit, tree.Name) else int(Fraction(limit.text))


def value_of(prop: Property, node: tree.Formula, terms: Terms) -> Value:
    """The value a declaration writes for a property; None when a finding was made."""
    at = terms.span(node.at)
    if prop.sort == "values":
        word = node.text if isinstance(node, (tree.Name, tree.Number)) else ""
        if word in prop.values:
            return word
        terms.notebook.add("unknown-value", at, value=word, of=prop.name, allowed=list(prop.values), several=[],
                           decl=prop.decl)
        return None
    if prop.sort == "thing":
        from jackstay.model.records import Thing

        if not isinstance(node, tree.Name):
            terms.notebook.add("wrong-dimension", at, found="a number", wanted="the name of a thing",
                               what=f"the value of {prop.name}")
            return None
        term = terms.name_term(node)
        if not isinstance(term, Thing):
            return None
        if prop.kind is not None and not term.kind.is_a(prop.kind):
            wanted = prop.kind
            terms.notebook.add("wrong-kind", at, name=node.text, found=term.kind.name, wanted=f"a {wanted.name}",
                               decl=term.decl, candidates=terms.scope.things_where(lambda t: t.kind.is_a(wanted)))
            return None
        return term
    formula = resolve(node, terms)
    if formula is None:
        return None
    value = fold(formula)
    from jackstay.model.formulas import expect

    if not expect(formula, prop.dimension, node, terms, f"the value of {prop.name}"):
        return None
    if value is None:
        terms.notebook.add("not-a-constant", at, what="a value that is known when the plan is written")
    return value


def text_of(node: tree.Formula) -> str:
    """A written value, for printing."""
    if isinstance(node, tree.Quantity):
        from jackstay.model.units import term_text

        return " ".join(f"{n} {term_text(t)}" for n, t in node.parts)
    if isinstance(node, (tree.Number, tree.Name)):
        return node.text
    return ""


__all__ = ["Const", "KindBuilder", "builtin_kinds", "text_of", "value_of"]
