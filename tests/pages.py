r"""Pages that are tests: Markdown whose fenced blocks are plan files.

    ```stay file=depot.stay
    item crate : bag, on porch   # finds: unknown-name "porch"
    ```

Beside plans a project may have its settings (``toml file=jackstay.toml``) and a baseline (``json file=baseline.json``).

Every heading starts a new small project, made of the blocks under it; blocks before the first ``## `` heading belong to
every project of the page (a block of the same name replaces one). ``# finds: RULE "text"`` at the end of a line says
that this line has a finding of RULE whose message contains the text (the text may be left out); alone on a line it
belongs to the line above, so that a line can have several. These comments are taken out before the plan is checked.

A fence may carry, after the file's name:

- ``today=2026-03-01``: the day on which the project is checked (otherwise 2026-01-01);
- ``escapes``: in this block ``\t``, ``\r``, ``\\``, ``\xNN`` (a byte) are read as in Python, and ``{{TEXT*N}}`` stands
  for TEXT, N times.

A project without marks must be clean: no error, no warning and nothing undecided. Where the prose under its heading
says "clean but undecided", findings that are not decided need no mark. Notes never need one.
"""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass, field
from pathlib import Path

from jackstay.commands.plans import plans_in
from jackstay.diagnostics.edits import apply_edits
from jackstay.diagnostics.records import Diagnostic, Severity

TODAY = datetime.date(2026, 1, 1)
_FENCE = re.compile(r"^```(?:stay|toml|json)\s+file=(\S+\.stay|jackstay\.toml|baseline\.json)((?:\s+\S+)*)\s*$")
_FINDS = re.compile(r'\s*#\s*finds:\s*([a-z][a-z0-9-]*)(?:\s+"([^"]*)")?')
_REPEAT = re.compile(r"\{\{(.*?)\*(\d+)\}\}")
_ESCAPE = re.compile(r"\\(t|r|\\|x[0-9a-fA-F]{2})")


@dataclass(frozen=True, slots=True)
class Mark:
    """A finding that a page expects."""

    path: str
    line: int
    rule: str
    text: str

    def fits(self, finding: Diagnostic) -> bool:
        return (finding.at.path, finding.at.line, finding.rule) == (self.path, self.line, self.rule) and (
            self.text in finding.message
        )


@dataclass(slots=True)
class Project:
    """The plan files under one heading. headings: the chain of headings from ``## `` down."""

    headings: tuple[str, ...]
    line: int = 1
    prose: str = ""
    files: dict[str, bytes] = field(default_factory=dict)
    marks: list[Mark] = field(default_factory=list)
    today: datetime.date = TODAY

    @property
    def title(self) -> str:
        return " / ".join(self.headings)

    @property
    def may_be_undecided(self) -> bool:
        return "clean but undecided" in self.prose


def _decoded(line: str, escapes: bool) -> bytes:
    if not escapes:
        return line.encode()
    line = _REPEAT.sub(lambda found: found[1] * int(found[2]), line)
    out = bytearray()
    last = 0
    for found in _ESCAPE.finditer(line):
        out += line[last : found.start()].encode()
        code = found[1]
        out += {"t": b"\t", "r": b"\r", "\\": b"\\"}.get(code) or bytes([int(code[1:], 16)])
        last = found.end()
    return bytes(out + line[last:].encode())


def _add_file(project: Project, name: str, body: list[str], options: list[str]) -> None:
    escapes = "escapes" in options
    lines: list[bytes] = []
    for number, line in enumerate(body, start=1):
        start = _FINDS.search(line)
        if start is None:
            lines.append(_decoded(line, escapes))
            continue
        kept = line[: start.start()]
        at = number if kept.strip() else number - 1
        while not kept.strip() and at >= 1 and not lines[at - 1].strip():
            at -= 1
        project.marks += [Mark(name, at, found[1], found[2] or "") for found in _FINDS.finditer(line)]
        lines.append(_decoded(kept, escapes))
    project.files[name] = b"".join(line + b"\n" for line in lines)
    for option in options:
        if option.startswith("today="):
            project.today = datetime.date.fromisoformat(option.removeprefix("today="))


def projects(page: str) -> list[Project]:
    """The projects of a page that have at least one plan file, in order; files common to all are already in each."""
    common = Project(())
    found: list[Project] = []
    current = common
    lines = page.splitlines()
    row = 0
    while row < len(lines):
        line = lines[row]
        fence = _FENCE.match(line)
        if fence:
            end = next((at for at in range(row + 1, len(lines)) if lines[at].rstrip() == "```"), None)
            if end is None:
                raise ValueError(f"the block at line {row + 1} has no end")
            _add_file(current, fence[1], lines[row + 1 : end], fence[2].split())
            row = end + 1
            continue
        if line.startswith("```"):
            row = next((at for at in range(row + 1, len(lines)) if lines[at].rstrip() == "```"), len(lines)) + 1
            continue
        if line.startswith("##"):
            depth = len(line) - len(line.lstrip("#"))
            chain = (*current.headings[: depth - 2], line.lstrip("#").strip())
            current = Project(chain, row + 1)
            found.append(current)
        else:
            current.prose += line + "\n"
        row += 1
    kept = [project for project in found if project.files]
    for project in kept:
        shared = {name: body for name, body in common.files.items() if name not in project.files}
        project.marks += [mark for mark in common.marks if mark.path in shared]
        project.files = {**shared, **project.files}
    return kept or ([common] if common.files else [])


def findings(project: Project, folder: Path) -> list[Diagnostic]:
    """Every finding of a project written into an empty folder; a finding that two plans share counts once."""
    from jackstay.commands.checking import checked, gather
    from jackstay.pipeline import check

    for name, body in project.files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(body)
    if "jackstay.toml" in project.files or "baseline.json" in project.files:
        plans = plans_in(folder)
        outcome = gather((plan, checked(plan, project.today, top=folder)) for plan in plans)
        if "baseline.json" in project.files:
            from jackstay.commands.known import read_baseline, without_baseline

            file = str(folder / "baseline.json")
            without_baseline(outcome, file, read_baseline(file), folder, True)
        return outcome.seen_from(folder).findings
    found: dict[tuple[object, ...], Diagnostic] = {}
    for plan in plans_in(folder):
        for finding in check(plan, project.today).diagnostics:
            found.setdefault(finding.order(), finding)
    return sorted(found.values(), key=Diagnostic.order)


def _told(finding: Diagnostic) -> str:
    return f"{finding.at.path}:{finding.at.line}: {finding.severity.value}: {finding.rule}: {finding.message}"


def differences(project: Project, found: list[Diagnostic]) -> list[str]:
    """Marks without a finding, and findings without a mark, each as a line to read."""
    left = list(found)
    wrong: list[str] = []
    for mark in project.marks:
        fitting = next((finding for finding in left if mark.fits(finding)), None)
        if fitting is None:
            wrong.append(f'missing: {mark.path}:{mark.line}: {mark.rule} "{mark.text}"')
        else:
            left.remove(fitting)
    for finding in left:
        free = finding.severity is Severity.NOTE or (
            finding.severity is Severity.UNDECIDED and project.may_be_undecided
        )
        if not free:
            wrong.append(f"not expected: {_told(finding)}")
    return wrong


def after_fix(project: Project, finding: Diagnostic, fix: int) -> Project:
    """The project with one proposed repair made."""
    files = dict(project.files)
    edits = finding.help[fix].edits
    for path in {edit.at.path for edit in edits}:
        text = files[path].decode()
        files[path] = apply_edits(text, [edit for edit in edits if edit.at.path == path]).encode()
    return Project(project.headings, project.line, project.prose, files, [], project.today)
