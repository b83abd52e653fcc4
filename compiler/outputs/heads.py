"""The title line of an excursion in the text outputs, and what its clock, limit and light are."""

from __future__ import annotations

from jackstay.model.records import Excursion
from jackstay.outputs.paper import heading, wrap
from jackstay.outputs.views import View
from jackstay.outputs.wording import source_place
from jackstay.outputs.words import said


def excursion_head(view: View, of: int) -> list[str]:
    """The title line of an excursion, and what its clock, limit and light are."""
    excursion = view.excursion
    lines = heading(
        f"{said(view.world).heading} {view.number} of {of}: {excursion.title} [{excursion.name}]",
        source_place(excursion.decl),
        "=",
    )
    lines += wrap(frame_of_time(excursion))
    return lines


def frame_of_time(excursion: Excursion) -> str:
    parts = [
        f"Clock from {excursion.clock}." if excursion.clock else "No clock named: times count from the first step."
    ]
    if excursion.limit is not None:
        reserve = f", with a reserve of {excursion.reserve.text}" if excursion.reserve is not None else ""
        parts.append(f"Limit {excursion.limit.text}{reserve}.")
    if excursion.light is not None:
        dark, every, first, _ = excursion.light
        parts.append(f"Dark {dark.text} of every {every.text}, first at {first.text}.")
    return " ".join(parts)
