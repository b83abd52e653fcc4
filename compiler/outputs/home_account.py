"""The way home of an excursion, worked out once for all the outputs that tell of it."""

from __future__ import annotations

from jackstay.flow.records import ExcursionFlow
from jackstay.outputs.views import View
from jackstay.timing.home import Row, WayHome, way_home
from jackstay.timing.records import Times

KEPT = 8  # excursions: as many as one campaign usually has
_known: list[tuple[ExcursionFlow, Times, WayHome, list[Row]]] = []


def home_account(view: View, times: Times) -> tuple[WayHome, list[Row]]:
    """The account, and every stretch of it in turn with what is left then. Both are only to be read."""
    for flow, of, account, rows in _known:
        if flow is view.flow and of is times:
            return account, rows
    rows = []
    account = way_home(view.world, view.flow, times, rows.append)
    _known.append((view.flow, times, account, rows))
    del _known[:-KEPT]
    return account, rows
