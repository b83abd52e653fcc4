"""Decks, the combined checklist and the lists as pages: one file each, nothing from elsewhere, fit to be printed.

Boxes can be ticked and readings typed in; nothing is kept. Every step carries its name and its line in the plan."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from jackstay.outputs.deck_records import WARNINGS, Card, Deck, Part, Row
from jackstay.outputs.frame import Frame
from jackstay.outputs.look import COLOURS, FACES
from jackstay.outputs.svg import shape_path

SHORT = 14  # rows of a card that is printed on one page


def page(deck: Deck, heading: str, how: str, frame: Frame) -> str:
    """checklist-<actor>.html, combined.html"""
    shapes = {letter: shape for letter, shape, _ in deck.crew}
    body: list[str] = []
    for part in deck.parts:
        body += _part(part, shapes, frame.said.heading)
    for at, card in enumerate(deck.aside):
        if at == 0 or deck.aside[at - 1].part != card.part:
            body.append(f"<h2>Only when called: {_(card.part)}</h2>")
        body += _card(card, shapes)
    legend = "".join(f"<li>{_badge(*one[:2])} {_(one[2])}</li>" for one in deck.crew)
    top = f'<ul class="crew" aria-label="Marks">{legend}</ul>' if legend else ""
    mark = _badge(deck.letter, deck.shape) if deck.letter else ""
    return whole(f"{mark} {_(heading)}", heading, f'<p class="how">{_(how)}</p>{top}', body, frame)


def whole(shown: str, heading: str, top: str, body: list[str], frame: Frame) -> str:
    """shown: the heading as markup. body: lines of markup."""
    loud = f'<p class="loud">{_(frame.warning)}</p>' if frame.warning else ""
    safety = "".join(f"<p>{_(words)}</p>" for words in frame.safety)
    return "\n".join(
        [
            "<!doctype html>",
            '<html lang="en"><head><meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{_(heading)}: {_(frame.title)}, plan {_(frame.identity)}</title>",
            f"<style>{_css(frame)}</style></head><body>",
            f'{loud}<header><h1>{shown}</h1><p class="plan">{_(frame.title)} · plan {_(frame.identity)} · '
            f"{_(frame.tally)}</p></header>",
            f"<main>{top}",
            *body,
            f'</main><footer aria-label="Safety">{safety}{loud}',
            "</footer></body></html>",
            "",
        ]
    )


def _(text: str) -> str:
    return escape(text, quote=True)


def _part(part: Part, shapes: dict[str, str], word: str) -> Iterator[str]:
    yield f'<section class="part" aria-labelledby="part-{part.number}"><h2 id="part-{part.number}">{_(part.title)}</h2>'
    role = f" · your part: <b>{_(part.role)}</b>" if part.role else ""
    yield f'<p class="plan">{_(word)} {part.number} of {part.of} · {_(part.name)} · {_(part.source)}{role}</p>'
    yield f"<p>{_(part.time)}</p>"
    if part.lost:
        yield f'<p class="loud">{_(part.lost)}</p>'
    for card in part.cards:
        yield from _card(card, shapes)
    if part.rows:
        yield '<ol class="line">'
        for number, row in enumerate(part.rows):
            yield _row(row, f"r{part.number}-{number}", shapes)
        yield "</ol>"
    if not (part.lost or part.cards or part.rows):
        yield "<p>No steps.</p>"
    yield "</section>"


def _card(card: Card, shapes: dict[str, str]) -> Iterator[str]:
    seat = f", <span>{_(card.seat)}</span>" if card.seat else ""
    id = f"card-{card.number}"
    short = " short" if len(card.way) + len(card.rows) <= SHORT else ""
    yield f'<section class="card {card.sort}{short}" aria-labelledby="{id}">'
    source = f'<span class="at">{_(card.source)}</span>' if card.source else ""
    hole = '<span class="hole" aria-hidden="true"></span>'
    yield f'<h3 id="{id}">{hole}{_(card.number)} <b>{_(card.title)}</b>{seat}{source}</h3>'
    if card.about:
        yield f"<p>{_(' '.join(card.about))}</p>"
    rows = [_row(row, f"{id}-w{at}", shapes) for at, row in enumerate(card.way)]
    if rows:
        yield f'<ol class="line" aria-label="The way there">{"".join(rows)}</ol>'
    yield _carried("On me, on arrival", card.arrival)
    rows = [_row(row, f"{id}-{at}", shapes) for at, row in enumerate(card.rows)]
    yield (
        f'<ol class="line" aria-label="Steps">{"".join(rows)}</ol>'
        if rows
        else "<p>Nothing to do here but to be here.</p>"
    )
    yield _carried("Leave with", card.leaving)
    if card.then:
        yield f'<p class="then">{_(card.then)}</p>'
    yield "</section>"


def _carried(title: str, rows: tuple[tuple[str, str], ...]) -> str:
    if not rows:
        return ""
    inner = "".join(f"<dt>{_(how)}</dt><dd>{_(what)}</dd>" for how, what in rows)
    return f'<div class="carried"><h4>{_(title)}</h4><dl>{inner}</dl></div>'


def _row(row: Row, id: str, shapes: dict[str, str]) -> str:
    named = "".join(_badge(mark, shapes.get(mark, "circle")) for mark in row.marks)
    who = f"{named}<i>{_(row.who)}</i>: " if row.who else named
    at = f'<span class="at">{_(row.source)}</span>' if row.source else ""
    if row.sort == "task":
        under = "".join(
            f'<p class="{"drop" if head.startswith("may be dropped") else "sub"}"><b>{_(head)}</b> {_(words)}</p>'
            for head, words in row.under
        )
        return f'<li class="task"><h4>{_(row.text)}{at}</h4>{under}</li>'
    if row.sort in WARNINGS:
        return f'<li class="remark {row.sort}"><strong>{row.sort.upper()}</strong><p>{_(row.text)}</p></li>'
    if row.sort == "light":
        return f'<li class="light"><time>{_(row.clock)}</time> <span>{_(row.text)}</span></li>'
    if row.sort in ("wait", "beside"):
        call = f" <q>{_(row.call)}</q>" if row.call else ""
        more = " has begun; it is not over before this one is" if row.sort == "beside" else ""
        lasts = f" <small>{_(row.lasts)}</small>" if row.lasts else ""
        return f'<li class="wait"><strong>{row.sort.upper()}</strong> {who}{_(row.text)}{call}{more}{lasts}</li>'
    data = f' data-step="{_(row.step)}"' if row.step else ""
    data += f' data-place="{_(row.source)}"' if row.source else ""
    lasts = f" <small>{_(row.lasts)}</small>" if row.lasts else ""
    words = f"{who}<span>{_(row.text)}</span>{lasts}" if row.text else ""
    number = f'<b class="no">{_(row.number)}</b> ' if row.number else ""
    if row.sort == "step":
        words = f'<input type="checkbox" id="{id}"><label for="{id}">{number}{words}</label>'
    else:
        words = f"<div>{number}{words}</div>"
    return f'<li class="{row.sort}"{data}><time>{_(row.clock)}</time>{words}{at}{_under(row, id)}</li>'


def _under(row: Row, id: str) -> str:
    found = []
    if row.tools:
        found.append(f"<p><b>with</b> {_(row.tools)}</p>")
    if row.expect:
        found.append(
            f'<p class="reading"><label for="{id}-v"><b>expect</b> {_(row.expect)} <b>actual</b></label> '
            f'<input id="{id}-v" autocomplete="off"></p>'
        )
    for head, words in row.under:
        shown = (
            f"<em>{_(words)}</em>" if head == "why" else _(words) if head == "when" else f"<b>{_(head)}</b> {_(words)}"
        )
        found.append(f'<p class="{"when" if head == "when" else "sub"}">{shown}</p>')
    for answer in row.answers:
        to = f'<a href="#card-{_(answer.card)}">{_(answer.words)}</a>' if answer.card else _(answer.words)
        found.append(f"<p><b>If {_(answer.outcome)}:</b> {to}</p>")
    if row.call:
        said = f"<strong>{_(row.caller)} says</strong>" if row.caller else '<strong class="mine">SAY</strong>'
        found.append(f'<p class="say">{said} <q>{_(row.call)}</q></p>')
    return f'<div class="under">{"".join(found)}</div>' if found else ""


def _badge(letter: str, shape: str) -> str:
    """The name stands beside it, so it is not read out."""
    d = shape_path(shape, 9, 9, 6.4)
    low = 10.6 + (1.6 if shape == "triangle" else 0) + 1.2
    return (
        f'<svg class="badge" aria-hidden="true" viewBox="-1 -1 20 20"><path d="{d}"/>'
        f'<text x="9" y="{low}" text-anchor="middle" font-size="8.5" font-weight="bold">{_(letter)}</text></svg>'
    )


def _css(frame: Frame) -> str:
    light = ";".join(f"--{name}:{pair[0]}" for name, pair in COLOURS.items())
    dark = ";".join(f"--{name}:{pair[1]}" for name, pair in COLOURS.items())
    mark = " · ".join([f"plan {frame.identity}", *frame.marks])
    return (
        f":root{{{light}}}@media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}"
        f"body{{font:16px/1.4 {FACES}}}" + _CSS + f'@page{{size:A4;margin:14mm;@bottom-right{{content:"{mark} · page " '
        'counter(page) " of " counter(pages);font:8pt sans-serif}@bottom-left{content:"Planning aid, not certified; '
        'never the only control.";font:8pt sans-serif}}'
    )


_CSS = """
*{box-sizing:border-box}body{margin:0 auto;max-width:60rem;padding:1rem;background:var(--paper);color:var(--ink);
overflow-wrap:anywhere}h1{font-size:1.5rem;margin:.3rem 0}h2{font-size:1.35rem;margin:2rem 0 .2rem;break-after:avoid}
header{border-bottom:3px solid var(--ink)}.plan,.at,small{color:var(--soft);font-size:.82rem}
.loud{background:var(--ink);color:var(--paper);font-weight:bold;padding:.5rem .8rem}.badge{width:1.5em;height:1.5em;
vertical-align:-.4em;stroke:var(--ink);fill:none;stroke-width:1.3}.badge text{fill:var(--ink);stroke:none}
.crew{list-style:none;display:flex;flex-wrap:wrap;gap:1.2rem;padding:0}
.card{border:1px solid var(--hair);border-bottom:2px solid var(--ink);border-radius:8px 8px 0 0;margin:1.4rem 0}
.card>p{padding:0 .8rem}.card h3{background:var(--ink);color:var(--paper);margin:0;padding:.5rem .8rem;font-size:1.1rem;
border-radius:7px 7px 0 0;break-after:avoid;font-weight:normal}.card h3 .at{color:inherit;float:right}
.fallback,.condition{border-left:6px solid var(--ink)}.fallback h3,.condition h3{background:var(--paper);
color:var(--ink);
border:2px solid var(--ink)}.hole{display:inline-block;width:.6em;height:.6em;border-radius:50%;background:currentColor;
margin-right:.5em}.line{list-style:none;margin:0;padding:0}.line>li{display:grid;
grid-template-columns:3.6rem 3.4rem 1fr auto;column-gap:.7rem;padding:.28rem .8rem;break-inside:avoid;position:relative}
.line>li::before{content:"";position:absolute;left:8.35rem;top:0;bottom:0;border-left:3px solid var(--ink)}
.line>.wait::before{border-left-style:dotted}.line>.task::before,.line>.light::before{display:none}
.line>.task,.line>.light{display:block;break-after:avoid}.task h4{margin:.6rem 0 0;border-bottom:1px solid var(--ink)}
.task .at{float:right;font-weight:normal}.sub,.under p{margin:.15rem 0}.light{text-align:center;font-size:.85rem}
.light span{text-transform:uppercase;letter-spacing:.1em}.light::after{content:"";display:block;
border-top:2px dotted var(--soft)}.line time{font-weight:bold;font-variant-numeric:tabular-nums;grid-column:1}
.line input[type=checkbox]{grid-column:2;width:1.9rem;height:1.9rem;margin:0 auto 0 0;accent-color:var(--ink)}
.line>li>label,.line>li>div{grid-column:3}.line>li>.at{grid-column:4;text-align:right}.line>li>.under{grid-column:3/5}
.step label{font-size:1.08rem}.way>div:first-of-type{font-size:.95rem}.way::after{content:"";position:absolute;
left:calc(8.35rem - 3px);top:.75rem;width:9px;height:9px;border-radius:50%;background:var(--ink)}
.line>.wait,.line>.remark{display:block;margin:.3rem .8rem .3rem 9.4rem;padding:.4rem .7rem;break-after:avoid}
.line>.wait{border:2px dashed var(--ink);border-radius:5px}.line>.wait::before,.line>.remark::before{left:-1.05rem}
.wait strong,.mine{background:var(--ink);color:var(--paper);padding:.05rem .45rem;border-radius:4px}
.remark{border:5px solid var(--ink);border-radius:5px}.remark p{margin:.2rem 0 0;font-weight:bold;font-size:1.08rem}
.remark strong{letter-spacing:.12em}.warning strong{display:block;background:var(--loud);color:var(--paper);
margin:-.4rem -.7rem .3rem;padding:.2rem .7rem}.warning strong::before,.warning strong::after{content:" \\25b2 "}
.caution{border-width:3px}.caution strong{display:block;border-bottom:3px dashed var(--ink)}.note{border-width:1px}
.note p{font-weight:normal}q{font-weight:bold}.when{display:inline-block;border:1px solid var(--ink);border-radius:4px;
padding:0 .4rem;font-weight:bold;font-size:.88rem}.reading{border-left:4px solid var(--ink);padding-left:.6rem}
.reading input{width:8rem;min-height:1.9rem;font:inherit;border:2px solid var(--ink);border-radius:4px;
background:var(--paper);color:var(--ink)}.carried{background:var(--wash);margin:.4rem .5rem;padding:.4rem .7rem;
border-radius:5px;break-inside:avoid}.carried h4{margin:0;font-size:.78rem;letter-spacing:.08em;
text-transform:uppercase;
color:var(--soft)}.carried dl{display:grid;grid-template-columns:max-content 1fr;gap:.1rem 1rem;margin:.2rem 0 0}
.carried dt{font-weight:bold}.carried dd{margin:0}.then{font-weight:bold}a{color:inherit}
footer{border-top:3px solid var(--ink);margin-top:2rem;font-size:.9rem}
input[type=checkbox]{appearance:none;border:2px solid var(--ink);border-radius:4px;background:var(--paper)}
input[type=checkbox]:checked{background:var(--ink)}input[type=checkbox]:checked::after{content:"\\2713";
color:var(--paper);
display:block;text-align:center;font-weight:bold;line-height:1.2}.drop b{border:2px dashed var(--ink);padding:0 .3rem;
text-transform:uppercase;font-size:.85rem}.short{break-inside:avoid}.list{list-style:none;margin:.3rem 0;
padding:0 .8rem}
.list li{padding:.25rem 0;break-inside:avoid}.list input{width:1.5rem;height:1.5rem;vertical-align:-.4rem;
margin:0 .4rem 0 0}
.list .deep1{padding-left:2rem}.list .deep2{padding-left:4rem}.list .deep3{padding-left:6rem}
:focus-visible{outline:3px solid var(--loud);outline-offset:2px}
@media (max-width:34rem){body{padding:.4rem}.line>li{grid-template-columns:2.9rem 2.3rem 1fr;column-gap:.4rem;
padding:.28rem .4rem}.line>li::before{left:5.85rem}.way::after{left:calc(5.85rem - 3px)}.line>li>.at{grid-column:3;
text-align:left}.line>li>.under{grid-column:3}.line>.wait,.line>.remark{margin-left:6.5rem}.card h3 .at{float:none;
display:block}.line>.wait::before,.line>.remark::before{left:-.65rem}}
@media print{body{max-width:none;padding:0;font-size:11pt}.part+.part,main>h2{break-before:page}.card{break-inside:auto}
*{-webkit-print-color-adjust:exact;print-color-adjust:exact}}
"""
