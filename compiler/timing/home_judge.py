"""Literals judged by what hangs on a holder, not by asking every thing of a kind: the way home is searched often."""

from __future__ import annotations

from jackstay.flow.tests import Binding, Judge
from jackstay.model.records import Quantified, Test, Thing


class NearJudge(Judge):
    """The same truths as a `Judge`, read from fewer variables where a holder's contents decide."""

    __slots__ = ()

    def _over(self, test: Test, binding: Binding, quant: Quantified, first: bool) -> bool:
        if test.op != "attached" or test.negated or quant.quant == "every":
            return super()._over(test, binding, quant, first)
        other = test.b if first else test.a
        thing = self.term(other, binding) if other is not None and not isinstance(other, Quantified) else None
        if thing is None:
            return super()._over(test, binding, quant, first)
        if first:
            found = any(self._meant(quant, one) for one in self.held_by(thing, test.manner))
        elif thing.place_var >= 0:
            seat = self.state.values[thing.place_var]
            found = seat is not None and self._meant(quant, seat)
        else:
            return super()._over(test, binding, quant, first)
        return found == (quant.quant == "some")

    def _meant(self, quant: Quantified, thing: Thing) -> bool:
        return thing.kind.is_a(quant.kind) and (not quant.crew or self.takes_part(thing))

    def held_by(self, holder: Thing, manner: str | None) -> list[Thing]:
        """What hangs on a thing in a manner (None: in any, a line by its ends too), by order of declaration."""
        state = self.state
        found = [
            one
            for one in state.aboard.get(holder.index, ())
            if manner is None
            or one.held_var < 0
            or any(how == manner and where is holder for how, where in state.values[one.held_var] or ())
        ]
        if manner is None:
            found += [one for one in state.ends_on.get(holder.index, ()) if one not in found]
        return sorted(found, key=lambda one: one.index)
