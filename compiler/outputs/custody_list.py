"""custody.txt: the way of every thing through hands and places as text, and which sheet shows it."""

from __future__ import annotations

from jackstay.model.records import Thing, World
from jackstay.outputs.custody import Stay, containers
from jackstay.outputs.custody_rows import holder_words, inside_words, place_words, when_words, why_words
from jackstay.outputs.custody_sheets import Chains, planned
from jackstay.outputs.frame import Frame
from jackstay.outputs.paper import columns, heading, row, wrap
from jackstay.outputs.views import NOT_WORKED_OUT, View
from jackstay.outputs.wording import label, source_place

INDENT = " " * 14


def custody_list(world: World, views: list[View], frame: Frame) -> str:
    found, plans = planned(world, views, frame)
    sheet_of = {line.thing: number for number, rows in enumerate(plans, start=1) for line in rows}
    lines = frame.head("Who has what, and where: every thing that changes hands")
    lines += wrap(
        "Before each step, when it starts by the nominal times; '>' marks a step that is inserted, not written. From a "
        "time to a time: taken for one step, and put back after it. At the right, where it is written."
    )
    lines += [NOT_WORKED_OUT for view in views if view.times is None]
    table = [["thing", "changes", "sheet"]]
    for thing, number in sorted(sheet_of.items(), key=lambda one: one[0].name):
        count = sum(1 + (stay.back is not None) for part in found[thing] for stay in part if stay.step is not None)
        table.append([thing.name, str(count), f"custody-{number}.svg"])
    lines += ["", *columns(table, (1,))] if len(table) > 1 else ["", "Nothing changes hands."]
    still = [thing for thing in found if thing not in sheet_of]
    if still:
        lines += ["", *wrap(f"Never changes hands: {', '.join(label(thing) for thing in still)}.")]
    inner = containers(found)
    for thing in sheet_of:
        lines += ["", *heading(f"{label(thing)} ({thing.kind.name})", source_place(thing.decl))]
        lines += _chain(found, thing)
        for content in inner.get(thing, []):
            lines += wrap(f"at times in or on it: {label(content)}", INDENT)
    return "\n".join([*lines, *frame.foot()]) + "\n"


def _chain(found: Chains, thing: Thing) -> list[str]:
    lines: list[str] = []
    for section in found[thing]:
        for stay in section:
            lines += _stay(stay)
    return lines


def _stay(stay: Stay) -> list[str]:
    where = "; ".join(part for part in (holder_words(stay), place_words(stay)) if part)
    where = where.replace(" · ", ", by ").replace(" → ", " > ")
    if stay.step is None:
        return wrap(where, f"  {inside_words(stay):<10}  ", INDENT)
    words = row(
        why_words(stay, True), f"  {when_words(stay).replace('–', '-'):>10}  ", source_place(stay.step.entry.at)
    )
    return [*words, *wrap(where, f"{INDENT}= ")]
