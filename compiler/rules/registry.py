"""Rules by name.

A rule is one file, ``rules/<family>/<name>.py`` with hyphens as underscores, that holds ``RULE = Rule(...)`` and
``def tell(problem: Problem, plan: Any) -> Diagnostic``; its page stands beside it under the same stem, ``.md``. Names
come from the file names, so looking one rule up imports that rule and no other.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any, cast

from jackstay.diagnostics.records import Diagnostic, Problem
from jackstay.rules.records import Rule
from jackstay.source.record import replaced

_FOLDER = Path(__file__).resolve().parent
Teller = Callable[[Problem, Any], Diagnostic]


class UnknownRule(LookupError):
    """A stage reported a problem under a name that no rule file has: a mistake in the compiler, not in a plan."""


@cache
def _families() -> dict[str, str]:
    """The family of every rule, by rule name, in the order of families and names."""
    found: dict[str, str] = {}
    for folder in sorted(_FOLDER.iterdir()):
        if not folder.is_dir() or folder.name.startswith("_"):
            continue
        for name in sorted(entry.name for entry in folder.iterdir()):
            if name.endswith(".py") and not name.startswith("_"):
                found[name.removesuffix(".py").replace("_", "-")] = folder.name
    return found


@cache
def _module(name: str) -> Any:
    family = _families().get(name)
    if family is None:
        raise UnknownRule(name)
    return import_module(f"jackstay.rules.{family}.{name.replace('-', '_')}")


def all_names() -> tuple[str, ...]:
    """Every rule's name, by family, then by name."""
    return tuple(_families())


def exists(name: str) -> bool:
    return name in _families()


def family(name: str) -> str:
    """The family a rule lives in: the name of its folder."""
    try:
        return _families()[name]
    except KeyError:
        raise UnknownRule(name) from None


def families() -> set[str]:
    return set(_families().values())


def rule(name: str) -> Rule:
    """What the rule says about itself; imports that rule only."""
    return cast(Rule, _module(name).RULE)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """The problem as its rule tells it. plan: whatever the rules of that family read (None before the model stands)."""
    from jackstay.rules.identity import names_of

    teller = cast(Teller, _module(problem.rule).tell)
    return replaced(teller(problem, plan), names=names_of(problem))


def page(name: str) -> str:
    """The rule's page, Markdown; raises `UnknownRule`."""
    place = _FOLDER / family(name) / f"{name.replace('-', '_')}.md"
    return place.read_text(encoding="utf-8")
