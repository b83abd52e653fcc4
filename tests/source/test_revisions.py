"""Plans at a revision of the repository around them, and why one cannot be had."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest
from comparing.history import git

from jackstay.source.revisions import Asked, NoRevision, asked, at_revision, laid_out


@pytest.fixture
def repository(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Two commits; the second changes ``plans/a.stay`` and drops ``plans/sites/north.stay``. We stand at its top."""
    folder = tmp_path / "repository"
    for name, text in {
        "plans/a.stay": "one\n",
        "plans/sites/north.stay": "north\n",
        "plans/readme.txt": "no plan\n",
        "other/b.stay": "b\n",
        "settings.toml": "top\n",
        "plans/settings.toml": "inner\n",
    }.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    git(folder, "init", "-q", "-b", "main")
    git(folder, "add", "-A")
    git(folder, "commit", "-q", "-m", "first: as it was")
    (folder / "plans" / "a.stay").write_text("two\n", encoding="utf-8")
    (folder / "plans" / "sites" / "north.stay").unlink()
    git(folder, "commit", "-q", "-a", "-m", "second")
    monkeypatch.chdir(folder)
    return folder


def refused(text: str) -> str:
    with pytest.raises(NoRevision) as told, laid_out(text):
        pass
    return str(told.value)


def laid(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def test_a_folder_as_it_was(repository: Path) -> None:
    with laid_out("HEAD~1:plans") as there:
        assert (there.path / "a.stay").read_text() == "one\n"
        assert laid(there.path) == ["a.stay", "sites/north.stay"]
        assert there.commit == git(repository, "rev-parse", "HEAD~1")
        assert there.shown == "HEAD~1:plans" and there.top is not None and there.path == there.top / "plans"
    assert not there.path.exists()
    assert (repository / "plans" / "a.stay").read_text() == "two\n" and git(repository, "status", "--porcelain") == ""


def test_a_file_with_what_lies_beside_it(repository: Path) -> None:
    with laid_out("main~1:plans/a.stay") as there:
        assert there.path.read_text() == "one\n" and laid(there.path.parent) == ["a.stay", "sites/north.stay"]


def test_the_whole_repository(repository: Path) -> None:
    with laid_out("HEAD:.") as there:
        assert laid(there.path) == ["other/b.stay", "plans/a.stay"]


def test_files_by_name_there_and_above(repository: Path) -> None:
    with at_revision("HEAD~1", "plans/sites", also=("settings.toml",)) as there:
        assert there.top is not None
        assert laid(there.top) == ["plans/settings.toml", "plans/sites/north.stay", "settings.toml"]


def test_from_elsewhere(repository: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As seen from here; else from the top; or by its full path. The folder need not exist any more."""
    monkeypatch.chdir(repository / "plans")
    for text in ("HEAD:a.stay", "HEAD:./a.stay", "HEAD:plans/a.stay", f"HEAD:{repository}/plans/a.stay"):
        with laid_out(text) as there:
            assert there.path.read_text() == "two\n"
    with laid_out("HEAD~1:sites/north.stay") as there:
        assert there.path.read_text() == "north\n"
    monkeypatch.chdir(repository.parent)
    with laid_out(f"HEAD~1:{repository / 'plans' / 'sites'}") as there:
        assert laid(there.path) == ["north.stay"]
    shutil.rmtree(repository / "plans")
    with laid_out("HEAD:repository/plans/a.stay") as there:
        assert there.path.read_text() == "two\n"


def test_by_a_link_to_the_repository(repository: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    link = repository.parent / "link"
    link.symlink_to(repository, target_is_directory=True)
    monkeypatch.chdir(link)
    with laid_out(f"HEAD:{link}/plans/a.stay") as there:
        assert there.path.read_text() == "two\n"


def test_within_a_hook(repository: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """git names the repository to its hooks, relative to its top; from another folder that would be another one."""
    monkeypatch.setenv("GIT_DIR", ".git")
    monkeypatch.setenv("GIT_INDEX_FILE", "nowhere")
    monkeypatch.chdir(repository / "plans")
    with laid_out("HEAD:a.stay") as there:
        assert there.path.read_text() == "two\n"


def test_what_a_word_means(repository: Path) -> None:
    assert asked("plans") == Asked(None, "plans")
    assert asked("v1.2:plans") == Asked("v1.2", "plans")
    assert asked("HEAD^{/first: as}:plans") == Asked("HEAD^{/first: as}", "plans")
    assert asked("HEAD@{2026-01-02 03:04}:plans") == Asked("HEAD@{2026-01-02 03:04}", "plans")
    assert asked("C:\\plans\\a.stay") == Asked(None, "C:\\plans\\a.stay")
    assert asked("c:/plans") == Asked(None, "c:/plans")
    assert asked("HEAD:C:/plans") == Asked("HEAD", "C:/plans")
    Path("odd:name").write_text("x", encoding="utf-8")
    assert asked("odd:name") == Asked(None, "odd:name")
    with laid_out("HEAD^{/first: as}:plans/a.stay") as there:
        assert there.path.read_text() == "one\n"
    with laid_out("plans/a.stay") as here:
        assert (here.path, here.commit) == (Path("plans/a.stay"), None)


def test_what_is_not_there(repository: Path) -> None:
    assert refused("HEAD~5:plans").startswith("HEAD~5 is no revision of the git repository at ")
    assert "--all is no revision" in refused("--all:plans")
    assert "HEAD^{tree} is no revision" in refused("HEAD^{tree}:plans")
    assert refused("HEAD:none") == "none does not exist at HEAD"
    assert refused("HEAD:plans/sites/north.stay") == "plans/sites/north.stay does not exist at HEAD"
    assert "names no path after the colon" in refused("HEAD:")
    assert "names no revision before the colon" in refused(":plans")


def test_a_way_out_of_the_repository(repository: Path) -> None:
    (repository.parent / "elsewhere").mkdir()
    assert "there is no git repository around" in refused("HEAD:../elsewhere")
    assert "git repository" in refused("HEAD:plans/../../nowhere/a.stay")


def test_no_repository(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path.parent))
    assert refused("HEAD:plans") == "there is no git repository around plans: a revision has nothing to be looked up in"


def test_no_git(repository: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", str(repository / "plans"))
    assert refused("HEAD:plans") == "git is not here to be run: revisions cannot be read without it"
    with laid_out("plans") as here:  # a path needs none
        assert here.path == Path("plans")


def test_no_commit_yet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    git(tmp_path, "init", "-q", "-b", "main")
    monkeypatch.chdir(tmp_path)
    assert refused("HEAD:plans").endswith(", which has no commit yet")


def test_a_shallow_clone_says_so(repository: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    clone = repository.parent / "clone"
    git(repository, "clone", "-q", "--depth", "1", f"file://{repository}", str(clone))
    monkeypatch.chdir(clone)
    with laid_out("HEAD:plans/a.stay") as there:
        assert there.path.read_text() == "two\n"
    assert "the clone is shallow: fetch the rest of its history first" in refused("HEAD~1:plans")


def test_a_clone_without_its_texts_fetches_nothing(repository: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    git(repository, "config", "uploadpack.allowFilter", "true")
    clone = repository.parent / "partial"
    git(repository, "clone", "-q", "--filter=blob:none", "--no-checkout", f"file://{repository}", str(clone))
    monkeypatch.chdir(clone)
    assert "is not in this clone: fetch it first" in refused("HEAD~1:plans")


def test_links_are_laid_out_as_links(repository: Path) -> None:
    (repository / "plans" / "same.stay").symlink_to("a.stay")
    (repository / "plans" / "away.stay").symlink_to("/etc/hostname")
    git(repository, "add", "-A")
    git(repository, "commit", "-q", "-m", "links")
    with laid_out("HEAD:plans") as there:
        assert (there.path / "same.stay").read_text() == "two\n"
        assert os.readlink(there.path / "away.stay") == "/etc/hostname"  # the library reads nothing out there


def test_odd_names(repository: Path) -> None:
    for name in ("ä b.stay", "[x].stay", "-dash.stay"):
        (repository / "plans" / name).write_text(name, encoding="utf-8")
    git(repository, "add", "-A")
    git(repository, "commit", "-q", "-m", "odd")
    for name in ("ä b.stay", "[x].stay", "-dash.stay"):
        with laid_out(f"HEAD:plans/{name}") as there:
            assert there.path.read_text(encoding="utf-8") == name
