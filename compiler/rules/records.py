"""What a rule says about itself."""

from __future__ import annotations

from dataclasses import dataclass

from jackstay.diagnostics.records import Severity


@dataclass(frozen=True, slots=True)
class Rule:
    """name: as a finding shows it and as `allow` takes it; it states the bad thing. summary: one sentence."""

    name: str
    severity: Severity
    summary: str
