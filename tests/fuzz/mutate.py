"""Spoiling a project: lines deleted, doubled, swapped, moved, re-indented; words replaced; bytes thrown in.

Everything is drawn from the random source given, so a seed names a project for ever.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable

from fuzz.plans import Project

_WORD = re.compile(r'"[^"]*"|[\w.\-]+|[^\w\s]')
_ODD = [*'\0\t\r\u2028\ufeffé0-"#(:,', "...", "99999999999", "1/0", "not "]
_SHAPES = """\
{w} {w} {w}
{w} at {w}, on {w}
item {w} : {w}, on {w}
item {w} {n} to {n} : {w}
actor {w} : {w}, at {w}
path {w} to {w} {q}
rule {w}
never {w} at {w} while {w} on {w}
always a {w} on X: {w}
task {w} : required, after {w}
kind {w} is {w} and {w}
has {w}: {w}
has {w}: count, usually {n}
holds {n} {w} by {w}
table {w} by {w} in kg gives m
{n} : {n}
let {w} = {w} + {q} * {n}
unit {w} = {q}
unit {w} = {w} / {w}
use {w} as {w}
use {w}
action {w} X: {w}
needs {w} on {w}, not {w} in hand of actor
makes {w} on {w}, then {w} not on {w}
takes {w} of {w} / {q}
serves {w} at {w} along paths
by {w}, helped by {w}
uses X in hand of actor
during {w} in reach
works on {w}
routine {w} X: {w}
fallback {w}, from {w}
excursion {w}
starts as {w} ends
campaign {w}
excursions {w}, {w}
allow {w} because "x" until 2020-01-01
if outside: fallback {w}
done when {w} of {w} is {n}
left outside: {w} until {w}
left so: {w} of {w} is {w}
comes inside: {w}
location {w} : {w}, within reach of {w}
{w} [{q}, {n} to {n}], says {w}
{w} and {w} at {w} in {w}
{w}, while {w}
crew {w} as lead, {w}
clock from {w}, limit {q}, reserve {q}
light dark {q} of every {q}, first at {q}
...
supply {w} {q}
carries {w} up to {q}
admits {n} {w}
ends {n}
length {w}
dimension {w}
may: {w} {w}
can stop after {q}, leaves {w} on {w}
{w} of {w} is {w} of {w} - {n}
task {w} : get-ahead, with {w}, only if {w}.{w} is done
""".splitlines()


def spoilt(project: Project, chance: random.Random, foreign: list[str]) -> Project:
    """The project with one to four changes, all in one of its files as often as not."""
    files = dict(project.files)
    name = chance.choice(project.spoilt)
    for _ in range(chance.choice((1, 1, 1, 2, 3, 4))):
        if chance.random() < 0.3:
            name = chance.choice(project.spoilt)
        lines = files[name].split("\n")
        chance.choice(_CHANGES)(lines, chance, foreign)
        files[name] = "\n".join(lines)
    return Project(project.name, project.root, files, project.spoilt)


def _delete(lines: list[str], chance: random.Random, foreign: list[str]) -> None:
    at = chance.randrange(len(lines))
    del lines[at : at + chance.choice((1, 1, 1, 2, 5))]
    lines.append("")


def _double(lines: list[str], chance: random.Random, foreign: list[str]) -> None:
    at = chance.randrange(len(lines))
    length = chance.choice((1, 1, 2, 4))
    to = chance.randrange(len(lines)) if chance.random() < 0.4 else at + length
    lines[to:to] = lines[at : at + length]


def _swap(lines: list[str], chance: random.Random, foreign: list[str]) -> None:
    one = chance.randrange(len(lines))
    other = min(one + 1, len(lines) - 1) if chance.random() < 0.5 else chance.randrange(len(lines))
    lines[one], lines[other] = lines[other], lines[one]


def _indent(lines: list[str], chance: random.Random, foreign: list[str]) -> None:
    at = chance.randrange(len(lines))
    width = chance.choice((0, 1, 2, 3, 4, 6, 8, 40))
    for row in range(at, min(len(lines), at + chance.choice((1, 1, 3)))):
        lines[row] = chance.choice((" ", " ", "\t")) * width + lines[row].lstrip()


def _word(lines: list[str], chance: random.Random, foreign: list[str]) -> None:
    at = chance.randrange(len(lines))
    words = list(_WORD.finditer(lines[at]))
    if not words:
        return
    word = chance.choice(words)
    other = _WORD.findall(lines[chance.randrange(len(lines))] if chance.random() < 0.6 else chance.choice(foreign))
    new = chance.choice(other) if other and chance.random() < 0.85 else chance.choice(("", "", *_ODD))
    lines[at] = lines[at][: word.start()] + new + lines[at][word.end() :]


def _letters(lines: list[str], chance: random.Random, foreign: list[str]) -> None:
    at = chance.randrange(len(lines))
    where = chance.randint(0, len(lines[at]))
    letter = chr(chance.choice((chance.randrange(256), chance.randrange(0xD800))))
    new = chance.choice(_ODD) if chance.random() < 0.7 else letter
    lines[at] = lines[at][:where] + new + lines[at][where + chance.randint(0, 3) :]


def _foreign(lines: list[str], chance: random.Random, foreign: list[str]) -> None:
    at = chance.randrange(len(lines))
    indent = len(lines[at]) - len(lines[at].lstrip())
    lines.insert(at + chance.randint(0, 1), " " * (indent + chance.choice((0, 0, 0, 2))) + chance.choice(foreign))


def _composed(lines: list[str], chance: random.Random, foreign: list[str]) -> None:
    """A line of one of the language's shapes, its names drawn from the file at hand."""
    at = chance.randrange(len(lines))
    words = [word for word in re.findall(r"[a-z][\w\-]+", "\n".join(lines)) if len(word) > 2] or ["x"]

    def one(found: re.Match[str]) -> str:
        if found[1] == "w":
            return chance.choice(words)
        number = chance.choice(("0", "1", "2", "3", "0.5", "1000000"))
        return number if found[1] == "n" else f"{number} {chance.choice(('min', 'kg', 'm', 'kPa', 'degC', 'm/s'))}"

    indent = len(lines[at]) - len(lines[at].lstrip())
    line = re.sub(r"\{([wnq])\}", one, chance.choice(_SHAPES))
    lines.insert(at + chance.randint(0, 1), " " * (indent + chance.choice((0, 0, 0, 2))) + line)


_CHANGES: list[Callable[[list[str], random.Random, list[str]], None]] = [
    _delete, _delete, _double, _swap, _swap, _indent, _word, _word, _word, _word,
    _letters, _foreign, _composed, _composed,
]  # fmt: skip
