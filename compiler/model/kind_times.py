"""What kinds say of time: supplies, the effort of waiting, rescue, and coming in one after the other.

Read once all kinds of the module stand, parents first, so that a formula may name any property.
"""

from __future__ import annotations

from collections.abc import Callable

from jackstay.model.formulas import constant, dimension_of, fold, resolve
from jackstay.model.records import Dimension, Formula, Kind, Measure, Rescue, Slot, Supply
from jackstay.model.terms import Terms
from jackstay.model.units import Units, dimension_text, times
from jackstay.syntax import tree

TermsOf = Callable[[tree.Statement], Terms]


def read_times(kind: Kind, lines: list[tree.Statement], terms_of: TermsOf) -> None:
    """Fold in what the parents say, then read the kind's own lines: they write over inherited ones of one name."""
    supplies: dict[str, Supply] = {}
    rescues: dict[Kind, Rescue] = {}
    for parent in reversed(kind.parents):
        supplies.update((s.name, s) for s in parent.supplies)
        rescues.update((r.kind, r) for r in parent.rescues)
        kind.idle = parent.idle or kind.idle
        kind.one_by_one = parent.one_by_one or kind.one_by_one
    own: dict[str, Supply] = {}
    for line in lines:
        node, terms = line.node, terms_of(line)
        if isinstance(node, tree.Supply):
            supply = _supply(kind, node, terms)
            if supply is not None and node.name.text in own:
                first = own[node.name.text].decl
                terms.notebook.add("name-taken", terms.span(node.name.at), name=node.name.text, first=first)
            elif supply is not None:
                own[supply.name] = supply
        elif isinstance(node, tree.Idle):
            kind.idle = terms.units.effort(node.level, terms.span(node.level.at)) or kind.idle
        elif isinstance(node, tree.Brings):
            rescue = _rescue(node, terms)
            if rescue is not None:
                rescues[rescue.kind] = rescue
        elif isinstance(node, tree.Flag) and node.name.text == "inside" and node.value is not None:
            kind.one_by_one = _positive(node.value, terms, "how long each takes to come in", "time")
    supplies.update(own)
    kind.supplies = tuple(supplies.values())
    kind.rescues = tuple(rescues.values())


def _supply(kind: Kind, node: tree.Supply, terms: Terms) -> Supply | None:
    amount = terms.units.quantity(node.amount, terms.span(node.amount.at))
    if amount is None:
        return None
    reserve = constant(node.reserve, terms) if node.reserve is not None else None
    if reserve is not None and node.reserve is not None and reserve.dimension != amount.dimension:
        what = f"the reserve of {node.name.text}"
        _wrong(node.reserve, dimension_text(reserve.dimension), f"an amount like {amount.text}", what, terms)
        reserve = None
    elif reserve is not None and node.reserve is not None and not 0 <= reserve.value < amount.value:
        at = terms.span(node.reserve.at)
        terms.notebook.add("bad-time", at, what="supply", text=reserve.text, other=amount.text)
        reserve = None
    drains: Formula | None = None
    if node.drains is not None:
        terms.slots["actor"] = Slot(0, "actor", (kind,))
        terms.effort = terms.units.effort_dimension
        drains = resolve(node.drains, terms)
        # what time is may not be known yet: amount over drain is one, whatever its name
        if drains is not None:
            lasts = times(amount.dimension, dimension_of(drains), -1)
            if len(lasts) != 1 or lasts[0][1] != 1:
                _wrong(
                    node.drains,
                    dimension_text(dimension_of(drains)),
                    f"an amount like {amount.text} over a time",
                    f"what drains {node.name.text}",
                    terms,
                )
                drains = None
            elif (fold(drains) or 0) < 0:
                at = terms.span(node.drains.at)
                terms.notebook.add("bad-time", at, what="drains", text=node.name.text, other="")
                drains = None
            else:
                what = f"how long {node.name.text} lasts, its amount over what drains it,"
                terms.units.later.append((lasts, "time", what, terms.span(node.drains.at)))
    elif reserve is not None:
        about = f"{node.name.text} lasts"
        reason = "it has a reserve, and no `drains` that says how fast it is used up"
        terms.notebook.add("not-decided", terms.span(node.name.at), what="time", about=about, reason=reason)
    origin = terms.origin(node.origin, f"{node.name.text} of {kind.name}")
    return Supply(node.name.text, amount, terms.span(node.name.at), reserve, drains, origin)


def _rescue(node: tree.Brings, terms: Terms) -> Rescue | None:
    kind = terms.kind(node.kind)
    pace = _positive(node.pace, terms, "the pace", "pace")
    within = _positive(node.within, terms, "the time for it", "time") if node.within is not None else None
    if kind is None or pace is None:
        return None
    if kind.sort != "actor" and kind not in terms.notebook.broken:
        terms.notebook.add(
            "wrong-kind",
            terms.span(node.kind.at),
            name=kind.name,
            found=f"a kind of {kind.sort}",
            wanted="a kind of actor",
            decl=kind.decl,
            candidates=[k for k in terms.scope.kind_names() if k[1] == "actor"],
        )
        return None
    return Rescue(kind, pace, within, terms.span())


def _positive(node: tree.Formula, terms: Terms, what: str, sort: str) -> Measure | None:
    """sort: time or pace."""
    measure = constant(node, terms)
    if measure is not None and (measure.value <= 0 or not measure.dimension):
        wanted = "more than nothing, with its unit"
        found = measure.text if measure.dimension else "a bare number"
        because = "it takes some time" if sort == "time" else "who does not move brings nobody in"
        if not measure.dimension:
            because = "a bare number has no unit"
        at = terms.span(node.at)
        terms.notebook.add("wrong-dimension", at, found=found, wanted=wanted, what=what, because=because)
        return None
    if measure is not None:
        terms.units.later.append((measure.dimension, sort, what, terms.span(node.at)))
    return measure


def check_later(units: Units, time: Dimension, way: Dimension | None) -> None:
    """Whether the times and paces of kinds are such, once the campaign has said what a time is, and what a way."""
    for found, sort, what, at in units.later if time else ():
        wanted = time if sort == "time" else times(way, time, -1) if way else None
        if wanted is not None and found != wanted:
            words = dimension_text(found), dimension_text(wanted)
            units.notebook.add("wrong-dimension", at, found=words[0], wanted=words[1], what=what)


def _wrong(node: tree.Formula, found: str, wanted: str, what: str, terms: Terms) -> None:
    terms.notebook.add("wrong-dimension", terms.span(node.at), found=found, wanted=wanted, what=what)
