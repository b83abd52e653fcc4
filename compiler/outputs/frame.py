"""What stands round every output: the plan's identity, the loud line of an unchecked plan, the safety words."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from jackstay.diagnostics.aside import Aside, in_full, in_short, tag
from jackstay.diagnostics.records import Severity
from jackstay.model.records import World
from jackstay.outputs.figures import in_words, unverified
from jackstay.outputs.paper import heading, pair, rule, wrap
from jackstay.outputs.words import PLAIN, Said, said

LOUD = "UNCHECKED"


@dataclass(frozen=True, slots=True)
class Frame:
    """identity: first 12 hex digits over the sources' text. findings: how many of each severity. unchecked: the plan
    is printed although its findings say that it does not hold. aside: what was found and is not told as it was found.
    It stands on every output."""

    title: str
    identity: str
    findings: tuple[tuple[str, int], ...]
    unchecked: bool
    clocks: str
    figures: str = ""  # those that nobody has verified
    own: tuple[str, ...] = ()  # what the vocabularies add to the safety words
    said: Said = PLAIN
    aside: tuple[Aside, ...] = ()

    @property
    def warning(self) -> str:
        """The loud line; empty for a plan that passed."""
        if not self.unchecked:
            return ""
        return f"{LOUD}: this plan has not passed its check ({self.tally}). Do not work from it."

    @property
    def tally(self) -> str:
        words = {"error": "does not hold", "undecided": "not decided", "warning": "look again", "note": "note"}
        counts = [f"{count} x {words[severity]}" for severity, count in self.findings]
        if self.aside:
            return "findings: " + ", ".join([*(counts or ["none left"]), tag(self.aside)])
        return "findings: " + (", ".join(counts) if counts else "none")

    @property
    def counts(self) -> dict[str, int]:
        """For other programs: findings by severity, and what is set aside by how, as far as there is any."""
        ways = Counter(one.how.value for one in self.aside)
        return dict(self.findings) | dict(sorted(ways.items()))

    @property
    def marks(self) -> tuple[str, ...]:
        """What stands on each page beside the plan's identity, so that no page alone looks better than the plan."""
        return (*((LOUD,) if self.unchecked else ()), *((tag(self.aside),) if self.aside else ()))

    def set_aside(self) -> list[str]:
        """A part of a text output: every finding that is not told as it was found, and why. Empty for none."""
        if not self.aside:
            return []
        lines = ["", "", *heading("Found and set aside: allowed, turned off or made less", mark="=")]
        for found, decision in in_full(self.aside):
            lines += ["", *wrap(found, "  ", "    "), *wrap(decision, "    ")]
        return lines

    def head(self, sheet: str) -> list[str]:
        """The first lines of a text output."""
        lines = wrap(self.warning) if self.unchecked else []
        lines += [rule("="), *pair(self.title, f"plan {self.identity}"), *pair(sheet, self.tally), rule("=")]
        return [*lines, ""]

    def foot(self) -> list[str]:
        """The last lines of a text output."""
        lines = ["", rule("=")]
        for words in self.safety:
            lines += wrap(words)
        if self.unchecked:
            lines += wrap(self.warning)
        return lines

    @property
    def safety(self) -> tuple[str, ...]:
        return (
            "Planning aid, not certified; never the only control. It checks what is written down, so a plan without "
            "findings is not thereby safe.",
            "Licensed and qualified people, makers' limits and local rules come first, the stricter one of them. Usual "
            "durations are illustrations. Review and rehearse; check again after every edit. It measures nothing, "
            "watches nobody and permits nothing: instruments, whoever watches, and whoever signs do.",
            *self.own,
            *((self.figures,) if self.figures else ()),
            *((in_short(self.aside),) if self.aside else ()),
            self.clocks,
        )


def frame_of(checked: Any, unchecked: bool) -> Frame:
    """checked: anything with ``world`` and ``diagnostics``, and ``sources`` and ``aside`` as far as there are any."""
    world: World = checked.world
    counted = Counter(diagnostic.severity for diagnostic in checked.diagnostics)
    findings = tuple((severity.value, counted[severity]) for severity in Severity if counted[severity])
    flow = checked.flow if hasattr(checked, "flow") else None
    figures = in_words(unverified(world, flow.excursions if flow is not None else ()))
    own = tuple(world.words.get("safety", "").splitlines())
    aside = tuple(getattr(checked, "aside", ()))
    print_ = identity(source_texts(checked))
    return Frame(world.title, print_, findings, unchecked, _clocks(world), figures, own, said(world), aside)


def identity(texts: Iterable[tuple[str, str]]) -> str:
    """A fingerprint of (path, text) pairs, whatever their order: 12 hex digits of SHA-256."""
    digest = hashlib.sha256()
    for path, text in sorted(texts):
        for part in (path, text):
            data = part.encode("utf-8")
            digest.update(len(data).to_bytes(8, "big") + data)
    return digest.hexdigest()[:12]


def source_texts(checked: Any) -> list[tuple[str, str]]:
    """(path, text) of every file that was read: from a mapping of path to text, or records with these two."""
    sources = getattr(checked, "sources", ())
    if isinstance(sources, Mapping):
        return [(str(path), _text(source)) for path, source in sources.items()]
    return [(str(source.path), _text(source)) for source in sources]


def _text(source: Any) -> str:
    """A text itself, or a record with its text, or with its lines."""
    if isinstance(source, str):
        return source
    text = getattr(source, "text", None)
    return text if isinstance(text, str) else "\n".join(getattr(source, "lines", source))


def _clocks(world: World) -> str:
    named = [f"{x.title}: from {x.clock}" for x in world.excursions if x.clock]
    silent = [x.title for x in world.excursions if not x.clock]
    words = "Clocks, in hours and minutes - " + "; ".join(named) + "." if named else ""
    if silent:
        words += f" No clock is named for {', '.join(silent)}: times count from its first step."
    return words.strip() or "No clock is named."
