"""What each actor does in another order than before, told as the fewest moves: "Wren now does X before Y"."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from jackstay.comparing.alignment import longest_run
from jackstay.comparing.matching import Match, Sides
from jackstay.comparing.records import Change, Pair, StepsReordered
from jackstay.comparing.telling import step_at


def reordered(excursion: Pair, sides: Sides, matches: Sequence[Match]) -> Iterator[Change]:
    """Of each actor, the steps that are neither new nor gone. The most that keep their order are taken to stand still;
    of the others, neighbours that have moved together are one record."""
    at_new = {id(unit): index for index, unit in enumerate(sides.new)}
    actors: dict[str, str] = {}
    for old, _ in matches:
        for before, after in zip(old.cast, sides.cast(old), strict=True):
            actors.setdefault(after, before)
    own_of = {actor: [m for m in matches if actor in sides.cast(m[0]) and actor in m[1].cast] for actor in actors}
    told: set[tuple[object, ...]] = set()
    for actor, own in sorted(own_of.items(), key=lambda one: (len(one[1]), *sorted((one[0], actors[one[0]])))):
        for nominal in (True, False):
            mine = [m for m in own if sides.nominal(m[0]) is nominal and sides.nominal(m[1]) is nominal]
            for record, moved in _moves(excursion, Pair(actors[actor], actor), sides, mine, at_new):
                key = (*(id(old) for old, _ in moved), record.past)
                if key not in told:  # who runs a machine moves what the machine does: once is enough
                    told.add(key)
                    yield record


def _moves(
    excursion: Pair, actor: Pair, sides: Sides, own: list[Match], at_new: dict[int, int]
) -> Iterator[tuple[StepsReordered, list[Match]]]:
    place = [at_new[id(new)] for _, new in own]
    still = _standing(place, sides.turned)
    if len(still) == len(own):
        return
    moving = [at for at in range(len(own)) if at not in still]
    fixed = sorted(still)

    def passed(at: int) -> list[int]:
        """Those that stand still and are on the other side of it now."""
        return [s for s in fixed if (s < at) != (place[s] < place[at])]

    for group in _together(moving, place, passed):
        past = passed(group[0])
        moved = [own[at] for at in group]
        pair = [_pair(own[past[0]]), _pair(own[past[-1]])]
        whole = Pair(_whole(own, moved, 0), _whole(own, moved, 1))
        earlier = past[0] < group[0]
        yield StepsReordered(excursion, actor, tuple(map(_pair, moved)), tuple(pair), earlier, whole), moved


def _standing(place: list[int], turned: bool) -> set[int]:
    """A longest run that keeps its order; the same one whichever side is called old."""
    if not turned:
        return set(longest_run(place))
    by_new = sorted(range(len(place)), key=lambda at: place[at])
    return {by_new[at] for at in longest_run(by_new)}


def _together(moving: list[int], place: list[int], passed: object) -> Iterator[list[int]]:
    """Neighbours in both orders that have passed the same steps."""
    assert callable(passed)
    rank = {at: number for number, at in enumerate(sorted(range(len(place)), key=lambda at: place[at]))}
    group: list[int] = []
    for at in moving:
        if group and at == group[-1] + 1 and rank[at] == rank[group[-1]] + 1 and passed(at) == passed(group[-1]):
            group.append(at)
            continue
        if group:
            yield group
        group = [at]
    if group:
        yield group


def _pair(match: Match) -> Pair:
    return Pair(step_at(match[0]), step_at(match[1]))


def _whole(own: list[Match], moved: list[Match], side: int) -> tuple[str, ...]:
    """The tasks of which an actor does exactly these steps; nothing where it does others of them as well."""
    tasks = tuple(dict.fromkeys(match[side].task for match in moved))
    count = sum(match[side].task in tasks for match in own)
    return tasks if count == len(moved) and len(moved) > 1 else ()
