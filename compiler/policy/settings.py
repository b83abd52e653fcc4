"""The project's settings, ``jackstay.toml``: how grave a rule's findings are, where, and what is allowed.

    [severity]                       # a rule, or a family of rules: error, warning, note, off
    reading-unanswered = "error"
    time = "warning"

    [severity."drafts/**"]           # the same for some paths; of those that fit, the last one written counts
    left-behind = "warning"

    [[allow]]
    rule = "crowded"
    paths = ["mast/*.stay"]          # left out: everywhere
    because = "the ladder takes two"
    until = 2027-03-01               # the last day it counts; left out: for good

Within a table a rule's own line comes before its family's. What cannot be followed (texts and names that are wrong) and
what is not decided cannot be made less than it is.
"""

from __future__ import annotations

import datetime
import re
import tomllib
from collections.abc import Iterable, Iterator
from typing import Any

from jackstay.diagnostics.aside import Aside, How
from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.diagnostics.suggest import nearest
from jackstay.policy.globs import matches, wrong_with
from jackstay.policy.toml_places import Key, Places
from jackstay.rules import registry
from jackstay.source.files import SourceFile
from jackstay.source.record import Entity, Record, fresh, replaced
from jackstay.source.spans import Span

FILE = "jackstay.toml"
LEVELS = ("error", "warning", "note", "off")
_WEIGHT = {"error": 3, "undecided": 2, "warning": 2, "note": 1, "off": 0}
_FIXED = {"reading", "names", "policy"}


def fixed(rule: str) -> str:
    """Why a rule's findings can be neither allowed for the project nor made less than they are; empty if they can.

    reading, names: an error keeps the plan from being followed; policy: it is about the settings themselves; undecided:
    the analysis does not know."""
    severity = registry.rule(rule).severity
    if severity is Severity.UNDECIDED:
        return "undecided"
    family = registry.family(rule)
    return family if severity is Severity.ERROR and family in _FIXED else ""


class Layer(Record):
    """Levels of rules and families for the paths that the glob fits (None: everywhere)."""

    glob: str | None
    levels: dict[str, str]
    at: Span


class Waiver(Record):
    """An ``[[allow]]``. at: where its rule stands. globs: none for everywhere."""

    rule: str
    globs: tuple[str, ...]
    until: datetime.date | None
    at: Span
    because: str = ""

    def fits(self, rule: str, path: str) -> bool:
        return rule == self.rule and (not self.globs or any(matches(glob, path) for glob in self.globs))


class Settings(Entity):
    """What the file says, as far as it can be used, and what is wrong with it. path: of the file, as it is shown.
    globs: each with its place. folder: its own, as whoever reads files knows it."""

    path: str = ""
    source: SourceFile | None = None
    folder: str = ""
    layers: list[Layer] = fresh(factory=list)
    waivers: list[Waiver] = fresh(factory=list)
    globs: list[tuple[str, Span]] = fresh(factory=list)
    problems: list[Problem] = fresh(factory=list)

    def level(self, rule: str, path: str) -> str | None:
        """What the file makes of a rule's findings in a file (relative to its own folder); None: it is silent."""
        family = registry.family(rule)
        for layer in reversed(self.layers):
            if layer.glob is None or matches(layer.glob, path):
                found = layer.levels.get(rule) or layer.levels.get(family)
                if found is not None:
                    return found
        return None


def read_settings(source: SourceFile | Problem, folder: str = "") -> Settings:
    """Never raises: whatever is wrong is a problem (``bad-setting``, ``unknown-rule``, ``cannot-be-allowed``,
    ``allow-without-reason``), and the rest counts."""
    if isinstance(source, Problem):
        return Settings(
            source.at.path, folder=folder, problems=[_bad(source.at, "unreadable", reason=source.facts["reason"])]
        )
    settings = Settings(source.path, source, folder)
    try:
        data = tomllib.loads(source.text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        settings.problems.append(_not_toml(source, str(error)))
        return settings
    places = Places(source.text, source.path)
    reader = _Reader(settings, places)
    for key, value in data.items():
        if key == "severity":
            reader.severity(value)
        elif key == "allow":
            reader.allow(value)
        else:
            reader.unknown((key,), ("severity", "allow"))
    settings.problems.sort(key=lambda problem: (problem.at, problem.rule))
    return settings


def _bad(at: Span, sort: str, **facts: Any) -> Problem:
    return Problem("bad-setting", at, {"sort": sort, **facts})


def _not_toml(source: SourceFile, why: str) -> Problem:
    found = re.search(r"\(at line (\d+), column (\d+)\)", why)
    row = min(int(found[1]) if found else len(source.lines), max(len(source.lines), 1))
    line = source.lines[row - 1] if source.lines else ""
    start = min(int(found[2]) - 1, len(line)) if found else len(line)
    reason = re.sub(r"\s*\(at .*\)$", "", why.split("\n")[0])[:120]
    return _bad(Span(source.path, row, start, min(start + 1, len(line))), "toml", reason=reason)


class _Reader:
    def __init__(self, settings: Settings, places: Places) -> None:
        self.settings = settings
        self.places = places

    def problem(self, at: Span, sort: str, **facts: Any) -> None:
        self.settings.problems.append(_bad(at, sort, **facts))

    def unknown(self, key: Key, known: Iterable[str]) -> None:
        name = str(key[-1])
        at = self.places.key(key)
        self.problem(at, "unknown-key", key=name, near=nearest(name, known), known=tuple(known))

    # --- severities --------------------------------------------------------------------------------------------------

    def severity(self, value: Any) -> None:
        if not isinstance(value, dict):
            self.problem(self.places.key(("severity",)), "not-a-table", key="severity")
            return
        base: dict[str, str] = {}
        layers: list[Layer] = []
        for key, inner in value.items():
            place: Key = ("severity", key)
            if isinstance(inner, dict):
                if self._glob(key, self.places.key(place)):
                    levels = {name: level for name, level in inner.items() if self._level((*place, name), level)}
                    layers.append(Layer(key, levels, self.places.key(place)))
            elif self._level(place, inner):
                base[key] = inner
        self.settings.layers += [Layer(None, base, self.places.key(("severity",))), *layers]

    def _level(self, key: Key, value: Any) -> bool:
        name = str(key[-1])
        if not isinstance(value, str) or value not in LEVELS:
            near = nearest(value, LEVELS) if isinstance(value, str) else ()
            self.problem(self.places.value(key), "level", key=name, value=_shown(value), near=near)
            return False
        if name in registry.families():
            if value != "error" and name in _FIXED:
                self._cannot(self.places.key(key), name, "family")
                return False
            return True
        return self._rule(name, self.places.key(key), value)

    def _rule(self, name: str, at: Span, level: str) -> bool:
        """Whether there is such a rule, and it may be made so grave."""
        if not registry.exists(name):
            near = nearest(name, [*registry.all_names(), *registry.families()])
            # a slip in a rule's name is not to be answered with its whole family
            near = tuple(sorted(near, key=lambda other: ("-" in name) == (other in registry.families())))
            self.settings.problems.append(Problem("unknown-rule", at, {"rule": name, "near": near, "setting": True}))
            return False
        if fixed(name) and level != "error":
            self._cannot(at, name, fixed(name))
            return False
        return True

    def _cannot(self, at: Span, name: str, why: str) -> None:
        self.settings.problems.append(Problem("cannot-be-allowed", at, {"rule": name, "why": why, "setting": True}))

    def _glob(self, glob: str, at: Span) -> bool:
        why = wrong_with(glob)
        if why:
            self.problem(at, "glob", glob=glob, why=why)
        else:
            self.settings.globs.append((glob, at))
        return not why

    # --- allowances --------------------------------------------------------------------------------------------------

    def allow(self, value: Any) -> None:
        if not isinstance(value, list) or not all(isinstance(one, dict) for one in value):
            self.problem(self.places.key(("allow",)), "not-a-list", key="allow")
            return
        for number, entry in enumerate(value):
            self._entry(("allow", number), entry)

    def _entry(self, key: Key, entry: dict[str, Any]) -> None:
        known = ("rule", "paths", "because", "until")
        for name in entry:
            if name not in known:
                self.unknown((*key, name), known)
        rule, until = entry.get("rule"), entry.get("until")
        if not isinstance(rule, str):
            self.problem(self.places.key((*key, "rule")), "no-rule")
            return
        at = self.places.value((*key, "rule"))
        at = at._replace(start=at.start + 1, end=at.end - 1) if at.end - at.start == len(rule) + 2 else at
        sound = self._rule(rule, at, "off")
        because = entry.get("because", "")
        if not isinstance(because, str):
            self.problem(self.places.value((*key, "because")), "type", key="because", wanted="a quoted text")
        elif not because.strip():
            self.settings.problems.append(Problem("allow-without-reason", at, {"rule": rule, "setting": True}))
        if until is not None and type(until) is not datetime.date:
            self.problem(self.places.value((*key, "until")), "date", value=_shown(until))
            sound = False
        globs = tuple(self._paths(key, entry.get("paths")))
        if sound and ("paths" not in entry or globs):
            reason = because.strip() if isinstance(because, str) else ""
            self.settings.waivers.append(Waiver(rule, globs, until, at, reason))

    def _paths(self, key: Key, value: Any) -> Iterator[str]:
        if value is None:
            return
        at = self.places.value((*key, "paths"))
        globs = [value] if isinstance(value, str) else value
        if not isinstance(globs, list) or not globs or not all(isinstance(one, str) for one in globs):
            self.problem(at, "type", key="paths", wanted="a pattern, or a list of patterns")
            return
        yield from (glob for glob in globs if self._glob(glob, at))


def _shown(value: Any) -> str:
    return f'"{value}"' if isinstance(value, str) else str(value).lower() if isinstance(value, bool) else str(value)


def as_grave_as(level: str, finding: Diagnostic, aside: list[Aside]) -> Diagnostic:
    """The finding at that level; where that is less than it was, this is added to what is told of that."""
    now = Severity(level)
    if _WEIGHT[level] < _WEIGHT[finding.severity.value]:
        aside.append(Aside(finding, How.LOWERED, FILE, now=now))
    return replaced(finding, severity=now)


class PlanSettings(Entity):
    """The settings as they are used on one plan. prefix: from the settings' folder to the plan's, ending in ``/``, or
    empty. aside: what it allows, turns off or makes less. used: numbers of waivers that hid something. back: by number
    of a waiver that has run out, the findings it no longer hides. judged: families of rules that had their say (None:
    all)."""

    settings: Settings
    prefix: str
    today: datetime.date
    aside: list[Aside] = fresh(factory=list)
    used: set[int] = fresh(factory=set)
    back: dict[int, set[tuple[object, ...]]] = fresh(factory=dict)
    judged: set[str] | None = None

    @property
    def off(self) -> list[Diagnostic]:
        """The findings turned off."""
        return [one.finding for one in self.aside if one.how is How.OFF]

    def _path(self, path: str) -> str:
        return path if path.startswith("stdlib:") else self.prefix + path

    def waives(self, problem: Problem) -> bool:
        """Whether an error of the plan is none for the project: what builds on it is judged all the same."""
        path = self._path(problem.at.path)
        if any(self._counts(one) and one.fits(problem.rule, path) for one in self.settings.waivers):
            return True
        return self.settings.level(problem.rule, path) not in (None, "error") and not fixed(problem.rule)

    def _counts(self, waiver: Waiver) -> bool:
        return waiver.until is None or self.today <= waiver.until

    def apply(self, findings: Iterable[Diagnostic], judged: set[str] | None) -> list[Diagnostic]:
        """What remains, each as grave as the project has it."""
        self.judged = judged
        kept = []
        for finding in findings:
            path = self._path(finding.at.path)
            if self._hidden(finding, path):
                continue
            level = self.settings.level(finding.rule, path)
            if level is None or level == finding.severity.value or not self._may(finding, level):
                kept.append(finding)
            elif level == "off":
                self.aside.append(Aside(finding, How.OFF, FILE))
            else:
                kept.append(as_grave_as(level, finding, self.aside))
        return kept

    def _hidden(self, finding: Diagnostic, path: str) -> bool:
        for number, waiver in enumerate(self.settings.waivers):
            if not waiver.fits(finding.rule, path) or finding.severity is Severity.UNDECIDED:
                continue
            if self._counts(waiver):
                self.used.add(number)
                until = waiver.until.isoformat() if waiver.until is not None else ""
                self.aside.append(Aside(finding, How.ALLOWED, FILE, waiver.because, waiver.at, until))
                return True
            self.back.setdefault(number, set()).add((path, finding.order()))
        return False

    def _may(self, finding: Diagnostic, level: str) -> bool:
        """A level given to a whole family passes over what cannot be made less."""
        lighter = _WEIGHT[level] < _WEIGHT[finding.severity.value]
        if finding.severity is Severity.UNDECIDED:
            return level == "error"
        return not (lighter and fixed(finding.rule))
