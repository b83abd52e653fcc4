"""``jackstay compare``"""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from jackstay.commands.checking import CannotRun, checked, the_one, today
from jackstay.commands.terminal import Terminal
from jackstay.source.revisions import Laid, NoRevision, laid_out

if TYPE_CHECKING:
    import datetime

    from jackstay.comparing.text import Wrap
    from jackstay.pipeline import Checked


def run(args: Namespace, terminal: Terminal) -> int:
    """Exit code: 0 nothing has changed, 1 something has, 2 could not compare."""
    from jackstay.comparing.compare import compare
    from jackstay.comparing.reading import Side
    from jackstay.comparing.viewpoint import UnknownActor, seen_by

    if args.format == "html" and args.output is None:
        raise CannotRun("a page is written to a file: name it with -o FILE")
    day = today(args.today)
    with _plan(args.old) as old, _plan(args.new) as new:
        sides = Side(_checked(old, day)), Side(_checked(new, day))
        shown = old[1].shown, new[1].shown
        comparison = compare(*sides)
        viewer = None
        if args.actor is not None:
            try:
                comparison, viewer = seen_by(comparison, args.actor)
            except UnknownActor as unknown:
                known = ", ".join(map(str, unknown.args)) or "none"
                raise CannotRun(f"no actor is called {args.actor} on either side; there are: {known}") from None
        if args.format == "html":
            from jackstay.comparing.page import as_page

            made = as_page(comparison, sides, shown, viewer)
        elif args.format == "json":
            from jackstay.comparing.data import as_json

            made = as_json(comparison, shown, viewer)
        elif args.format == "markdown":
            from jackstay.comparing.text import as_markdown

            made = as_markdown(comparison, shown, viewer)
        else:
            from jackstay.comparing.text import as_text

            made = as_text(comparison, shown, wrapped(terminal.width if args.output is None else 100), viewer)
    if args.output is None:
        terminal.say(made)
    else:
        _write(Path(args.output), made)
        if args.format != "json":
            from jackstay.comparing.sections import summary

            terminal.say(f"{summary(comparison)} Wrote {args.output}.\n")
    return 1 if comparison.changed else 0


@contextmanager
def _plan(text: str) -> Iterator[tuple[Path, Laid]]:
    """The one plan that an argument means, on disk while it is compared."""
    from jackstay.policy.settings import FILE

    try:
        with laid_out(text, also=(FILE,)) as laid:
            try:
                plan = the_one(str(laid.path))
            except CannotRun as problem:  # told as the user named it, not where it was laid out
                raise CannotRun(str(problem).replace(str(laid.path), laid.shown)) from None
            yield plan, laid
    except NoRevision as problem:
        raise CannotRun(str(problem)) from None


def _checked(side: tuple[Path, Laid], day: datetime.date) -> Checked:
    plan, laid = side
    try:
        return checked(plan, day)
    except CannotRun as problem:
        raise CannotRun(str(problem).replace(str(plan), laid.shown)) from None


def wrapped(width: int) -> Wrap:
    from jackstay.report.cells import shown, wrap

    def rows(text: str, first: str, rest: str) -> list[str]:
        """Wrapped with what stands before the first line, and before the others."""
        lines = wrap(shown(text), max(width - len(rest), 20))
        return [(rest if at else first) + line for at, line in enumerate(lines or [""])]

    return rows


def _write(path: Path, text: str) -> None:
    from jackstay.commands.writing import replace_file

    try:
        replace_file(path, text.encode("utf-8"))
    except OSError as error:
        raise CannotRun(f"{path} cannot be written: {error.strerror or error}") from error
