"""``jackstay explain``"""

from __future__ import annotations

from argparse import Namespace

from jackstay.commands.checking import CannotRun
from jackstay.commands.terminal import Terminal
from jackstay.rules import registry


def _list(terminal: Terminal, only: str | None = None) -> str:
    from jackstay.report.cells import wrap
    from jackstay.report.paint import Paint

    paint = Paint(terminal.color)
    rows: list[str] = []
    before = ""
    for name in registry.all_names():
        family = registry.family(name)
        if only not in (None, family):
            continue
        if family != before:
            rows += ["", paint("bold", family)] if rows else [paint("bold", family)]
            before = family
        rule = registry.rule(name)
        rows.append(f"  {paint('cyan', name)} ({rule.severity.value})")
        rows += ["    " + row for row in wrap(rule.summary, terminal.width - 4)]
    return "\n".join(rows) + "\n"


def run(args: Namespace, terminal: Terminal) -> int:
    if args.rule is None:
        terminal.say(_list(terminal))
        return 0
    if args.rule in registry.families():
        terminal.say(_list(terminal, args.rule))
        return 0
    if not registry.exists(args.rule):
        from jackstay.diagnostics.suggest import did_you_mean

        hint = (
            did_you_mean(args.rule, [*registry.all_names(), *registry.families()])
            or "`jackstay explain` lists the rules and their families"
        )
        raise CannotRun(f"there is no rule and no family of rules called {args.rule}; {hint}")
    from jackstay.report.page import render

    terminal.say(render(registry.page(args.rule), terminal.width, terminal.color))
    return 0
