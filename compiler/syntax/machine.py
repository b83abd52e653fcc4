"""The loop that runs the parse table over one statement's tokens.

A token is tried by its key first (is this word a keyword here?) and then by its class: that is what lets verbs, things
and properties share their words with the language."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

from jackstay.syntax.tables import END, RuleRow, Table
from jackstay.syntax.tokens import Token

_PASS, _KEEP, _LIST, _APPEND, _STRAIGHT, _PICK, _SPREAD = range(7)  # _KEEP: to pass on what is the only child
_AFTER_ALL: Token = (END, END, None)


class Stuck(Exception):
    """No token may stand at this place. index: of the token (len(tokens): the end). stack: the states there."""

    def __init__(self, index: int, stack: list[int]) -> None:
        super().__init__(index)
        self.index = index
        self.stack = stack


class Step(NamedTuple):
    size: int
    goto: str
    build: Callable[..., Any] | None
    how: int
    plan: tuple[int, ...]


class Machine:
    """A table with its builders: ``builders`` maps the builder names of `RuleRow` to functions."""

    def __init__(self, table: Table, builders: dict[str, Callable[..., Any]]) -> None:
        self.states = table.states
        self.starts = table.starts
        self._steps = [_step(row, builders) for row in table.rules]

    def run(self, start: str, tokens: Sequence[Token]) -> Any:
        """The node of a statement. Raises `Stuck`, or whatever a builder raises."""
        states, steps = self.states, self._steps
        first, last = self.starts[start]
        stack = [first]
        values: list[Any] = []
        actions = states[first]
        for index, (key, kind, value) in enumerate((*tokens, _AFTER_ALL)):
            while True:
                action = actions.get(key)
                if action is None:
                    action = actions.get(kind)
                    if action is None:
                        raise Stuck(index, stack)
                if action >= 0:
                    stack.append(action)
                    values.append(value)
                    actions = states[action]
                    break
                size, goto, build, how, plan = steps[~action]
                if how == _KEEP:
                    stack.pop()
                else:
                    parts: list[Any] = []
                    if size:
                        parts = values[-size:]
                        del values[-size:]
                        del stack[-size:]
                    if how == _STRAIGHT:
                        values.append(build(*parts))  # type: ignore[misc]
                    else:
                        values.append(_built(build, how, plan, parts))
                state = states[stack[-1]][goto]
                if state == last and key == END:
                    return values[-1]
                stack.append(state)
                actions = states[state]
        raise AssertionError("the end of a statement is never shifted")

    def expected(self, stack: list[int]) -> list[str]:
        """The token keys and classes that could really stand at a place, in the table's order."""
        return [key for key in self.states[stack[-1]] if not key.startswith("<") and self._viable(stack, key)]

    def _viable(self, stack: list[int], key: str) -> bool:
        stack = list(stack)
        while True:
            action = self.states[stack[-1]].get(key)
            if action is None:
                return False
            if action >= 0:
                return True
            step = self._steps[~action]
            if step.size:
                del stack[-step.size :]
            goto = self.states[stack[-1]].get(step.goto)
            if goto is None:
                return False
            if key == END and goto in (last for _, last in self.starts.values()):
                return True
            stack.append(goto)


def _step(row: RuleRow, builders: dict[str, Callable[..., Any]]) -> Step:
    plan = row.plan
    spreads = any(index < -1 for index in plan)
    if row.builder == "":
        return Step(row.size, row.goto, None, _KEEP if row.size == 1 and plan == (0,) else _PASS, plan)
    if row.builder == "_":
        grows = bool(plan) and plan[0] == -2
        return Step(row.size, row.goto, None, _APPEND if grows else _LIST, plan[1:] if grows else plan)
    how = _SPREAD if spreads else _STRAIGHT if plan == tuple(range(row.size)) else _PICK
    return Step(row.size, row.goto, builders[row.builder], how, plan)


def _built(build: Callable[..., Any] | None, how: int, plan: tuple[int, ...], parts: list[Any]) -> Any:
    """The value of a reduction whose parts are not just the builder's arguments."""
    if how == _PICK:
        return build(*[parts[index] if index >= 0 else None for index in plan])  # type: ignore[misc]
    if how == _PASS:
        return parts[plan[0]] if plan[0] >= 0 else parts[-2 - plan[0]][0]
    if how == _APPEND:
        return _collect(parts[0], plan, parts)  # this list has no other owner: it may grow in place
    value = _collect([], plan, parts)
    return build(*value) if how == _SPREAD else value  # type: ignore[misc]


def _collect(into: list[Any], plan: tuple[int, ...], parts: list[Any]) -> list[Any]:
    for index in plan:
        if index >= 0:
            into.append(parts[index])
        elif index == -1:
            into.append(None)
        else:
            into.extend(parts[-2 - index])
    return into
