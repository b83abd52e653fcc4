"""``jackstay check``"""

from __future__ import annotations

from argparse import Namespace

from jackstay.commands.checking import Outcome, checked, chosen, gather, today
from jackstay.commands.terminal import Terminal
from jackstay.diagnostics.records import Severity


def tell_findings(outcome: Outcome, terminal: Terminal) -> None:
    """The findings as stories, and the closing line."""
    from jackstay.report.cells import wrap
    from jackstay.report.summary import summary
    from jackstay.report.text import render

    if outcome.findings:
        terminal.say(render(outcome.findings, outcome.sources, terminal.width, terminal.color) + "\n")
    closing = summary(outcome.findings, outcome.files, outcome.undecided)
    terminal.say("\n".join(wrap(closing, terminal.width)) + "\n")


def run(args: Namespace, terminal: Terminal) -> int:
    if args.schema:
        from jackstay.report.json import schema_text

        terminal.say(schema_text())
        return 0
    day = today(args.today)
    outcome = gather((plan, checked(plan, day)) for plan in chosen(args.paths))
    if args.format == "json":
        from jackstay.report import json

        terminal.say(json.render(outcome.findings, outcome.files, outcome.undecided))
    elif args.format == "line":
        from jackstay.report import line

        terminal.say(line.render(outcome.findings))
    else:
        tell_findings(outcome, terminal)
    if outcome.has(Severity.ERROR):
        return 1
    if args.strict and (outcome.undecided or outcome.has(Severity.WARNING, Severity.UNDECIDED)):
        return 1
    return 0
