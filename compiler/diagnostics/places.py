"""A finding with its places put elsewhere."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from jackstay.diagnostics.records import Diagnostic
from jackstay.source.record import Record
from jackstay.source.spans import Span


def moved(finding: Diagnostic, at: Callable[[Span], Span]) -> Diagnostic:
    """The finding with every place in it as ``at`` gives it."""
    found = _moved(finding, at)
    assert isinstance(found, Diagnostic)
    return found


def _moved(value: Any, at: Callable[[Span], Span]) -> Any:
    if type(value) is Span:
        return at(value)
    if type(value) is tuple:
        return tuple([_moved(part, at) for part in value])
    if isinstance(value, Record):
        return type(value)(*(_moved(getattr(value, field), at) for field in value.__match_args__))
    return value
