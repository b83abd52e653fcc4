"""Efforts and bodies: words with a figure, known wherever their file was used, at any depth."""

from __future__ import annotations

from collections.abc import Mapping

from jackstay.model.formulas import constant
from jackstay.model.records import Body, Dimension, Effort, Kind, Measure, World
from jackstay.model.scope import Notebook, Scope
from jackstay.model.terms import Terms
from jackstay.model.units import SpanOf, Units, dimension_text, times
from jackstay.syntax import tree


def read_efforts(
    file: tree.File, scope: Scope, units: Units, notebook: Notebook, builtin: Mapping[str, Kind], world: World
) -> None:
    """Read a file's efforts and bodies into the world."""
    world.efforts = units.efforts
    meant = _meant(file, units, scope, notebook, builtin)
    for statement in file.statements:
        node = statement.node
        if not isinstance(node, (tree.EffortDecl, tree.BodyDecl)):
            continue
        terms = Terms(scope, units, notebook, builtin, SpanOf(file, statement))
        at = terms.span(node.name.at)
        known = units.efforts if isinstance(node, tree.EffortDecl) else world.bodies
        if node.name.text in known:
            notebook.add("name-taken", at, name=node.name.text, first=known[node.name.text].decl)
        elif isinstance(node, tree.EffortDecl):
            _effort(node, terms, meant)
        else:
            _body(node, terms, world)


def _meant(
    file: tree.File, units: Units, scope: Scope, notebook: Notebook, builtin: Mapping[str, Kind]
) -> Measure | None:
    """A rate such as all have to be: one that is known already, else the first of those that most of the file's
    efforts are like: one that differs from all others is the mistake."""
    known = next(iter(units.efforts.values()), None)
    if known is not None:
        return known.rate
    rates: dict[Dimension, list[Measure]] = {}
    for statement in file.statements:
        if isinstance(statement.node, tree.EffortDecl):
            quiet = Terms(scope, units, Notebook(lines=notebook.lines), builtin, SpanOf(file, statement))
            node = statement.node.rate
            rate = constant(node, quiet) if isinstance(node, tree.Quantity) and units.knows(node) else None
            if rate is not None:
                rates.setdefault(rate.dimension, []).append(rate)
    return max(rates.values(), key=len)[0] if rates else None


def _effort(node: tree.EffortDecl, terms: Terms, meant: Measure | None) -> None:
    units, name = terms.units, node.name.text
    rate = constant(node.rate, terms)
    if rate is not None and meant is not None and rate.dimension != meant.dimension:
        _wrong(node.rate, rate.text, f"a rate like {meant.text}", "the rate of an effort", terms)
        rate = None
    elif rate is not None and rate.value < 0:
        because = "nobody gains by working"
        _wrong(node.rate, rate.text, "nothing or more", "the rate of an effort", terms, because)
        rate = None
    if rate is None:
        units.broken_efforts.add(name)
    else:
        origin = terms.origin(node.origin, f"effort {name}")
        units.efforts[name] = Effort(name, rate, terms.span(node.name.at), origin)


def _body(node: tree.BodyDecl, terms: Terms, world: World) -> None:
    radius, pull = constant(node.radius, terms), constant(node.pull, terms)
    if radius is None or pull is None:
        return
    if len(radius.dimension) != 1 or radius.value <= 0:
        _wrong(node.radius, _said(radius), "a length", "the radius of a body", terms)
    elif pull.value <= 0 or not _is_pull(radius.dimension, pull.dimension):
        _wrong(node.pull, _said(pull), "a length^3 over a time^2", "the pull of a body", terms)
    else:
        world.bodies[node.name.text] = Body(node.name.text, radius, pull, terms.span(node.name.at))


def _is_pull(length: Dimension, pull: Dimension) -> bool:
    """Whether pull is a length cubed over the square of one other dimension."""
    cubed = times(times(length, length), length)
    under = times(cubed, pull, -1)
    return len(under) == 1 and under[0][1] == 2


def _said(measure: Measure) -> str:
    return dimension_text(measure.dimension) if measure.value > 0 else measure.text


def _wrong(node: tree.Formula, found: str, wanted: str, what: str, terms: Terms, because: str = "") -> None:
    at = terms.span(node.at)
    terms.notebook.add("wrong-dimension", at, found=found, wanted=wanted, what=what, because=because)
