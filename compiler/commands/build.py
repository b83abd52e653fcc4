"""``jackstay build``"""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from jackstay.commands.checking import CannotRun, checked, gather, the_one, today
from jackstay.commands.telling import tell_findings
from jackstay.commands.terminal import Terminal
from jackstay.commands.writing import NotOurs, replace_files
from jackstay.diagnostics.records import Severity

MOST_SAMPLES = 1_000_000


def run(args: Namespace, terminal: Terminal) -> int:
    if args.schema:
        from importlib.resources import files

        terminal.say(files("jackstay.outputs").joinpath("plan.schema.json").read_text(encoding="utf-8"))
        return 0
    if args.output is None:
        raise CannotRun("name the folder to write into: -o DIR")
    if not 0 <= args.forecast <= MOST_SAMPLES:
        raise CannotRun(f"--forecast is a number from 0 to {MOST_SAMPLES}")
    from jackstay.commands.making import make
    from jackstay.outputs.build import PARTS, UnknownOutput, chosen, job_of

    try:
        parts, asked = chosen(args.only or ())
    except UnknownOutput as unknown:
        raise CannotRun(f"no output is called {unknown}; there are {', '.join(sorted(PARTS))}") from None
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
    papers = [paper for paper in dict.fromkeys(args.paper or ["a4"]) if paper != "none"]
    job = job_of(result, failed, papers, args.forecast)
    made = make(job, parts)
    try:
        written = replace_files(
            Path(args.output),
            {name: data for name, data in made.items() if asked(name)},
            rest=bool(args.only),
            overwrite=args.overwrite,
        )
    except NotOurs as error:
        left = len(error.names) - 3
        held = ", ".join(error.names[:3]) + (f" and {left} more" if left > 0 else "")
        raise CannotRun(
            f"nothing was written: {args.output} holds {held}, which no build has "
            "written there. Name another folder, or let --overwrite replace it"
        ) from error
    except OSError as error:
        raise CannotRun(f"{args.output} cannot be written: {error.strerror or error}") from error
    marked = ", marked unchecked" if failed else ""
    terminal.say(f"wrote {written} file{'' if written == 1 else 's'} to {args.output}{marked}\n")
    return 1 if failed else 0
