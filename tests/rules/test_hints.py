"""Every hint of the parser has its words, and every word its hint."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

from jackstay.rules.reading.unreadable_line import HINTS

SYNTAX = Path(__file__).parents[2] / "compiler" / "syntax"


def hints(tree: ast.AST) -> Iterator[str]:
    """The last argument of what reports an unreadable line, and what the two functions that choose a hint return."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("Reject", "_unreadable"):
            yield from (part.value for part in node.args[-1:] if isinstance(part, ast.Constant))
        elif isinstance(node, ast.FunctionDef) and node.name in ("_hint", "_oversized"):
            for inner in ast.walk(node):
                if isinstance(inner, ast.Return) and inner.value is not None:
                    chosen = inner.value
                    options = [chosen.body, chosen.orelse] if isinstance(chosen, ast.IfExp) else [chosen]
                    options += chosen.elts[:1] if isinstance(chosen, ast.Tuple) else []
                    yield from (part.value for part in options if isinstance(part, ast.Constant) and part.value)


def test_hints_and_their_words_agree() -> None:
    given = {hint for path in SYNTAX.glob("*.py") for hint in hints(ast.parse(path.read_text(encoding="utf-8")))}
    assert given - {"name-too-long"} == set(HINTS)
