"""What a rule says about itself."""

from __future__ import annotations

from jackstay.diagnostics.records import Severity
from jackstay.source.record import Record


class Rule(Record):
    """name: as a finding shows it and as `allow` takes it; it states the bad thing. summary: one sentence."""

    name: str
    severity: Severity
    summary: str
