"""``jackstay trace``"""

from __future__ import annotations

from argparse import Namespace

from jackstay.commands.checking import CannotRun, checked, the_one, today
from jackstay.commands.terminal import Terminal


def run(args: Namespace, terminal: Terminal) -> int:
    at = _place(args.at) if args.at is not None else None
    result = checked(the_one(args.path), today(args.today))
    try:
        if at is None:
            from jackstay.outputs.trace import trace_text

            text = trace_text(result, args.thing)
        else:
            from jackstay.outputs.trace_at import trace_at

            text = trace_at(result, args.thing, *at)
    except LookupError as error:
        raise CannotRun(str(error.args[0]) if error.args else f"there is no {args.thing}") from None
    terminal.say(text if text.endswith("\n") else text + "\n")
    return 0


def _place(text: str) -> tuple[str, int]:
    """``second.stay:40``"""
    path, colon, line = text.rpartition(":")
    if not (colon and path and line.isascii() and line.isdigit()):
        raise CannotRun(f"{text} is not a place: write the file and the line of a step, as second.stay:40")
    return path.replace("\\", "/"), int(line)
