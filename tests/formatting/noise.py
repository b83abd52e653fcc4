"""Canonical text written carelessly: other blanks, indentations, line ends and empty lines, with the same meaning.

Works on characters, knowing nothing of the formatter and little of the language."""

from __future__ import annotations

import random
import re

_QUOTED = re.compile(r'("[^"]*")')
_SIGN = re.compile(r" *([,:()\[\]]) *(?=(.?))")
_CONNECT = re.compile(r"(?<=\S) (?=(?:and|or|then) )")


def split(line: str) -> tuple[str, str, str]:
    """Indentation, words, and the comment with its sign."""
    body = line.lstrip(" ")
    quoted = False
    for at, letter in enumerate(body):
        quoted ^= letter == '"'
        if letter == "#" and not quoted:
            return line[: len(line) - len(body)], body[:at].rstrip(" "), body[at:]
    return line[: len(line) - len(body)], body, ""


def careless(text: str, chance: random.Random) -> str:
    """The canonical text with other white space."""
    widths = [0]
    for _ in range(30):
        widths.append(widths[-1] + chance.randint(1, 5))
    out: list[str] = [_blank(chance) for _ in range(chance.choice((0, 0, 1, 3)))]
    depth = 0
    for line in text.split("\n")[:-1]:
        if not line:
            out += [_blank(chance) for _ in range(chance.randint(1, 4))]
            continue
        pad, words, comment = split(line)
        if not words:
            # Further in than any statement is where a comment inside one stands: it may stand anywhere.
            out.append(" " * widths[len(pad) // 2] + comment + _blank(chance))
            continue
        goes_on = len(pad) // 2 > depth + 1 and re.match(r"(?:and|or|then)\b", words) is not None
        depth = depth if goes_on else len(pad) // 2
        column = widths[depth] + chance.randint(1, 9) if goes_on else widths[depth]
        parts = [_loose(part, chance) for part in _parts(words, chance)]
        out.append(" " * column + parts[0])
        for part in parts[1:]:
            out[-1] += chance.choice(("", " "))
            out += [_blank(chance) for _ in range(chance.choice((0, 0, 0, 1)))]
            out.append(" " * (widths[depth] + chance.randint(1, 9)) + part)
        out[-1] += chance.choice(("", " ", "   ", "\t")) + comment if comment else _blank(chance)
    out += [_blank(chance) for _ in range(chance.choice((0, 0, 1, 3)))]
    end = chance.choice(("\n", "\n", "\r\n", "\r"))
    return chance.choice(("", "", "\ufeff")) + end.join(out) + chance.choice(("", end, end))


def _blank(chance: random.Random) -> str:
    return chance.choice(("", "", "", " ", "    ", "\t"))


def _parts(words: str, chance: random.Random) -> list[str]:
    """The words on one or more lines."""
    if chance.random() < 0.5:
        return [words]
    parts = [""]
    for number, piece in enumerate(_QUOTED.split(words)):
        if number % 2:
            parts[-1] += piece
            continue
        last = 0
        for found in _CONNECT.finditer(piece):
            if chance.random() < 0.4:
                parts[-1] += piece[last : found.start()]
                parts.append("")
                last = found.end()
        parts[-1] += piece[last:]
    return parts


def _loose(words: str, chance: random.Random) -> str:
    """The words with other blanks between them."""
    pieces = _QUOTED.split(words)
    for number in range(0, len(pieces), 2):

        def sign(found: re.Match[str]) -> str:
            close = chance.choice(("", "", " ", "  "))
            far = chance.choice(("", " ", " ", "   "))
            if found[2] == "-" and not far:
                far = " "  # a minus stands close to a number only where a blank is before it
            return close + found[1] + far

        pieces[number] = _SIGN.sub(sign, pieces[number])
        pieces[number] = re.sub(" +", lambda _: chance.choice((" ", " ", "  ", "     ", "\t", " \t")), pieces[number])
    return "".join(pieces).strip(" \t")
