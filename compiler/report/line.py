"""One line a finding, for editors and for searching: ``path:line:column: severity: rule: message``."""

from __future__ import annotations

from collections.abc import Iterable

from jackstay.diagnostics.records import Diagnostic
from jackstay.report.cells import shown


def line(finding: Diagnostic) -> str:
    """Line and column count from 1."""
    at = finding.at
    where = f"{shown(at.path)}:{at.line}:{at.start + 1}"
    return f"{where}: {finding.severity.value}: {finding.rule}: {shown(' '.join(finding.message.split()))}"


def render(findings: Iterable[Diagnostic]) -> str:
    return "".join(line(finding) + "\n" for finding in findings)
