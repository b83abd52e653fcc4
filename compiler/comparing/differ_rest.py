"""What has no record type of its own: statements of the own files that differ and of which nothing else is told, and
the project's settings for this plan. Both are told as they are written."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from jackstay.comparing.meaning import Meaning
from jackstay.comparing.names import Names
from jackstay.comparing.read_rest import Row, bare
from jackstay.comparing.records import Change, Declared, Pair, Renamed, Rewritten, Setting, fields_of
from jackstay.policy.globs import matches
from jackstay.policy.settings import FILE, PlanSettings, Waiver

# What settings are told of a line of an excursion. A line that is not here is told as it is written.
_TOLD_AS = {
    "Crew": {"crew"},
    "Starts": {"starts"},
    "Clock": {"clock", "clock starts", "clock ends", "limit", "reserve"},
    "Light": {"light"},
    "Orbit": {"light"},
    "Together": {"finish together"},
    "SlowDay": {"slow day"},
    "Begins": {"begins"},
    "Excursion": {"title"},
}
_READ_WHOLE = {"LeftOutside", "ComesInside", "LeftSo"}  # one line for several says the same as several lines
_NEVER_TOLD = {"Allow"}


def rest(old: Meaning, new: Meaning, rows: Pair, names: Names, changes: Sequence[Change]) -> Iterator[Change]:
    """rows: of either side. changes: what has been told so far."""
    told = _Told(changes)
    before, after = _scoped(rows.old, _turn(names)), _scoped(rows.new, lambda excursion, task: (excursion, task))
    excursions = {one.name for one in new.excursions} & set(names.excursions.values())
    back = {b: a for a, b in names.excursions.items()}
    tasks = {b: a for a, b in names.tasks.items()}
    for key in dict.fromkeys((*before, *after)):
        excursion, task, sort = key
        if excursion and (excursion not in excursions or (task and (excursion, task) not in tasks)):
            continue  # told as a whole
        scope = Pair(tasks[excursion, task][0] if task else back[excursion], excursion) if excursion else None
        within = _calls_too(names.within(scope.old if scope is not None else None), scope, changes)
        called = Pair(tasks[excursion, task][1], task) if task else Pair("", "")
        gone, come = _apart(before.get(key, []), after.get(key, []), within)
        if task and sort not in _NEVER_TOLD and told.of_task(scope, called):
            continue
        for one, other in _paired(gone, come, within):
            if task or not told.of(one, other, scope):
                labels = Pair(*(row.label if row is not None else None for row in (one, other)))
                said = [row.words if row is not None else None for row in (one, other)]
                yield Rewritten(scope, called, labels, *said)


def _calls_too(names: Names, scope: Pair | None, changes: Sequence[Change]) -> Names:
    called = [one for one in changes if isinstance(one, Renamed) and one.what == "call" and scope is not None]
    names.words.update({one.name.old: one.name.new for one in called if one.excursion == scope})
    return names


def _turn(names: Names) -> Any:
    def turned(excursion: str, task: str) -> tuple[str, str]:
        if task:
            return names.tasks.get((excursion, task), ("-", task))  # "-": no excursion is called so
        return (names.excursions.get(excursion, "-") if excursion else ""), ""

    return turned


def _scoped(rows: Iterable[Row], turned: Any) -> dict[tuple[str, str, str], list[Row]]:
    found: defaultdict[tuple[str, str, str], list[Row]] = defaultdict(list)
    for row in rows:
        if row.sort not in _READ_WHOLE:
            found[(*turned(row.excursion, row.task), row.sort)].append(row)
    return found


def _apart(old: list[Row], new: list[Row], names: Names) -> tuple[list[Row], list[Row]]:
    """What is said on one side only. A line that is written once more says nothing new."""
    here = {(row.under, bare(row.words)) for row in old}
    there = {(row.under, bare(row.words)) for row in new}
    turned = {(names.text(row.under), bare(names.text(row.words))) for row in old}
    back = names.turned()
    returned = {(back.text(row.under), bare(back.text(row.words))) for row in new}
    gone = [row for row in old if (key := (row.under, bare(row.words))) not in there and key not in returned]
    come = [row for row in new if (key := (row.under, bare(row.words))) not in here and key not in turned]
    gone = [row for row in gone if (names.text(row.under), bare(names.text(row.words))) not in there]
    come = [row for row in come if (back.text(row.under), bare(back.text(row.words))) not in here]
    return gone, come


def _paired(gone: list[Row], come: list[Row], names: Names) -> Iterator[tuple[Row | None, Row | None]]:
    left = list(come)
    for row in gone:
        other = next((one for one in left if names.same(row.label, one.label)), None)
        if other is not None:
            left.remove(other)
        yield row, other
    yield from ((None, row) for row in left)


class _Told:
    """What has been told of what."""

    def __init__(self, changes: Iterable[Change]) -> None:
        self.settings: set[tuple[str | None, str]] = set()
        self.things: set[tuple[str, str]] = set()  # "path" or "thing", and its name
        self.campaign = False
        self.tasks: set[tuple[str, str]] = set()
        for change in changes:
            if isinstance(change, Setting):
                self.settings |= {(name, change.what) for name in change.excursion}
                self.campaign |= not change.what
            elif isinstance(change, Declared):
                self.campaign |= change.what == "campaign"
                sort = "path" if change.what == "path" else "thing"
                self.things |= {(sort, _way(name) if sort == "path" else name) for name in change.name if name}
            elif isinstance(change, Renamed) and change.excursion is None:
                if change.what == "excursion":
                    self.settings |= {(name, "title") for name in change.name}
                    self.campaign = True
                else:
                    self.things |= {("thing", name) for name in change.name}
            self._tasks(change)

    def _tasks(self, change: Change) -> None:
        excursion = getattr(change, "excursion", None)
        if excursion is None:
            return
        tasks: set[str | None] = set()
        if isinstance(change, Renamed) and change.what in ("task", "fallback"):
            tasks |= {*change.name}
        for field in fields_of(change):
            value = getattr(change, field)
            if field == "task":
                tasks |= {*value}
            elif field == "step":
                tasks |= {one.task for one in (value if isinstance(value, Pair) else (value,)) if one is not None}
            elif field in ("steps", "past") and isinstance(value, tuple):
                tasks |= {one.task for pair in value for one in pair}
        self.tasks |= {(name, task) for name in excursion if name for task in tasks if task}

    def of_task(self, scope: Pair | None, task: Pair) -> bool:
        return scope is not None and ((scope.old, task.old) in self.tasks or (scope.new, task.new) in self.tasks)

    def of(self, old: Row | None, new: Row | None, scope: Pair | None) -> bool:
        row = new or old
        if row is None or row.sort in _NEVER_TOLD:
            return False
        if scope is not None:
            kinds = _TOLD_AS.get(row.sort, set())
            return any((name, what) in self.settings for name in scope for what in kinds)
        if row.sort in ("Campaign", "Excursions"):
            return self.campaign
        sort = "path" if row.sort == "Path" else "thing"
        return any((sort, name) in self.things for one in (old, new) if one is not None for name in one.names)


def _way(name: str) -> str:
    return " to ".join(sorted(name.split(" to ")))


# --- the project's settings -------------------------------------------------------------------------------------------


def policy(old: Any, new: Any) -> Iterator[Change]:
    """What the project says of findings in this plan's files. old, new: anything with ``settings`` and ``sources``."""
    before, after = (dict(_settled(side)) for side in (old, new))
    for label in dict.fromkeys((*before, *after)):
        one, other = before.get(label), after.get(label)
        if one != other:
            labels = Pair(*(label if said is not None else None for said in (one, other)))
            yield Rewritten(None, Pair("", ""), labels, one, other)


def _settled(side: Any) -> Iterator[tuple[str, str]]:
    plan: PlanSettings | None = side.settings
    if plan is None:
        return
    paths = [path if path.startswith("stdlib:") else plan.prefix + path for path in side.sources]

    def fits(*globs: str) -> bool:
        return any(matches(glob, path) for glob in globs for path in paths)

    for layer in plan.settings.layers:
        if layer.glob is None or fits(layer.glob):
            where = f" in {layer.glob}" if layer.glob is not None else ""
            yield from ((f"{FILE}, severity of {name}{where}", level) for name, level in layer.levels.items())
    allowed: defaultdict[str, list[str]] = defaultdict(list)
    for waiver in plan.settings.waivers:
        if not waiver.globs or fits(*waiver.globs):
            allowed[waiver.rule].append(_allowed(waiver))
    yield from ((f"{FILE}, allow {rule}", "; ".join(said)) for rule, said in allowed.items())


def _allowed(waiver: Waiver) -> str:
    where = ", ".join(waiver.globs) or "everywhere"
    until = f", until {waiver.until.isoformat()}" if waiver.until is not None else ""
    because = f', because "{waiver.because}"' if waiver.because else ""
    return where + until + because
