"""What is wrong with a statement that does not parse, said as precisely as the table allows."""

from __future__ import annotations

import re
import unicodedata
from typing import Any, NamedTuple

from jackstay.diagnostics.records import Problem
from jackstay.source.spans import Span
from jackstay.syntax.build_values import Reject, as_written
from jackstay.syntax.contexts import SHOWN, START, WITH_PHRASES, WITH_SLOTS, closest, form_name
from jackstay.syntax.machine import Machine, Stuck
from jackstay.syntax.tables import END, STARTS
from jackstay.syntax.tokens import CLOSED, MAX_NAME, RESERVED, Token, tokenise
from jackstay.syntax.tree import At, Name, Node, Number, Phrase, Quantity

_MOST_REPAIRS = 20  # misspelt names in one line
_MOST_TRIED = 200  # words of a line that is tried under other parents
_MOST_OPERATORS = 64  # so that no later stage ever recurses deeply
_MOST_DIGITS = 40

_BOUND_WORDS = frozenset(["says", "on", "while", "by", "not", "within", "in", "expect", "after", "with", "was", "only"])
_SHOWN_CLASS = {
    "%NAME": "a name", "%SLOT": "a slot", "%NUMBER": "a number", "%QUANTITY": "a number with its unit",
    "%QUOTED": "a quoted text", "%DATE": "a date", "%BOUND_COMMA": "a comma and a bound", END: "the end of the line",
}  # fmt: skip
_BAD_QUOTES = frozenset("“”„«»’‘")
# Words that stand within the line of another, and are tried as lines of their own.
_OF_CLOCK = frozenset(["limit", "reserve"])
_OF_LIGHT = frozenset(["dark", "orbit"])


class Place(NamedTuple):
    """Where a statement stands: path and first line as in `Span`, the column of its first word, and its text."""

    path: str
    line: int
    column: int
    text: str

    def span(self, at: At) -> Span:
        return Span(self.path, self.line + at.down, at.start, at.end)

    def end(self) -> Span:
        """Just behind the last word."""
        lines = self.text.split("\n")
        return Span(self.path, self.line + len(lines) - 1, len(lines[-1]), len(lines[-1]))


def too_large(tokens: list[Token]) -> bool:
    """Whether a name, a number or a formula is beyond what any later stage should meet."""
    return _oversized(tokens) is not None


def _oversized(tokens: list[Token]) -> tuple[str, Any] | None:
    operators = 0
    for key, _, leaf in tokens:
        if isinstance(leaf, Name):
            if len(leaf.text) > MAX_NAME:
                return "name-too-long", leaf
            operators += key in ("(", "+", "-", "*", "/", "^")
            if operators > _MOST_OPERATORS:
                return "formula-too-long", leaf
        elif (isinstance(leaf, Number) and len(leaf.text) > _MOST_DIGITS) or (
            isinstance(leaf, Quantity)
            and any(len(number) > _MOST_DIGITS or len(unit.powers) > _MOST_OPERATORS for number, unit in leaf.parts)
        ):
            return "number-too-long", leaf
    return None


def examine(machine: Machine, context: str, tokens: list[Token], place: Place, problems: list[Problem]) -> Node | None:
    """Report what is wrong. Returns a node when the statement is whole but for misspelt names."""
    large = _oversized(tokens)
    if large is not None:
        problems.append(_large_problem(*large, place))
        return None
    if _may_be_verb(context, tokens):
        try:  # a verb that is also a word of the language: `note gauge`
            node: Node = machine.run(START.get(context, context), [("%NAME", *tokens[0][1:]), *tokens[1:]])
            return node
        except (Stuck, Reject):
            pass
    mine: list[Problem] = []
    whole, failure = _with_repairs(machine, START.get(context, context), tokens, place, mine)
    if whole is not None:
        problems.extend(mine)
        return whole
    elsewhere = _misplaced(machine, context, place) if len(tokens) <= _MOST_TRIED else None
    if elsewhere is not None:
        problems.append(elsewhere)
        return None
    problems.extend(mine)
    if isinstance(failure, Reject):
        problems.append(_unreadable(place.span(failure.at), failure.found, [], failure.hint))
    elif failure is not None:
        problems.append(_stuck_problem(machine, failure, tokens, place))
    return None


def _may_be_verb(context: str, tokens: list[Token]) -> bool:
    if context not in WITH_PHRASES or len(tokens) < 2:
        return False
    if tokens[0][0] in ("warning", "caution", "note"):
        return tokens[1][1] not in ("%QUOTED", "%UNCLOSED")
    return tokens[0][0] == "allow" and all(key not in ("because", "until") for key, _, _ in tokens)


def _with_repairs(
    machine: Machine, start: str, tokens: list[Token], place: Place, problems: list[Problem]
) -> tuple[Node | None, Stuck | Reject | None]:
    """Parse, taking each misspelt name for the name it should be; ``bad-name`` for each."""
    tokens = list(tokens)
    for _ in range(_MOST_REPAIRS):
        try:
            node: Node = machine.run(start, tokens)
            return node, None
        except Reject as reject:
            return None, reject
        except Stuck as stuck:
            index = stuck.index
            if index == len(tokens) or tokens[index][1] not in ("%ODD", "%SLOT"):
                return None, stuck
            viable = machine.expected(stuck.stack)
            leaf = tokens[index][2]
            if "%NAME" not in viable:
                return None, stuck
            if "%QUANTITY" in viable and "%RESERVED" not in viable and leaf.text[0].isdigit():
                return None, stuck  # 92kg, where a value should stand
            suggestion = proper_name(leaf.text)
            facts = {"name": leaf.text, "suggestion": suggestion}
            problems.append(Problem("bad-name", place.span(leaf.at), facts))
            tokens[index] = ("%NAME", "%NAME", Name(suggestion or leaf.text, leaf.at))
    return None, None  # enough has been said about this line


def proper_name(text: str) -> str:
    """The name that a word should be: ``Old_Pump`` -> ``old-pump``, ``3a`` -> ``a3``; "" when nothing fits."""
    plain = unicodedata.normalize("NFKD", text.replace("ß", "ss").replace("ø", "o").replace("Ø", "O"))
    plain = plain.encode("ascii", "ignore").decode()
    plain = re.sub(r"(?<=[a-z0-9])(?=[A-Z])", "-", plain).lower()
    plain = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")
    digits = re.match(r"[0-9\-]+", plain)
    if digits:
        plain = plain[digits.end() :] + digits[0].strip("-")
        if not plain[:1].isalpha():
            return ""
    return "" if plain in RESERVED else plain


def _misplaced(machine: Machine, context: str, place: Place) -> Problem | None:
    """A correct form under the wrong parent."""
    under: list[str] = []
    form = ""
    for other in (*STARTS, *START):
        if START.get(other, other) == START.get(context, context):
            continue
        try:
            tokens = tokenise(place.text, other == "excursion", other in WITH_SLOTS)
            node = machine.run(START.get(other, other), tokens)
        except (Stuck, Reject):
            continue
        if isinstance(node, Phrase) and not _is_step(context, tokens, node):
            continue
        if not isinstance(node, Phrase) or not form:
            form = form_name(node)
        if SHOWN[other] not in under:
            under.append(SHOWN[other])
    if not form:
        return None
    end = place.text.find("\n")
    span = Span(place.path, place.line, place.column, end if end >= 0 else len(place.text))
    return Problem("misplaced-line", span, {"form": form, "belongs_under": under})


def _is_step(context: str, tokens: list[Token], node: Phrase) -> bool:
    """Any words may be a step: only where no slip of another form is likely is a line taken for one."""
    if context == "step":
        return tokens[0][0] not in CLOSED
    known = {
        "top": "use let dimension unit table kind location actor item path action routine rule campaign excursion",
        "excursion": "crew starts clock limit reserve light dark orbit finish slow each begins task fallback left "
        "comes fills",
    }.get(context)
    if known is None or len(node.words) < 2:
        return False
    words = known.split()
    return tokens[0][0] not in words and not closest(tokens[0][0], words)


# --- the words of a report --------------------------------------------------------------------------------------------


def _unreadable(at: Span, found: str, expected: list[str], hint: str) -> Problem:
    return Problem("unreadable-line", at, {"found": found, "expected": expected, "hint": hint})


def _large_problem(what: str, leaf: Any, place: Place) -> Problem:
    if what == "name-too-long":
        facts = {"name": leaf.text[:40], "length": len(leaf.text), "cap": MAX_NAME}
        return Problem("name-too-long", place.span(leaf.at), facts)
    return _unreadable(place.span(leaf.at), as_written(leaf)[:40], [], what)


def _stuck_problem(machine: Machine, stuck: Stuck, tokens: list[Token], place: Place) -> Problem:
    viable = machine.expected(stuck.stack)
    index = stuck.index
    if index < len(tokens) and tokens[index][1] == "," and "%BOUND_COMMA" in viable and index + 1 < len(tokens):
        index += 1  # the comma is fine, what follows it is no bound
        viable = sorted(_BOUND_WORDS)
    expected = _readable(viable)
    if index == len(tokens):
        opened = _open_bracket(tokens, index)
        if opened is not None:
            return _unreadable(place.span(opened.at), "", expected, "unclosed-bracket")
        return _unreadable(place.end(), "", expected, "missing-value")
    key, kind, leaf = tokens[index]
    opened = _open_bracket(tokens, index)
    if opened is not None and all(token[0] != "]" for token in tokens[index:]):
        return _unreadable(place.span(opened.at), "[", expected, "unclosed-bracket")
    return _unreadable(place.span(leaf.at), as_written(leaf), expected, _hint(key, kind, leaf, viable, index))


def _open_bracket(tokens: list[Token], index: int) -> Name | None:
    opened: Name | None = None
    for key, _, leaf in tokens[:index]:
        if key == "[":
            opened = leaf
        elif key == "]":
            opened = None
    return opened


def _hint(key: str, kind: str, leaf: Any, viable: list[str], index: int) -> str:
    """A key for the usual slips, or ""."""
    is_word = kind in ("%NAME", "%SLOT", "%RESERVED", "%CLOSED", "%ODD")
    if index == 0 and key in _OF_CLOCK and "clock" in viable:
        return "within-clock"
    if index == 0 and key in _OF_LIGHT and "light" in viable:
        return "within-light"
    if index == 0 and key == "each" and "slow" in viable:
        return "within-slow"
    if kind == "%UNCLOSED":
        return "unclosed-quote"
    if key in _BAD_QUOTES:
        return "straight-quotes"
    if not key.isprintable() or key.isspace():
        return "odd-blank"  # a control sign, or a blank that is none of ours
    if key == "...":
        return "hole-alone"
    if key == "[":
        return "bracket-order"
    if "%BOUND_COMMA" in viable and key in _BOUND_WORDS:
        return "bound-needs-comma"
    if kind == "%ODD" and leaf.text[:1].isdigit() and ("%QUANTITY" in viable or "%NUMBER" in viable):
        return "range-needs-to" if re.fullmatch(r"[\d.]+-[\d.]+", leaf.text) else "unit-needs-blank"
    if kind in ("%RESERVED", "%CLOSED") and "%NAME" in viable:
        return "reserved-word"
    if ":" in viable and index:
        return "missing-colon"
    if "," in viable and is_word and index:
        return "clause-needs-comma"
    if key in (",", "%BOUND_COMMA", "]", ":", ")"):
        return "missing-value"
    return ""


def _readable(viable: list[str]) -> list[str]:
    """What could stand here, for people: keywords in backquotes, classes in words."""
    shown: list[str] = []
    for key in viable:
        text = _SHOWN_CLASS.get(key, "" if key.startswith("%") else f"`{key}`")
        if text and text not in shown:
            shown.append(text)
    if "%RESERVED" in viable:
        shown = ["a word", *(text for text in shown if text not in ("a name", "a slot"))]
    return sorted(shown, key=lambda text: (text.startswith("`"), text))
