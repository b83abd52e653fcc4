"""A comparison as a page: what has changed, and the timelines and diagrams of both sides beside one another.

One file that needs no network and runs no script. The pictures are those that the outputs draw, whole, one each for a
sheet that is the same on both sides."""

from __future__ import annotations

import base64
from collections.abc import Iterator
from itertools import zip_longest
from typing import NamedTuple

from jackstay.comparing.lines import Group, Line, Plan, Section
from jackstay.comparing.page_style import STYLE, colours
from jackstay.comparing.reading import Side
from jackstay.comparing.records import Comparison, Pair
from jackstay.comparing.sections import sections, summary
from jackstay.comparing.text import heading, title
from jackstay.outputs.frame import Frame, frame_of
from jackstay.outputs.svg import escape

_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"
_SIGNS = {"+": ("new", "+"), "-": ("gone", "\N{MINUS SIGN}"), "~": ("other", "~")}


class Sheets(NamedTuple):
    """A kind of picture of one excursion, sheet by sheet: (name, SVG)."""

    title: str
    old: list[tuple[str, str]]
    new: list[tuple[str, str]]


def as_page(comparison: Comparison, sides: tuple[Side, Side], shown: tuple[str, str], viewer: str | None = None) -> str:
    frames = [frame_of(side.checked, side.checked.failed) for side in sides]
    told = sections(comparison)
    pictures = _pictures(comparison, sides, (frames[0], frames[1]))
    whole = escape(heading(comparison, shown, viewer))
    body = [
        '<header><div class="rope">',
        _end(shown[0], frames[0], "old"),
        f"<h1>{escape(title(comparison, viewer))}</h1>",
        _end(shown[1], frames[1], "new"),
        f'</div><p class="sum">{escape(summary(comparison))}</p></header><main>',
        *(_section(at, one) for at, one in enumerate(told)),
        *pictures,
        "</main><footer>",
        *(f"<p>{escape(words)}</p>" for words in frames[1].safety[:2]),
        "</footer>",
    ]
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{whole}</title>\n<style>\n{colours()}{STYLE}</style></head>\n<body>\n"
        + "\n".join(body)
        + "\n</body></html>\n"
    )


def _end(shown: str, frame: Frame, side: str) -> str:
    """One post of the line at the top: which side, its fingerprint, and whether it passed."""
    loud = f'<strong class="loud">{escape(frame.warning)}</strong>' if frame.unchecked else ""
    return (
        f'<div class="post {side}"><b>{side}</b> <code>{escape(shown)}</code>'
        f"<span>plan {frame.identity}, {escape(frame.tally)}</span>{loud}</div>"
    )


def _section(at: int, section: Section) -> str:
    groups = "\n".join(_group(group) for group in section.groups)
    head = f'<section aria-labelledby="s{at}"><h2 id="s{at}">{escape(section.title)}</h2>'
    return f'{head}<div class="groups">\n{groups}\n</div></section>'


def _group(group: Group) -> str:
    title = f"<h3>{escape(group.title)}</h3>" if group.title else ""
    return f'<div class="group">{title}<ul>{"".join(_line(line) for line in group.lines)}</ul></div>'


def _line(line: Line) -> str:
    name, mark = _SIGNS.get(line.sign, ("", ""))
    words = "".join(f"<code>{escape(part)}</code>" if isinstance(part, Plan) else escape(part) for part in line.parts)
    sign = f'<i class="sign" aria-label="{name}">{mark}</i>' if mark else ""
    at = f' <span class="at">{escape(line.at)}</span>' if line.at else ""
    return f'<li class="{name}">{sign}<span>{words}{at}</span></li>'


# --- pictures -------------------------------------------------------------------------------------------------------


def _pictures(comparison: Comparison, sides: tuple[Side, Side], frames: tuple[Frame, Frame]) -> Iterator[str]:
    """Of each excursion in which something has changed."""
    touched: list[Pair] = []
    for change in comparison.changes:
        excursion = getattr(change, "excursion", None)
        if excursion is not None and excursion not in touched and comparison.titles.new.excursions.get(excursion.now):
            touched.append(excursion)
    if not touched:
        return
    drawn = [_drawn(side, frame, old) for side, frame, old in zip(sides, frames, (True, False), strict=True)]
    for number, pair in enumerate(touched):
        sheets = list(_sheets(pair, drawn[0], drawn[1]))
        if sheets:
            words = escape(f"{pair.now}: {comparison.titles.new.excursions.get(pair.now, pair.now)}, both sides")
            yield f'<section class="both" aria-labelledby="p{number}"><h2 id="p{number}">{words}</h2>'
            for at, kind in enumerate(sheets):
                yield from _kind(f"{number}-{at}", kind)
            yield "</section>"


def _drawn(side: Side, frame: Frame, old: bool) -> dict[str, str]:
    """Every sheet of a side by its name; none of a side that was not followed."""
    from jackstay.outputs.crewline import crew_timelines
    from jackstay.outputs.order import order

    if side.views is None:
        return {}
    world = side.checked.world
    made = {**crew_timelines(world, side.views, frame), **order(world, side.views, frame)}
    return {name: text for name, text in made.items() if name.endswith(".svg")}


def _sheets(pair: Pair, old: dict[str, str], new: dict[str, str]) -> Iterator[Sheets]:
    for kind, part in (("Crew timeline", "timeline"), ("Order of the steps", "order")):
        found = [_of(part, name, drawn) for name, drawn in ((pair.old, old), (pair.new, new))]
        if any(found):
            yield Sheets(kind, found[0], found[1])


def _of(part: str, excursion: str | None, drawn: dict[str, str]) -> list[tuple[str, str]]:
    """The sheets of one excursion, in their order: the first without a number, or all numbered."""

    def number(name: str) -> int | None:
        rest = name.removeprefix(f"{part}-{excursion}").removesuffix(".svg")
        if rest == "":
            return 1
        return int(rest[1:]) if rest[0] == "-" and rest[1:].isdigit() else None

    names = [name for name in drawn if name.startswith(f"{part}-{excursion}") and number(name) is not None]
    return [(name, drawn[name]) for name in sorted(names, key=lambda name: number(name) or 0)]


def _kind(key: str, sheets: Sheets) -> Iterator[str]:
    yield f"<h3>{escape(sheets.title)}</h3>"
    for at, (old, new) in enumerate(zip_longest(sheets.old, sheets.new)):
        if old is not None and new is not None and _bare(old[1]) == _bare(new[1]):
            yield f'<div class="pair same">{_figure(f"{key}-{at}", "the same on both sides", *new)}</div>'
            continue
        figures = [_figure(f"{key}-{at}-{side}", side, *one) for side, one in (("old", old), ("new", new)) if one]
        yield f'<div class="pair">{"".join(figures)}</div>'


def _bare(svg: str) -> str:
    """A drawing without what says of which plan it is."""
    start, found, rest = svg.partition("plan ")
    return f"{start}{found}{rest[12:]}" if found else svg


def _figure(key: str, side: str, name: str, svg: str) -> str:
    data = base64.b64encode(svg.encode("utf-8")).decode("ascii")
    words = escape(f"{side}: {name.removesuffix('.svg')}")
    return (
        f'<figure class="{side.split()[0]}"><figcaption>{words}</figcaption>'
        f'<input type="checkbox" id="z{key}" class="unseen"><label for="z{key}" title="larger or smaller">'
        f'<img alt="{words}" src="data:image/svg+xml;base64,{data}"></label></figure>'
    )
