"""A state that notes what is read of it, and answers kept by what they read.

A question asked again when nothing that its answer read has changed is answered from memory. Questions must be pure:
they may change the state while they think and put it back.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from jackstay.flow.state import State
from jackstay.model.records import Thing, Var

T = TypeVar("T")
Log = dict[int, None]  # codes in the order of first reading: a variable's id, or -1 - 2 * holder, -2 - 2 * holder


class _Values(list[Any]):
    """A state's values; notes the ids that are read."""

    log: Log | None = None

    def __getitem__(self, index: Any) -> Any:
        if self.log is not None:
            self.log[index] = None
        return list.__getitem__(self, index)


class _Index(dict[int, dict[Thing, None]]):
    """What hangs on each holder; notes the holders that are asked for."""

    log: Log | None = None

    def __init__(self, first: int) -> None:
        super().__init__()
        self.first = first

    def get(self, key: int, default: Any = None) -> Any:
        if self.log is not None:
            self.log[self.first - 2 * key] = None
        return dict.get(self, key, default)

    def __contains__(self, key: object) -> bool:
        if self.log is not None and isinstance(key, int):
            self.log[self.first - 2 * key] = None
        return dict.__contains__(self, key)


class _Fork:
    """What was read next, and how it went on for each value."""

    __slots__ = ("code", "then")

    def __init__(self, code: int) -> None:
        self.code = code
        self.then: dict[Any, Any] = {}


class Watched(State):
    """A state with a memory of answers. ``asked`` counts the questions that had to be thought about; ``needed``
    collects what the answers given have read."""

    __slots__ = ("answers", "asked", "needed", "trail", "variables")

    def __init__(self, variables: list[Var], values: list[Any]) -> None:
        super().__init__(0)
        self.values = _Values([None] * len(values))
        self.aboard = _Index(-1)
        self.ends_on = _Index(-2)
        self.variables = variables
        self.answers: dict[Any, Any] = {}
        self.trail: list[tuple[int, Any]] = []  # what to put back, latest last
        self.asked = 0
        self.needed: set[int] = set()
        for variable, value in zip(variables, values, strict=True):
            if value is not None:
                self.put(variable, value)

    # --- for a while --------------------------------------------------------------------------------------------------

    def raw(self, var: int) -> Any:
        """A value, not noted."""
        return list.__getitem__(self.values, var)

    def try_put(self, var: int, value: Any) -> None:
        """Set a variable until `rewind`."""
        self.trail.append((var, self.raw(var)))
        self.put(self.variables[var], value)

    def rewind(self, mark: int) -> None:
        """Put back all that was tried since the trail was so long."""
        trail = self.trail
        while len(trail) > mark:
            var, value = trail.pop()
            self.put(self.variables[var], value)

    # --- answers ------------------------------------------------------------------------------------------------------

    def ask(self, question: Any, think: Callable[[], T]) -> T:
        """The answer to a question in this state. ``think`` leaves the state as it found it, and does not ask."""
        node = self._lookup(question)
        if node is not None:
            found: T = node[0]
            return found
        self.asked += 1
        log: Log = {}
        self._watch(log)
        try:
            answer = think()
        finally:
            self._watch(None)
        self._keep(question, log, answer)
        self.needed.update(log)
        return answer

    def recall(self, question: Any) -> Any:
        """An answer that is known in this state, be it while thinking about another question; else None."""
        node = self._lookup(question)
        return node[0] if node is not None else None

    def _lookup(self, question: Any) -> Any:
        node = self.answers.get(question)
        values, value_of, hanging = self.values, list.__getitem__, self._hanging
        log = self.values.log  # type: ignore[attr-defined]
        add = self.needed.add if log is None else lambda code: log.setdefault(code)
        while type(node) is _Fork:
            code = node.code
            add(code)
            node = node.then.get(value_of(values, code) if code >= 0 else hanging(code))
        return node

    def _watch(self, log: Log | None) -> None:
        self.values.log = log  # type: ignore[attr-defined]
        self.aboard.log = log  # type: ignore[attr-defined]
        self.ends_on.log = log  # type: ignore[attr-defined]

    def _current(self, code: int) -> Any:
        return list.__getitem__(self.values, code) if code >= 0 else self._hanging(code)

    def _hanging(self, code: int) -> Any:
        """What hangs on a holder, in no order."""
        holder, ends = divmod(-1 - code, 2)
        found = dict.get(self.ends_on if ends else self.aboard, holder)
        return frozenset(found) if found else None

    def codes_of(self, var: int, before: Any, after: Any) -> list[int]:
        """What a change of a variable touches: itself, and what hangs on the holders before and after."""
        sort = self.variables[var].sort
        if sort == "property":
            return [var]
        if sort == "held":
            return [var, *(-1 - 2 * held.holder.index for held in (*(before or ()), *(after or ())))]
        first = -1 if sort == "place" else -2
        return [var, *(first - 2 * holder.index for holder in (before, after) if holder is not None)]

    def _keep(self, question: Any, codes: Log, answer: Any) -> None:
        """Down the tree as a look-up goes, and from where that ends on, by what was read besides."""
        kept = (answer,)
        left = dict(codes)
        holder, key, node = self.answers, question, self.answers.get(question)
        while type(node) is _Fork:
            left.pop(node.code, None)
            holder, key = node.then, self._current(node.code)
            node = holder.get(key)
        for code in left:
            fork = _Fork(code)
            holder[key] = fork
            holder, key = fork.then, self._current(code)
        holder[key] = kept
