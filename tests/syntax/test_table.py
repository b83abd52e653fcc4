"""The stored parse table: the same as a built one, and never trusted when damaged."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from jackstay.source.packaged import grammar_text
from jackstay.syntax.parsing import machine
from jackstay.syntax.tables import build_table, load_table


def test_stored_table_equals_built_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("JACKSTAY_CACHE", str(tmp_path))
    built = load_table()
    (stored,) = tmp_path.iterdir()
    assert load_table() == built
    whole = stored.read_bytes()
    for damaged in (b"", whole[:1000], whole.replace(b"<phrase", b"<phrasf"), b"[]\n[]"):
        stored.write_bytes(damaged)
        assert load_table() == built
        assert stored.read_bytes() == whole, "a damaged table is replaced"


def test_folder_that_cannot_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("")
    monkeypatch.setenv("JACKSTAY_CACHE", str(blocked / "below"))
    assert load_table().rules


def test_every_rule_has_its_builder_and_building_is_reproducible() -> None:
    table = build_table(grammar_text())
    assert table == build_table(grammar_text())
    assert len(machine().states) == len(table.states)


def test_a_start_with_a_stored_table_does_without_lark(tmp_path: Path) -> None:
    code = "import sys; from jackstay.syntax.parsing import machine; machine(); print('lark' in sys.modules)"
    environment = {**os.environ, "JACKSTAY_CACHE": str(tmp_path)}
    answers = [
        subprocess.run([sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=True).stdout
        for _ in range(2)
    ]
    assert answers == ["True\n", "False\n"]


def test_the_grammar_has_no_conflicts(caplog: pytest.LogCaptureFixture) -> None:
    from lark import logger

    level = logger.level
    logger.setLevel("DEBUG")
    try:
        build_table(grammar_text(), debug=True)
    finally:
        logger.setLevel(level)
    assert [record.getMessage() for record in caplog.records if "conflict" in record.getMessage().lower()] == []
