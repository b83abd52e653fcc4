"""What the signs of a crew timeline mean; only those that the excursion has."""

from __future__ import annotations

from jackstay.model.records import Thing
from jackstay.outputs.crewline_clock import diamond
from jackstay.outputs.crewline_draw import draw_tie, pole
from jackstay.outputs.crewline_strips import Stocks
from jackstay.outputs.figures import marked
from jackstay.outputs.look import SMALL, ActorStyle
from jackstay.outputs.order_graph import company, handed_over
from jackstay.outputs.order_signs import RANK_DASH
from jackstay.outputs.sheet import Sign, badge_legend
from jackstay.outputs.svg import Svg, way
from jackstay.outputs.views import View, is_idle
from jackstay.timing.records import Times


def legend_of(view: View, times: Times, styles: dict[Thing, ActorStyle], stocks: Stocks) -> list[tuple[Sign, str]]:
    flow = view.flow
    steps = [step for step in flow.steps if not is_idle(step)]
    ranks = {step.entry.task.rank for step in steps}
    crew = {actor: style for actor, style in styles.items() if actor in view.own}
    found = badge_legend(crew)
    found += [(_bar("s-ink", 0.9, 10), "a step, to scale"), (_number, "its words are in the key")]
    if any(step.inserted for step in steps):
        found.append((_bar("s-soft", 0.6, 6), "a way or a tool, worked out"))
    for rank in ("wanted", "get-ahead"):
        if rank in ranks:
            words = "wanted: may be dropped" if rank == "wanted" else "get-ahead: if there is time"
            found.append((_bar("s-ink", 1.3, 10, RANK_DASH[rank]), words))
    if any(step.entry.hole for step in steps):
        found.append((_bar("s-loud", 0.9, 10, "6 3"), "not yet written"))
    if any(times.durations[step.index] is None for step in steps):
        found.append((_blank, "no duration: later times are lower bounds"))
    found.append((_critical, "critical chain"))
    found.append((_tie("chain"), "it goes on in another lane"))
    if any(times.slack[step.index] for step in steps):
        found.append((_slack, "slack"))
    if times.delays:
        found.append((_hatched, "waits"))
    if any(not step.inserted and len([a for a in step.cast if a in step.entry.block.doers]) > 1 for step in steps):
        found.append((_tie("joint"), "joint"))
    handed = [step for step in steps if handed_over(view.world, step)]
    if handed:
        found.append((_tie("handover"), "hand-over"))
    if any(company(step) and step not in handed for step in steps):
        found.append((_tie("meeting"), "two meet"))
    if any(actor.runner in step.cast for step in steps for actor in step.cast):
        found.append((_tie("runs"), "one runs the other"))
    if flow.companions:
        found.append((_tie("beside"), "runs beside"))
    if times.stretches:
        found.append((_stretch, "held open"))
    if view.calls:
        found.append((_flag("call"), "calls"))
    if any(answer.fallback is not None for steps in view.of_entry.values() for answer in steps[0].entry.answers):
        found.append((_flag("card"), "may call a fallback"))
    found.append((_post, "comes to a place"))
    found.append((_end, "the end, between all quick and all slow"))
    if view.excursion.limit is not None:
        found.append((_limit, "reserve and limit"))
    if stocks.courses:
        doubtful = [one.supply.name for some in stocks.courses.values() for one in some if marked(one.supply.origin)]
        also = f" (unverified: {', '.join(dict.fromkeys(doubtful))})" if doubtful else ""
        found.append((_reserve, f"a supply, from full down to its reserve{also}"))
    if stocks.homes:
        found.append((_home, "way home: needed, under what is left"))
    return found


def _bar(edge: str, wide: float, high: float, dash: str = "") -> Sign:
    def draw(svg: Svg, x: float, y: float) -> None:
        svg.rect(x - 12, y - high / 2, 24, high, f"f-tag {edge}", stroke_width=wide, stroke_dasharray=dash)

    return draw


def _number(svg: Svg, x: float, y: float) -> None:
    svg.rect(x - 7, y - 5, 14, 10, "f-tag s-ink", stroke_width=0.9)
    svg.text(x, y + 2.6, "12", SMALL, "f-ink", True, "middle")


def _blank(svg: Svg, x: float, y: float) -> None:
    svg.rect(x - 7, y - 5, 14, 10, "f-tag s-ink", stroke_width=0.9)
    svg.rect(x - 6.5, y + 0.5, 13, 4, "", fill=svg.hatch())


def _critical(svg: Svg, x: float, y: float) -> None:
    svg.rect(x - 12, y - 4.4, 24, 8.8, "f-tag s-ink", stroke_width=0.9)
    for edge in (y - 4.4, y + 4.4):
        svg.line(x - 12, edge, x + 12, edge, "s-ink", 2.6)


def _tie(sort: str) -> Sign:
    def draw(svg: Svg, x: float, y: float) -> None:
        draw_tie(svg, sort, x, y - 5, y + 5)

    return draw


def _slack(svg: Svg, x: float, y: float) -> None:
    svg.path(way([(x - 12, y - 4), (x - 12, y), (x + 12, y)]), "n s-soft", 0.8)
    svg.line(x + 12, y - 2.2, x + 12, y + 2.2, "s-soft", 1)


def _hatched(svg: Svg, x: float, y: float) -> None:
    svg.rect(x - 12, y - 2, 24, 4, "", fill=svg.hatch())
    svg.line(x - 12, y + 2.4, x + 12, y + 2.4, "s-soft", 0.5)


def _stretch(svg: Svg, x: float, y: float) -> None:
    svg.rect(x - 12, y - 5, 24, 10, "f-tag s-ink", stroke_width=0.9)
    svg.rect(x, y + 1, 12, 4, "s-soft", stroke_width=0.5, fill=svg.hatch())


def _flag(sort: str) -> Sign:
    def draw(svg: Svg, x: float, y: float) -> None:
        pole(svg, sort, x - 2, y + 4, y + 5.5)

    return draw


def _post(svg: Svg, x: float, y: float) -> None:
    svg.line(x - 12, y + 3, x + 12, y + 3, "s-soft", 1)
    svg.line(x, y - 5, x, y + 5, "s-ink", 1.8)


def _end(svg: Svg, x: float, y: float) -> None:
    svg.rect(x - 11, y - 2.6, 22, 5.2, "f-paper s-ink", stroke_width=0.9)
    diamond(svg, x - 3, y)


def _limit(svg: Svg, x: float, y: float) -> None:
    svg.rect(x - 11, y - 4, 20, 8, "s-loud", stroke_width=0.7, fill=svg.hatch())
    svg.line(x + 10, y - 5.5, x + 10, y + 5.5, "s-loud", 3)


def _reserve(svg: Svg, x: float, y: float) -> None:
    svg.path(way([(x - 12, y + 2), (x - 12, y - 5), (x + 12, y - 2), (x + 12, y + 2)], True), "f-dusk s-soft", 0.3)
    svg.path(way([(x - 12, y - 5), (x + 12, y - 2)]), "n s-ink", 1.1)
    svg.rect(x - 12, y + 2, 24, 2, "", fill=svg.hatch())
    svg.line(x - 12, y + 2, x + 12, y + 2, "s-loud", 1)


def _home(svg: Svg, x: float, y: float) -> None:
    svg.path(
        way([(x - 12, y + 5), (x - 12, y + 3), (x, y), (x + 12, y + 3), (x + 12, y + 5)], True), "f-soft s-soft", 0.3
    )
    svg.path(way([(x - 12, y - 5), (x + 12, y - 2.5)]), "n s-ink", 1.2)
