"""Outputs are written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from jackstay.commands.writing import LIST, NotOurs, replace_files


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


def test_a_file_of_somebody_else_in_the_way_stops_all(tmp_path: Path) -> None:
    replace_files(tmp_path, {"old.md": b"1"})
    (tmp_path / "wren").mkdir()
    (tmp_path / "wren" / "card.md").write_bytes(b"mine")
    with pytest.raises(NotOurs) as refused:
        replace_files(tmp_path, {"new.md": b"2", "wren/card.md": b"2"})
    assert refused.value.names == ["wren/card.md"]
    assert listing(tmp_path) == {"old.md": b"1", "wren/card.md": b"mine"}
    replace_files(tmp_path, {"new.md": b"2", "wren/card.md": b"2"}, overwrite=True)
    assert listing(tmp_path) == {"new.md": b"2", "wren/card.md": b"2"}
    replace_files(tmp_path, {"new.md": b"3", "wren/card.md": b"3"})
    assert listing(tmp_path) == {"new.md": b"3", "wren/card.md": b"3"}


def test_a_link_in_the_way_is_of_somebody_else(tmp_path: Path) -> None:
    (tmp_path / "a.md").symlink_to("nowhere")
    with pytest.raises(NotOurs):
        replace_files(tmp_path, {"a.md": b"1"})


def test_what_holds_the_same_is_not_in_the_way(tmp_path: Path) -> None:
    (tmp_path / "a.md").write_bytes(b"1")
    assert replace_files(tmp_path, {"a.md": b"1"}) == 1


def test_a_build_that_stops_while_moving_does_not_hinder_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    replace_files(tmp_path, {"gone.md": b"1"})
    move = os.replace

    def stops(source: Path, target: Path) -> None:
        if Path(target).name == "b.md":
            raise OSError(5, os.strerror(5))
        move(source, target)

    monkeypatch.setattr(os, "replace", stops)
    with pytest.raises(OSError, match=os.strerror(5)):
        replace_files(tmp_path, {"a.md": b"2", "b.md": b"2"})
    monkeypatch.undo()
    replace_files(tmp_path, {"a.md": b"3", "b.md": b"3"})
    assert listing(tmp_path) == {"a.md": b"3", "b.md": b"3"}
