"""review.html: the whole plan in one file that needs no network, for those who review it on a screen.

The page's own code and style stand in ``review/`` beside this module. The plan is data in the page; its words reach the
screen as text only."""

from __future__ import annotations

import base64
import hashlib
from typing import Any

from jackstay.outputs.frame import Frame
from jackstay.outputs.look import COLOURS, HUES, ON_HUE
from jackstay.outputs.page_plan import as_script, plan_data
from jackstay.outputs.svg import escape
from jackstay.outputs.views import View
from jackstay.source.packaged import review_text

# In this order: each may use what stands before it.
SCRIPTS = (
    "base.js",
    "state.js",
    "steps.js",
    "overview.js",
    "timeline.js",
    "order.js",
    "places.js",
    "custody.js",
    "checklists.js",
    "lists.js",
    "forecast.js",
    "source.js",
    "detail.js",
    "search.js",
    "main.js",
)
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'sha256-{digest}'; base-uri 'none'"


def page(checked: Any, views: list[View], frame: Frame, forecast: dict[str, Any] | None = None) -> dict[str, str]:
    """File name -> text. forecast: as `forecast.as_json` writes it; without one the page says how to get it."""
    script = "(()=>{'use strict';\n" + "".join(review_text(name) for name in SCRIPTS) + "})();\n"
    digest = base64.b64encode(hashlib.sha256(script.encode("utf-8")).digest()).decode("ascii")
    safety = [escape(words) for words in frame.safety]
    parts = {
        "policy": _POLICY.format(digest=digest),
        "title": escape(frame.title),
        "identity": frame.identity,
        "tally": escape(frame.tally),
        "style": _colours() + review_text("page.css").replace("FOOT", _foot(frame)),
        "warning": f'<p class="unchecked" role="alert">{escape(frame.warning)}</p>' if frame.unchecked else "",
        "class": "is-unchecked" if frame.unchecked else "",
        "safety": safety[0],
        "more": "".join(f"<p>{words}</p>" for words in safety),
        "data": as_script(plan_data(checked, views, frame, forecast)),
        "script": script,
    }
    text = review_text("page.html")
    made = []
    for piece in text.split("{{"):  # what is filled in is never looked at again
        name, closed, rest = piece.partition("}}")
        made.append(parts[name] + rest if closed else piece)
    return {"review.html": "".join(made)}


def _foot(frame: Frame) -> str:
    """What every printed page says at its foot; nothing in it needs quoting in a style."""
    marks = "".join(f"{mark} · " for mark in frame.marks)
    return f"{marks}plan {frame.identity} · planning aid, not certified; never the only control"


def _colours() -> str:
    """The colours of `look` as variables: light, and dark where the screen or the reader asks for it."""

    def block(at: int) -> str:
        return "".join(f"--js-{name}:{pair[at]};" for name, pair in COLOURS.items())

    hues = "".join(f"--h{at}:{hue};--o{at}:{on};" for at, (hue, on) in enumerate(zip(HUES, ON_HUE, strict=True)))
    dark = f"{{{block(1)}color-scheme:dark}}"
    return (
        f":root{{{hues}{block(0)}color-scheme:light}}\n"
        f"@media screen{{:root[data-theme=dark]{dark}}}\n"
        f"@media screen and (prefers-color-scheme:dark){{:root:not([data-theme=light]){dark}}}\n"
    )
