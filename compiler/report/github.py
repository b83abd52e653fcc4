"""Workflow annotations: a command a finding, on standard output, as GitHub's runners read them.

    ::error file=plans/second.stay,line=27,endLine=27,col=11,endColumn=19,title=held-elsewhere::Wren has not got …

Source of the form: GitHub's page on workflow commands, read in 2024; from memory.
"""

from __future__ import annotations

from collections.abc import Iterable

from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.report.cells import shown

# What is not decided is no notice in passing: a reader has to see that the check does not vouch for it.
_COMMAND = {
    Severity.ERROR: "error",
    Severity.WARNING: "warning",
    Severity.UNDECIDED: "warning",
    Severity.NOTE: "notice",
}


def _data(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")


def _told(finding: Diagnostic) -> str:
    """The story in short: what, the other places, why, what to do."""
    rows = [finding.message]
    at_home = finding.at.path
    for label in finding.labels:
        where = f"line {label.at.line}" if label.at.path == at_home else f"{label.at.path} line {label.at.line}"
        rows.append(f"{where}: {label.text}")
    rows += [f"because {finding.because}"] if finding.because else []
    rows += [f"{'or' if number else 'help'}: {fix.text}" for number, fix in enumerate(finding.help)]
    return "\n".join(shown(" ".join(row.split())) for row in rows)


def annotation(finding: Diagnostic) -> str:
    """One command. A place in a shipped vocabulary is no file of the repository: it is told in words."""
    at = finding.at
    title = finding.rule
    if finding.severity is Severity.UNDECIDED and title != "not-decided":
        title = f"not decided: {title}"
    where: list[str] = []
    told = _told(finding)
    if at.path and not at.path.startswith("stdlib:"):
        where = [f"file={_property(at.path)}"]
        if at.line:
            where += [f"line={at.line}", f"endLine={at.line}", f"col={at.start + 1}", f"endColumn={at.end + 1}"]
    elif at.path:
        told = f"{at.path} line {at.line}: {told}"
    return f"::{_COMMAND[finding.severity]} {','.join([*where, f'title={_property(title)}'])}::{_data(told)}"


def render(findings: Iterable[Diagnostic]) -> str:
    return "".join(annotation(finding) + "\n" for finding in findings)
