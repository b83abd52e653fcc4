"""What the analysis of words finds."""

from __future__ import annotations

from typing import Any, NamedTuple


class Found(NamedTuple):
    """rule: its name. words: those of the text that it is about, as written. more: further facts of the rule."""

    rule: str
    words: str
    more: dict[str, Any] = {}  # noqa: RUF012  # never written to
