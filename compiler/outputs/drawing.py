"""DOT text to SVG, by the layout program that comes with Jackstay, else by one that is installed.

The one module of the outputs that starts a program. The program is given the text and gives back a drawing."""

from __future__ import annotations

import re
import shutil
import subprocess
import sysconfig
from pathlib import Path

SECONDS = 120
NOT_DRAWN = "order.svg was not drawn: {why}. order.dot holds the same diagram as text.\n"


# Boxes are measured for a fixed-width face, the widest there is, and shown in whatever plain face the reader has: the
# text fits its box with any of them.
MEASURED_IN = "Courier"
SHOWN_IN = "Liberation Sans, Arial, Helvetica, DejaVu Sans, sans-serif"


class NotDrawn(Exception):
    """Why there is no drawing."""


def layout_program() -> str | None:
    """The program shipped as a dependency, beside this Python; else one on the search path."""
    for name in ("graphviz-pure", "dot"):
        beside = Path(sysconfig.get_path("scripts")) / name
        if beside.is_file():
            return str(beside)
    return shutil.which("graphviz-pure") or shutil.which("dot")


def draw(dot: str) -> bytes:
    """The drawing. Raises `NotDrawn` when there is no program, or it fails."""
    program = layout_program()
    if program is None:
        raise NotDrawn("there is no graph layout program (graphviz-pure or dot)")
    try:
        done = subprocess.run(
            [program, "-Kdot", "-Tsvg"], input=dot.encode("utf-8"), capture_output=True, timeout=SECONDS, check=False
        )
    except (OSError, subprocess.SubprocessError) as problem:
        raise NotDrawn(f"the layout program could not be run ({type(problem).__name__})") from problem
    if done.returncode != 0 or b"<svg" not in done.stdout:
        raise NotDrawn(f"the layout program failed (exit {done.returncode})")
    return plain(done.stdout)


def plain(svg: bytes) -> bytes:
    """Without comments: they name the program's version, and the same plan is to give the same bytes."""
    text = re.sub(rb"<!--.*?-->\s*", b"", svg, flags=re.DOTALL)
    text = re.sub(rb'font-family="[^"]*"', b'font-family="' + SHOWN_IN.encode() + b'"', text)
    return text.replace(b"\r\n", b"\n")
