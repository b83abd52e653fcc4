"""``jackstay check``"""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from jackstay.commands.checking import CannotRun, Outcome, checked, chosen, gather, the_one, today
from jackstay.commands.terminal import Terminal
from jackstay.diagnostics.records import Severity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from jackstay.pipeline import Checked


def tell_findings(outcome: Outcome, terminal: Terminal) -> None:
    """The findings as stories, and the closing line."""
    from jackstay.report.cells import wrap
    from jackstay.report.summary import summary
    from jackstay.report.text import render

    if outcome.findings:
        terminal.say(render(outcome.findings, outcome.sources, terminal.width, terminal.color) + "\n")
    closing = summary(outcome.findings, outcome.files, outcome.undecided)
    terminal.say("\n".join(wrap(closing, terminal.width)) + "\n")


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
    day = today(args.today)
    if args.certificate is not None and len(args.paths) > 1:
        raise CannotRun("a certificate is of one plan: name one")
    plans = chosen(args.paths) if args.certificate is None else [the_one(args.paths[0])]
    results: Iterator[tuple[Path, Checked]] = ((plan, checked(plan, day)) for plan in plans)
    if args.certificate is not None:
        results = iter([first := next(results)])
    outcome = gather(results)
    if args.format == "json":
        from jackstay.report import json

        terminal.say(json.render(outcome.findings, outcome.files, outcome.undecided))
    elif args.format == "line":
        from jackstay.report import line

        terminal.say(line.render(outcome.findings))
    else:
        tell_findings(outcome, terminal)
    failed = outcome.has(Severity.ERROR)
    if args.strict and (outcome.undecided or outcome.has(Severity.WARNING, Severity.UNDECIDED)):
        failed = True
    if args.certificate is None:
        return 1 if failed else 0
    if failed:
        terminal.complain("no certificate was written: the plan has not passed its check")
        return 1
    return _certify(first[1], args.certificate, terminal, args.format == "text")
