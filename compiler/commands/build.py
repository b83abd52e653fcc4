"""``jackstay build``"""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from jackstay.commands.check import tell_findings
from jackstay.commands.checking import CannotRun, checked, gather, the_one, today
from jackstay.commands.terminal import Terminal
from jackstay.commands.writing import replace_files
from jackstay.diagnostics.records import Severity


def run(args: Namespace, terminal: Terminal) -> int:
    if args.schema:
        from jackstay.outputs.data import schema_text

        terminal.say(schema_text())
        return 0
    if args.output is None:
        raise CannotRun("name the folder to write into: -o DIR")
    plan = the_one(args.path)
    result = checked(plan, today(args.today))
    outcome = gather([(plan, result)])
    tell_findings(outcome, terminal)
    failed = outcome.has(Severity.ERROR)
    if failed and not args.force:
        terminal.complain(
            "nothing was written: the plan has errors (--force writes outputs that say they are unchecked)"
        )
        return 1
    from jackstay.outputs.build import build

    try:
        written = replace_files(Path(args.output), build(result, failed))
    except OSError as error:
        raise CannotRun(f"{args.output} cannot be written: {error.strerror or error}") from error
    marked = ", marked unchecked" if failed else ""
    terminal.say(f"wrote {written} file{'' if written == 1 else 's'} to {args.output}{marked}\n")
    return 1 if failed else 0
