"""Where modules come from: the folder of the campaign file, then the vocabularies that come with Jackstay."""

from __future__ import annotations

import re
from pathlib import Path

from jackstay.diagnostics.records import Problem
from jackstay.source.files import SourceFile, read_source
from jackstay.source.packaged import data_folder
from jackstay.source.spans import NOWHERE

SUFFIX = ".stay"
_PART = re.compile(r"[\w][\w.\-]*\Z")
_MAX_KNOWN = 500  # a folder of thousands of files is not listed for a suggestion


def is_module_name(name: str) -> bool:
    """Whether a file of this name, without its suffix, can be a module."""
    return _PART.match(name) is not None


class Library:
    """Reads modules by name. ``root`` is the folder of the campaign file; no path that is read lies outside of it,
    apart from the shipped vocabularies. ``overlay`` holds texts that an editor has open, by shown path."""

    def __init__(self, root: Path, shipped: Path | None = None) -> None:
        self.root = Path(root)
        self._shipped = shipped if shipped is not None else data_folder("stdlib")
        self.overlay: dict[str, SourceFile] = {}

    def read(self, module: str) -> SourceFile | Problem:
        """The file of a module (``depot``, ``sites/north``).

        Problems, their place left to the caller: ``path-escapes`` (facts name), ``unknown-module`` (name, known),
        ``module-twice`` (name), ``unreadable-file`` (path, reason)."""
        parts = module.split("/")
        if any(part in ("", ".", "..") or not _PART.match(part) for part in parts):
            escapes = module.startswith(("/", "\\")) or ".." in parts or ":" in module
            return self._unknown(module) if not escapes else Problem("path-escapes", NOWHERE, {"name": module})
        shown = module + SUFFIX
        beside = self.root.joinpath(*parts[:-1], parts[-1] + SUFFIX)
        in_stock = self._in_stock(module)
        if shown in self.overlay or _exists(beside):
            if in_stock is not None:
                return Problem("module-twice", NOWHERE, {"name": module})
            if shown in self.overlay:
                return self.overlay[shown]
            if not self._inside(beside):
                return Problem("path-escapes", NOWHERE, {"name": module})
            return read_source(shown, beside)
        if in_stock is not None:
            return read_source(f"stdlib:{module}", in_stock)
        return self._unknown(module)

    def known(self) -> list[str]:
        """Names of all modules that `read` would find, sorted (at most 500 of the campaign's folder)."""
        names = {place.stem for place in self._shipped.glob("*" + SUFFIX)} if self._shipped else set()
        try:
            for place in sorted(self.root.glob("*" + SUFFIX))[:_MAX_KNOWN]:
                names.add(place.stem)
            for place in sorted(self.root.glob("*/*" + SUFFIX))[:_MAX_KNOWN]:
                names.add(f"{place.parent.name}/{place.stem}")
        except OSError:
            pass  # a folder that cannot be listed only costs the suggestion
        return sorted(names)

    def has(self, module: str) -> bool:
        """Whether the campaign's folder holds this module."""
        shown = module + SUFFIX
        return _PART.match(module) is not None and (shown in self.overlay or _exists(self.root / shown))

    def is_shipped(self, module: str) -> bool:
        return self._in_stock(module) is not None

    def _in_stock(self, module: str) -> Path | None:
        if self._shipped is None or "/" in module:
            return None
        place = self._shipped / (module + SUFFIX)
        return place if _exists(place) else None

    def _inside(self, place: Path) -> bool:
        try:
            return place.resolve().is_relative_to(self.root.resolve())
        except (OSError, RuntimeError):  # a circle of symbolic links
            return False

    def _unknown(self, module: str) -> Problem:
        return Problem("unknown-module", NOWHERE, {"name": module, "known": self.known()})


def _exists(place: Path) -> bool:
    try:
        return place.exists() or place.is_symlink()
    except (OSError, ValueError):
        return False
