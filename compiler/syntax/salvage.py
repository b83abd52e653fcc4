"""What can still be told of a statement that could not be read: its form and the names it declares.

So that one broken line costs one finding: what stands under a broken excursion or task is still read as theirs, and
names that a broken line was to declare are not reported as unknown wherever they are used.
"""

from __future__ import annotations

import re

from jackstay.syntax.tree import At, Excursion, Name, Node, Task

_HEADING = re.compile(r"\s*(excursion|task)\s+([a-z][a-z0-9-]*)")
_NAMES = r"([a-z][a-z0-9-]*(?:\s*,\s*[a-z][a-z0-9-]*)*)"
_DECLARES = re.compile(r"\s*(?:actor|item|location|kind|let|table)\s+" + _NAMES)
_IN_AREA = re.compile(r"\s*" + _NAMES)


def heading(text: str) -> Node | None:
    """An excursion or a task with nothing but its name, if that much can be read."""
    found = _HEADING.match(text)
    if found is None:
        return None
    name = Name(found[2], At(0, found.start(2), found.end(2)))
    if found[1] == "excursion":
        return Excursion(name, None)
    return Task(name, None, Name("required", name.at), ())


def declared(text: str, in_area: bool = False) -> list[str]:
    """The names that a broken declaration was to make; in an area, locations stand without their word."""
    found = (_IN_AREA if in_area else _DECLARES).match(re.sub(r'\s*"[^"]*"?', "", text))
    return re.split(r"\s*,\s*", found[1]) if found else []
