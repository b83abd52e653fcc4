"""A comparison as data: JSON with one object a record.

    {"format": "jackstay.comparison/1", "old": …, "new": …, "changed": true, "summary": …,
     "changes": [{"sort": …, …}, …], "missing": [{"sort": "not-compared", …}, …]}

``sort`` names the record's class in `records` (``step-moved`` is `StepMoved`), whose docstring says what its other
fields are. A pair is ``{"old": …, "new": …}``; times are in seconds and amounts in base units, as numbers where they
are whole, else as fractions in words (``370/3``).
"""

from __future__ import annotations

import json
from fractions import Fraction
from typing import Any

from jackstay.comparing.records import Change, Comparison, Figure, Finding, Pair, StepAt, fields_of
from jackstay.comparing.sections import summary
from jackstay.outputs.clock import bare

FORMAT = "jackstay.comparison/1"


def as_json(comparison: Comparison, shown: tuple[str, str], viewer: str | None = None) -> str:
    data = {
        "format": FORMAT,
        "old": shown[0],
        "new": shown[1],
        "title": _value(comparison.title),
        "for": viewer,
        "changed": comparison.changed,
        "summary": summary(comparison),
        "changes": [_record(one) for one in comparison.changes],
        "missing": [_record(one) for one in comparison.missing],
    }
    return json.dumps(data, indent=2, ensure_ascii=False) + "\n"


def _record(change: Change) -> dict[str, Any]:
    fields: dict[str, Any] = {field: _value(getattr(change, field)) for field in fields_of(change)}
    return {"sort": change.sort, **fields}


def _value(value: Any) -> Any:
    if isinstance(value, Pair):
        return {"old": _value(value.old), "new": _value(value.new)}
    if isinstance(value, (Figure, Finding)):
        return {field: _value(one) for field, one in value._asdict().items()}
    if isinstance(value, StepAt):
        return {field: _value(getattr(value, field)) for field in fields_of(value)}
    if isinstance(value, Fraction):
        return bare(value)
    return [_value(one) for one in value] if isinstance(value, tuple) else value
