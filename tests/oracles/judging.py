"""The compiler's verdict on a text, and how it stands to the oracle's."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from oracles.brute import Plan
from oracles.timings import CLEAN, DOES_NOT, Timings, TooMany
from oracles.writing import text_of

from jackstay.diagnostics.records import Problem
from jackstay.flow.analyse import analyse
from jackstay.model.from_syntax import build_world
from jackstay.model.records import World
from jackstay.source.files import source_from_text
from jackstay.source.library import Library
from jackstay.syntax.modules import load

MAY = frozenset(
    {"may-come-first", "need-may-fail", "may-exceed", "rule-may-break", "may-not-be-done", "line-may-be-too-short"}
)
UNDECIDED = "not-decided"


class Unreadable(AssertionError):
    """The generated text does not compile: a fault of the generator, or of the parser."""


class Verdicts(NamedTuple):
    """oracle: clean, does-not or may-not. found: rules of the compiler's problems. agrees: what the oracles demand."""

    oracle: str
    found: tuple[str, ...]
    agrees: bool
    undecided: bool
    another_way: bool
    why: str


def world_of(text: str, name: str = "plan") -> World:
    library = Library(Path("/nowhere"))
    library.overlay[name + ".stay"] = source_from_text(name + ".stay", text)
    loaded = load(library, name)
    world, problems = build_world(loaded.modules)  # type: ignore[arg-type]
    problems = [*loaded.problems, *problems]
    if problems:
        raise Unreadable(f"{[(p.rule, p.at, p.facts) for p in problems]}\n{text}")
    return world


def problems_of(world: World) -> list[Problem]:
    flow = analyse(world)
    return [*flow.problems, *(p for e in flow.excursions for p in e.problems)]


class Case(NamedTuple):
    """A plan, the compiler's world of its text, and the oracle's verdict with its reason."""

    plan: Plan
    world: World
    oracle: str
    why: str


def case_of(plan: Plan) -> Case | None:
    """None when the plan has too many situations to try them all."""
    oracle = Timings(plan)
    try:
        verdict = oracle.verdict()
    except TooMany:
        return None
    why = "; ".join(f"{' '.join(path)}: {reason}" for path, reason in oracle.reasons[:1])
    return Case(plan, world_of(text_of(plan)), verdict, why)


def compare(plan: Plan) -> Verdicts | None:
    case = case_of(plan)
    return judge(case) if case is not None else None


def judge(case: Case) -> Verdicts:
    """Clean must be clean, anything else must be told or at least be said to be undecided."""
    problems = problems_of(case.world)
    found = tuple(p.rule for p in problems)
    errors = [r for r in found if r != UNDECIDED]
    undecided = UNDECIDED in found and not errors
    agrees = not errors if case.oracle == CLEAN else bool(errors) or undecided
    another_way = False
    if errors and case.oracle == CLEAN and any(p.rule == UNDECIDED and p.facts["what"] == "any" for p in problems):
        return Verdicts(case.oracle, found, True, True, False, case.why)  # only one choice of several was followed
    if not agrees and case.oracle == CLEAN and all(r in MAY for r in errors):
        # a fact that holds in several ways, one of them in flux: to warn is allowed, to keep silent too
        agrees = another_way = Timings(case.plan, whole=True).verdict() != CLEAN
    return Verdicts(case.oracle, found, agrees, undecided, another_way, case.why)


def strength(verdicts: Verdicts) -> str:
    """One line of the statistics: oracle's verdict and the compiler's strongest."""
    errors = [r for r in verdicts.found if r != UNDECIDED]
    if not errors or (verdicts.oracle == CLEAN and verdicts.undecided):
        said = "not decided" if verdicts.undecided else "nothing"
    else:
        said = "may" if all(r in MAY for r in errors) else "does not"
    return f"{verdicts.oracle} / {said}" + (" (holds in another way too)" if verdicts.another_way else "")


__all__ = [
    "DOES_NOT",
    "Case",
    "Unreadable",
    "Verdicts",
    "case_of",
    "compare",
    "judge",
    "problems_of",
    "strength",
    "world_of",
]
