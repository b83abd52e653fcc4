"""A finding as a person reads it: what is wrong and where, the lines themselves, how it came to this, what is missing,
what to do.

    error  held-elsewhere                                          second.stay 27:11
    Wren sets old-pump on pump-side, but Teal has it in hand.

      27 │       set old-pump on pump-side
         │           ^^^^^^^^ Teal holds it here

      how it comes to this
        1  Teal  frees old-pump from pump-seat (25)
                 → old-pump: hand of Teal
        2  Wren  sets old-pump on pump-side (27)

      because  no step hands old-pump from Teal to Wren
      help     hand it over first
                 27 +       hand old-pump to wren
"""

from __future__ import annotations

from collections.abc import Sequence

from jackstay.diagnostics.edits import apply_edits
from jackstay.diagnostics.records import Diagnostic, Edit, Event, Fix
from jackstay.report.cells import cells, pad, shorten, shown, wrap
from jackstay.report.excerpt import Sources, excerpts, text_at
from jackstay.report.paint import OF_SEVERITY, Paint

NARROWEST = 32
_LABEL = 9


def _headline(finding: Diagnostic, width: int, paint: Paint) -> list[str]:
    style = OF_SEVERITY[finding.severity]
    word = "not decided" if finding.severity.value == "undecided" else finding.severity.value
    place = f"{shown(finding.at.path)} {finding.at.line}:{finding.at.start + 1}"
    used = cells(word) + 2 + cells(finding.rule)
    head = f"{paint(style, word)}  {paint('bold', shorten(finding.rule, width - cells(word) - 2))}"
    free = width - used - cells(place)
    rows = [head + " " * free + place] if free >= 2 else [head, shorten(place, width)]
    return rows + [paint("bold", row) for row in wrap(shown(finding.message), width)]


def _told(label: str, text: str, width: int, paint: Paint) -> list[str]:
    rows = wrap(shown(text), width - 2 - _LABEL) or [""]
    heads = [paint("cyan", label) + " " * (_LABEL - len(label))] + [" " * _LABEL] * (len(rows) - 1)
    return [f"  {head}{row}" for head, row in zip(heads, rows, strict=True)]


def _events(events: Sequence[Event], path: str, width: int, paint: Paint) -> list[str]:
    digits = max(len(str(event.number)) for event in events)
    names = min(max(cells(shown(event.actor)) for event in events), max(width // 4, 6))
    margin = 4 + digits + 2 + names + 2
    rows = ["", "  " + paint("cyan", "how it comes to this")]
    before = ""
    for event in events:
        actor = shorten(shown(event.actor), names) if event.actor != before else ""
        before = event.actor
        place = str(event.at.line) if event.at.path == path else f"{event.at.path} {event.at.line}"
        text = wrap(shown(f"{event.text} ({place})" if event.at.line else event.text), width - margin)
        head = f"    {event.number:>{digits}}  {paint('bold', actor)}{pad('', names - cells(actor))}  "
        rows.append(head + (text[0] if text else ""))
        rows += [" " * margin + row for row in text[1:]]
        if event.leaves:
            left = wrap(shown(event.leaves), width - margin - 2)
            rows += [" " * margin + ("→ " if at == 0 else "  ") + row for at, row in enumerate(left)]
    return rows


def _edit(edit: Edit, sources: Sources, home: str, width: int, paint: Paint) -> list[str]:
    """The lines as they read after the edit; ``+`` a new line, ``=`` a changed one."""
    margin = " " * (2 + _LABEL)
    room = width - len(margin)
    rows = [] if edit.at.path == home else [margin + shorten(shown(f"in {edit.at.path}"), room)]
    inserted = edit.at.start == edit.at.end == 0 and edit.text.endswith("\n")
    if inserted or text_at(sources, edit.at.path, edit.at.line) is None:
        lines, sign = edit.text.rstrip("\n").split("\n"), "+"
    else:
        line = sources[edit.at.path].lines[edit.at.line - 1]
        lines, sign = apply_edits(line, [Edit(edit.at._replace(line=1), edit.text)]).split("\n"), "="
    head = f"{edit.at.line} {sign}"
    return rows + [margin + paint("green", f"{head} {shorten(shown(line), room - len(head) - 1)}") for line in lines]


def _help(fixes: Sequence[Fix], sources: Sources, home: str, width: int, paint: Paint) -> list[str]:
    rows: list[str] = []
    for number, fix in enumerate(fixes):
        rows += _told("help" if number == 0 else "or", fix.text, width, paint)
        for edit in fix.edits:
            rows += _edit(edit, sources, home, width, paint)
    return rows


def story(finding: Diagnostic, sources: Sources, width: int = 80, color: bool = False) -> str:
    """One finding; no line is wider than the width (at least `NARROWEST`)."""
    width = max(width, NARROWEST)
    paint = Paint(color)
    rows = _headline(finding, width, paint)
    if lines := excerpts(finding, sources, width, paint, OF_SEVERITY[finding.severity]):
        rows += ["", *lines]
    if finding.events:
        rows += _events(finding.events, finding.at.path, width, paint)
    closing = _told("because", finding.because, width, paint) if finding.because else []
    closing += _help(finding.help, sources, finding.at.path, width, paint)
    if closing:
        rows += ["", *closing]
    return "\n".join(row.rstrip() for row in rows) + "\n"


def render(findings: Sequence[Diagnostic], sources: Sources, width: int = 80, color: bool = False) -> str:
    """Every finding, one after the other, with a blank line between."""
    return "\n".join(story(finding, sources, width, color) for finding in findings)
