"""What a check found, written down, so that the same texts need no check.

A result goes by what the compiler asked for: which module names led to which texts, and which led nowhere. Whoever
gets the same answers from the files, with the same compiler and settings, gets the same findings. What the plan or the
project allows is applied afterwards, each time, since it goes by the day.

The form is plain data with a sum over it. Reading it builds findings and nothing else: a damaged entry, or one that
somebody has made up, is at worst not taken, or taken at its word; it cannot make anything run.
"""

from __future__ import annotations

import json
from datetime import date
from enum import Enum
from functools import cache
from hashlib import sha256
from pathlib import Path
from types import NoneType
from typing import Any, Union, get_args, get_origin, get_type_hints

from jackstay.diagnostics.records import Diagnostic, Problem
from jackstay.model.records import World
from jackstay.pipeline import Found, Stages
from jackstay.policy.records import Allowance
from jackstay.rules.registry import exists
from jackstay.source.files import SourceFile
from jackstay.source.library import Library
from jackstay.source.record import Record
from jackstay.source.spans import NOWHERE, Span
from jackstay.syntax.modules import Loaded, load

FORM = "jackstay.result/1"
MOST = 16 * 1024 * 1024  # bytes of an entry
_ALTERNATIVES = 4  # results of one root text: the files that it uses may differ

Question = tuple[str, str]  # read, has or shipped; of which module


class Noted(Library):
    """A library that notes what it was asked, and a digest of each answer."""

    def __init__(self, root: Path) -> None:
        super().__init__(root)
        self.answers: dict[Question, str] = {}
        self.sources: dict[str, SourceFile] = {}

    def read(self, module: str) -> SourceFile | Problem:
        found = super().read(module)
        if isinstance(found, SourceFile):
            self.sources[found.path] = found
            answer = digest(found.path, found.text)
        else:
            answer = digest(found.rule, repr(found.at), repr(sorted(found.facts.items())))
        self.answers["read", module] = answer
        return found

    def has(self, module: str) -> bool:
        found = super().has(module)
        self.answers["has", module] = str(found)
        return found

    def is_shipped(self, module: str) -> bool:
        found = super().is_shipped(module)
        self.answers["shipped", module] = str(found)
        return found

    def answer(self, question: Question) -> str | None:
        """None: no such question."""
        ask = {"read": self.read, "has": self.has, "shipped": self.is_shipped}.get(question[0])
        if ask is None:
            return None
        ask(question[1])
        return self.answers[question]


class NotedStages(Stages):
    def __init__(self) -> None:
        self.library: Noted | None = None

    def load(self, path: Path) -> Loaded:
        self.library = Noted(path.parent)
        return load(self.library, path.stem)


def digest(*parts: str) -> str:
    return sha256("\0".join(f"{len(part)} {part}" for part in parts).encode("utf-8", "surrogatepass")).hexdigest()


def key_of(compiler: str, path: Path, settings: str) -> str:
    """The name of the entry for a root file. compiler, settings: digests of all that they are. It goes by texts alone,
    not by folders, so that it is the same on every machine."""
    library = Noted(path.parent)
    library.read(path.stem)
    return digest(FORM, compiler, settings, path.stem, library.answers["read", path.stem])


def written(key: str, found: Found, answers: dict[Question, str], before: bytes | None) -> bytes:
    """The entry of that name with this result first. before: the entry as it was, of which other results are kept."""
    questions = [[*question, answer] for question, answer in answers.items()]
    result = {
        "questions": questions,
        "findings": [_plain(one) for one in found.diagnostics],
        "allowances": [_plain(one) for one in found.allowances],
        "judged": None if found.judged is None else sorted(found.judged),
    }
    others = [one for one in _results(key, before) if one.get("questions") != questions] if before else []
    body = json.dumps([result, *others[: _ALTERNATIVES - 1]], ensure_ascii=True, separators=(",", ":"))
    return _head(key, body.encode()) + f"\n{body}\n".encode()


def _head(key: str, body: bytes) -> bytes:
    return f"{FORM} {key} {sha256(body).hexdigest()}".encode()


def known(key: str, entry: bytes, path: Path) -> Found | None:
    """The result in the entry of that name for the files as they are now. None: there is none, or it is damaged."""
    for result in _results(key, entry):
        try:
            found = _found(result, path)
        except (ValueError, TypeError, KeyError, OverflowError, RecursionError):
            continue
        if found is not None:
            return found
    return None


def _results(key: str, entry: bytes) -> list[dict[str, Any]]:
    try:
        head, body, rest = entry.split(b"\n")
        if rest or head != _head(key, body):
            return []
        results = json.loads(body)
    except (ValueError, RecursionError):
        return []
    return [one for one in results if isinstance(one, dict)] if isinstance(results, list) else []


def _found(result: dict[str, Any], path: Path) -> Found | None:
    library = Noted(path.parent)
    for what, module, answer in result["questions"]:
        if not isinstance(what, str) or not isinstance(module, str) or library.answer((what, module)) != answer:
            return None
    findings = [_made(Diagnostic, one) for one in result["findings"]]
    if not all(exists(finding.rule) for finding in findings):
        return None
    allowances = [_made(Allowance, one) for one in result["allowances"]]
    judged = None if result["judged"] is None else {_made(str, one) for one in result["judged"]}
    return Found(World(path.stem, "", NOWHERE), None, [], findings, allowances, judged, library.sources)


# --- records as plain data -------------------------------------------------------------------------------------------


def _plain(value: Any) -> Any:
    """A record as the list of its fields; a day as text."""
    if isinstance(value, Record):
        return [_plain(getattr(value, field)) for field in value.__match_args__]
    if isinstance(value, tuple):
        return [_plain(part) for part in value]
    if isinstance(value, Enum):
        return value.value
    return value.isoformat() if isinstance(value, date) else value


@cache
def _fields(sort: type) -> tuple[Any, ...]:
    names = Span._fields if sort is Span else sort.__match_args__  # type: ignore[attr-defined]
    hints = get_type_hints(sort)
    return tuple(hints[name] for name in names)


def _made(sort: Any, value: Any) -> Any:
    """Plain data as a value of this sort. Raises ValueError where it is none."""
    origin, inner = get_origin(sort), get_args(sort)
    if origin is tuple and isinstance(value, list):
        return tuple(_made(inner[0], part) for part in value)
    if origin is Union or NoneType in inner:
        if value is None:
            return None
        (other,) = (one for one in inner if one is not NoneType)
        return _made(other, value)
    if sort in (str, int) and type(value) is sort:
        return value
    if sort is bool and type(value) is bool:
        return value
    if isinstance(sort, type) and isinstance(value, str) and issubclass(sort, Enum):
        return sort(value)
    if sort is date and isinstance(value, str):
        return date.fromisoformat(value)
    if isinstance(sort, type) and isinstance(value, list) and (sort is Span or issubclass(sort, Record)):
        fields = _fields(sort)
        if len(fields) == len(value):
            return sort(*(_made(one, part) for one, part in zip(fields, value, strict=True)))
    raise ValueError(f"this is no {sort}")
