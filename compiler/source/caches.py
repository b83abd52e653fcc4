"""A per-user folder of things that are cheap to lose. Whatever fails here fails silently: the caller builds anew."""

from __future__ import annotations

import contextlib
import os
import sys
from pathlib import Path


def cache_folder() -> Path | None:
    """``JACKSTAY_CACHE`` if set (empty: no cache), else the platform's folder for caches, else None."""
    override = os.environ.get("JACKSTAY_CACHE")
    if override is not None:
        return Path(override) if override else None
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA")
        return Path(base) / "jackstay" / "cache" if base else None
    base = os.environ.get("XDG_CACHE_HOME")
    if base and os.path.isabs(base):
        return Path(base) / "jackstay"
    home = os.path.expanduser("~")
    if not os.path.isabs(home):
        return None
    return Path(home) / ("Library/Caches" if sys.platform == "darwin" else ".cache") / "jackstay"


def read_cached(name: str) -> bytes | None:
    """The bytes stored under a plain file name, or None."""
    folder = cache_folder()
    if folder is None:
        return None
    try:
        return (folder / name).read_bytes()
    except OSError:
        return None


def write_cached(name: str, data: bytes) -> bool:
    """Store bytes under a plain file name: written aside, then renamed, so that no reader sees half a file."""
    folder = cache_folder()
    if folder is None:
        return False
    aside = folder / f"{name}.{os.getpid()}.new"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        aside.write_bytes(data)
        os.replace(aside, folder / name)
    except OSError:
        with contextlib.suppress(OSError):
            aside.unlink(missing_ok=True)
        return False
    return True
