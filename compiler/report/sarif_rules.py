"""A rule as SARIF describes it: summary, what it finds, and its whole page as help."""

from __future__ import annotations

import re
from typing import Any

from jackstay.diagnostics.records import Severity
from jackstay.report import page
from jackstay.rules import registry

_MARK = re.compile(r"[ \t]*#[ \t]*finds:[^\n]*")
_FENCE = re.compile(r"^```stay\b.*$", re.MULTILINE)
_FINDS = re.compile(r"^## What it finds\n+(.*?)(?=^#|\Z)", re.MULTILINE | re.DOTALL)
_LEVEL = {
    Severity.ERROR: "error",
    Severity.WARNING: "warning",
    Severity.NOTE: "note",
    Severity.UNDECIDED: "none",  # its results are of kind `open`, which have no level
}


def _markdown(text: str) -> str:
    """The page without what only the test suite reads: marks of findings, options of plans."""
    kept = [
        _MARK.sub("", line).rstrip() if "finds:" in line else line
        for line in text.splitlines()
        if not re.fullmatch(r"\s*#\s*finds:.*", line)
    ]
    return _FENCE.sub("```text", "\n".join(kept)) + "\n"


def _paragraph(text: str) -> str:
    """The first paragraph of what the rule finds, on one line."""
    found = _FINDS.search(text)
    return " ".join(found[1].split("\n\n")[0].split()) if found else ""


def descriptor(name: str) -> dict[str, Any]:
    """A reportingDescriptor (3.49)."""
    rule, text = registry.rule(name), registry.page(name)
    full = _paragraph(text) or rule.summary
    return {
        "id": name,
        "shortDescription": {"text": rule.summary},
        "fullDescription": {"text": full},
        "help": {"text": page.render(text), "markdown": _markdown(text)},
        "defaultConfiguration": {"enabled": True, "level": _LEVEL[rule.severity]},
        "properties": {"tags": [registry.family(name)]},
    }
