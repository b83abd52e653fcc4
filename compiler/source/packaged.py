"""Finds what travels with the compiler: the grammar, the shipped vocabularies, the review page's script and style."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent.parent


def data_folder(name: str) -> Path | None:
    """The folder ``grammar`` or ``stdlib``: inside the installed package, or beside the compiler in a checkout.

    None when neither exists, nor the import system knows a package ``jackstay.NAME``."""
    for candidate in (_PACKAGE / name, _PACKAGE.parent / name):
        if candidate.is_dir():
            return candidate
    from importlib.util import find_spec  # an editable install may map the data package anywhere

    spec = find_spec(f"jackstay.{name}")
    for place in (spec.submodule_search_locations or ()) if spec else ():
        if Path(place).is_dir():
            return Path(place)
    return None


def grammar_text() -> str:
    """The text of ``jackstay.lark``. Raises FileNotFoundError when the installation lacks it."""
    folder = data_folder("grammar")
    if folder is None:
        raise FileNotFoundError("the grammar folder of Jackstay is missing from this installation")
    return (folder / "jackstay.lark").read_text(encoding="utf-8")


def review_text(name: str) -> str:
    """A file of the review page's folder."""
    return (_PACKAGE / "outputs" / "review" / name).read_text(encoding="utf-8")
