"""``jackstay check --cache DIR``: results of earlier checks, in a folder that may be shared, deleted and damaged.

An entry is written aside and renamed, so that nobody meets half of one, and a check that is killed leaves nothing but a
file that the next ones sweep away. What cannot be read, is damaged, or was made by another compiler is no entry.
Nothing in a cache is ever run. Its sums tell of damage, not of malice: who may write to a shared cache can make up
findings, as who may change the compiler can.
"""

from __future__ import annotations

import contextlib
import os
import stat
import sys
import tempfile
import time
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from jackstay.commands.terminal import Terminal
from jackstay.keeping.results import MOST, NotedStages, digest, key_of, known, written
from jackstay.pipeline import Checked, check, find, judge, unhindered
from jackstay.source.packaged import data_folder

if TYPE_CHECKING:
    from jackstay.policy.settings import PlanSettings

_ASIDE = "aside-"
_ENTRY = ".result"
_MOST_ENTRIES, _KEPT_ENTRIES = 2_000, 1_500
_OLD = 3_600  # seconds after which a file that lies aside was left there


class Cache:
    """A folder of entries. Of what fails, only the first failure to write is told."""

    def __init__(self, folder: Path, terminal: Terminal) -> None:
        self.folder = folder
        self.terminal = terminal
        self.compiler = compiler_digest()
        self.told = False

    def check(self, plan: Path, day: date, settings: PlanSettings | None = None) -> Checked:
        """As `pipeline.check`, but that nothing can be asked of the world and the flow of what was found before."""
        if settings is not None and settings.settings.source is None:
            return check(plan, day, settings)  # settings that cannot be read: nobody knows what they would say
        with unhindered():
            key = key_of(self.compiler, plan, "" if settings is None else _of(settings))
            entry = self.read(key)
            found = known(key, entry, plan) if entry is not None else None
            if found is None:
                stages = NotedStages()
                found = find(plan, stages, settings)
                if stages.library is not None:
                    self.write(key, written(key, found, stages.library.answers, entry))
            return judge(found, day, settings)

    def read(self, key: str) -> bytes | None:
        try:
            handle = os.open(self.folder / (key + _ENTRY), os.O_RDONLY | getattr(os, "O_NONBLOCK", 0))
            with os.fdopen(handle, "rb") as stream:
                about = os.fstat(handle)
                if not stat.S_ISREG(about.st_mode) or about.st_size > MOST:
                    return None
                return stream.read(MOST)
        except OSError:
            return None

    def write(self, key: str, data: bytes) -> None:
        if len(data) > MOST:
            return
        aside = None
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            handle, aside = tempfile.mkstemp(prefix=_ASIDE, dir=self.folder)
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
            os.chmod(aside, 0o644)  # others may share it
            os.replace(aside, self.folder / (key + _ENTRY))
            self._sweep()
        except OSError as error:
            if aside is not None:
                with contextlib.suppress(OSError):
                    os.unlink(aside)
            if not self.told:
                self.told = True
                why = error.strerror or str(error)
                self.terminal.complain(f"the cache in {self.folder} cannot be written ({why}): checked without it")

    def _sweep(self) -> None:
        """Take away what was left aside, and the oldest entries where there are too many."""
        entries: list[tuple[float, str]] = []
        with os.scandir(self.folder) as found:
            for one in found:
                with contextlib.suppress(OSError):
                    if one.name.endswith(_ENTRY):
                        entries.append((one.stat().st_mtime, one.path))
                    elif one.name.startswith(_ASIDE) and time.time() - one.stat().st_mtime > _OLD:
                        os.unlink(one.path)
        if len(entries) > _MOST_ENTRIES:
            for _, path in sorted(entries)[: len(entries) - _KEPT_ENTRIES]:
                with contextlib.suppress(OSError):
                    os.unlink(path)


def _of(settings: PlanSettings) -> str:
    source = settings.settings.source
    return digest(source.text if source is not None else "", settings.prefix, settings.today.isoformat())


def compiler_digest() -> str:
    """Of all that the findings are made by: another compiler's results are not taken."""
    total = sha256(repr(sys.version_info[:2]).encode())
    package = Path(__file__).resolve().parent.parent
    grammar = data_folder("grammar")
    for folder, pattern in ((package, "**/*.py"), (grammar, "*.*")):
        for path in sorted(folder.glob(pattern)) if folder is not None else ():
            if path.suffix in (".py", ".lark"):
                data = path.read_bytes()
                total.update(f"\0{path.relative_to(folder).as_posix()} {len(data)}\0".encode() + data)  # type: ignore[arg-type]
    return total.hexdigest()
