"""What a rehearsal's record may call a step by, and where its bracket stands in the plan."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from jackstay.diagnostics.suggest import did_you_mean
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Entry
from jackstay.source.spans import Span
from jackstay.timing.events import main_step
from jackstay.timing.sampling_names import identities

_SHIPPED = "stdlib:"


class Named(NamedTuple):
    """A step that can be logged. site: the line whose bracket says how long it takes. identity: of its main step.
    alike: what is the same step in every run."""

    site: Span
    identity: str
    actor: str
    excursion: str


class NotNamed(LookupError):
    """The message says why a name means no step, or none that has a bracket."""


class Names:
    """The names of all steps of a campaign's excursions. folder: how the user names the campaign's folder, as files may
    be named from there too."""

    def __init__(self, flows: Sequence[ExcursionFlow], folder: str) -> None:
        self._folder = "" if folder in ("", ".") else folder.removesuffix("/") + "/"
        self._known: dict[str, list[Named]] = {}
        self._inserted: dict[str, Step] = {}
        self._routine_calls: dict[str, list[Span]] = {}
        for flow in flows:
            names = identities(flow)
            for steps in flow.by_entry.values():
                if steps and not steps[0].entry.hole:
                    self._entry(flow, steps, names)

    def _entry(self, flow: ExcursionFlow, steps: list[Step], names: list[str]) -> None:
        entry, main = steps[0].entry, main_step(steps)
        # of an arrival, the way is inserted but the heading is what is written
        for step in steps:
            if step.inserted and (entry.action is not None or step is not main):
                self._inserted.setdefault(names[step.index], step)
        site = entry.routine_at or entry.at
        name = names[main.index]
        actor = main.cast[0].name if main.cast else ""
        one = Named(site, name, actor, flow.excursion.name)
        self._known.setdefault(name, []).append(one)
        for mark in flow.excursion.marks:
            if mark.entry is entry:
                self._known.setdefault(f"{flow.excursion.name}.{mark.task.name}.{mark.name}", []).append(one)
        self._line(site, one)
        if entry.routine_at is not None and entry.at != site:
            self._routine_calls.setdefault(_place(entry.at), []).append(site)

    def _line(self, at: Span, one: Named) -> None:
        self._known.setdefault(_place(at), []).append(one)

    def find(self, name: str) -> Named:
        """Raises `NotNamed`. A line that is done several times over, as a routine's, is one step of each run."""
        name = name.strip()
        found = self._known.get(name) or self._known.get(name.removeprefix(self._folder))
        if found is None:
            raise NotNamed(self._why_not(name))
        sites = {one.site for one in found}
        if len(sites) > 1:
            places = ", ".join(sorted(_place(site) for site in sites))
            raise NotNamed(f"{name} may be any of several steps: name one by its line ({places})")
        if found[0].site.path.startswith(_SHIPPED):
            raise NotNamed(
                f"{name} is written in the shipped vocabulary ({_place(found[0].site)}), which is not edited: copy the "
                "routine into the plan, and its line can be logged"
            )
        return found[0]

    def _why_not(self, name: str) -> str:
        step = self._inserted.get(name)
        if step is not None:
            return f"{name} is inserted by the compiler and has no bracket of its own{_instead(step.entry)}"
        calls = self._routine_calls.get(name) or self._routine_calls.get(name.removeprefix(self._folder))
        if calls:
            if all(site.path.startswith(_SHIPPED) for site in calls):
                return f"{name} calls a routine of the shipped vocabulary, which is not edited: copy it into the plan"
            places = ", ".join(dict.fromkeys(_place(site) for site in calls))
            return f"{name} calls a routine: name the lines of the routine instead ({places})"
        hint = did_you_mean(name, list(self._known))
        return f"there is no step called {name}" + (f"; {hint}" if hint else "")


def _instead(entry: Entry) -> str:
    if entry.action is None:
        return f": log the whole way, by the line of its heading ({_place(entry.at)})"
    return f": it belongs to the step at {_place(entry.at)}, and takes what its action says"


def _place(at: Span) -> str:
    return f"{at.path}:{at.line}"
