"""Who may import whom, how large a module may grow, and who may touch the world outside."""

from __future__ import annotations

import ast
import statistics
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
COMPILER = ROOT / "compiler"
MODULES = sorted(COMPILER.rglob("*.py"))

# Each stage and what it may import, besides itself.
_BASE = {"source", "diagnostics"}
_MODEL = _BASE | {"syntax", "model"}
_JUDGED = _MODEL | {"flow", "timing"}
MAY = {
    "source": {"diagnostics"},
    "diagnostics": {"source"},
    "syntax": _BASE,
    "model": _BASE | {"syntax"},
    "flow": _MODEL,
    "timing": _MODEL | {"flow"},
    # Words are judged by the lists and the texts alone: what happens in the plan changes nothing about how it is put.
    "wording": _BASE | {"model"},
    "rules": _JUDGED,
    "policy": _JUDGED | {"rules"},
    "pipeline": _JUDGED | {"rules", "policy", "wording"},
    # What a check found, kept for the next one: it is made of the stages, and gives back what they gave. Nothing that a
    # single check is made of knows of it; the pipeline and the stages offer it a place (`Stages`, `Ways`, `Clockwork`).
    "keeping": _JUDGED | {"rules", "policy", "pipeline"},
    "report": _BASE | {"rules"},
    "outputs": _JUDGED | {"pipeline"},
    "formatting": _BASE | {"syntax"},
    # A comparison is told in the words of the outputs, of what they print, so it is made from what they read: times and
    # the views, lists and pictures of the outputs. Of the rules it asks one thing: which family a finding is of, and so
    # whether it was looked for at all on a side that could not be followed to the end; of the policy, what a project's
    # settings say, as they are a part of the plan that changes.
    "comparing": _JUDGED | {"outputs", "rules", "policy"},
    "commands": _JUDGED
    | {"rules", "policy", "pipeline", "keeping", "report", "outputs", "formatting", "comparing", "editor"},
    "editor": _JUDGED | {"rules", "policy", "pipeline", "keeping", "report", "formatting"},
    "__main__": {"commands"},
    "__init__": set(),
}
# Modules that reach files, the clock, the environment or the network.
OUTSIDE = {"os", "io", "time", "socket", "subprocess", "shutil", "tempfile", "random", "urllib", "http", "ssl", "glob"}
TOUCH = {"source", "commands", "editor", "__main__"}
# The one module outside the edges that runs a program: it hands text to the layout program and takes the drawing.
RUNS = {"outputs/drawing.py": {"subprocess", "shutil"}}
HEAVY = {"pydantic": {"report"}, "lark": {"syntax"}}


def stage(path: Path) -> str:
    part = path.relative_to(COMPILER).parts[0]
    return part.removesuffix(".py")


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def typing_only(module: ast.Module) -> set[ast.AST]:
    """Nodes under ``if TYPE_CHECKING:``, which run nowhere."""
    return {
        inner
        for node in ast.walk(module)
        if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"
        for inner in ast.walk(node)
    }


def imports(path: Path) -> set[str]:
    """Full names of every module that a module imports, wherever in it."""
    found = set()
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: imports are written in full"
            name = node.module or ""
            found |= {f"{name}.{alias.name}" for alias in node.names} if name == "jackstay" else {name}
    return found


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(COMPILER)))
def test_a_stage_sees_only_what_stands_to_its_left(path: Path) -> None:
    own = stage(path)
    assert own in MAY, f"a new stage {own}: decide what it may import"
    seen = {name.split(".")[1] for name in imports(path) if name.startswith("jackstay.")}
    assert seen - {own} <= MAY[own]


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(COMPILER)))
def test_only_the_edges_touch_the_world(path: Path) -> None:
    used = {name.split(".")[0] for name in imports(path)}
    if stage(path) not in TOUCH:
        assert used & OUTSIDE <= RUNS.get(path.relative_to(COMPILER).as_posix(), set())
        calls = {
            node.func.id
            for node in ast.walk(tree(path))
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        }
        assert not calls & {"open", "input", "print", "exec", "eval"}
        clock = {
            node.func.attr
            for node in ast.walk(tree(path))
            if isinstance(node, ast.Call)
            and isinstance(node.func, ast.Attribute)
            and node.func.attr in {"today", "now", "utcnow", "getenv"}
        }
        # The pipeline is handed a day; when it is handed none it asks for today's, in one place.
        assert not clock or stage(path) == "pipeline"
    for name, stages in HEAVY.items():
        assert name not in used or stage(path) in stages


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(COMPILER)))
def test_heavy_imports_wait_until_they_are_needed(path: Path) -> None:
    """pydantic is imported inside functions only: a plain check never pays for them."""
    top = {
        name.split(".")[0]
        for node in tree(path).body
        for name in (
            [alias.name for alias in node.names]
            if isinstance(node, ast.Import)
            else [node.module or ""]
            if isinstance(node, ast.ImportFrom)
            else []
        )
    }
    assert not top & {"pydantic", "networkx", "numpy", "jinja2"}


def test_modules_stay_small() -> None:
    sizes = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in MODULES}
    assert {str(path): size for path, size in sizes.items() if size > 600} == {}
    assert statistics.median(size for size in sizes.values() if size) < 200


def test_every_module_says_what_it_is() -> None:
    silent = [path for path in MODULES if path.name != "__init__.py" and not ast.get_docstring(tree(path))]
    assert not silent


# Spelled in halves, so that this file does not hold what it looks for.
FORBIDDEN = [
    "/" + "work/",
    "/" + "tmp/helpers",
    "/" + "root/",
    "/" + "home/",
    "pypi" + ".org",
    "files.python" + "hosted",
]


def test_no_workplace_shows() -> None:
    """Nothing in the repository depends on, or tells, where it was written."""
    tracked = [
        path
        for top in ("compiler", "grammar", "stdlib", "examples", "tests", ".ci")
        for path in sorted((ROOT / top).rglob("*"))
        if path.suffix in {".py", ".md", ".stay", ".lark", ".txt", ".toml", ""} and path.is_file()
    ]
    tracked += [path for path in ROOT.iterdir() if path.is_file() and path.suffix in {".md", ".toml"}]
    assert len(tracked) > 40
    hits = [
        f"{path.relative_to(ROOT)}: {word}"
        for path in tracked
        for word in FORBIDDEN
        if word in path.read_text(encoding="utf-8", errors="replace")
    ]
    assert not hits
