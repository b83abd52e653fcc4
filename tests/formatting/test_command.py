"""``jackstay format``: exit codes, streams, and what it does to files."""

from __future__ import annotations

import io
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from jackstay.commands.main import main

ROUGH = "use   units\nlet x=3 m"
CLEAN = "use units\nlet x = 3 m\n"
BROKEN = "use   units\nlet x 3 m\n"


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("FORCE_COLOR", raising=False)


def put(name: str, text: str = ROUGH) -> Path:
    path = Path(name)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.encode())
    return path


def give(monkeypatch: pytest.MonkeyPatch, data: bytes) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data), encoding="utf-8"))


def test_a_file_is_written(capsys: pytest.CaptureFixture[str]) -> None:
    path = put("plan.stay")
    assert main(["format", "plan.stay"]) == 0
    assert path.read_text() == CLEAN
    assert capsys.readouterr() == ("formatted plan.stay\n1 file formatted\n", "")
    assert os.listdir() == ["plan.stay"], "nothing is left aside"


def test_a_file_in_form_is_not_touched(capsys: pytest.CaptureFixture[str]) -> None:
    path = put("plan.stay", CLEAN)
    os.utime(path, ns=(10**15, 10**15))
    before = path.stat()
    assert main(["format", "."]) == 0
    after = path.stat()
    assert (after.st_mtime_ns, after.st_ino) == (before.st_mtime_ns, before.st_ino)
    assert capsys.readouterr().out == "1 file in canonical form already\n"


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
def test_permissions_stay() -> None:
    path = put("plan.stay")
    path.chmod(0o751)
    assert main(["format", "plan.stay"]) == 0
    assert path.stat().st_mode & 0o7777 == 0o751


def test_a_link_stays_a_link(capsys: pytest.CaptureFixture[str]) -> None:
    path = put("real/plan.stay")
    Path("link.stay").symlink_to("real/plan.stay")
    assert main(["format", "link.stay", "real"]) == 0
    assert Path("link.stay").is_symlink()
    assert path.read_text() == CLEAN
    assert capsys.readouterr().out == "formatted link.stay\n1 file formatted\n", "one file under two names is one"


def test_a_folder_without_what_is_hidden(capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("b.stay", "a/c.stay", ".git/d.stay", ".e.stay", "a/notes.txt"):
        put(name)
    assert main(["format", "."]) == 0
    assert capsys.readouterr().out == "formatted b.stay\nformatted a/c.stay\n2 files formatted\n"
    assert all(Path(name).read_text() == ROUGH for name in (".git/d.stay", ".e.stay", "a/notes.txt"))


def test_check_lists_and_writes_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    put("a.stay")
    put("b.stay", CLEAN)
    assert main(["format", "--check", "."]) == 1
    assert capsys.readouterr() == ("would change a.stay\n1 file would change, 1 file in canonical form\n", "")
    assert Path("a.stay").read_text() == ROUGH
    put("a.stay", CLEAN)
    assert main(["format", "--check", "."]) == 0


@pytest.mark.parametrize("text", [ROUGH, "\ufeffuse units\r\nlet x=3 m\r\n", "use units\n\n\n\nlet x = 3 m\n\n"])
def test_diff_is_a_patch(text: str, capsys: pytest.CaptureFixture[str]) -> None:
    path = put("a.stay", text)
    assert main(["format", "--diff", "a.stay"]) == 0
    assert path.read_bytes() == text.encode()
    difference = capsys.readouterr().out
    assert difference.startswith("--- a.stay\n+++ a.stay\n@@ ")
    assert main(["format", "--diff", "--check", "a.stay"]) == 1
    assert main(["format", "a.stay"]) == 0
    wanted = path.read_bytes()
    put("a.stay", text)
    if shutil.which("patch"):
        subprocess.run(["patch", "--binary", "-s", "-p0"], input=difference.encode(), check=True)
        assert path.read_bytes() == wanted


def test_a_broken_file_is_left_alone_and_the_others_are_not(capsys: pytest.CaptureFixture[str]) -> None:
    broken = put("a.stay", BROKEN)
    odd = put("b.stay")
    odd.write_bytes(b"use \xff\n")
    other = put("c.stay")
    os.utime(broken, ns=(10**15, 10**15))
    assert main(["format", "."]) == 2
    assert broken.read_text() == BROKEN and broken.stat().st_mtime_ns == 10**15
    assert odd.read_bytes() == b"use \xff\n"
    assert other.read_text() == CLEAN
    out, err = capsys.readouterr()
    assert out == "formatted c.stay\n1 file formatted, 2 files left alone, with what is wrong told\n"
    assert "unreadable-line" in err and "a.stay 2:7" in err and "let x 3 m" in err
    assert "unreadable-file" in err and "not UTF-8" in err
    assert main(["format", "--check", "."]) == 2


def test_standard_input(monkeypatch: pytest.MonkeyPatch, capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    give(monkeypatch, b'\xef\xbb\xbfuse   units\r\nitem x "\xc3\xa9":bag')
    assert main(["format", "-"]) == 0
    assert capfdbinary.readouterr() == ('use units\nitem x "é" : bag\n'.encode(), b"")
    give(monkeypatch, CLEAN.encode())
    assert main(["format", "-"]) == 0
    assert capfdbinary.readouterr() == (CLEAN.encode(), b"")


@pytest.mark.parametrize("data", [BROKEN.encode(), b"use \xff\n", b"use \0\n"])
def test_broken_standard_input(
    data: bytes, monkeypatch: pytest.MonkeyPatch, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    give(monkeypatch, data)
    assert main(["format", "-"]) == 2
    out, err = capfdbinary.readouterr()
    assert out == b""
    assert b"standard input" in err


def test_standard_input_checked(monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]) -> None:
    give(monkeypatch, ROUGH.encode())
    assert main(["format", "--check", "-"]) == 1
    assert capfd.readouterr().out == "would change standard input\n"
    give(monkeypatch, ROUGH.encode())
    assert main(["format", "--diff", "-"]) == 0
    assert capfd.readouterr().out.startswith("--- standard input\n+++ standard input\n@@ -1,2 +1,2 @@\n-use   units\n")
    give(monkeypatch, CLEAN.encode())
    assert main(["format", "--check", "--diff", "-"]) == 0
    assert capfd.readouterr().out == ""


@pytest.mark.parametrize(
    ("paths", "told"),
    [
        (["gone.stay"], "gone.stay does not exist"),
        (["gone"], "gone does not exist"),
        (["notes.txt"], "notes.txt is not a .stay file"),
        (["empty"], "there is no .stay file in empty"),
        (["-", "a.stay"], "standard input (-) goes alone"),
        (["a.stay", "gone.stay"], "gone.stay does not exist"),
    ],
)
def test_paths_that_mean_nothing(paths: list[str], told: str, capsys: pytest.CaptureFixture[str]) -> None:
    put("a.stay")
    put("notes.txt")
    Path("empty").mkdir()
    assert main(["format", *paths]) == 2
    assert told in " ".join(capsys.readouterr().err.split())
    assert Path("a.stay").read_text() == ROUGH, "nothing is done before all paths are known"


def test_what_is_no_file(capsys: pytest.CaptureFixture[str]) -> None:
    Path("loop.stay").symlink_to("loop.stay")
    Path("gone.stay").symlink_to("nowhere")
    if hasattr(os, "mkfifo"):
        os.mkfifo("pipe.stay")
    assert main(["format", "loop.stay"]) == 2
    assert main(["format", "."]) == 2
    assert "not a file" in capsys.readouterr().err


def test_a_file_that_cannot_be_written(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    path = put("a.stay")
    put("b.stay")
    allowed = os.access
    monkeypatch.setattr(os, "access", lambda place, how: Path(place).name != "a.stay" and allowed(place, how))
    assert main(["format", "."]) == 2
    out, err = capsys.readouterr()
    assert path.read_text() == ROUGH
    assert out == "formatted b.stay\n1 file formatted, 1 file left alone, with what is wrong told\n"
    assert err == "jackstay: a.stay cannot be written: it is write-protected\n"


def test_a_disk_that_is_full(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    path = put("a.stay")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    assert main(["format", "a.stay"]) == 2
    assert path.read_text() == ROUGH
    assert os.listdir() == ["a.stay"]
    assert "No space left" in capsys.readouterr().err


def test_a_line_that_would_grow_too_long(capsys: pytest.CaptureFixture[str]) -> None:
    text = "location x\n #" + "y" * 3998 + "\n y : z\n"
    path = put("a.stay", text)
    assert main(["format", "a.stay"]) == 2
    assert path.read_text() == text
    assert "longer than the compiler reads" in " ".join(capsys.readouterr().err.split())


def test_help_says_the_exit_codes(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["format", "--help"])
    assert "Exit code: 0" in capsys.readouterr().out
