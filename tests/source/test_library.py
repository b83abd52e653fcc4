"""What may be read, from where."""

from __future__ import annotations

from pathlib import Path

import pytest

from jackstay.diagnostics.records import Problem
from jackstay.source import files
from jackstay.source.files import SourceFile, read_source
from jackstay.source.library import Library


def rule_of(result: SourceFile | Problem) -> str:
    assert isinstance(result, Problem)
    return result.rule


def test_paths_never_leave_the_folder(tmp_path: Path) -> None:
    root = tmp_path / "plan"
    (root / "sites").mkdir(parents=True)
    (tmp_path / "secret.stay").write_text("use x\n")
    (root / "sites" / "link.stay").symlink_to(tmp_path / "secret.stay")
    (root / "out").symlink_to(tmp_path)
    library = Library(root, shipped=root / "none")
    for module in ("../secret", "sites/../../secret", str(tmp_path / "secret"), "sites/link", "out/secret"):
        assert rule_of(library.read(module)) == "path-escapes", module
    for module in ("", "a//b", ".", "a\0b", "a\nb", "x" * 5000):
        assert rule_of(library.read(module)) == "unknown-module", module


def test_links_inside_the_folder_are_followed_and_circles_are_not(tmp_path: Path) -> None:
    (tmp_path / "a.stay").write_text("use x\n")
    (tmp_path / "b.stay").symlink_to(tmp_path / "a.stay")
    (tmp_path / "c.stay").symlink_to(tmp_path / "c.stay")
    library = Library(tmp_path, shipped=tmp_path / "none")
    assert isinstance(library.read("b"), SourceFile)
    assert isinstance(library.read("c"), Problem)


def test_a_name_in_both_places(tmp_path: Path) -> None:
    stock = tmp_path / "stock"
    stock.mkdir()
    (stock / "suited.stay").write_text("")
    (tmp_path / "suited.stay").write_text("")
    assert rule_of(Library(tmp_path, shipped=stock).read("suited")) == "module-twice"


def test_what_is_no_readable_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "folder.stay").mkdir()
    (tmp_path / "big.stay").write_text("x" * 100)
    monkeypatch.setattr(files, "MAX_BYTES", 99)
    reasons = {}
    for name in ("folder", "big", "none"):
        result = read_source(name, tmp_path / f"{name}.stay")
        assert rule_of(result) == "unreadable-file"
        reasons[name] = result.facts["reason"]  # type: ignore[union-attr]
    assert reasons == {"folder": "not a file", "big": "larger than 64 MB", "none": "missing"}
