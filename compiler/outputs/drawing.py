"""Boxes and lines to places on paper, by the layout program that comes with Jackstay, else by one that is installed.

The one module of the outputs that starts a program. The program is given DOT text and gives back numbers; the drawing
is our own."""

from __future__ import annotations

import json
import shutil
import subprocess
import sysconfig
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

SECONDS = 120
JOBS = 2
NOT_DRAWN = "The order diagram was not drawn: {why}. The order-….dot files hold the same sheets as text.\n"
Point = tuple[float, float]


class NotDrawn(Exception):
    """Why there is no drawing."""


@dataclass(frozen=True, slots=True)
class Layout:
    """Points, y down, the upper left corner at 0, 0. boxes: centre of each node. frames: left, top, right, bottom of
    each cluster. curves: for each edge in the order written, the corners of its line, finely enough to look smooth."""

    width: float
    height: float
    boxes: dict[str, Point]
    frames: dict[str, tuple[float, float, float, float]]
    curves: list[list[Point]]


def layout_program() -> str | None:
    """The program shipped as a dependency, beside this Python; else one on the search path."""
    for name in ("graphviz-pure", "dot"):
        beside = Path(sysconfig.get_path("scripts")) / name
        if beside.is_file():
            return str(beside)
    return shutil.which("graphviz-pure") or shutil.which("dot")


def layouts(graphs: Sequence[str], jobs: int = JOBS) -> list[Layout]:
    """The layout of each DOT graph, in turn. The program is started at most ``jobs`` times, at once. Raises `NotDrawn`
    when there is no program, or it fails."""
    if not graphs:
        return []
    program = layout_program()
    if program is None:
        raise NotDrawn("there is no graph layout program (graphviz-pure or dot)")
    shares = [list(range(start, len(graphs), jobs)) for start in range(min(jobs, len(graphs)))]
    with ThreadPoolExecutor(len(shares)) as pool:
        answers = list(pool.map(lambda share: _run(program, [graphs[at] for at in share]), shares))
    found: dict[int, Layout] = {}
    for share, answer in zip(shares, answers, strict=True):
        found.update(zip(share, answer, strict=True))
    return [found[at] for at in range(len(graphs))]


def _run(program: str, graphs: list[str]) -> list[Layout]:
    command = [program, "-Kdot", "-Tjson0"]
    text = "".join(graphs).encode("utf-8", "replace")
    try:
        done = subprocess.run(command, input=text, capture_output=True, timeout=SECONDS, check=False)
    except (OSError, subprocess.SubprocessError) as problem:
        raise NotDrawn(f"the layout program could not be run ({type(problem).__name__})") from problem
    if done.returncode != 0:
        raise NotDrawn(f"the layout program failed (exit {done.returncode})")
    try:
        found = [_layout(data) for data in _documents(done.stdout.decode("utf-8"))]
    except (ValueError, KeyError, TypeError) as problem:
        raise NotDrawn(f"the layout program's answer was not understood ({type(problem).__name__})") from problem
    if len(found) != len(graphs):
        raise NotDrawn(f"the layout program drew {len(found)} of {len(graphs)} graphs")
    return found


def _documents(text: str) -> list[dict[str, Any]]:
    """The JSON documents that stand one after another in the text."""
    decoder = json.JSONDecoder()
    found: list[dict[str, Any]] = []
    at = 0
    while True:
        while at < len(text) and text[at].isspace():
            at += 1
        if at == len(text):
            return found
        data, at = decoder.raw_decode(text, at)
        found.append(data)


def _layout(data: dict[str, Any]) -> Layout:
    left, low, right, high = (float(one) for one in data["bb"].split(","))

    def point(text: str) -> Point:
        x, y = text.split(",")
        return float(x) - left, high - float(y)

    boxes: dict[str, Point] = {}
    frames: dict[str, tuple[float, float, float, float]] = {}
    for thing in data.get("objects", ()):
        if "pos" in thing:
            boxes[thing["name"]] = point(thing["pos"])
        elif "bb" in thing:
            x1, y1, x2, y2 = (float(one) for one in thing["bb"].split(","))
            frames[thing["name"].removeprefix("cluster_")] = (x1 - left, high - y2, x2 - left, high - y1)
    edges = sorted(data.get("edges", ()), key=lambda edge: int(edge["id"]))
    return Layout(right - left, high - low, boxes, frames, [_curve(edge["pos"], point) for edge in edges])


def _curve(text: str, point: Any) -> list[Point]:
    """The corners of a spline: control points in threes after the first; ``s,`` and ``e,`` tell the tips of arrows."""
    start = end = None
    controls: list[Point] = []
    for word in text.split(";")[0].split():
        if word.startswith("s,"):
            start = point(word[2:])
        elif word.startswith("e,"):
            end = point(word[2:])
        else:
            controls.append(point(word))
    corners = [controls[0]]
    for at in range(0, len(controls) - 3, 3):
        corners += _bezier(*controls[at : at + 4])
    return [*([start] if start else []), *corners, *([end] if end else [])]


def _bezier(a: Point, b: Point, c: Point, d: Point) -> list[Point]:
    """Corners after the first; as many as keep within about a tenth of a point."""
    bend = max(_bend(a, b, c), _bend(b, c, d))
    pieces = max(1, min(16, round((bend * 0.75 / 0.1) ** 0.5)))
    found = []
    for at in range(1, pieces + 1):
        t = at / pieces
        u = 1 - t
        p, q, r, s = u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t
        found.append((p * a[0] + q * b[0] + r * c[0] + s * d[0], p * a[1] + q * b[1] + r * c[1] + s * d[1]))
    return found


def _bend(a: Point, b: Point, c: Point) -> float:
    return abs(a[0] - 2 * b[0] + c[0]) + abs(a[1] - 2 * b[1] + c[1])
