"""Records of the world that speak of an excursion's crew, and of what it leaves."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from jackstay.source.spans import Span

if TYPE_CHECKING:
    from jackstay.model.records import Test, Thing


class LeftThing(NamedTuple):
    thing: "Thing"
    until: str | None
    at: Span


class LeftState(NamedTuple):
    test: "Test"
    until: str | None
    at: Span


class Member(NamedTuple):
    actor: "Thing"
    role: str | None
