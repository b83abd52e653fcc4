"""Which tasks are dropped when a forecast looks at get-aheads one by one."""

from __future__ import annotations

from jackstay.flow.dropping import with_followers
from jackstay.model.records import Excursion, Task

GET_AHEAD = "get-ahead"


def get_aheads(excursion: Excursion) -> list[Task]:
    return [task for task in excursion.tasks if task.rank == GET_AHEAD and task.guard is None]


def without_any(excursion: Excursion) -> frozenset[Task]:
    """What is dropped when no get-ahead is flown: all of them, and who goes only with one."""
    return frozenset(one for task in get_aheads(excursion) for one in with_followers(task))


def with_only(task: Task) -> frozenset[Task]:
    """What is dropped when of the get-aheads only this one is flown, and those that it goes with."""
    kept = {task}
    waiting = [task]
    while waiting:
        for other in waiting.pop().along_with:
            if other not in kept:
                kept.add(other)
                waiting.append(other)
    others = [one for one in get_aheads(task.excursion) if one not in kept]
    return frozenset(one for other in others for one in with_followers(other))
