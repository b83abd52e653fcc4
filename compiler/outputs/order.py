"""The order diagram of a campaign: every written step, and why it comes after another.

What an edge or a node means is told by its line or its outline; nothing is told by colour alone."""

from __future__ import annotations

import textwrap

from jackstay.flow.records import Step
from jackstay.model.records import Task, Thing
from jackstay.outputs.clock import clock, minutes
from jackstay.outputs.dot import Dot, Html, escape, safe
from jackstay.outputs.drawing import MEASURED_IN
from jackstay.outputs.folding import fold
from jackstay.outputs.frame import Frame
from jackstay.outputs.views import NOT_WORKED_OUT, View, is_idle
from jackstay.outputs.wording import label, labels, source_place, spoken, step_text
from jackstay.timing.schedule import mark_between, own_predecessors

FONT = MEASURED_IN
WRAP = 34
LEFT = '<BR ALIGN="LEFT"/>'

NODE = {
    "single": {"shape": "box"},
    "joint": {"shape": "box", "peripheries": "2"},
    "meeting": {"shape": "octagon"},
    "moving": {"shape": "box", "style": "rounded,dotted"},
}
EDGE = {
    "own": {"style": "solid"},
    "call": {"style": "dashed", "penwidth": "1.6"},
    "after": {"style": "dotted", "arrowhead": "empty", "penwidth": "1.4"},
    "beside": {"style": "dashed", "dir": "both", "arrowtail": "odot", "arrowhead": "odot"},
}


def order(views: list[View], frame: Frame) -> str:
    """order.dot"""
    title = f"{frame.title}: what comes after what\\nplan {frame.identity}, {frame.tally}"
    if frame.unchecked:
        title = f"{safe(frame.warning)}\\n{title}"
    foot = "\\l".join(line for words in frame.safety for line in textwrap.wrap(safe(words), 110)) + "\\l"
    dot = Dot(
        "order",
        {
            "label": f"{title}\\n\\n",
            "labelloc": "t",
            "fontname": FONT,
            "fontsize": "20",
            "rankdir": "TB",
            "newrank": "true",
            "nodesep": "0.35",
            "ranksep": "0.45",
            "compound": "true",
            "tooltip": safe(frame.title),
        },
        {"fontname": FONT, "fontsize": "11", "margin": "0.12,0.07"},
        {"fontname": FONT, "fontsize": "10", "arrowsize": "0.8"},
    )
    for view in views:
        _excursion(dot, view)
    _legend(dot)
    dot.node("foot", {"shape": "plaintext", "fontsize": "10", "label": foot})
    return dot.text()


def _excursion(dot: Dot, view: View) -> None:
    flow, excursion = view.flow, view.excursion
    dot.open(
        f"x{view.number}",
        {
            "label": f"{safe(excursion.title)} [{excursion.name}]",
            "fontsize": "16",
            "style": "bold",
            "margin": "14",
            "labeljust": "l",
            "tooltip": source_place(excursion.decl),
        },
    )
    if view.times is None:
        dot.node(f"x{view.number}none", {"shape": "plaintext", "label": NOT_WORKED_OUT})
        dot.close()
        return
    home = fold(view)
    small: dict[int, list[Step]] = {}
    for step in flow.steps:
        if home[step.index] != step.index and not is_idle(step):
            small.setdefault(home[step.index], []).append(step)
    nodes = [step for step in flow.steps if home[step.index] == step.index]
    for number, task in enumerate(excursion.tasks):
        mine = [step for step in nodes if step.entry.task is task]
        if not mine:
            continue
        dot.open(
            f"x{view.number}t{number}",
            {
                "label": safe(_task_title(task)),
                "fontsize": "12",
                "labeljust": "l",
                "style": "solid" if task.rank == "required" else "dashed",
                "tooltip": source_place(task.decl),
            },
        )
        for step in mine:
            dot.node(
                _name(view, step.index),
                {
                    **NODE[_sort(step)],
                    "label": _label(view, step, small.get(step.index, [])),
                    "tooltip": source_place(step.entry.at),
                },
            )
        dot.close()
    _edges(dot, view, home)
    dot.close()


def _task_title(task: Task) -> str:
    after = f", after {' and '.join(one.title for one in task.after)}" if task.after else ""
    return f"{task.title} ({task.rank}{after})"


def _name(view: View, index: int) -> str:
    return f"x{view.number}s{index}"


def _sort(step: Step) -> str:
    """single: one actor. joint: a heading's several doers. meeting: two of different blocks, as in a hand-over."""
    if step.inserted or (step.action is None and not step.entry.hole):
        return "moving"
    doers = [actor for actor in step.cast if actor in step.entry.block.doers]
    if len(doers) > 1:
        return "joint"
    return "meeting" if company(step) else "single"


def company(step: Step) -> list[Thing]:
    """Who takes part beside the first of the cast and whoever merely runs one of them."""
    runners = {actor.runner for actor in step.cast if actor.runner is not None}
    return [actor for actor in step.cast[1:] if actor not in runners or actor in step.entry.block.doers]


def _label(view: View, step: Step, small: list[Step]) -> Html:
    """What leads up to the step in small type, who does what, when and where it is written in small type again."""
    times = view.times
    assert times is not None
    i = step.index
    head = labels(list(step.cast[:1]) + company(step)) or "nobody"
    lines = [line for one in small if one.index < i for line in _small(f"> {step_text(one)}")]
    lines += [f"{escape(line)}{LEFT}" for line in _wrapped(f"{head}: {step_text(step)}", WRAP)]
    lines += [line for one in small if one.index > i for line in _small(f"> {step_text(one)}")]
    time = f"{clock(times.start[i], times.start_open[i])}  {minutes(times.durations[i])}"
    lines += _small(f"{time}  {source_place(step.entry.at)}")
    return Html("".join(lines))


def _small(text: str) -> list[str]:
    wrapped = _wrapped(text, WRAP + 6, "  ")
    return [f'<FONT POINT-SIZE="9">{escape(line)}</FONT>{LEFT}' for line in wrapped]


def _wrapped(text: str, width: int, rest: str = "") -> list[str]:
    return textwrap.wrap(text, width, subsequent_indent=rest, break_long_words=False, break_on_hyphens=False)


def _edges(dot: Dot, view: View, home: dict[int, int]) -> None:
    flow = view.flow
    own = own_predecessors(flow)
    edges: dict[tuple[int, int], dict[str, list[str]]] = {}

    def add(tail: int, head: int, sort: str, words: str) -> None:
        if home[tail] == home[head]:
            return
        texts = edges.setdefault((home[tail], home[head]), {}).setdefault(sort, [])
        if words and words not in texts:
            texts.append(words)

    for step in flow.steps:
        i = step.index
        for actor, p in own[i].items():
            add(p, i, "own", label(actor))
        for p in flow.predecessors[i]:
            mark = mark_between(flow, step, p)
            if mark is not None:
                add(p, i, "call", f'"{spoken(mark)}"')
            elif p not in own[i].values():
                add(p, i, "after", "")  # the later task's own title says after what
    for inner, outer in flow.companions:
        add(outer, inner, "beside", "beside")
    for (tail, head), sorts in edges.items():
        for sort, words in sorts.items():
            if sort == "own" and "call" in sorts:
                continue
            look = {**EDGE[sort], "tooltip": safe(" / ".join(words))}
            if sort == "own":  # the nodes name their actors
                look["weight"] = "4"
            else:
                look["label"] = f" {look['tooltip']} " if look["tooltip"] else ""
            dot.edge(_name(view, tail), _name(view, head), look)


def _legend(dot: Dot) -> None:
    dot.open("legend", {"label": "How to read it", "fontsize": "12", "style": "dotted"})
    dot.node("l1", {**NODE["single"], "label": "one does it"})
    dot.node("l2", {**NODE["joint"], "label": "joint: several from one heading"})
    dot.node("l3", {**NODE["meeting"], "label": "two meet: a hand-over, a helper"})
    dot.node("l4", {**NODE["moving"], "label": "inserted: a way or a tool\\n('>' in a node: the same)"})
    dot.node("l5", {**NODE["single"], "label": "h:mm at the earliest, how long,\\nwhere it is written"})
    dot.edge("l1", "l2", {**EDGE["own"], "label": "  same actor, next step"})
    dot.edge("l2", "l3", {**EDGE["call"], "label": '  "waits for this call"'})
    dot.edge("l3", "l4", {**EDGE["after"], "label": "  the text says after"})
    dot.edge("l4", "l5", {**EDGE["beside"], "label": "  runs beside"})
    dot.close()
