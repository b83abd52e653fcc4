"""The page of workflows to copy: each block is read as what it is, and each command in it is run in a project."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest
import yaml
from commands.plans_on_disk import commit, edit, git, repository
from lxml import etree

from jackstay.commands.main import main
from jackstay.policy.settings import read_settings
from jackstay.source.files import source_from_text

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "examples" / "ci" / "README.md").read_text(encoding="utf-8")
HOOKS = yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))
ADDRESS = "git+https://git.example.org/jackstay.git"


def blocks(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", PAGE, re.M | re.S)


def commands(block: Any) -> list[str]:
    """What a workflow runs, in order: `run:` of a step, `script:` of a job."""
    found: list[str] = []
    if isinstance(block, dict):
        for key, value in block.items():
            if key == "run":
                found.append(value)
            elif key == "script":
                found += value
            else:
                found += commands(value)
    elif isinstance(block, list):
        for part in block:
            found += commands(part)
    return found


WORKFLOWS = [yaml.safe_load(text) for text in blocks("yaml")]
RUNS = [line for workflow in WORKFLOWS for line in commands(workflow)]


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A new campaign in a repository whose main branch is known as `origin/main`; `jackstay` and `python` on the path.

    `python -m pip install` only notes what it is given: the package itself is installed and tried by other tests."""
    monkeypatch.chdir(tmp_path)
    tools = tmp_path / "tools"
    tools.mkdir()
    for name, text in (
        ("python", '#!/bin/sh\necho "$@" >> "$NOTES"\n'),
        ("jackstay", f'#!/bin/sh\nexec {sys.executable} -m jackstay "$@"\n'),
    ):
        (tools / name).write_text(text)
        (tools / name).chmod(0o755)
    assert main(["new", "ridge"]) == 0
    folder = tmp_path / "ridge"
    repository(folder)
    git(folder, "update-ref", "refs/remotes/origin/main", "HEAD")
    monkeypatch.setenv("PATH", f"{tools}{os.pathsep}{os.environ['PATH']}")
    monkeypatch.setenv("NOTES", str(tmp_path / "notes"))
    monkeypatch.setenv("GITHUB_BASE_REF", "main")
    monkeypatch.setenv("JACKSTAY", ADDRESS)
    return folder


def run(command: str, folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(["bash", "-e", "-c", command], cwd=folder, capture_output=True, text=True)


def test_there_is_something_to_run() -> None:
    assert len(WORKFLOWS) == 4 and len(RUNS) == 8
    forms = set(re.findall(r"--format (\w+)", "\n".join(RUNS)))
    assert forms == {"github", "sarif", "junit"} and any("--since" in line for line in RUNS)


def test_every_command_passes_in_a_project_that_is_clean(project: Path) -> None:
    for line in RUNS:
        done = run(line, project)
        assert done.returncode == 0, (line, done.stdout, done.stderr)
    assert (project.parent / "notes").read_text().splitlines() == [f"-m pip install {ADDRESS}"] * 3
    assert '"version": "2.1.0"' in (project / "plans.sarif").read_text()
    assert etree.parse(str(project / "plans.xml")).getroot().get("failures") == "0"


def test_every_check_stops_a_change_that_breaks_the_plan(project: Path) -> None:
    edit(
        project / "second.stay",
        "      wipe lamp-seat with cloth1, says seat-clean\n",
        '      call "Go.", says seat-clean\n',
    )
    commit(project)
    checks = [line for line in RUNS if line.startswith("jackstay check")]
    for line in checks:
        done = run(line, project)
        assert done.returncode == 1, (line, done.stdout, done.stderr)
        assert ("wrong-state" in done.stdout) or ">" in line
    assert '"ruleId": "wrong-state"' in (project / "plans.sarif").read_text()
    assert etree.parse(str(project / "plans.xml")).getroot().get("failures") == "1"


def test_the_workflow_lets_files_be_uploaded_after_a_failure() -> None:
    steps = WORKFLOWS[0]["jobs"]["plans"]["steps"]
    late = [step for step in steps if "sarif" in str(step)]
    assert len(late) == 2 and all(step["if"] == "always()" for step in late)
    assert WORKFLOWS[1]["jobs"]["plans"]["steps"][0]["with"]["fetch-depth"] == 0  # `--since` needs the history


def test_the_hooks_are_whole() -> None:
    assert [hook["id"] for hook in HOOKS] == ["jackstay-check", "jackstay-since", "jackstay-format"]
    for hook in HOOKS:
        assert {"id", "name", "entry", "language", "files"} <= set(hook)
        assert hook["language"] == "python" and hook["entry"].startswith("jackstay ")
        assert re.search(hook["files"], "plans/first.stay") and not re.search(hook["files"], "README.md")
    named = {hook["id"] for hook in WORKFLOWS[3]["repos"][0]["hooks"]}
    assert named <= {hook["id"] for hook in HOOKS}


@pytest.mark.parametrize("hook", HOOKS, ids=[hook["id"] for hook in HOOKS])
def test_a_hook_does_what_it_says(hook: dict[str, Any], project: Path) -> None:
    files = [] if hook.get("pass_filenames") is False else ["first.stay", "second.stay"]
    words = [sys.executable, "-m", *hook["entry"].split(), *hook.get("args", []), *files]

    def hooked() -> int:
        return subprocess.run(words, cwd=project, capture_output=True).returncode

    before = (project / "second.stay").read_bytes()
    assert hooked() == 0 and (project / "second.stay").read_bytes() == before
    if hook["id"] == "jackstay-format":
        edit(project / "second.stay", "task lamp : required", "task   lamp:required")
        assert hooked() == 0 and (project / "second.stay").read_bytes() == before  # the change itself stops the commit
        return
    edit(project / "second.stay", "says seat-clean", "says seat-ready")
    assert hooked() == 1
    commit(project)
    # an unknown mark keeps the plan from being followed: it is told for as long as it is there
    assert hooked() == 1
    edit(project / "second.stay", "says seat-ready", "says seat-clean")
    edit(
        project / "second.stay",
        "      wipe lamp-seat with cloth1, says seat-clean\n",
        '      call "Go.", says seat-clean\n',
    )
    commit(project)
    assert hooked() == (1 if hook["id"] == "jackstay-check" else 0)


def test_the_settings_on_the_page_can_be_used() -> None:
    (text,) = blocks("toml")
    assert set(tomllib.loads(text)) == {"severity", "allow"}
    settings = read_settings(source_from_text("jackstay.toml", text))
    assert settings.problems == [] and len(settings.waivers) == 1
    assert settings.level("left-behind", "drafts/x/a.stay") == "warning"
    assert settings.level("past-limit", "a.stay") == "warning"


def test_the_commands_in_its_prose_run(project: Path) -> None:
    lines = [line.strip() for line in PAGE.splitlines() if line.startswith("    jackstay ")]
    assert len(lines) == 2
    for line in lines:
        assert run(line, project).returncode == 0
