"""Plans as they were: a file or folder at a revision of the git repository around it, laid out in a folder of its
own.

``git`` is run as a program; nothing is fetched, checked out or written in the repository. Only the texts that a plan
can draw on are laid out, so that an old state is read by the very code that reads a new one.
"""

from __future__ import annotations

import os
import re
import subprocess
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from typing import NamedTuple

from jackstay.source.library import SUFFIX

_DRIVE = re.compile(r"[A-Za-z]:[\\/]")
_LINK = "120000"  # the mode of a symbolic link in a tree
_MOST_FILES = 20_000
_MOST_BYTES = 256 * 1024 * 1024


class NoRevision(Exception):
    """What was asked for cannot be had from git; the message says why, for people."""


class NoCommitYet(NoRevision):
    """``HEAD`` of a repository that nothing has been committed to."""


class Asked(NamedTuple):
    """What a word on the command line means. revision: None for the file as it is. path: as written."""

    revision: str | None
    path: str


class Laid(NamedTuple):
    """A file or folder that can be read now. path: where it lies. shown: as the user named it. commit: in full, or None
    for a file as it is. top: the folder that stands for the repository's (of a file as it is: None)."""

    path: Path
    shown: str
    commit: str | None
    top: Path | None


def asked(text: str) -> Asked:
    """``PATH`` or ``REV:PATH``. A path that exists is a path whatever it is called, and so is ``C:\\plans``; a colon in
    braces (``HEAD^{/fix: bolts}``) belongs to the revision. Raises NoRevision when a side of the colon is empty."""
    if _exists(Path(text)) or _DRIVE.match(text) or (os.name == "nt" and text[1:2] == ":"):
        return Asked(None, text)
    depth = 0
    for at, letter in enumerate(text):
        depth += (letter == "{") - (letter == "}")
        if letter != ":" or depth > 0:
            continue
        if at == 0:
            raise NoRevision(f"{text} names no revision before the colon: write one, as in HEAD{text}")
        if at == len(text) - 1:
            raise NoRevision(f"{text} names no path after the colon: write one, as in {text}plans/first.stay")
        return Asked(text[:at], text[at + 1 :])
    return Asked(None, text)


@contextmanager
def laid_out(text: str, also: Sequence[str] = ()) -> Iterator[Laid]:
    """What ``PATH`` or ``REV:PATH`` means, ready to be read while the context lasts. Raises NoRevision."""
    revision, path = asked(text)
    if revision is None:
        yield Laid(Path(path), text, None, None)
        return
    with at_revision(revision, path, also) as laid:
        yield laid._replace(shown=text)


@contextmanager
def at_revision(revision: str, path: str | Path, also: Sequence[str] = ()) -> Iterator[Laid]:
    """``path`` (as seen from here, else from the repository's top) as it was at ``revision``, with every ``.stay`` file
    below its folder, in a temporary folder laid out like the repository. A path that the revision has not is told.

    also: names of further files to lay out, wherever they stand in that folder or above it (a project's settings).
    Raises NoRevision: no git, no repository, no such revision or path, a path outside, a history that is not here."""
    written = Path(path)
    start = _standing(written)
    top = _top(start, written)
    commit = _commit(top, revision)
    inside, is_folder = _found(top, commit, revision, written)
    folder = inside if is_folder else inside.parent
    with tempfile.TemporaryDirectory(prefix="jackstay-", ignore_cleanup_errors=True) as made:
        below = Path(made).resolve()
        _lay(below, top, _wanted(top, commit, folder, frozenset(also)))
        target = below / inside
        if is_folder:
            target.mkdir(parents=True, exist_ok=True)
        yield Laid(target, f"{revision}:{written.as_posix()}", commit, below)


# --- the repository -------------------------------------------------------------------------------------------------


def _exists(path: Path) -> bool:
    try:
        return path.exists()
    except (OSError, ValueError):
        return False


def _standing(path: Path) -> Path:
    """The nearest folder of a path that still exists: what was deleted since had its repository around it too."""
    place = path.absolute()
    while not place.is_dir():
        if place.parent == place:
            break
        place = place.parent
    return place


def _git(folder: Path, *arguments: str, text: bytes | None = None) -> subprocess.CompletedProcess[bytes]:
    """Run git in a folder. It speaks one language, asks nothing, fetches nothing, and takes no repository from the
    environment (within a hook that names the one being committed to, relative to another folder)."""
    environment = {
        name: value
        for name, value in os.environ.items()
        if name not in {"GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_PREFIX", "GIT_NAMESPACE"}
    }
    environment |= {"LC_ALL": "C", "GIT_TERMINAL_PROMPT": "0", "GIT_OPTIONAL_LOCKS": "0", "GIT_NO_LAZY_FETCH": "1"}
    command = ["git", "-c", "core.fsmonitor=false", "-c", "protocol.allow=never", "-C", str(folder), *arguments]
    try:
        return subprocess.run(command, input=text or b"", capture_output=True, env=environment, check=False)
    except FileNotFoundError:
        raise NoRevision("git is not here to be run: revisions cannot be read without it") from None
    except (OSError, ValueError) as error:  # not to be executed, or a NUL in a name
        raise NoRevision(f"git cannot be run: {getattr(error, 'strerror', None) or error}") from None


def _said(done: subprocess.CompletedProcess[bytes]) -> str:
    """The last line git complained with, without its prefix."""
    lines = [line for line in done.stderr.decode("utf-8", errors="replace").splitlines() if line.strip()]
    return re.sub(r"^(fatal|error): ", "", lines[0]) if lines else "git did not say why"


def _top(start: Path, path: Path) -> Path:
    done = _git(start, "rev-parse", "--show-toplevel")
    if done.returncode == 0:
        return Path(os.fsdecode(done.stdout.removesuffix(b"\n").removesuffix(b"\r")))
    why = _said(done)
    if "not a git repository" in why or "must be run in a work tree" in why:
        raise NoRevision(f"there is no git repository around {path}: a revision has nothing to be looked up in")
    raise NoRevision(f"the git repository around {path} cannot be read: {why}")


def _commit(top: Path, revision: str) -> str:
    done = _git(top, "rev-parse", "--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}")
    if done.returncode == 0:
        return done.stdout.decode("ascii", errors="replace").strip()
    reason, kind = "", NoRevision
    if _git(top, "rev-parse", "--is-shallow-repository").stdout.strip() == b"true":
        reason = "; the clone is shallow: fetch the rest of its history first (git fetch --unshallow)"
    elif _git(top, "rev-parse", "--verify", "--quiet", "HEAD").returncode != 0:
        reason = ", which has no commit yet"
        kind = NoCommitYet if revision == "HEAD" else NoRevision
    raise kind(f"{revision} is no revision of the git repository at {top}{reason}")


def _found(top: Path, commit: str, revision: str, path: Path) -> tuple[PurePosixPath, bool]:
    """Where a path is in a commit, relative to the top, and whether it is a folder."""
    root = top.resolve()
    lexical = Path(os.path.normpath(path.absolute()))
    places = [lexical]
    for place in (lexical.parent.resolve() / lexical.name, lexical.resolve()):  # a link on the way into the repository
        if place not in places:
            places.append(place)
    if not path.is_absolute() and ".." not in path.parts:
        places.append(root / path)
    inside = []
    for place in places:
        for base in (root, top):
            if place.is_relative_to(base):
                relative = PurePosixPath(place.relative_to(base).as_posix())
                if relative not in inside:
                    inside.append(relative)
    if not inside:
        raise NoRevision(f"{path} lies outside of the git repository at {top}")
    for relative in inside:
        if relative == PurePosixPath("."):
            return relative, True
        done = _git(top, "cat-file", "-t", f"{commit}:{relative}")
        sort = done.stdout.strip()
        if sort in (b"blob", b"tree"):
            return relative, sort == b"tree"
    raise NoRevision(f"{path} does not exist at {revision}")


# --- the files ------------------------------------------------------------------------------------------------------


class _Blob(NamedTuple):
    mode: str
    name: str  # the object's
    path: PurePosixPath


def _listed(top: Path, *arguments: str) -> Iterator[_Blob]:
    done = _git(top, "ls-tree", "-z", "--full-tree", *arguments)
    if done.returncode != 0:
        raise NoRevision(f"the files of the revision cannot be listed: {_said(done)}")
    for row in done.stdout.split(b"\0"):
        about, tab, name = row.partition(b"\t")
        if tab:
            mode, sort, blob = about.decode("ascii").split(" ")
            path = PurePosixPath(os.fsdecode(name))
            # A tree may be made by hand: nothing leaves the folder that it is laid out in.
            if sort == "blob" and not path.is_absolute() and not {"..", ".git"} & set(path.parts):
                yield _Blob(mode, blob, path)


def _wanted(top: Path, commit: str, folder: PurePosixPath, also: frozenset[str]) -> list[_Blob]:
    """The texts below a folder, and the files of the names in ``also`` there and in the folders above."""
    below = [] if folder == PurePosixPath(".") else ["--", f"{folder}/"]
    found = {
        blob.path: blob
        for blob in _listed(top, "-r", commit, *below)
        if blob.path.suffix == SUFFIX or blob.path.name in also
    }
    if also:
        for above in folder.parents if folder.parts else ():
            for name in sorted(also):
                for blob in _listed(top, commit, "--", str(above / name)):
                    found[blob.path] = blob
    if len(found) > _MOST_FILES:
        raise NoRevision(f"{folder} holds more than {_MOST_FILES} plans at that revision: name a folder below it")
    return [found[path] for path in sorted(found)]


def _lay(below: Path, top: Path, blobs: list[_Blob]) -> None:
    """Write the files out. Links come last, so that nothing is written through one."""
    texts = _contents(top, blobs)
    links = []
    for blob, data in zip(blobs, texts, strict=True):
        place = below / blob.path
        place.parent.mkdir(parents=True, exist_ok=True)
        if blob.mode == _LINK:
            links.append((place, os.fsdecode(data)))
        else:
            place.write_bytes(data)
    for place, target in links:
        try:
            place.symlink_to(target)
        except (OSError, ValueError):  # a system without links: git itself writes the target as text there
            place.write_text(target, encoding="utf-8", errors="surrogateescape")


def _contents(top: Path, blobs: list[_Blob]) -> list[bytes]:
    if not blobs:
        return []
    done = _git(top, "cat-file", "--batch", text=b"".join(blob.name.encode("ascii") + b"\n" for blob in blobs))
    found, at, total = [], 0, 0
    for blob in blobs:
        end = done.stdout.find(b"\n", at)
        head = done.stdout[at:end].split(b" ") if end >= 0 else []
        if len(head) != 3:  # "NAME missing": a partial clone, or a damaged one
            raise NoRevision(f"{blob.path} of that revision is not in this clone: fetch it first")
        size = int(head[2])
        total += size
        if total > _MOST_BYTES:
            raise NoRevision("the plans of that revision are larger than 256 MB together")
        found.append(done.stdout[end + 1 : end + 1 + size])
        at = end + 1 + size + 1
    return found
