"""Random edits of a campaign's files, of the sorts that people make, good and bad."""

from __future__ import annotations

import random
import re
from collections.abc import Callable

Lines = list[str]
_NUMBER = re.compile(r"(?<![\w.\-])\d+(?![\w.\-])")
_NAME = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")
_MARK = re.compile(r"\b(says|on) ([a-z][\w.\-]*)")


def _delete(lines: Lines, at: int, rng: random.Random) -> None:
    del lines[at]


def _duplicate(lines: Lines, at: int, rng: random.Random) -> None:
    lines.insert(at, lines[at])


def _swap(lines: Lines, at: int, rng: random.Random) -> None:
    other = min(at + 1, len(lines) - 1)
    lines[at], lines[other] = lines[other], lines[at]


def _move(lines: Lines, at: int, rng: random.Random) -> None:
    lines.insert(rng.randrange(len(lines)), lines.pop(at))


def _number(lines: Lines, at: int, rng: random.Random) -> None:
    """A duration, a limit, a length: every number of a line is as likely."""
    found = list(_NUMBER.finditer(lines[at]))
    if found:
        one = rng.choice(found)
        lines[at] = lines[at][: one.start()] + str(rng.choice([0, 1, 2, 7, 40, 600])) + lines[at][one.end() :]


def _rename(lines: Lines, at: int, rng: random.Random) -> None:
    """One word becomes another of the same file, here or wherever it stands."""
    words = _NAME.findall(lines[at])
    others = _NAME.findall(lines[rng.randrange(len(lines))])
    if words and others:
        word, other = rng.choice(words), rng.choice([*others, "nothing-such"])
        pattern = re.compile(rf"(?<![\w\-]){re.escape(word)}(?![\w\-])")
        for n in range(len(lines)) if rng.random() < 0.2 else [at]:
            lines[n] = pattern.sub(other, lines[n])


def _mark(lines: Lines, at: int, rng: random.Random) -> None:
    """A call, or a wait for one, goes elsewhere or away."""
    found = _MARK.search(lines[at])
    others = [other[2] for line in lines for other in _MARK.finditer(line)]
    if found and rng.random() < 0.5:
        lines[at] = lines[at].replace(f", {found[0]}", "")
    elif others:
        lines[at] += f", {rng.choice(['says', 'on'])} {rng.choice(others)}"


def _garble(lines: Lines, at: int, rng: random.Random) -> None:
    """As when somebody is in the middle of typing."""
    line = lines[at]
    place = rng.randrange(len(line) + 1)
    sign = rng.choice(["", ",", "[", '"', "#", "\t", "is", "  ", "ö", " : "])
    lines[at] = line[:place] + sign + line[min(len(line), place + rng.randrange(3)) :]


def _indent(lines: Lines, at: int, rng: random.Random) -> None:
    lines[at] = rng.choice(["  " + lines[at], lines[at].removeprefix("  "), lines[at].lstrip(), "\t" + lines[at]])


def _remark(lines: Lines, at: int, rng: random.Random) -> None:
    """Blank lines and comments, which mean nothing and move everything below."""
    lines[at:at] = rng.choice([[""], ["# a remark"], ["", "  # another", ""]])


def _allow(lines: Lines, at: int, rng: random.Random) -> None:
    rule = rng.choice(["leans-on-droppable", "not-decided", "past-limit", "left-behind", "hole", "unused-allow"])
    indent = lines[at][: len(lines[at]) - len(lines[at].lstrip())]
    until = rng.choice(["", " until 2026-01-01", " until 2030-01-01"])
    lines.insert(at, f'{indent}allow {rule} because "it is known"{until}')


_TWINS = [
    ("wren", "teal"), ("deck", "mast"), ("deck-rail", "mast-rail"), ("lamp", "horn"), ("lobby", "deck"),
    ("rest1", "rest2"), ("bay2", "bay4"), ("porch", "deck"), ("left-socket", "right-socket"), ("rack-d", "rack-e"),
    ("required", "get-ahead"), ("wanted", "required"),
]  # fmt: skip


def _twin(lines: Lines, at: int, rng: random.Random) -> None:
    """One name for another that might stand there as well: what is read is sound, and what happens is another thing."""
    fitting = [
        (n, one, other)
        for n, line in enumerate(lines)
        for pair in _TWINS
        for one, other in (pair, pair[::-1])
        if re.search(rf"(?<![\w.\-]){one}(?![\w.\-])", line)
    ]
    if fitting:
        n, one, other = rng.choice(fitting)
        lines[n] = re.sub(rf"(?<![\w.\-]){one}(?![\w.\-])", other, lines[n], count=1)


def _within(lines: Lines, at: int, rng: random.Random) -> None:
    """A step is left out, or changes places with the one below it."""
    steps = [n for n in range(len(lines) - 1) if lines[n].startswith("      ") and not lines[n].startswith("       ")]
    if steps:
        n = rng.choice(steps)
        if rng.random() < 0.5:
            del lines[n]
        else:
            lines[n], lines[n + 1] = lines[n + 1], lines[n]


EDITS: list[tuple[int, Callable[[Lines, int, random.Random], None]]] = [
    (12, _twin),
    (10, _within),
    (4, _delete),
    (3, _duplicate),
    (4, _swap),
    (3, _move),
    (6, _number),
    (4, _rename),
    (4, _mark),
    (3, _garble),
    (2, _indent),
    (3, _remark),
    (1, _allow),
]


def edit(files: dict[str, str], rng: random.Random) -> dict[str, str]:
    """The files with one edit in one of them; it changes something."""
    while True:
        name = rng.choice(sorted(files))
        lines = files[name].split("\n")
        (make,) = rng.choices([make for _, make in EDITS], [weight for weight, _ in EDITS])
        make(lines, rng.randrange(len(lines)), rng)
        changed = {**files, name: "\n".join(lines)}
        if changed != files:
            return changed


def history(files: dict[str, str], rng: random.Random, length: int) -> list[dict[str, str]]:
    """So many states one after the other. Most edits are taken back in one of the next states, so that the campaign
    stays one that is followed to the end; some states throw all away and begin again; files come and go."""
    out: list[dict[str, str]] = []
    now: dict[str, str] = dict(files)
    back: list[dict[str, str]] = []  # never empty while anything is changed
    while len(out) < length:
        draw = rng.random()
        if draw < (1.0, 0.5, 0.3, 0.15)[min(len(back), 3)]:
            back.append(now)
            now = edit(now, rng)
        elif draw < 0.95:
            now = back.pop()
        elif draw < 0.98:
            now, back = dict(files), []
        else:
            back.append(now)
            gone = rng.choice(sorted(now))
            now = {name: text for name, text in now.items() if name != gone} or dict(files)
        out.append(now)
    return out
