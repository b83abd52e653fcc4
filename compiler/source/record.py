"""Records that cost next to nothing to define: `Record` does not change and compares by value, `Entity` may change and
is only ever equal to itself.

A plan check is short, and generating methods for a hundred dataclasses would be a third of it. A subclass lists
its fields as annotations, with defaults where it has them, and gets slots and a constructor: one that all share, and
one of its own once so many are made that it pays.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar, TypeVar, dataclass_transform

T = TypeVar("T")


class _Fresh:
    """A default made anew for each record."""

    __slots__ = ("factory",)

    def __init__(self, factory: Callable[[], Any]) -> None:
        self.factory = factory


def fresh(*, factory: Callable[[], T]) -> T:
    """A field whose default is ``factory()``."""
    return _Fresh(factory)  # type: ignore[return-value]


class _Shape(type):
    def __new__(mcs, name: str, bases: tuple[type, ...], space: dict[str, Any]) -> "_Shape":
        given = space.get("__annotations__", {})
        fields = tuple(f for f, kind in given.items() if not str(kind).startswith("ClassVar"))
        defaults = {f: space.pop(f) for f in fields if f in space}
        space.setdefault("__slots__", fields)
        space["__match_args__"] = fields
        space["_defaults"] = defaults
        return super().__new__(mcs, name, bases, space)


_OWN_AFTER = 100  # records of a class before a constructor is compiled for it, which costs as much as making so many
_made: dict[type, int] = {}


def _construct(record: Any, values: tuple[Any, ...], named: dict[str, Any]) -> None:
    """The shared constructor."""
    cls = type(record)
    made = _made[cls] = _made.get(cls, 0) + 1
    if made == _OWN_AFTER:
        cls.__init__ = _own_constructor(cls)
    _fill(record, values, named)


def _own_constructor(cls: Any) -> Any:
    """A constructor that sets each slot by name. Entities only: `Record` closes that way."""
    head, body = ["self"], []
    space: dict[str, Any] = {}
    for field in cls.__match_args__:
        default = cls._defaults.get(field, space)
        if default is space:
            head.append(field)
        elif type(default) is _Fresh:
            space["_none"], space[f"_new_{field}"] = space, default.factory
            head.append(f"{field}=_none")
            body.append(f" self.{field} = _new_{field}() if {field} is _none else {field}")
            continue
        else:
            space[f"_{field}"] = default
            head.append(f"{field}=_{field}")
        body.append(f" self.{field} = {field}")
    exec(f"def __init__({', '.join(head)}):\n" + "\n".join(body), space)
    return space["__init__"]


def _fill(record: Any, values: tuple[Any, ...], named: dict[str, Any]) -> None:
    """Set every field. Raises TypeError for a missing or unknown one."""
    fields = record.__match_args__
    put = object.__setattr__
    for field, value in zip(fields, values, strict=False):
        put(record, field, value)
    if len(values) == len(fields) and not named:
        return
    name = type(record).__name__
    if len(values) > len(fields):
        raise TypeError(f"{name} takes {len(fields)} values, not {len(values)}")
    used = 0
    for field in fields[len(values) :]:
        if field in named:
            put(record, field, named[field])
            used += 1
        elif field in record._defaults:
            default = record._defaults[field]
            put(record, field, default.factory() if type(default) is _Fresh else default)
        else:
            raise TypeError(f"{name} needs {field}")
    if used < len(named):
        raise TypeError(f"{name} has no {', '.join(sorted(set(named) - set(fields)))}")


@dataclass_transform(field_specifiers=(fresh,))
class Entity(metaclass=_Shape):
    """A record that may change; equal to itself alone."""

    __slots__ = ()
    __match_args__: ClassVar[tuple[str, ...]]
    _defaults: ClassVar[dict[str, Any]]

    def __init__(self, *values: Any, **named: Any) -> None:
        _construct(self, values, named)


@dataclass_transform(frozen_default=True)
class Record(metaclass=_Shape):
    """A record that does not change; equal when of one class with equal fields."""

    __slots__ = ()
    __match_args__: ClassVar[tuple[str, ...]]
    _defaults: ClassVar[dict[str, Any]]

    def __init__(self, *values: Any, **named: Any) -> None:
        _fill(self, values, named)

    def __setattr__(self, name: str, value: Any) -> None:
        raise AttributeError(f"{type(self).__name__} cannot be changed")

    def __delattr__(self, name: str) -> None:
        raise AttributeError(f"{type(self).__name__} cannot be changed")

    def _values(self) -> tuple[Any, ...]:
        return tuple(getattr(self, field) for field in self.__match_args__)

    def __eq__(self, other: object) -> bool:
        return type(other) is type(self) and self._values() == other._values()

    def __hash__(self) -> int:
        return hash((type(self).__name__, self._values()))

    def __repr__(self) -> str:
        inner = ", ".join(f"{field}={getattr(self, field)!r}" for field in self.__match_args__)
        return f"{type(self).__name__}({inner})"


R = TypeVar("R", bound="Record | Entity")


def replaced(record: R, **named: Any) -> R:
    """A copy with some fields changed."""
    return type(record)(**{field: getattr(record, field) for field in record.__match_args__} | named)
