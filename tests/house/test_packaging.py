"""What an installed Jackstay holds, and that one command runs the tests everywhere."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
from importlib.resources import files
from pathlib import Path

from jackstay.rules import registry

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def test_every_folder_with_modules_is_packaged() -> None:
    folders = {
        ".".join(("jackstay", *path.parent.relative_to(ROOT / "compiler").parts))
        for path in (ROOT / "compiler").rglob("*.py")
    }
    listed = PROJECT["tool"]["setuptools"]["packages"]
    assert set(listed) == folders | {"jackstay.checker", "jackstay.grammar", "jackstay.stdlib"}
    assert listed == sorted(listed)


def test_every_packaged_folder_is_a_package() -> None:
    places = {
        "jackstay.checker": ROOT / "tests" / "certificate",
        "jackstay.grammar": ROOT / "grammar",
        "jackstay.stdlib": ROOT / "stdlib",
    }
    for name in PROJECT["tool"]["setuptools"]["packages"]:
        folder = places.get(name) or ROOT.joinpath("compiler", *name.split(".")[1:])
        assert (folder / "__init__.py").is_file(), name


def test_data_is_found_by_name() -> None:
    assert files("jackstay.grammar").joinpath("README.md").is_file()
    assert files("jackstay.stdlib").is_dir()
    assert all(registry.page(name) for name in registry.all_names())


def test_readme_and_ci_run_the_same_tests() -> None:
    command = (ROOT / ".ci" / "test").read_text(encoding="utf-8").strip()
    assert "\n" not in command and "pytest" in command
    for page in ("README.md", "DEVELOPERS.md"):
        assert command in [line.strip() for line in (ROOT / page).read_text(encoding="utf-8").splitlines()], page
    run = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert "bash -e .ci/test" in run
    assert os.access(ROOT / ".ci" / "run", os.X_OK)


def test_pins_fit_what_the_project_asks_for() -> None:
    """Every pinned version has hashes, no address, and covers the exact pins of the project file."""
    lock = (ROOT / ".ci" / "requirements.txt").read_text(encoding="utf-8")
    assert "://" not in lock
    pinned = dict(re.findall(r"^([a-z0-9._-]+)==([^ ]+) \\\n    --hash=", lock, re.MULTILINE))
    wanted = PROJECT["project"]["dependencies"] + PROJECT["project"]["optional-dependencies"]["test"]
    for want in wanted:
        name = re.match(r"[a-zA-Z0-9._-]+", want)
        assert name and name[0].lower() in pinned, want
        if "==" in want:
            assert pinned[name[0].lower()] == want.split("==")[1]


def test_help_needs_no_stage() -> None:
    """Help and version are answered before any stage of the compiler is imported."""
    code = (
        "import sys; from jackstay.commands.main import main\n"
        "try: main(['--help'])\n"
        "except SystemExit: pass\n"
        "print(sorted(name for name in sys.modules if name.startswith('jackstay.')), file=sys.stderr)\n"
        "print([name for name in ('lark', 'pydantic') if name in sys.modules], file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.splitlines() == ["['jackstay.commands', 'jackstay.commands.main']", "[]"]
