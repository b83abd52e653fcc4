"""The JSON schema of plan.json, made from its records. ``python -m tests.outputs.plan_schema`` renews the file that is
published with the package; a test compares the two."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from jackstay.outputs import data_shape
from jackstay.outputs.data import SCHEMA

PUBLISHED = Path(data_shape.__file__).with_name("plan.schema.json")


def schema() -> dict[str, Any]:
    """Draft 2020-12."""
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": SCHEMA}
    found: dict[str, Any] = json.loads(
        json.dumps(head | TypeAdapter(data_shape.Plan).json_schema() | {"title": SCHEMA}).replace('"from_"', '"from"')
    )
    return found


def text() -> str:
    return json.dumps(schema(), indent=1) + "\n"


if __name__ == "__main__":
    PUBLISHED.write_text(text(), encoding="utf-8")
