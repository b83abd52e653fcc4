"""Writing a set of outputs so that a reader never meets half of it.

Everything is written aside first, in the output folder's own file system, then moved in file by file. The list of what
was written stays in the folder: outputs of an earlier build that are no longer made are taken away, and nothing that
somebody else put there is touched; where its name is an output's, nothing is written.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path, PurePosixPath

LIST = ".jackstay-outputs"


class NotOurs(Exception):
    """names: files in the way that no build has written, sorted."""

    def __init__(self, names: list[str]) -> None:
        super().__init__(", ".join(names))
        self.names = names


def _inside(name: str) -> PurePosixPath:
    path = PurePosixPath(name)
    if path.is_absolute() or not path.parts or ".." in path.parts or name == LIST:
        raise ValueError(f"an output cannot be called {name!r}")
    return path


def _earlier(folder: Path) -> list[str]:
    """What the last build wrote here; names that do not stay inside the folder are not believed."""
    try:
        names = (folder / LIST).read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        return []
    kept = []
    for name in names:
        try:
            kept.append(str(_inside(name)))
        except ValueError:
            continue
    return kept


def replace_file(path: Path, data: bytes, mode: int | None = None) -> None:
    """Write one file aside, then put it in place: a reader meets the old one or the new one. Raises OSError.

    mode: its permissions; None: those of a new file."""
    handle, aside = tempfile.mkstemp(prefix=".jackstay-", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        os.chmod(aside, 0o666 & ~_mask() if mode is None else mode)
        os.replace(aside, path)
    finally:
        Path(aside).unlink(missing_ok=True)


def _mask() -> int:
    """The user's umask, which can only be read by setting it."""
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _in_the_way(folder: Path, outputs: Mapping[str, bytes], names: list[str]) -> list[str]:
    """Files that no build has written and that would be lost: those that hold what is written anyway are not."""
    ours = set(_earlier(folder))
    others = (name for name in names if name not in ours and os.path.lexists(folder / name))
    return [name for name in others if not _holds(folder / name, outputs[name])]


def _holds(path: Path, data: bytes) -> bool:
    try:
        return not path.is_symlink() and path.is_file() and path.read_bytes() == data
    except OSError:
        return False


def replace_files(folder: Path, outputs: Mapping[str, bytes], rest: bool = False, overwrite: bool = False) -> int:
    """Write the outputs (relative name, bytes) into the folder; returns how many. Raises OSError, and then no output
    has been replaced unless moving itself failed part-way. rest: what an earlier build has written besides stays.
    overwrite: files of others that have an output's name are replaced; else NotOurs is raised and nothing written."""
    names = sorted(str(_inside(name)) for name in outputs)
    others = [] if overwrite else _in_the_way(folder, outputs, names)
    if others:
        raise NotOurs(others)
    folder.mkdir(parents=True, exist_ok=True)
    aside = Path(tempfile.mkdtemp(prefix=".jackstay-", dir=folder))
    try:
        for name in names:
            path = aside / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(outputs[name])
        kept = [name for name in _earlier(folder) if name not in outputs] if rest else []
        (aside / LIST).write_text("".join(name + "\n" for name in sorted([*names, *kept])), encoding="utf-8")
        for name in names:
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
        earlier = _earlier(folder)
        gone = [name for name in earlier if name not in outputs and name not in kept]
        # If this stops half-way, the next build must know both what was moved and what is still of the one before.
        replace_file(folder / LIST, "".join(name + "\n" for name in sorted({*names, *earlier})).encode())
        for name in [*names, LIST]:
            os.replace(aside / name, folder / name)
        for name in gone:
            (folder / name).unlink(missing_ok=True)
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    return len(names)
