"""Terms: what a name, slot or quantifier in a clause refers to, and of which kind it is."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from jackstay.model.records import Dimension, Here, Kind, Property, Quantified, Slot, Term, Thing
from jackstay.model.scope import Notebook, Scope
from jackstay.model.units import Units
from jackstay.source.spans import Span
from jackstay.syntax import tree

_QUANTS = {
    "everyone": "every", "everything": "every", "all": "every",
    "anyone": "some", "anything": "some", "a": "some", "an": "some", "any": "some",
    "nobody": "none", "nothing": "none",
}
_PEOPLE = {"everyone", "anyone", "nobody"}


class Terms:
    """The names that may stand in one clause: its scope, slots and the place of its words.

    slots: "actor", "helper" and upper-case names. numbers: those slots that take a number. route: the dimension of
    lengths, where ``route`` may stand. new_slots: a rule's slots, made where they first stand with their kind."""

    def __init__(self, scope: Scope, units: Units, notebook: Notebook, builtin: Mapping[str, Kind],
                 span: Callable[[tree.At | None], Span]) -> None:
        self.scope = scope
        self.units = units
        self.notebook = notebook
        self.builtin = builtin
        self.span = span
        self.slots: dict[str, Slot] = {}
        self.numbers: set[str] = set()
        self.route: Dimension | None = None
        self.new_slots: list[Slot] | None = None
        self.silent: set[str] = set()  # slots whose kind is unknown: already reported

    def unknown(self, name: tree.Name, wanted: str, fits: Callable[[Thing], bool] | None = None) -> None:
        """Report a name that means nothing here, once."""
        if name.text in self.scope.broken:
            return
        candidates = self.scope.things_where(fits) if fits else self.scope.all_names()
        if not fits:
            candidates += [(slot, "", self.span(name.at)) for slot in self.slots]
        self.notebook.add("unknown-name", self.span(name.at), name=name.text, wanted=wanted, candidates=candidates)

    def kind(self, name: tree.Name) -> Kind | None:
        found = self.builtin.get(name.text) or self.scope.kind(name.text)
        if found is None and name.text not in self.scope.broken:
            known = [*self.scope.kind_names(), *((k.name, "built in", k.decl) for k in self.builtin.values())]
            self.notebook.add("unknown-kind", self.span(name.at), name=name.text, candidates=known)
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
            self.notebook.add("wrong-kind", self.span(name.at), name=name.text, found="not one thing", wanted="a thing",
                              decl=found.decl, candidates=[])
            return None
        self.unknown(name, "a thing")
        return None

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

    def property_of(self, prop: tree.Name, term: Term) -> Property | None:
        """The property that every kind the term may have shares under this name; a finding if one has none."""
        found: Property | None = None
        for kind in self.kinds_of(term):
            found = kind.properties.get(prop.text)
            if found is None:
                known = [(p.name, "", p.decl) for p in kind.properties.values()]
                self.notebook.add("unknown-property", self.span(prop.at), name=prop.text, kind=kind.name, decl=kind.decl,
                                  candidates=known)
                return None
        return found
