"""What an `allow` line states, with the lines it covers."""

from __future__ import annotations

import datetime

from jackstay.diagnostics.records import Diagnostic
from jackstay.source.record import Record
from jackstay.source.spans import Span


class Allowance(Record):
    """``allow RULE because "…" until DATE``: covers the findings of RULE in scope_path from first_line to last_line.

    at: where RULE stands. until: the last day on which it counts."""

    rule: str
    scope_path: str
    first_line: int
    last_line: int
    at: Span
    reason: str | None
    until: datetime.date | None

    def covers(self, finding: Diagnostic) -> bool:
        return (
            finding.rule == self.rule
            and finding.at.path == self.scope_path
            and self.first_line <= finding.at.line <= self.last_line
        )

    def order(self) -> tuple[int, str, int, int]:
        """Narrowest first, so that the innermost of several takes a finding."""
        return (self.last_line - self.first_line, self.at.path, self.at.line, self.at.start)
