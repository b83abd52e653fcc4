"""The way home on paper: what everyone outside needs at every moment to be back inside, and what is left."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from jackstay.flow.records import Step
from jackstay.model.records import Supply, Thing, World
from jackstay.outputs.clock import clock, minutes
from jackstay.outputs.frame import Frame
from jackstay.outputs.heads import excursion_head
from jackstay.outputs.home_account import home_account
from jackstay.outputs.paper import heading, wrap
from jackstay.outputs.views import NOT_WORKED_OUT, View
from jackstay.outputs.wording import label, number, sentence, source_place, step_text
from jackstay.outputs.words import said
from jackstay.timing.home import Row, Tally, WayHome
from jackstay.timing.home_left import Left
from jackstay.timing.home_records import At, Line, Moment, Number, Stretch, Stuck
from jackstay.timing.records import Times

INDENT = " " * 10
LEGEND = (
    "Needed at a moment: what somebody outside takes to be inside if everybody turned back then, by the usual "
    "times: to make safe (to finish the step, or to break it off where its action can stop), to get rid of what "
    "keeps them from going, to get off what they sit in, the shortest way by the lines that the paths ask for, "
    "the wait for the way in, and coming in. Carriers are taken to stand still after the move they are on, unless "
    "there is no way without them.",
    "Left at a moment: the whole limit less what the clock shows, and each supply, of which every part of "
    "the way draws what its effort does; what then remains is told in time at the hardest of them. The margin is "
    "what is left less what is needed; of each row, the least margin is printed, wherever in it that is. 'turn by': "
    "the latest time to turn back from there if the work stood still at the row's longest need; by the clock alone.",
    "The last moment to turn back: at every moment before it, from going out on, turning back then fits into what "
    "is left.",
)


class _Group:
    """Neighbouring stretches in which an actor does the same thing. most: the moment of the longest need; least: of
    the least margin."""

    def __init__(self, step: Step | None, since: Number) -> None:
        self.step = step
        self.since = since
        self.until = since
        self.most: tuple[Number, Number, At] | None = None  # seconds, when, how
        self.least: tuple[Number, Supply | None] | None = None
        self.stuck: Stuck | None = None

    def see(self, stretch: Stretch, at: At, lefts: list[Left]) -> None:
        self.until = stretch.until
        for t, need in ((stretch.since, at.since), (stretch.until, at.until)):
            if self.most is None or need > self.most[0]:
                self.most = (need, t, at)
        for left in lefts:
            margin = min(left.since - at.since, left.until - at.until)
            if self.least is None or margin < self.least[0]:
                self.least = (margin, left.supply)


def home_lines(view: View, times: Times) -> Iterator[str]:
    """For the timeline, one line for each who goes out: ``Way home, Wren: at most 19 min, at 1:50; least margin
    …``."""
    yield from summaries(view.world, home_account(view, times)[0])


def summaries(world: World, account: WayHome) -> Iterator[str]:
    """The same from an account that is made already."""
    for tally in account.tallies.values():
        yield f"Way home, {label(tally.actor)}: {'; '.join(_summary(tally, account, said(world).outside))}."


def wayhome(views: list[View], frame: Frame) -> str:
    """way-home.txt"""
    lines = frame.head("The way home")
    for words in LEGEND:
        lines += wrap(frame.said.put(words))
    for view in views:
        lines += ["", *excursion_head(view, len(views))]
        lines += [NOT_WORKED_OUT] if view.times is None else _excursion(view, view.times)
    return "\n".join([*lines, *frame.foot()]) + "\n"


def _excursion(view: View, times: Times) -> list[str]:
    groups: dict[Thing, list[_Group]] = {}

    def see(row: Row) -> None:
        for at in row.stretch.out:
            _group(groups, at.actor, at.step, row.stretch).see(row.stretch, at, row.lefts[at.actor])
        for one in row.stretch.stuck:
            group = _group(groups, one.actor, one.step, row.stretch)
            group.stuck, group.until = one, row.stretch.until

    account, rows = home_account(view, times)
    for row in rows:
        see(row)
    if not account.tallies:
        return [
            "",
            *wrap(said(view.world).put("Nobody goes outside and comes in again: there is no way home to follow.")),
        ]
    lines = [""]
    for tally in account.tallies.values():
        for number_, text in enumerate(_summary(tally, account, said(view.world).outside)):
            lines += wrap(f"{label(tally.actor) + ': ' if not number_ else ''}{text}.", "  " if not number_ else "    ")
    if account.horizon is not None:
        lines += wrap(
            f"Not followed after {clock(Fraction(account.horizon))}: a step that begins then has no duration.", "  "
        )
    zero = times.clock_zero + view.excursion.limit.value if view.excursion.limit is not None else None
    for actor in account.tallies:
        lines += ["", *heading(label(actor))]
        for group in groups.get(actor, ()):
            lines += _rows(view.world, group, zero)
    return lines


def _group(groups: dict[Thing, list[_Group]], actor: Thing, step: Step | None, stretch: Stretch) -> _Group:
    own = groups.setdefault(actor, [])
    if not own or own[-1].step is not step or own[-1].until != stretch.since:
        own.append(_Group(step, stretch.since))
    return own[-1]


def _summary(tally: Tally, account: WayHome, outside: str) -> list[str]:
    if tally.first_out is None or tally.last_out is None or tally.turn_back is None:
        return ["not followed"]
    found = [f"{outside} from {_clock(tally.first_out)} to {_clock(tally.last_out)}"]
    if tally.longest:
        found.append(f"the way home takes {_minutes(tally.longest)} at most")
    tightest = tally.tightest
    if tightest is not None:
        found.append(_tightest(tightest))
    if tally.stuck is not None:
        found.append(f"NO WAY HOME from {_clock(tally.stuck[0])} to {_clock(tally.stuck[1])}")
    if tally.unknown is not None:
        found.append(f"NOT KNOWN from {_clock(tally.unknown[0])}: an action on the way has no duration")
    if tightest is not None or tally.stuck is not None or tally.unknown is not None:
        fits = tally.turn_back == tally.last_out
        found.append(
            f"the last moment to turn back is {'the end' if fits else _clock(tally.turn_back)}"
            f"{': it fits at every moment' if fits else ''}"
        )
    longest = account.rescues.longest.get(tally.actor)
    if longest is not None:
        seconds, when, fetch = longest
        found.append(f"brought in by {label(fetch.rescuer)} in {_minutes(seconds)} at most, at {_clock(when)}")
    return found


def _tightest(moment: Moment) -> str:
    what = "by the clock" if moment.by is None else f"by {moment.by.name}"
    side = "just before" if moment.late else "at"
    margin = _minutes(moment.margin) if moment.margin >= 0 else f"{_minutes(-moment.margin)} TOO LITTLE"
    return (
        f"tightest {side} {_clock(moment.t)}, {what}: {_minutes(moment.need)} needed, {_left(moment.left)} left, "
        f"margin {margin}"
    )


def _left(seconds: Number) -> str:
    return _minutes(seconds) if seconds > 0 else "nothing"


def _rows(world: World, group: _Group, deadline: Fraction | None) -> list[str]:
    begin = f"  {_clock(group.since):>5} to {_clock(group.until):>5}  "
    doing = "waits" if group.step is None else step_text(group.step)
    if group.most is None:
        why = "NOT KNOWN" if group.stuck is not None and group.stuck.way.unknown is not None else "NO WAY HOME"
        return wrap(f"{why}: {doing}", begin)
    need, when, at = group.most
    figures = [f"needs {_minutes(need)}"]
    if group.least is not None:
        margin, supply = group.least
        of = "" if supply is None else f" ({supply.name})"
        figures.append(f"margin {_minutes(margin) if margin >= 0 else 'NONE, ' + _minutes(-margin) + ' short'}{of}")
    if deadline is not None:
        figures.append(f"turn by {_clock(deadline - need)}" if deadline >= need else "never in time")
    if group.stuck is not None:
        figures.append("in part NO WAY HOME")
    source = source_place(group.step.entry.at) if group.step is not None else ""
    lines = wrap(f"{doing}: {', '.join(figures)}{'  ' + source if source else ''}", begin)
    return [*lines, *wrap("; ".join(_parts(world, at, need, when)), INDENT, INDENT + "  ")]


def _parts(world: World, at: At, need: Number, when: Number) -> Iterator[str]:
    line = at.line
    safe = line.safe(when)
    if safe:
        yield f"{_first(line)} {_minutes(safe)}"
    for part in line.way.parts:
        if part.sort == "way":
            yield f"{_length(world, part.metres)} to {label(part.route[-1])} {_minutes(part.seconds)}"
        else:
            by = f"{label(line.way.carrier)}: " if part.sort == "ride" and line.way.carrier is not None else ""
            yield f"{by}{sentence(part.action, part.binding)} {_minutes(part.seconds)}"
    entry = line.way.entry
    wait = need - line.at(when) - entry
    if wait and at.ahead is not None:
        yield f"wait for {label(at.ahead)} {_minutes(wait)}"
    if entry and line.way.goal is not None:
        yield f"in by {label(line.way.goal)} {_minutes(entry)}"


def _length(world: World, value: Number) -> str:
    """A length in the unit in which the plan writes its paths; bare where they have no one unit."""
    words = world.paths[0].length.text.split() if world.paths else []
    if len(words) == 2:
        unit = world.paths[0].length.value / Fraction(words[0])
        if unit:
            return f"{number(Fraction(value) / unit)} {words[1]}"
    return number(Fraction(value))


def _first(line: Line) -> str:
    words = {"rest": "finish", "stop": "break off", "back": "back to", "on": "on to"}
    place = f" {label(line.place)}" if line.place is not None else ""
    return f"{words.get(line.sort, 'leave off')}{place}"


def _clock(seconds: Number) -> str:
    return clock(Fraction(seconds))


def _minutes(seconds: Number) -> str:
    return minutes(Fraction(seconds))
