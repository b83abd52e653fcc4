"""A comparison as plain text and as Markdown for a comment under a change."""

from __future__ import annotations

import re
from collections.abc import Callable

from jackstay.comparing.lines import Line, Plan
from jackstay.comparing.records import Comparison
from jackstay.comparing.sections import sections, summary

Wrap = Callable[[str, str, str], list[str]]  # text, what stands before its first line, and before the others


def as_text(comparison: Comparison, shown: tuple[str, str], wrap: Wrap, viewer: str | None = None) -> str:
    """shown: how the two sides were asked for. viewer: whose view it is."""
    lines = wrap(heading(comparison, shown, viewer), "", "")
    for section in sections(comparison):
        lines += ["", *wrap(section.title, "", "  ")]
        for group in section.groups:
            lines += [f"  {group.title}"] if group.title else []
            for line in group.lines:
                sign = f"    {line.sign} " if line.sign else "  "
                lines += wrap(line.text + (f" [{line.at}]" if line.at else ""), sign, " " * (len(sign) + 2))
    return "\n".join([*lines, "", *wrap(summary(comparison), "", "")]) + "\n"


def heading(comparison: Comparison, shown: tuple[str, str], viewer: str | None) -> str:
    return f"{title(comparison, viewer)}, from {shown[0]} to {shown[1]}"


def title(comparison: Comparison, viewer: str | None) -> str:
    return f"What has changed{f' for {viewer}' if viewer else ''} in {comparison.title.now}"


_SPECIAL = re.compile(r"([\\`*_\[\]<>#|~@&!])")


_LONGEST = 60_000  # characters: a comment that is much longer is refused by those who keep them


def as_markdown(comparison: Comparison, shown: tuple[str, str], viewer: str | None = None) -> str:
    """The plan's words stand as code, so that nothing in them is markup, a mention or a link."""
    lines = [f"### {_prose(title(comparison, viewer))}", ""]
    lines += [f"From {_code(shown[0])} to {_code(shown[1])}. {_prose(summary(comparison))}"]
    for section in sections(comparison):
        lines += ["", f"#### {_prose(section.title)}"]
        for group in section.groups:
            lines += ["", *([f"**{_prose(group.title)}**", ""] if group.title else [])]
            lines += [_bullet(line) for line in group.lines]
    kept: list[str] = []
    left = _LONGEST
    for line in lines:
        left -= len(line) + 1
        if left < 0:
            kept += ["", f"… and {sum(one.startswith('- ') for one in lines[len(kept) :])} more."]
            break
        kept.append(line)
    return "\n".join(kept) + "\n"


_SIGNS = {"+": "➕ ", "-": "➖ ", "~": ""}


def _bullet(line: Line) -> str:
    words = "".join(_code(part) if isinstance(part, Plan) else _prose(part) for part in line.parts)
    at = f" ({_code(line.at)})" if line.at else ""
    return f"- {_SIGNS.get(line.sign, '')}{words}{at}"


def _prose(text: str) -> str:
    return _SPECIAL.sub(r"\\\1", text).replace("\n", " ")


def _code(text: str) -> str:
    """A code span; one that holds backticks is fenced by more of them."""
    text = text.replace("\n", " ")
    if not text:
        return ""
    fence = "`" * (1 + max((len(run) for run in re.findall(r"`+", text)), default=0))
    pad = " " if text.startswith("`") or text.endswith("`") else ""
    return f"{fence}{pad}{text}{pad}{fence}"
