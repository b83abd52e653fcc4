"""No line of the compiler knows any trade: no word that a vocabulary declares is a text of its own in any module.

What is declared in ``stdlib/`` (kinds, properties and their values, manners, verbs, supplies, efforts, tables, forms,
rules) is collected from the files themselves, so a new vocabulary is looked for from its first day. Of those words,
some are words of the language or of English too, and stand in the compiler for that: they are listed."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest

from jackstay.source.files import source_from_text
from jackstay.syntax import tree
from jackstay.syntax.parsing import parse
from jackstay.syntax.tables import build_table

ROOT = Path(__file__).parents[2]
VOCABULARIES = sorted((ROOT / "stdlib").glob("*.stay"))
MODULES = sorted((ROOT / "compiler").rglob("*.py"))


def declared(text: str) -> set[str]:
    """Every word of a vocabulary's own, whole."""
    words: set[str] = set()

    def visit(statement: tree.Statement) -> None:
        node = statement.node
        if isinstance(node, tree.Has):
            words.update((node.name.text, *(value.text for value in node.values)))
        elif isinstance(node, tree.Holds):
            words.add(node.manner.text)
        elif isinstance(node, (tree.Action, tree.Routine)):
            words.update(word for part in node.pattern for word in part.words)
        elif isinstance(
            node, (tree.Kind, tree.Supply, tree.EffortDecl, tree.Table, tree.Let, tree.Rule, tree.Form, tree.Heading)
        ):
            words.add(node.name.text)
        for child in statement.children:
            visit(child)

    for statement in parse(source_from_text("vocabulary.stay", text))[0].statements:
        visit(statement)
    return words


def keywords() -> set[str]:
    """The words of the grammar."""
    table = build_table((ROOT / "grammar" / "jackstay.lark").read_text(encoding="utf-8"))
    return {key for state in table.states for key in state if key[:1] not in "%<"}


def texts(path: Path) -> set[str]:
    """Whole texts of a module that are one word, less its docstrings."""
    module = ast.parse(path.read_text(encoding="utf-8"))
    return {
        node.value
        for node in ast.walk(module)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value.replace("-", "").isalnum()
    }


# Words of vocabularies that stand in the compiler too, as something of its own: names of facts and fields, words of the
# language's own ideas (a seat is where a heading puts somebody, a line has ends), of formats, and of English sentences.
OF_ITS_OWN = frozenset(
    """back call check clip come conditions do draw duration empty flow hazards holder joint line lines load off open
    other out pace pack read rest say seat start tally test tests the tool watch weight""".split()  # noqa: SIM905
)


@cache
def trade_words() -> set[str]:
    found = {word for path in VOCABULARIES for word in declared(path.read_text(encoding="utf-8"))}
    return found - keywords()


def test_the_vocabularies_have_words() -> None:
    words = trade_words()
    assert {"suited", "diver", "entrant", "bottom-clock", "no-stop", "retrieval-line", "unbolt"} <= words
    assert len(words) > 200


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_module_has_a_word_of_a_trade(path: Path) -> None:
    assert not texts(path) & (trade_words() - OF_ITS_OWN)


def test_no_text_has_a_word_of_a_trade_with_a_hyphen() -> None:
    """Within longer texts too: ``bottom-clock`` is nobody's English."""
    wanted = re.compile(r"\b(?:" + "|".join(sorted(word for word in trade_words() if "-" in word)) + r")\b")
    found = {
        (str(path.relative_to(ROOT)), match[0])
        for path in MODULES
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and not _prose(node.value)
        for match in wanted.finditer(node.value)
    }
    assert not found


def _prose(text: str) -> bool:
    """A docstring: examples in it may be of any trade."""
    return "``" in text or "\n" in text


def test_what_is_listed_is_found() -> None:
    """Nothing stays listed that no module says any more."""
    said = {word for path in MODULES for word in texts(path)}
    assert said >= OF_ITS_OWN and trade_words() >= OF_ITS_OWN
