"""``jackstay check``"""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from jackstay.commands.checking import CannotRun, Outcome, checked, chosen, gather, the_one, today
from jackstay.commands.plans import covers
from jackstay.commands.project import project_root
from jackstay.commands.telling import tell
from jackstay.commands.terminal import Terminal
from jackstay.diagnostics.records import Severity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from jackstay.commands.checking import Check
    from jackstay.pipeline import Checked


def _certify(result: Checked, file: str, terminal: Terminal, told: bool) -> int:
    """Write the certificate of a plan that passed. One whose errors are allowed has not: nobody can vouch for it."""
    from jackstay.commands.writing import replace_file
    from jackstay.outputs.certificate import certificate
    from jackstay.rules.registry import rule

    allowed = sorted({problem.rule for problem in result.problems if rule(problem.rule).severity is Severity.ERROR})
    if allowed:
        terminal.complain(f"no certificate was written: what is wrong is only allowed ({', '.join(allowed)})")
        return 1
    try:
        replace_file(Path(file), certificate(result))
    except OSError as error:
        raise CannotRun(f"{file} cannot be written: {error.strerror or error}") from error
    if told:
        terminal.say(f"wrote the certificate to {file}\n")
    return 0


def run(args: Namespace, terminal: Terminal) -> int:
    if args.schema:
        from jackstay.report.json import schema_text

        terminal.say(schema_text())
        return 0
    if args.watch:
        from jackstay.commands.watch import watch

        return watch(args, terminal)
    if args.cache is not None and args.certificate is None:
        from jackstay.commands.cached import Cache

        return look(args, terminal, Cache(Path(args.cache), terminal).check)
    return look(args, terminal)


def look(args: Namespace, terminal: Terminal, by: Check | None = None) -> int:
    """One check of all that is asked for, told. by: what checks a plan; None: the pipeline."""
    day = today(args.today)
    if args.certificate is not None and len(args.paths) > 1:
        raise CannotRun("a certificate is of one plan: name one")
    if args.write_baseline is not None and (args.baseline is not None or args.since is not None):
        raise CannotRun("--write-baseline writes down every finding: leave out --baseline and --since")
    known = None
    if args.baseline is not None:
        from jackstay.commands.known import read_baseline

        known = read_baseline(args.baseline)
    plans = chosen(args.paths) if args.certificate is None else [the_one(args.paths[0])]
    results: Iterator[tuple[Path, Checked]] = ((plan, checked(plan, day, by)) for plan in plans)
    if args.certificate is not None:
        results = iter([first := next(results)])
    outcome = gather(results)
    root = project_root(plans)
    if args.write_baseline is not None:
        return _write_down(outcome, args.write_baseline, terminal, root)
    if known is not None:
        from jackstay.commands.known import without_baseline

        without_baseline(outcome, args.baseline, known, root, covers(root, plans))
    if args.since is not None:
        from jackstay.commands.known import without_older

        without_older(outcome, args.since, args.paths, day)
    failed = outcome.has(Severity.ERROR)
    if args.strict and (outcome.undecided or outcome.has(Severity.WARNING, Severity.UNDECIDED)):
        failed = True
    tell(outcome, args.format, terminal, root, failed, args.strict)
    if args.certificate is None:
        return 1 if failed else 0
    if failed:
        terminal.complain("no certificate was written: the plan has not passed its check")
        return 1
    return _certify(first[1], args.certificate, terminal, args.format == "text")


def _write_down(outcome: Outcome, file: str, terminal: Terminal, root: Path) -> int:
    """The findings as they are become the baseline, apart from those that keep plans from being followed."""
    from jackstay.commands.known import write_baseline
    from jackstay.report.summary import counted

    written, refused = write_baseline(outcome, file, root)
    terminal.say(f"{file} knows {counted(written, 'finding')} now\n")
    if refused:
        terminal.complain(
            f"{counted(refused, 'error')} cannot be put into a baseline: a plan that cannot be read, or names what is "
            "not there, is not followed, and nobody knows what else is wrong with it"
        )
    return 1 if refused else 0
