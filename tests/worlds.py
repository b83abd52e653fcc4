"""Worlds for tests: plan files written into an empty folder, read, and resolved."""

from __future__ import annotations

from pathlib import Path

from jackstay.diagnostics.records import Problem
from jackstay.model.from_syntax import build_world
from jackstay.model.records import Excursion, Kind, Thing, World
from jackstay.source.library import Library
from jackstay.syntax.modules import load

CREW = """
kind rigger is actor
  holds 2 item by hand
kind place is location
  holds any item by strap
location gate, mast : place
actor ida, per : rigger, at gate
"""


def world_of(folder: Path, plan: str, **files: str) -> tuple[World, list[Problem]]:
    """The world of ``plan.stay`` and the files beside it, with all problems of reading and resolving."""
    for name, text in {**files, "plan": plan}.items():
        (folder / f"{name}.stay").write_text(text, encoding="utf-8")
    loaded = load(Library(folder), "plan")
    world, problems = build_world(loaded.modules)
    return world, [*loaded.problems, *problems]


def clean(folder: Path, plan: str, **files: str) -> World:
    """The world of a plan in which every name is sound."""
    world, problems = world_of(folder, plan, **files)
    assert not problems, [(p.rule, p.at, p.facts) for p in problems]
    return world


def rules_of(folder: Path, plan: str, **files: str) -> list[tuple[str, int]]:
    """Problems as (rule, line)."""
    return [(p.rule, p.at.line) for p in world_of(folder, plan, **files)[1]]


def kind(world: World, name: str) -> Kind:
    return next(k for k in world.kinds if k.name == name)


def thing(world: World, name: str) -> Thing:
    return next(t for t in world.things if t.name == name)


def only_excursion(world: World) -> Excursion:
    (excursion,) = world.excursions
    return excursion
