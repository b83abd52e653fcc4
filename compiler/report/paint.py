"""Colour. It only decorates: every painted text says the same without it."""

from __future__ import annotations

from jackstay.diagnostics.records import Severity

_CODES = {"bold": "1", "dim": "2", "red": "1;31", "yellow": "1;33", "magenta": "1;35", "cyan": "36", "green": "32"}
OF_SEVERITY = {
    Severity.ERROR: "red",
    Severity.WARNING: "yellow",
    Severity.UNDECIDED: "magenta",
    Severity.NOTE: "cyan",
}


class Paint:
    """Paints, or hands the text back when colour is off."""

    def __init__(self, on: bool) -> None:
        self.on = on

    def __call__(self, style: str, text: str) -> str:
        return f"\x1b[{_CODES[style]}m{text}\x1b[0m" if self.on and text else text


def wanted(terminal: bool, no_color: str | None, force_color: str | None) -> bool:
    """Whether to paint. no_color, force_color: the two environment variables; an empty one does not count, NO_COLOR
    wins over FORCE_COLOR, and ``FORCE_COLOR=0`` means no."""
    if no_color:
        return False
    if force_color:
        return force_color != "0"
    return terminal
