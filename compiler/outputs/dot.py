"""The text form of a panel of boxes: a small writer of the DOT graph language, the same on any day and machine.

The boxes have the size that our own drawing gives them, so that a layout program leaves the room they need."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from jackstay.outputs.lettering import fold
from jackstay.outputs.look import SMALL
from jackstay.outputs.order_boxes import GROUP, WIDTH, Box, Group, Panel, Wire

Attributes = Mapping[str, str]

_GRAPH = {
    "rankdir": "TB",
    "newrank": "true",
    "nodesep": "0.2",
    "ranksep": "0.26",
    "splines": "true",
    "fontname": "Helvetica",
    "fontsize": "9",
    "labeljust": "l",
}
_NODE = {"shape": "box", "fixedsize": "true", "fontname": "Helvetica", "fontsize": "7", "width": f"{WIDTH / 72:.4f}"}
_EDGE = {"arrowsize": "0.6"}
_SHAPES = {
    "joint": {"style": "bold"},
    "meeting": {"style": "bold,rounded"},
    "handover": {"style": "bold,rounded"},
    "inserted": {"style": "rounded,dotted"},
    "hole": {"style": "dashed"},
    "card": {"shape": "note", "style": "dashed"},
}
# Shapes keep the outline of a plain box: arrows end where our own drawing has it.
_SAID = {
    "joint": "joint",
    "handover": "hand-over",
    "meeting": "two meet",
    "inserted": "worked out",
    "hole": "not written",
}
_WIRES = {
    "own": {"weight": "4"},
    "call": {"style": "dashed"},
    "after": {"style": "dotted", "arrowhead": "empty"},
    "beside": {"style": "dashed", "dir": "both", "arrowtail": "odot", "arrowhead": "odot"},
    "card": {"style": "dashed", "arrowhead": "vee"},
}


def quote(text: str) -> str:
    """A DOT string; ``\\l`` written by the caller stays a left-aligned line break."""
    return '"' + text.replace('"', '\\"').replace("\n", "\\n") + '"'


def safe(text: str) -> str:
    """Text from a plan: a backslash in it is a backslash, not the start of an escape."""
    return text.replace("\\", "\\\\")


def attributes(values: Attributes) -> str:
    return f" [{', '.join(f'{key}={quote(value)}' for key, value in values.items())}]" if values else ""


def panel_dot(name: str, panel: Panel, where: Mapping[str, str], title: Iterable[str] = ()) -> str:
    """One graph. where: as of `Row.shown`. title: lines over it; without, it is only to be laid out."""
    lines = [f"digraph {quote(name)} {{"]
    words = "".join(f"{safe(line)}\\l" for line in title)
    lines.append(f"  graph{attributes({**_GRAPH, **({'label': words, 'labelloc': 't'} if words else {})})};")
    lines.append(f"  node{attributes(_NODE)};")
    lines.append(f"  edge{attributes(_EDGE)};")
    grouped: dict[str, list[Box]] = {}
    for box in panel.boxes.values():
        grouped.setdefault(box.group, []).append(box)
    for group in panel.groups:
        lines += _cluster(group, grouped.pop(group.key, []), where)
    for boxes in grouped.values():
        lines += [f"  {_box(box, where)}" for box in boxes]
    lines += [f"  {_wire(number, wire)}" for number, wire in enumerate(panel.wires)]
    return "\n".join([*lines, "}"]) + "\n"


def _cluster(group: Group, boxes: list[Box], where: Mapping[str, str]) -> list[str]:
    if not boxes:
        return []
    label = "".join(f"{safe(fold(words, SMALL, WIDTH))}\\l" for words in (group.title, group.about))
    style = {"required": "solid", "wanted": "dashed"}.get(group.rank, "dotted")
    values = {"label": label, "margin": f"{GROUP:g}", "style": style}
    return [
        f"  subgraph {quote('cluster_' + group.key)} {{",
        *(f"    {key}={quote(value)};" for key, value in values.items()),
        *(f"    {_box(box, where)}" for box in boxes),
        "  }",
    ]


def _box(box: Box, where: Mapping[str, str]) -> str:
    above = [row.shown(where) for row in box.rows if not row.late]
    below = [row.shown(where) + (f"  {row.right}" if row.right else "") for row in box.rows if row.late]
    said = [f"[{_SAID[box.shape]}]"] if box.shape in _SAID else []
    label = "".join(f"{safe(line)}\\l" for line in (*said, *above, *box.lines, *below))
    more = {"penwidth": "2.4"} if box.critical else {}
    values = {"label": label, "height": f"{box.height / 72:.4f}", **_SHAPES.get(box.shape, {}), **more}
    if len(box.actors) == 1:
        values["group"] = box.actors[0].name  # one actor's boxes below one another
    return f"{quote(box.key)}{attributes(values)};"


def _wire(number: int, wire: Wire) -> str:
    values = {"id": str(number), **_WIRES[wire.sort], "tooltip": safe(wire.label)}
    if wire.critical:
        values["penwidth"] = "2.4"
    if wire.both:
        values["dir"] = "both"
    return f"{quote(wire.tail)} -> {quote(wire.head)}{attributes(values)};"
