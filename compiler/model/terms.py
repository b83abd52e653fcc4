"""Terms: what a name, slot or quantifier in a clause refers to, and of which kind it is."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from jackstay.model.records import Dimension, Here, Kind, Origin, Property, Quantified, Slot, Term, Thing
from jackstay.model.scope import Notebook, Places, Scope, what_is
from jackstay.model.units import Units
from jackstay.syntax import tree

_QUANTS = {
    "everyone": "every",
    "everything": "every",
    "all": "every",
    "anyone": "some",
    "anything": "some",
    "a": "some",
    "an": "some",
    "any": "some",
    "nobody": "none",
    "nothing": "none",
}
_PEOPLE = {"everyone", "anyone", "nobody"}


SORT_WORDS = {"actor": "an actor", "item": "an item", "location": "a location"}


class Terms:
    """The names that may stand in one clause: its scope, slots and the place of its words.

    slots: "actor", "helper" and upper-case names. numbers: those slots that take a number. route: the dimension of
    lengths, where ``route`` may stand. effort: of rates, where ``effort`` may stand. new_slots: a rule's slots, made
    where they first stand with their kind."""

    def __init__(
        self, scope: Scope, units: Units, notebook: Notebook, builtin: Mapping[str, Kind], span: Places
    ) -> None:
        self.scope = scope
        self.units = units
        self.notebook = notebook
        self.builtin = builtin
        self.span = span
        self.slots: dict[str, Slot] = {}
        self.numbers: set[str] = set()
        self.route: Dimension | None = None
        self.effort: Dimension | None = None
        self.new_slots: list[Slot] | None = None
        self.silent: set[str] = set()  # slots whose kind is unknown: already reported

    def origin(self, node: tree.Origin | None, what: str) -> Origin | None:
        """Where a figure comes from; what: the figure, in words."""
        if node is None:
            return None
        return Origin(what, node.text.value if node.text else "", node.verified, self.span())

    def unknown(self, name: tree.Name, wanted: str, fits: Callable[[Thing], bool] | None = None) -> None:
        """Report a name that means nothing here, once."""
        if name.text in self.scope.broken:
            return
        scope, at = self.scope, self.span(name.at)
        local = name.text.isupper() or name.text in ("actor", "helper")  # these mean something else in the next clause
        places = scope.once(f"line {at.line}" if local else "things", name.text, at)
        elsewhere = scope.elsewhere("things", name.text)
        if places is None or scope.unused(elsewhere, at):
            return
        head, dot, rest = name.text.rpartition(".")
        candidates = scope.things_where(fits or (lambda _: True), head if dot else "")
        if not dot and not fits:
            candidates = scope.all_names() + [(slot, "a slot", at) for slot in self.slots]
        if dot and head not in scope.aliases:
            candidates = [
                (f"{alias}.{rest}", "", inner.own_things[rest].decl)
                for alias, inner in scope.aliases.items()
                if rest in inner.own_things
            ]
            candidates += [c for c in scope.things_where(lambda t: True) if c[0] == rest]
        self.notebook.add(
            "unknown-name",
            at,
            name=name.text,
            wanted=wanted,
            candidates=candidates,
            places=places,
            elsewhere=elsewhere,
            slots=tuple(self.slots),
        )

    def kind(self, name: tree.Name) -> Kind | None:
        found = self.builtin.get(name.text) or self.scope.kind(name.text)
        if found is None and name.text not in self.scope.broken:
            at = self.span(name.at)
            known = [*self.scope.kind_names(), *((k.name, "built in", k.decl) for k in self.builtin.values())]
            places = self.scope.once("kinds", name.text, at)
            elsewhere = self.scope.elsewhere("kinds", name.text)
            if places is not None and not self.scope.unused(elsewhere, at):
                self.notebook.add(
                    "unknown-kind", at, name=name.text, candidates=known, places=places, elsewhere=elsewhere
                )
        return found

    def name_term(self, name: tree.Name) -> Term | None:
        if name.text == "here":
            return Here()
        slot = self.slots.get(name.text)
        if slot is not None:
            return slot
        if name.text in self.silent:
            return None
        found = self.scope.thing(name.text)
        if isinstance(found, Thing):
            return found
        if found is not None:
            self.notebook.add(
                "wrong-kind",
                self.span(name.at),
                name=name.text,
                found=what_is(found),
                wanted="one thing",
                decl=found.decl,
                candidates=[],
            )
            return None
        self.unknown(name, "a thing")
        return None

    def thing(self, name: tree.Name, sorts: tuple[str, ...]) -> Thing | None:
        """A thing of one of the sorts by its name; None when a finding was made."""
        wanted = " or ".join(SORT_WORDS[s] for s in sorts)
        found = self.scope.thing(name.text)
        if found is None:
            self.unknown(name, wanted, lambda t: t.sort in sorts)
            return None
        if not isinstance(found, Thing) or found.sort not in sorts:
            self.notebook.add(
                "wrong-kind",
                self.span(name.at),
                name=name.text,
                found=what_is(found),
                wanted=wanted,
                decl=found.decl,
                candidates=self.scope.things_where(lambda t: t.sort in sorts),
            )
            return None
        return found

    def term(self, ref: tree.Ref) -> Term | None:
        """A subject or object; None when a finding was made."""
        if not ref.quant:
            assert ref.name is not None
            if ref.kind is not None:
                return self._new_slot(ref.name, ref.kind)
            return self.name_term(ref.name)
        if ref.kind is not None:
            kind = self.kind(ref.kind)
            if kind is None:
                return None
        else:
            kind = self.builtin["actor" if ref.quant in _PEOPLE else "thing"]
        return Quantified(_QUANTS[ref.quant], kind, ref.quant)

    def _new_slot(self, name: tree.Name, kind_name: tree.Name) -> Term | None:
        if self.new_slots is None:
            self.notebook.add("slot-not-here", self.span(name.at), name=name.text)
            return None
        kind = self.kind(kind_name)
        if kind is None:
            self.silent.add(name.text)
            return None
        if name.text in self.slots:
            return self.slots[name.text]
        slot = Slot(len(self.new_slots), name.text, (kind,))
        self.slots[name.text] = slot
        self.new_slots.append(slot)
        return slot

    def kinds_of(self, term: Term) -> tuple[Kind, ...]:
        if isinstance(term, Slot):
            return term.kinds
        if isinstance(term, Thing):
            return (term.kind,)
        return (self.builtin["location"],) if isinstance(term, Here) else (term.kind,)

    def property_of(self, prop: tree.Name, term: Term | Kind) -> Property | None:
        """The property that every kind the term may have shares under this name; a finding if one has none."""
        found: Property | None = None
        if isinstance(term, Here):  # wherever the actor is: some kind of place has it
            every = [*self.scope.own_kinds.values(), *self.scope.seen_kinds.values()]
            term = next((k for k in every if k.sort == "location" and prop.text in k.properties), term)
        for kind in (term,) if isinstance(term, Kind) else self.kinds_of(term):
            found = kind.properties.get(prop.text)
            if found is None and kind in self.notebook.broken:
                return None
            if found is None:
                known = [(p.name, "", p.decl) for p in kind.properties.values()]
                self.notebook.add(
                    "unknown-property",
                    self.span(prop.at),
                    name=prop.text,
                    kind=kind.name,
                    decl=kind.decl,
                    candidates=known,
                )
                return None
        return found
