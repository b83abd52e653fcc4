"""Where a command's words go: width, colour and encoding of the streams, asked once."""

from __future__ import annotations

import os
import shutil
import sys
from typing import TextIO

from jackstay.source.record import Record

WIDEST = 110  # prose is hard to read beyond; excerpts rarely need more


class Terminal(Record):
    """out, err: the streams. width: in cells. color: whether findings are painted on ``out``."""

    out: TextIO
    err: TextIO
    width: int = 80
    color: bool = False

    @staticmethod
    def here() -> Terminal:
        """The terminal of this process. COLUMNS, NO_COLOR and FORCE_COLOR are obeyed."""
        from jackstay.report.paint import wanted

        shows = sys.stdout.isatty() and os.environ.get("TERM") != "dumb"
        width = shutil.get_terminal_size((80, 24)).columns
        color = wanted(shows, os.environ.get("NO_COLOR"), os.environ.get("FORCE_COLOR"))
        return Terminal(sys.stdout, sys.stderr, min(max(width, 32), WIDEST), color)

    def say(self, text: str) -> None:
        _write(self.out, text)

    def complain(self, text: str) -> None:
        """One message about what could not be done, on the error stream."""
        from jackstay.report.cells import shown, wrap

        rows = wrap(shown(f"jackstay: {text}"), self.width)
        _write(self.err, "\n".join(rows) + "\n")


def _write(stream: TextIO, text: str) -> None:
    from jackstay.report.cells import printable

    stream.write(printable(text, getattr(stream, "encoding", None)))
