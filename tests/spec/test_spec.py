"""The language by example: every section of every page beside this file is a small project with what it must find."""

from __future__ import annotations

from pathlib import Path

import pages
import pytest

PAGES = sorted(Path(__file__).parent.glob("*.md"))
CASES = [(page, project) for page in PAGES for project in pages.projects(page.read_text(encoding="utf-8"))]


@pytest.mark.parametrize("page, project", CASES, ids=[f"{page.stem}:{project.line}" for page, project in CASES])
def test_section(page: Path, project: pages.Project, tmp_path: Path) -> None:
    differences = pages.differences(project, pages.findings(project, tmp_path))
    assert not differences, f"{page.name}, {project.title}\n" + "\n".join(differences)
