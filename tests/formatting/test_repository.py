"""What ships in canonical form: the vocabularies and the examples."""

from __future__ import annotations

from pathlib import Path

import pytest

from jackstay.commands.main import main

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("folder", ["stdlib", "examples"])
def test_it_is_canonical(folder: str, capsys: pytest.CaptureFixture[str]) -> None:
    code = main(["format", "--check", "--diff", str(ROOT / folder)])
    assert code == 0, f"jackstay format {folder}\n{''.join(capsys.readouterr())}"
