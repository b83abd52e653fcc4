"""``jackstay check --watch``: check again whenever a file is saved.

What was found before is kept (`keeping`), so that a saved line costs about as much as what it changes. Files are asked
for their time and size a few times a second; where either is new they are read, and only another text is a change.
"""

from __future__ import annotations

import io
import os
import time
from argparse import Namespace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from jackstay.commands.check import look
from jackstay.commands.checking import CannotRun
from jackstay.commands.terminal import Terminal
from jackstay.source.files import SourceFile, read_source
from jackstay.source.library import SUFFIX

if TYPE_CHECKING:
    from jackstay.keeping.session import Session
    from jackstay.pipeline import Checked

_EVERY = 0.25  # seconds between two looks
_WRITING = 0.05  # an editor may save in several goes: what changes again within so many seconds is waited for ...
_MOST_GOES = 20  # ... so often at most
_FRESH = 3_000_000_000  # nanoseconds: what was saved so lately is read again, since some file systems tell coarse times
_SETTINGS = "jackstay.toml"

Texts = dict[Path, str | None]  # None: there is no such file


def watch(args: Namespace, terminal: Terminal) -> int:
    """Until Ctrl-C. Returns what the last check came to: 0, 1, or 2 if it could not run."""
    if args.certificate is not None or args.write_baseline is not None:
        raise CannotRun("--watch only looks: leave out what is to be written")
    sessions, files = Sessions(), Files()
    seen: Texts | None = None
    try:
        while True:
            now = files.texts(_watched(args, sessions))
            if seen is None or now != seen:
                now = _settled(args, sessions, files, now)
                _tell(args, terminal, sessions, _changed(seen, now))
                seen = {**files.texts(_watched(args, sessions)), **now, **sessions.texts()}
                seen = {path: seen[path] for path in _watched(args, sessions)}
            else:
                time.sleep(_EVERY)
    except KeyboardInterrupt:
        if terminal.out.isatty():
            terminal.say("\n")
        return sessions.code


class Sessions:
    """A session for each plan, the texts that the last check has read, and what it came to."""

    def __init__(self) -> None:
        self.code = 0
        self.by_plan: dict[Path, Session] = {}
        self.read: dict[Path, set[str]] = {}

    def check(self, plan: Path, day: date, *more: Any) -> Checked:
        from jackstay.keeping.session import Session

        if plan not in self.by_plan:
            self.by_plan[plan] = Session(plan)
        checked = self.by_plan[plan].check(day, *more)
        for name, source in checked.sources.items():
            if not name.startswith("stdlib:"):
                self.read.setdefault(plan.parent / name, set()).add(source.text)
        return checked

    def texts(self) -> Texts:
        """A file that was saved while it was read for two plans has a text that none has, so that it is read again."""
        return {path: texts.copy().pop() if len(texts) == 1 else "\0" for path, texts in self.read.items()}


class Files:
    """Texts as the compiler reads them, kept for as long as time and size of a file stay."""

    def __init__(self) -> None:
        self.known: dict[Path, tuple[tuple[int, int, int], str]] = {}

    def texts(self, paths: list[Path]) -> Texts:
        return {path: self._text(path) for path in paths}

    def _text(self, path: Path) -> str | None:
        try:
            found = path.stat()
        except (OSError, ValueError):
            self.known.pop(path, None)
            return None
        stamp = (found.st_mtime_ns, found.st_size, found.st_ino)
        known = self.known.get(path)
        if known is None or known[0] != stamp or abs(time.time_ns() - found.st_mtime_ns) < _FRESH:
            read = read_source(str(path), path)
            known = stamp, read.text if isinstance(read, SourceFile) else f"\0{read.facts['reason']}"
            self.known[path] = known
        return known[1]


def _watched(args: Namespace, sessions: Sessions) -> list[Path]:
    """What the plans read, what lies beside it, the project's settings, and what the command names."""
    found: dict[Path, None] = dict.fromkeys(sessions.read)
    folders: dict[Path, None] = dict.fromkeys(path.parent for path in found)
    for text in args.paths:
        path = Path(text)
        if path.is_dir():
            found.update(dict.fromkeys(path.glob("**/*" + SUFFIX)))
            folders[path] = None
        else:
            found[path] = None
            folders[path.parent] = None
    for folder in list(folders):
        found.update(dict.fromkeys(folder.glob("*" + SUFFIX)))
    for folder in {Path(os.path.abspath(folder)) for folder in folders}:
        found.update(dict.fromkeys(above / _SETTINGS for above in (folder, *folder.parents)))
    if getattr(args, "baseline", None):
        found[Path(args.baseline)] = None
    return sorted(found)


def _settled(args: Namespace, sessions: Sessions, files: Files, now: Texts) -> Texts:
    """The texts when nobody is writing them any more."""
    for _ in range(_MOST_GOES):
        time.sleep(_WRITING)
        again = files.texts(_watched(args, sessions))
        if again == now:
            break
        now = again
    return now


class _Kept(io.StringIO):
    """Keeps what is said until it is shown. encoding: of the stream that it goes to, which may lack our signs."""

    def __init__(self, stream: TextIO) -> None:
        super().__init__()
        self._encoding = getattr(stream, "encoding", None)

    @property
    def encoding(self) -> str:  # type: ignore[override]
        return self._encoding or "ascii"


def _near(path: Path) -> str:
    """As seen from here, if it is below."""
    here = Path.cwd()
    return str(path.relative_to(here) if path.is_relative_to(here) else path)


def _changed(seen: Texts | None, now: Texts) -> list[str]:
    if seen is None:
        return []
    return [_near(path) for path in sorted({*seen, *now}) if seen.get(path) != now.get(path)]


def _tell(args: Namespace, terminal: Terminal, sessions: Sessions, changed: list[str]) -> None:
    """Check all, and say it below a line that says when and why. The line of `--format json` and its like is on the
    error stream: the other holds the reports and nothing else."""
    out, err = _Kept(terminal.out), _Kept(terminal.err)
    within = Terminal(out, err, terminal.width, terminal.color)
    sessions.read = {}
    began = time.perf_counter()
    try:
        sessions.code = look(args, within, sessions.check)
    except CannotRun as error:
        within.complain(str(error))
        sessions.code = 2
    except Exception as defect:
        if os.environ.get("JACKSTAY_DEBUG"):
            raise
        within.complain(f"a mistake in Jackstay itself, not in the plan ({type(defect).__name__}: {str(defect)[:200]})")
        sessions.code = 2
    took = f"{(time.perf_counter() - began) * 1000:.0f} ms"
    more = f" and {len(changed) - 2} more" if len(changed) > 2 else ""
    why = f"{', '.join(changed[:2])}{more} changed: checked again" if changed else "checked; Ctrl-C ends"
    head = f"-- {time.strftime('%H:%M:%S')} {why} ({took})\n"
    if args.format == "text":
        terminal.say(head)
    else:
        Terminal(terminal.err, terminal.err, terminal.width).say(head)
    terminal.say(out.getvalue())
    terminal.out.flush()
    terminal.err.write(err.getvalue())
    terminal.err.flush()
