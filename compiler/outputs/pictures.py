"""The drawn outputs that have no layout program behind them: custody, who holds what, place frames."""

from __future__ import annotations

from jackstay.model.records import World
from jackstay.outputs.custody_holds import who_holds_what
from jackstay.outputs.custody_list import custody_list
from jackstay.outputs.custody_sheets import custody
from jackstay.outputs.frame import Frame
from jackstay.outputs.frames_strip import frames
from jackstay.outputs.views import View


def pictures(world: World, views: list[View], frame: Frame) -> dict[str, str]:
    """File name -> text."""
    return {
        **custody(world, views, frame),
        "custody.txt": custody_list(world, views, frame),
        **who_holds_what(world, views, frame),
        **frames(world, views, frame),
    }
