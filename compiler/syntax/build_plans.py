"""Builders of campaigns, excursions, tasks and their lines."""

from __future__ import annotations

from jackstay.syntax import tree
from jackstay.syntax.build_values import Reject, across
from jackstay.syntax.tree import Bound, Bracket, Formula, Guard, Literal, Name, Number, Quantity, Text, UnitTerm

_Time = Number | Quantity


def campaign_decl(name: Name, title: Text | None) -> tree.Campaign:
    return tree.Campaign(name, title)


def excursions(names: tuple[Name, ...]) -> tree.Excursions:
    return tree.Excursions(names)


def excursion_decl(name: Name, title: Text | None) -> tree.Excursion:
    return tree.Excursion(name, title)


def member(actor: Name, role: Name | None) -> tuple[Name, Name | None]:
    return actor, role


def crew(*members: tuple[Name, Name | None]) -> tree.Crew:
    return tree.Crew(members)


def starts_ends(name: Name) -> tree.Starts:
    return tree.Starts("ends", name)


def starts_as(name: Name) -> tree.Starts:
    return tree.Starts("as", name)


def starts_promise(name: Name) -> tree.Starts:
    return tree.Starts("promise", name)


# --- tasks ------------------------------------------------------------------------------------------------------------


def task(name: Name, title: Text | None, rank: Name, bounds: tuple[Bound | Guard, ...]) -> tree.Task:
    return tree.Task(name, title, rank, bounds)


def task_bounds(*parts: Bound | Guard) -> tuple[Bound | Guard, ...]:
    return parts


def guard(word: Name, literals: tuple[Literal, ...]) -> Guard:
    return Guard(literals, across(word.at, literals[-1].at))


def with_task(word: Name, name: Name) -> Bound:
    return Bound("with", (name,), (), across(word.at, name.at))


def fallback_from(name: Name) -> tuple[str, tuple[Name, ...]]:
    return "from", (name,)


def fallback_instead(*names: Name) -> tuple[str, tuple[Name, ...]]:
    return "instead", names


def fallback_then(*names: Name) -> tuple[str, tuple[Name, ...]]:
    return "then", names


def fallback_more(name: Name) -> tuple[str, tuple[Name, ...]]:
    return "", (name,)


def fallback(name: Name, title: Text | None, *clauses: tuple[str, tuple[Name, ...]]) -> tree.Fallback:
    given: dict[str, tuple[Name, ...]] = {}
    last = ""
    for word, names in clauses:
        if not word:  # a name after a comma goes on with the list before it
            if last not in ("instead", "then"):
                raise Reject(names[0].at, names[0].text, "missing-value")
            given[last] += names
            continue
        if word in given:
            raise Reject(names[0].at, names[0].text, "said-twice")
        given[word] = names
        last = word
    mark = given.get("from")
    return tree.Fallback(name, title, mark[0] if mark else None, given.get("instead", ()), given.get("then", ()))


# --- steps ------------------------------------------------------------------------------------------------------------


def words(*parts: tree.PhraseWord) -> tuple[tree.PhraseWord, ...]:
    return parts


def bounds(*parts: Bound) -> tuple[Bound, ...]:
    return parts


def phrase(words: tuple[tree.PhraseWord, ...], bracket: Bracket | None, bounds: tuple[Bound, ...]) -> tree.Phrase:
    return tree.Phrase(words, bracket, bounds)


def range_of_times(least: _Time, most: _Time) -> tuple[_Time, _Time]:
    return least, most


def bracket(left: Name, *parts: _Time | tuple[_Time, _Time] | Name) -> Bracket:
    """A number without a unit takes the last unit that its bracket names, the likely time's first."""
    likely: _Time | None = None
    pair: tuple[_Time, _Time] | None = None
    for part in parts[:-1]:
        if isinstance(part, Number | Quantity):
            likely = part
        elif not isinstance(part, Name):
            pair = part
    at = across(left.at, parts[-1].at)  # type: ignore[union-attr]
    times = ([likely] if likely else []) + ([pair[1], pair[0]] if pair else [])
    unit = next((time.parts[-1][1] for time in times if isinstance(time, Quantity)), None)
    if unit is None:
        raise Reject(times[0].at, times[0].text, "missing-unit")  # type: ignore[union-attr]
    least, most = pair if pair else (None, None)
    return Bracket(_timed(likely, unit), _timed(least, unit), _timed(most, unit), at)


def _timed(time: _Time | None, unit: UnitTerm) -> Quantity | None:
    return Quantity(((time.text, unit),), time.at) if isinstance(time, Number) else time


def bound_names(word: Name, *names: Name) -> Bound:
    return Bound(word.text, names, (), across(word.at, names[-1].at))


def bound_formula(word: Name, value: Formula) -> Bound:
    return Bound("not-before" if word.text == "not" else word.text, (), (value,), across(word.at, value.at))


def bound_within(word: Name, value: Formula, mark: Name) -> Bound:
    return Bound("within", (mark,), (value,), across(word.at, mark.at))


def bound_light(word: Name, light: Name) -> Bound:
    return Bound("light", (light,), (), across(word.at, light.at))


def bound_expect(word: Name, least: Formula, most: Formula) -> Bound:
    if isinstance(least, Number) and isinstance(most, Quantity):
        least = Quantity(((least.text, most.parts[-1][1]),), least.at)
    return Bound("expect", (), (least, most), across(word.at, most.at))


def hole(*_dots: Name) -> tree.Hole:
    return tree.Hole()


def remark(sort: Name, text: Text) -> tree.Remark:
    return tree.Remark(sort.text, text)


def remark_of(sort: Name, *rest: Name | Text) -> tree.Remark:
    text = rest[-1]
    assert isinstance(text, Text)
    return tree.Remark(sort.text, text, tuple(name for name in rest[:-1] if isinstance(name, Name)))


def if_fallback(outcome: Text, name: Name) -> tree.If:
    return tree.If(outcome, name)


def if_go_on(outcome: Text) -> tree.If:
    return tree.If(outcome, None)


def done_when(literals: tuple[Literal, ...]) -> tree.DoneWhen:
    return tree.DoneWhen(literals)


def left_outside(names: tuple[Name, ...], until: Name | None) -> tree.LeftOutside:
    return tree.LeftOutside(names, until)


def comes_inside(names: tuple[Name, ...]) -> tree.ComesInside:
    return tree.ComesInside(names)


def left_so(literals: tuple[Literal, ...], until: Name | None) -> tree.LeftSo:
    return tree.LeftSo(literals, until)


def allow(rule: Name, because: Text | None, until: Name | None) -> tree.Allow:
    return tree.Allow(rule, because, until.text if until else None, until.at if until else None)
