"""The parse table of the grammar: built by lark once and kept, so that a start needs no lark at all.

Only lark's LALR construction is used, not its lexer or tree builder: a table is a list of states, each a mapping from a
token's key to a shift or a reduction, and a list of rules, each with the plan of what its builder is given."""

from __future__ import annotations

import marshal
import sys
from binascii import crc32
from typing import Any, NamedTuple

from jackstay.source.caches import read_cached, write_cached
from jackstay.source.packaged import grammar_text

STARTS = (
    "top",
    "campaign",
    "area",
    "decl",
    "kind",
    "table",
    "action_body",
    "rule_body",
    "hazard_body",
    "spread_body",
    "words_body",
    "form_body",
    "heading_body",
    "fill_body",
    "routine_body",
    "excursion",
    "task_body",
    "block",
    "step",
)
END = "%END"
_FORMAT = "2"  # of the stored table: raise it when the shape below changes


class RuleRow(NamedTuple):
    """size: symbols reduced. goto: the nonterminal. builder: name of the builder, "" to pass the only child on, "_"
    to collect a list. plan: for each argument the child's index, -1 for nothing, or -2 - index for a list that is
    spread out."""

    size: int
    goto: str
    builder: str
    plan: tuple[int, ...]


class Table(NamedTuple):
    """states: token key or nonterminal -> state to go to, or ~rule to reduce by. starts: start symbol -> (first state,
    accepting state)."""

    states: list[dict[str, int]]
    rules: list[RuleRow]
    starts: dict[str, tuple[int, int]]


def load_table() -> Table:
    """The table of the shipped grammar, from the cache if it holds one for exactly this text."""
    text = grammar_text()
    made_from = f"{_FORMAT} {sys.implementation.cache_tag}\n{text}"
    name = f"grammar-{crc32(made_from.encode()):08x}.table"
    stored = read_cached(name)
    if stored is not None:
        table = _from_bytes(stored, made_from)
        if table is not None:
            return table
    table = build_table(text)
    write_cached(name, _to_bytes(table, made_from))
    return table


# Python's own format for compiled code, of one version of Python, is read four times as fast as JSON. Like compiled
# code, it is read only from where the user's own programs put it. The grammar stands beside it, to be compared whole.


def _to_bytes(table: Table, made_from: str) -> bytes:
    body = marshal.dumps((made_from, table.states, [tuple(row) for row in table.rules], table.starts))
    return b"%08x" % crc32(body) + body


def _from_bytes(stored: bytes, made_from: str) -> Table | None:
    body = stored[8:]
    if stored[:8] != b"%08x" % crc32(body):
        return None  # cut short or altered: build anew
    try:
        text, states, rules, starts = marshal.loads(body)
        return Table(states, [RuleRow(*row) for row in rules], starts) if text == made_from else None
    except (ValueError, TypeError, EOFError):
        return None


def build_table(text: str, debug: bool = False) -> Table:
    """Have lark construct the LALR table of a grammar. Raises lark's GrammarError on a faulty one.

    debug: lark logs the conflicts that it settled by itself."""
    from lark import Lark
    from lark.lexer import Lexer
    from lark.parsers.lalr_analysis import Shift

    class NoLexer(Lexer):
        """Tokens come from `tokens.py`."""

        def __init__(self, conf: Any) -> None:
            pass

        def lex(self, lexer_state: Any, parser_state: Any) -> Any:
            return iter(())

    built = Lark(text, parser="lalr", lexer=NoLexer, start=list(STARTS), debug=debug, maybe_placeholders=True)
    keys = {"$END": END}
    for terminal in built.terminals:
        keys[terminal.name] = terminal.pattern.value
    raw: Any = built.parser.parser._parse_table

    # Declared tokens have no pattern, and are keyed by class; nonterminals, which are lower case, are marked apart.
    def key_of(symbol: str) -> str:
        return str(keys.get(symbol, "")) or ("%" + symbol.lstrip("_") if symbol.isupper() else "<" + symbol)

    numbers: dict[Any, int] = {}  # states as lark numbers them -> 0, 1, 2 ... in a reproducible order
    queue = [raw.start_states[start] for start in STARTS]
    for state in queue:
        if state not in numbers:
            numbers[state] = len(numbers)
            queue.extend(target for key, (act, target) in sorted(raw.states[state].items()) if act is Shift)
    rules: dict[Any, int] = {}
    rows: list[RuleRow] = []
    states: list[dict[str, int]] = []
    for state in numbers:
        actions: dict[str, int] = {}
        for symbol, (act, target) in sorted(raw.states[state].items()):
            if act is Shift:
                actions[key_of(symbol)] = numbers[target]
            else:
                if target not in rules:
                    rules[target] = len(rows)
                    rows.append(_row(target))
                actions[key_of(symbol)] = ~rules[target]
        states.append(actions)
    starts = {start: (numbers[raw.start_states[start]], numbers[raw.end_states[start]]) for start in STARTS}
    return Table(states, rows, starts)


def _row(rule: Any) -> RuleRow:
    origin: str = rule.origin.name
    gaps = _gaps(rule)
    plan: list[int] = []
    for index, symbol in enumerate(rule.expansion):
        plan.extend([-1] * gaps[index])
        if symbol.is_term:
            if not symbol.filter_out:
                plan.append(index)
        else:
            plan.append(-2 - index if symbol.name.startswith("_") else index)
    plan.extend([-1] * gaps[-1])
    if rule.alias:
        builder = rule.alias
    elif origin.startswith("_"):
        builder = "_"
    elif rule.options.expand1 and len(plan) == 1:
        builder = ""
    else:
        builder = origin
    return RuleRow(len(rule.expansion), "<" + origin, str(builder), tuple(plan))


def _gaps(rule: Any) -> list[int]:
    """How many empty arguments stand before each symbol, and after the last (optional parts that were left out)."""
    marks = rule.options.empty_indices
    if not marks:
        return [0] * (len(rule.expansion) + 1)
    return [len(run) for run in "".join("1" if mark else "0" for mark in marks).split("0")]
