"""No verb is built in: under other words for every kind, manner, property, value, unit and verb of the vocabularies and
the examples, the findings are the same, up to the renaming."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pages
import pytest

from jackstay.diagnostics.records import Problem
from jackstay.flow.analyse import analyse
from jackstay.model.forms import SORTS as FORM_SORTS
from jackstay.model.forms import WORDS
from jackstay.model.from_syntax import build_world
from jackstay.model.patterns import RESERVED
from jackstay.source.library import Library
from jackstay.source.record import Record
from jackstay.syntax import tree
from jackstay.syntax.modules import Module, load
from jackstay.timing.judging import check_times

EXAMPLES = Path(__file__).parents[2] / "examples"
SPEC = Path(__file__).parents[1] / "spec"
# words that the language itself gives a meaning where a name may stand
FIXED = RESERVED | {"thing", "item", "location", "done", "daylight", "dark", "route", "effort", "helper"}
SORTS = {*FORM_SORTS, *WORDS}  # what a form may list of any plan, and what outputs may call otherwise
TRADES = ("tarn-depot", "harrow-sound", "corran-mill")
_WORD = re.compile(r"[A-Za-z][A-Za-z0-9-]*")


def read(folder: Path, root: str) -> tuple[dict[str, Module], list[Problem]]:
    loaded = load(Library(folder), root)
    return loaded.modules, loaded.problems


def vocabulary(modules: dict[str, Module]) -> set[str]:
    """Every word that a vocabulary or a plan declares, less the names of things."""
    words: set[str] = set()
    things: set[str] = set()

    def visit(statement: tree.Statement) -> None:
        node = statement.node
        if isinstance(node, (tree.Kind, tree.UnitDecl, tree.Dimension)):
            words.add(node.name.text)
        elif isinstance(node, tree.Has):
            words.update((node.name.text, *(value.text for value in node.values)))
        elif isinstance(node, tree.Holds):
            words.add(node.manner.text)
        elif isinstance(node, (tree.Supply, tree.EffortDecl, tree.Table, tree.Let, tree.Form, tree.Heading)):
            words.add(node.name.text)
        elif isinstance(node, (tree.Action, tree.Routine)):
            words.update(word for part in node.pattern for word in part.words)
        elif isinstance(node, tree.Thing):
            things.update(name.text for name in node.names)
        for child in statement.children:
            visit(child)

    for module in modules.values():
        for statement in module.file.statements:
            visit(statement)
    slots = {word for word in words if word.isupper()}  # the unit N and the slot N are told apart by their place alone
    return words - things - slots - FIXED - SORTS


def renamed(node: Any, word: Callable[[str], str]) -> Any:
    """A node with every declared word replaced; what the language fixes (a rank, a flag, a file) stays."""
    if isinstance(node, tree.Name):
        return node._replace(text=".".join(word(part) for part in node.text.split(".")))
    if isinstance(node, tree.UnitTerm):
        return node._replace(powers=tuple((word(name), power) for name, power in node.powers))
    if isinstance(node, (tree.Use, tree.Allow, tree.WordDecl, tree.Words)):
        return node
    if isinstance(node, tree.PatternPart):
        kinds = tuple(renamed(kind, word) for kind in node.kinds)
        return tree.PatternPart(tuple(word(one) for one in node.words), node.slot, kinds, node.at)
    if isinstance(node, Record):
        kept = {"rank"} if isinstance(node, tree.Task) else {"name"} if isinstance(node, tree.Flag) else set()
        fields = node.__match_args__
        return type(node)(*(getattr(node, f) if f in kept else renamed(getattr(node, f), word) for f in fields))
    if isinstance(node, tuple) and not isinstance(node, tree.At):
        parts = [renamed(part, word) for part in node]
        return type(node)(*parts) if hasattr(node, "_fields") else tuple(parts)
    return node


def renamed_module(module: Module, word: Callable[[str], str]) -> Module:
    def statement(old: tree.Statement) -> tree.Statement:
        children = [statement(child) for child in old.children]
        return tree.Statement(old.line, old.start, old.end, renamed(old.node, word), children)

    file = tree.File(module.file.path, [statement(one) for one in module.file.statements])
    return Module(module.name, file, module.source, module.uses, module.shipped)


def problems_of(modules: dict[str, Module]) -> list[Problem]:
    """All that the model and, where every name is sound, the flow and the clock report."""
    world, problems = build_world(modules)  # type: ignore[arg-type]
    if not any(problem.rule != "hole" for problem in problems):
        flow = analyse(world)
        check_times(world, flow, [one for one in flow.excursions if one.complete])
        problems = [*problems, *flow.problems, *(p for excursion in flow.excursions for p in excursion.problems)]
    return problems


SAID = ("name", "kind", "found", "value", "word", "action", "prop", "manner", "other", "outcome")


def told(problems: list[Problem], word: Callable[[str], str]) -> list[tuple[Any, ...]]:
    """Rule, place and the words of each problem, the words renamed."""

    def swap(text: str) -> str:
        return _WORD.sub(lambda found: word(found[0]), text)

    out = [
        (p.rule, p.at, tuple((fact, swap(p.facts[fact])) for fact in SAID if isinstance(p.facts.get(fact), str)))
        for p in problems
    ]
    return sorted(out)


def bijection(words: set[str], seed: int) -> Callable[[str], str]:
    """The words in another order, so that each is a word that means something else elsewhere."""
    every = sorted(words)
    other = list(every)
    random.Random(seed).shuffle(other)
    mapping = dict(zip(every, other, strict=True))
    return lambda text: mapping.get(text, text)


def same_under_renaming(modules: dict[str, Module], seed: int) -> list[Problem]:
    words = vocabulary(modules)
    assert len(words) > 50
    word = bijection(words, seed)
    assert sum(word(one) != one for one in words) > len(words) // 2
    problems = problems_of(modules)
    again = problems_of({name: renamed_module(module, word) for name, module in modules.items()})
    assert told(again, lambda text: text) == told(problems, word)
    return problems


def broken_variants() -> Iterator[tuple[str, int]]:
    """Lines of the demo to leave out: a use, a kind's user, declarations, steps, marks, an ending."""
    for name, wanted in (
        ("depot", ("item kit-w", "path bay4 to deck")),
        ("first", ("take rest1 from", "left outside: heater-cable", "wipe spare-seat")),
        ("second", ("use depot", "hand ")),
    ):
        lines = (EXAMPLES / "tarn-depot" / f"{name}.stay").read_text(encoding="utf-8").splitlines()
        for text in wanted:
            row = next((i for i, line in enumerate(lines) if line.strip().startswith(text)), None)
            assert row is not None, f"{name} has no line {text!r}"
            yield name, row


@pytest.mark.parametrize("trade", TRADES)
def test_the_demos(trade: str) -> None:
    modules, problems = read(EXAMPLES / trade, "campaign")
    assert not problems
    assert not same_under_renaming(modules, 1)


MISTAKES = [
    (page, number)
    for page in ("dive_mistakes", "dive_worked", "entry_mistakes")
    for number in range(len(pages.projects((SPEC / f"{page}.md").read_text(encoding="utf-8"))))
]


@pytest.mark.parametrize(("page", "number"), MISTAKES)
def test_the_mistakes_of_the_other_trades(page: str, number: int, tmp_path: Path) -> None:
    """What the pages find by rule and line is found under other words too."""
    project = pages.projects((SPEC / f"{page}.md").read_text(encoding="utf-8"))[number]
    for name, text in project.files.items():
        (tmp_path / name).write_bytes(text)
    modules, _ = read(tmp_path, "plan")
    found = same_under_renaming(modules, number)
    marked = {(mark.rule, mark.line) for mark in project.marks if mark.rule != "not-decided"}
    assert marked <= {(one.rule, one.at.line) for one in found}


@pytest.mark.parametrize(("name", "row"), list(broken_variants()))
def test_the_demo_less_a_line(tmp_path: Path, name: str, row: int) -> None:
    for path in (EXAMPLES / "tarn-depot").glob("*.stay"):
        lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
        if path.stem == name:
            del lines[row]
        (tmp_path / path.name).write_text("".join(lines), encoding="utf-8")
    modules, _ = read(tmp_path, "campaign")
    problems = same_under_renaming(modules, row)
    assert {problem.rule for problem in problems} - {"not-decided"}, "the line was missed by nobody"


PLANS = sorted(p.stem for p in (EXAMPLES / "mistakes").glob("*.stay") if p.stem != "yard")


@pytest.mark.parametrize("name", PLANS)
def test_the_mistakes(name: str) -> None:
    modules, _ = read(EXAMPLES / "mistakes", name)
    assert same_under_renaming(modules, len(name))
