"""Outputs are written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from jackstay.commands.writing import LIST, replace_files


def listing(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.name != LIST
    }


def test_new_files_and_folders(tmp_path: Path) -> None:
    out = tmp_path / "a" / "out"
    assert replace_files(out, {"list.md": b"1", "wren/card.md": b"2"}) == 2
    assert listing(out) == {"list.md": b"1", "wren/card.md": b"2"}


def test_earlier_outputs_go_and_other_files_stay(tmp_path: Path) -> None:
    replace_files(tmp_path, {"old.md": b"1", "kept.md": b"2"})
    (tmp_path / "mine.txt").write_bytes(b"mine")
    replace_files(tmp_path, {"kept.md": b"3"})
    assert listing(tmp_path) == {"kept.md": b"3", "mine.txt": b"mine"}


def test_a_list_that_points_outside_is_not_believed(tmp_path: Path) -> None:
    victim = tmp_path / "victim"
    victim.write_bytes(b"stay")
    out = tmp_path / "out"
    out.mkdir()
    (out / LIST).write_text("../victim\n/etc/hostname\n\n")
    replace_files(out, {"a": b"1"})
    assert victim.read_bytes() == b"stay"


@pytest.mark.parametrize("name", ["../a", "/a", "", "a/../../b", LIST])
def test_an_output_stays_in_its_folder(tmp_path: Path, name: str) -> None:
    with pytest.raises(ValueError, match="cannot be called"):
        replace_files(tmp_path / "out", {name: b"1"})
    assert not (tmp_path / "out").exists()


def test_a_failure_while_preparing_changes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    replace_files(tmp_path, {"a.md": b"1", "b.md": b"1"})
    write = Path.write_bytes

    def full(self: Path, data: bytes) -> int:
        if self.name == "b.md":
            raise OSError(28, os.strerror(28))
        return write(self, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(OSError, match="space"):
        replace_files(tmp_path, {"a.md": b"2", "b.md": b"2"})
    assert listing(tmp_path) == {"a.md": b"1", "b.md": b"1"}
