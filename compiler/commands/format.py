"""``jackstay format``"""

from __future__ import annotations

import os
import stat
import sys
from argparse import Namespace
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from jackstay.commands.checking import CannotRun
from jackstay.commands.terminal import Terminal
from jackstay.source.files import SourceFile, source_from_bytes, unreadable

if TYPE_CHECKING:
    from jackstay.diagnostics.records import Problem

_STDIN = "standard input"
_NO_FORM = (
    "{name} is left as it is: in canonical form one of its lines would be longer than the compiler reads; "
    "a long comment may be the reason"
)


def _plans(paths: list[str]) -> list[Path]:
    """The files that the paths mean, each once, a folder's by name; what is hidden in a folder is passed over."""
    found: dict[str, Path] = {}
    for text in paths:
        path = Path(text)
        if path.is_dir():
            below = list(_below(path))
            if not below:
                raise CannotRun(f"there is no .stay file in {text}")
        elif path.suffix != ".stay":
            raise CannotRun(f"{text} is not a .stay file" if path.exists() else f"{text} does not exist")
        elif not os.path.lexists(path):
            raise CannotRun(f"{text} does not exist")
        else:
            below = [path]
        for one in below:
            found.setdefault(os.path.realpath(one), one)
    return list(found.values())


def _below(folder: Path) -> Iterator[Path]:
    def fail(error: OSError) -> None:
        raise CannotRun(f"{error.filename} cannot be looked into: {error.strerror or error}") from error

    for place, folders, files in os.walk(folder, onerror=fail):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        yield from (Path(place, name) for name in sorted(files) if name.endswith(".stay") and not name.startswith("."))


def _read(path: Path) -> bytes | Problem:
    shown = path.as_posix()
    try:
        if not path.is_file():  # a device, a pipe, a link to nowhere: never opened
            return unreadable(shown, "not a file")
        return path.read_bytes()
    except OSError as error:
        return unreadable(shown, error.strerror or "not readable")


class _Session:
    """What has been done so far, and how it is told."""

    def __init__(self, args: Namespace, terminal: Terminal) -> None:
        self.terminal = terminal
        self.check: bool = args.check
        self.diff: bool = args.diff
        self.changed = 0
        self.same = 0
        self.failed = 0

    def canonical(self, name: str, data: bytes | Problem) -> bytes | None:
        """The canonical bytes of a file, or None, and then it has been said why there are none."""
        from jackstay.formatting.canonical import canonical

        source = source_from_bytes(name, data) if isinstance(data, bytes) else data
        if isinstance(source, SourceFile):
            result = canonical(source)
            if result.text is not None:
                return result.text.encode("utf-8")
            self._tell(result.problems, source)
            if not result.problems:
                self.terminal.complain(_NO_FORM.format(name=name))
        else:
            self._tell([source], None)
        self.failed += 1
        return None

    def _tell(self, problems: list[Problem], source: SourceFile | None) -> None:
        """Findings go where complaints go: what is read from the output is text, a list of files, or a diff."""
        from jackstay.report.cells import printable
        from jackstay.report.text import render
        from jackstay.rules.registry import tell

        err = self.terminal.err
        findings = sorted((tell(problem, None) for problem in problems), key=lambda finding: finding.order())
        if findings:
            story = render(findings, {source.path: source} if source else {}, self.terminal.width)
            err.write(printable(story + "\n", getattr(err, "encoding", None)))

    def compare(self, name: str, before: bytes, after: bytes) -> bool:
        """Whether a file changes; with --diff, how."""
        if before == after:
            self.same += 1
            return False
        self.changed += 1
        if self.diff:
            self.put(_difference(name, before.decode("utf-8"), after.decode("utf-8")).encode("utf-8"))
        elif self.check:
            self.terminal.say(f"would change {name}\n")
        return True

    def put(self, data: bytes) -> None:
        """Bytes as they are, whatever the terminal's encoding and line ends: they are read by another program."""
        out = self.terminal.out
        if hasattr(out, "buffer"):
            out.flush()
            out.buffer.write(data)
            out.buffer.flush()
        else:
            out.write(data.decode("utf-8"))

    def code(self) -> int:
        return 2 if self.failed else 1 if self.check and self.changed else 0

    def summary(self) -> str:
        def files(number: int) -> str:
            return f"{number} file" if number == 1 else f"{number} files"

        parts = []
        if self.changed:
            parts.append(f"{files(self.changed)} {'would change' if self.check else 'formatted'}")
        if self.same:
            parts.append(f"{files(self.same)} in canonical form{' already' if not self.check else ''}")
        if self.failed:
            parts.append(f"{files(self.failed)} left alone, with what is wrong told")
        return ", ".join(parts)


def _difference(name: str, before: str, after: str) -> str:
    """A unified diff that `patch` takes, without dates."""
    from difflib import unified_diff

    def lines(text: str) -> list[str]:
        parts = [f"{line}\n" for line in text.split("\n")]
        last = parts.pop()[:-1]
        return [*parts, f"{last}\n\\ No newline at end of file\n"] if last else parts

    return "".join(unified_diff(lines(before), lines(after), name, name))


def _replace(path: Path, data: bytes) -> None:
    """Put the new text in place, through a link to the file itself, with the permissions that the file has."""
    from jackstay.commands.writing import replace_file

    place = Path(os.path.realpath(path))
    if not os.access(place, os.W_OK):
        raise PermissionError(0, "it is write-protected")
    replace_file(place, data, stat.S_IMODE(place.stat().st_mode))


def _filter(session: _Session) -> int:
    """Standard input to standard output."""
    data = sys.stdin.buffer.read()
    after = session.canonical(_STDIN, data)
    if after is not None:
        session.compare(_STDIN, data, after)
        if not (session.check or session.diff):
            session.put(after)
    return session.code()


def run(args: Namespace, terminal: Terminal) -> int:
    session = _Session(args, terminal)
    if "-" in args.paths:
        if len(args.paths) > 1:
            raise CannotRun("standard input (-) goes alone: its text is what the output is")
        return _filter(session)
    for path in _plans(args.paths):
        name = path.as_posix()
        before = _read(path)
        after = session.canonical(name, before)
        if after is None or (isinstance(before, bytes) and not session.compare(name, before, after)):
            continue
        if session.check or session.diff:
            continue
        try:
            _replace(path, after)
        except OSError as error:
            session.changed -= 1
            session.failed += 1
            terminal.complain(f"{name} cannot be written: {error.strerror or error}")
        else:
            terminal.say(f"formatted {name}\n")
    if not session.diff:
        terminal.say(session.summary() + "\n")
    return session.code()
