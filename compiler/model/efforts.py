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
            _effort(node, terms)
        else:
            _body(node, terms, world)


def _effort(node: tree.EffortDecl, terms: Terms) -> None:
    units, name = terms.units, node.name.text
    rate = constant(node.rate, terms)
    wanted = units.effort_dimension
    if rate is not None and wanted is not None and rate.dimension != wanted:
        _wrong(node.rate, dimension_text(rate.dimension), dimension_text(wanted), "the rate of an effort", terms)
        rate = None
    elif rate is not None and rate.value < 0:
        _wrong(node.rate, rate.text, "nothing or more", "the rate of an effort", terms)
        rate = None
    if rate is None:
        units.broken_efforts.add(name)
    else:
        units.efforts[name] = Effort(name, rate, terms.span(node.name.at))


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


def _wrong(node: tree.Formula, found: str, wanted: str, what: str, terms: Terms) -> None:
    terms.notebook.add("wrong-dimension", terms.span(node.at), found=found, wanted=wanted, what=what)
