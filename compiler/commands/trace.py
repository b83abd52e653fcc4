"""``jackstay trace``"""

from __future__ import annotations

from argparse import Namespace

from jackstay.commands.checking import CannotRun, checked, the_one, today
from jackstay.commands.terminal import Terminal


def run(args: Namespace, terminal: Terminal) -> int:
    from jackstay.outputs.trace import trace_text

    result = checked(the_one(args.path), today(args.today))
    try:
        text = trace_text(result, args.thing)
    except LookupError as error:
        raise CannotRun(str(error.args[0]) if error.args else f"there is no {args.thing}") from None
    terminal.say(text if text.endswith("\n") else text + "\n")
    return 0
