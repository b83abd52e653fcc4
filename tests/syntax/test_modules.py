"""Following `use` from file to file."""

from __future__ import annotations

from pathlib import Path

from jackstay.source.library import Library
from jackstay.syntax.modules import Loaded, load


def loaded(folder: Path, **files: str) -> Loaded:
    stock = folder / "stock"
    root = folder / "plan"
    for name, text in files.items():
        place = (stock if name.startswith("v_") else root) / (name.removeprefix("v_").replace("__", "/") + ".stay")
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(text)
    return load(Library(root, shipped=stock), "main")


def test_used_files_come_first(tmp_path: Path) -> None:
    result = loaded(
        tmp_path, main="use b\nuse sites/s as n\n", b="use c\n", sites__s="use c\nuse suited\n", c="", v_suited=""
    )
    assert result.problems == []
    assert list(result.modules) == ["c", "b", "suited", "sites/s", "main"]
    assert [(name, alias) for _, name, alias in result.modules["main"].uses] == [("b", None), ("sites/s", "n")]
    assert result.modules["suited"].shipped and not result.modules["b"].shipped
    assert result.modules["suited"].file.path == "stdlib:suited"


def test_circle_is_reported_and_broken(tmp_path: Path) -> None:
    result = loaded(tmp_path, main="use d\n", d="use b\n", b="\nuse d\n")
    (problem,) = result.problems
    assert problem.rule == "use-cycle" and (problem.at.path, problem.at.line) == ("b.stay", 2)
    assert [(name, span.path) for name, span in problem.facts["circle"]] == [("d", "d.stay"), ("b", "b.stay")]
    assert list(result.modules) == ["b", "d", "main"] and result.modules["b"].uses == []


def test_circle_of_one(tmp_path: Path) -> None:
    (problem,) = loaded(tmp_path, main="use main\n").problems
    assert problem.rule == "use-cycle" and [name for name, _ in problem.facts["circle"]] == ["main"]


def test_used_twice(tmp_path: Path) -> None:
    (problem,) = loaded(tmp_path, main="use d\nuse d as b\n", d="").problems
    assert problem.rule == "used-twice" and problem.at.line == 2 and problem.facts["first"].line == 1


def test_what_cannot_be_found_is_reported_once_at_its_use(tmp_path: Path) -> None:
    result = loaded(tmp_path, main="use d\nuse dpot\n", d="use dpot\n", depot="", v_suited="")
    (problem,) = result.problems
    assert problem.rule == "unknown-module" and problem.at == ("d.stay", 1, 4, 8)
    assert problem.facts == {"name": "dpot", "known": ["d", "depot", "main", "suited"]}
    assert list(result.modules) == ["d", "main"]


def test_missing_root(tmp_path: Path) -> None:
    result = load(Library(tmp_path, shipped=tmp_path), "main")
    assert [problem.rule for problem in result.problems] == ["unknown-module"] and result.modules == {}


def test_a_chain_of_thousands(tmp_path: Path) -> None:
    files = {f"m{i}": f"use m{i + 1}\n" for i in range(1500)}
    result = loaded(tmp_path, main="use m0\n", m1500="", **files)
    assert result.problems == [] and len(result.modules) == 1502
