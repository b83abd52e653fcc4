"""The helper that runs pages can itself fail a page."""

from __future__ import annotations

import pages

from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.source.spans import Span

PAGE = r"""
# Things

```stay file=common.stay
use units
```

## One

```stay file=a.stay today=2026-03-01
line one
line two   # finds: some-rule "two" # finds: other-rule

# finds: some-rule "again"
```

### Deeper

```stay file=common.stay
changed
```

## Raw

clean but undecided

```stay file=b.stay escapes
\tx\x00{{ab*3}}\\
```

```python
## not a heading
```
"""


def finding(line: int, rule: str, message: str, severity: Severity = Severity.ERROR) -> Diagnostic:
    return Diagnostic(rule, severity, message, Span("a.stay", line, 0, 1))


def test_projects() -> None:
    one, deeper, raw = pages.projects(PAGE)
    assert one.title == "One" and one.today.isoformat() == "2026-03-01"
    assert one.files == {"common.stay": b"use units\n", "a.stay": b"line one\nline two\n\n\n"}
    assert [(mark.line, mark.rule, mark.text) for mark in one.marks] == [
        (2, "some-rule", "two"),
        (2, "other-rule", ""),
        (2, "some-rule", "again"),
    ]
    assert deeper.headings == ("One", "Deeper") and deeper.files == {"common.stay": b"changed\n"}
    assert raw.files["b.stay"] == b"\tx\x00ababab\\\n"
    assert raw.may_be_undecided and not one.may_be_undecided


def test_differences() -> None:
    one = pages.projects(PAGE)[0]
    right = [finding(2, "some-rule", "two."), finding(2, "other-rule", "x"), finding(2, "some-rule", "again")]
    assert pages.differences(one, right) == []
    assert pages.differences(one, [*right, finding(9, "n", "n", Severity.NOTE)]) == []
    assert len(pages.differences(one, right[1:])) == 1
    assert len(pages.differences(one, [*right, right[0]])) == 1
    assert len(pages.differences(one, [*right, finding(9, "u", "u", Severity.UNDECIDED)])) == 1
    moved = [finding(3, "some-rule", "two."), *right[1:]]
    assert len(pages.differences(one, moved)) == 2
