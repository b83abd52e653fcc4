"""A small writer of the DOT graph language: quoted, in the order given, the same on any day and machine."""

from __future__ import annotations

from collections.abc import Mapping

Attributes = Mapping[str, str]


class Html(str):
    """A label in DOT's own small markup; its author has escaped the texts in it."""


def escape(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&quot;")


def quote(text: str) -> str:
    """A DOT string. Line breaks become centred breaks; ``\\l`` written by the caller stays a left-aligned one."""
    if isinstance(text, Html):
        return f"<{text}>"
    return '"' + text.replace('"', '\\"').replace("\n", "\\n") + '"'


def safe(text: str) -> str:
    """Text from a plan: a backslash in it is a backslash, not the start of an escape."""
    return text.replace("\\", "\\\\")


def attributes(values: Attributes) -> str:
    return f" [{', '.join(f'{key}={quote(value)}' for key, value in values.items())}]" if values else ""


class Dot:
    """Builds the text of one directed graph."""

    def __init__(self, name: str, graph: Attributes, node: Attributes, edge: Attributes) -> None:
        self.lines = [f"digraph {quote(name)} {{"]
        self.depth = 1
        for sort, values in (("graph", graph), ("node", node), ("edge", edge)):
            self._add(f"{sort}{attributes(values)};")

    def _add(self, text: str) -> None:
        self.lines.append("  " * self.depth + text)

    def open(self, name: str, values: Attributes) -> None:
        """Begin a cluster."""
        self._add(f"subgraph {quote('cluster_' + name)} {{")
        self.depth += 1
        for key, value in values.items():
            self._add(f"{key}={quote(value)};")

    def close(self) -> None:
        self.depth -= 1
        self._add("}")

    def node(self, name: str, values: Attributes) -> None:
        self._add(f"{quote(name)}{attributes(values)};")

    def edge(self, tail: str, head: str, values: Attributes) -> None:
        self._add(f"{quote(tail)} -> {quote(head)}{attributes(values)};")

    def text(self) -> str:
        return "\n".join([*self.lines, "}"]) + "\n"
