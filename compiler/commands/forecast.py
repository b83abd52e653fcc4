"""``jackstay forecast``"""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Callable

from jackstay.commands.checking import CannotRun, checked, gather, the_one, today
from jackstay.commands.terminal import Terminal
from jackstay.diagnostics.records import Severity

MOST_SAMPLES = 1_000_000
REFUSED = "nothing was forecast: the plan has errors, so its order and its times are not to be relied on"


class Progress:
    """One line that is written over as the work goes on: on a terminal's error stream, and nowhere else."""

    def __init__(self, terminal: Terminal) -> None:
        self._stream = terminal.err if terminal.err.isatty() else None
        self._shown = ""

    def of(self, name: str) -> Callable[[float], None]:
        def tell(share: float) -> None:
            text = f"{name} {share:4.0%}"
            if self._stream is not None and text != self._shown:
                self._stream.write(f"\r{text}")
                self._stream.flush()
                self._shown = text

        return tell

    def over(self) -> None:
        if self._stream is not None and self._shown:
            self._stream.write("\r" + " " * len(self._shown) + "\r")
            self._stream.flush()


def run(args: Namespace, terminal: Terminal) -> int:
    if not 1 <= args.samples <= MOST_SAMPLES:
        raise CannotRun(f"--samples is a number from 1 to {MOST_SAMPLES}")
    if not 0 <= args.seed < 2**64:
        raise CannotRun("--seed is a number from 0 to 2^64 - 1")
    plan = the_one(args.path)
    result = checked(plan, today(args.today))
    outcome = gather([(plan, result)])
    if outcome.has(Severity.ERROR) or result.flow is None:
        if args.format == "text":
            from jackstay.commands.telling import tell_findings

            tell_findings(outcome, terminal)
        terminal.complain(REFUSED)
        return 1
    from jackstay.outputs import forecast as page
    from jackstay.timing.sampling_forecast import forecast

    progress = Progress(terminal)
    found = []
    try:
        for flow in result.flow.excursions:
            of = progress.of(f"forecast of {flow.excursion.name}")
            found.append((flow, forecast(result.world, flow, args.samples, args.seed, progress=of)))
    finally:
        progress.over()
    make = page.as_json if args.format == "json" else page.as_text
    terminal.say(make(result, found, args.samples, args.seed))
    return 0
