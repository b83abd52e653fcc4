"""What was worked out of dropped tasks, given again where the flights that it goes by are the same.

A footprint that needed no flying (`Campaign.closed`) goes by the flights of the excursions that it has parts of, by
what their ends are otherwise, and by whether those that start from them are sound, promised to, or guarded by name.
"""

from __future__ import annotations

from typing import Any

from jackstay.flow.dropping import Flight, Fly, StartAfter
from jackstay.flow.footprints import Course
from jackstay.flow.independence import Footprint
from jackstay.flow.without import Campaign, is_guarded
from jackstay.model.records import Excursion, Task, World


class KeptCampaign(Campaign):
    """before: the campaign of the check before."""

    def __init__(
        self,
        world: World,
        flights: dict[Excursion, Flight],
        sound: set[Excursion],
        fly: Fly,
        start_after: StartAfter,
        before: "KeptCampaign | None",
    ) -> None:
        super().__init__(world, flights, sound, fly, start_after)
        self.footprints: dict[Any, Footprint] = {}
        self.known: dict[Any, Footprint] = before.footprints if before is not None else {}
        self.nominal = {
            excursion: course
            for excursion, course in (before.courses.items() if before is not None else ())
            if excursion in flights and course.nominal.flow is flights[excursion].flow
        }
        self.children: dict[Excursion, list[Excursion]] = {}
        for excursion in world.excursions:
            if excursion.previous is not None:
                self.children.setdefault(excursion.previous, []).append(excursion)
        self.guarded = [one for one in world.excursions if any(task.guard is not None for task in one.tasks)]

    def course(self, excursion: Excursion) -> Course:
        if excursion not in self.courses and excursion in self.nominal:
            self.courses[excursion] = self.nominal[excursion]
        return super().course(excursion)

    def closed(self, gone: frozenset[Task], of: tuple[frozenset[Task], ...]) -> Footprint | None:
        found = self.known.get((gone, of))
        if found is not None and self._stands(found):
            self.courses.update((excursion, part.course) for excursion, part in found.parts.items())
        else:
            found = super().closed(gone, of)
        if found is not None:
            self.footprints[gone, of] = found
        return found

    def _stands(self, found: Footprint) -> bool:
        """Whether all that a footprint went by is as it was."""
        if {task.excursion for task in found.gone} - found.parts.keys():
            return False
        if any(one in self.sound and is_guarded(one, found.gone) for one in self.guarded):
            return False
        for excursion, part in found.parts.items():
            if excursion not in self.sound or self.nominal.get(excursion) is not part.course:
                return False
            for child in self.children.get(excursion, ()):
                if child.starts == "promise" or (part.end and child not in found.parts):
                    return False
        return True
