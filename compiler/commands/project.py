"""The project around a plan: its folder, and its settings."""

from __future__ import annotations

import datetime
import os
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jackstay.policy.settings import PlanSettings

FILE = "jackstay.toml"


def absolute(path: Path) -> Path:
    """Without ``..``, links left as they are: what the user named stays recognisable."""
    return Path(os.path.abspath(path))


def repository_top(folder: Path) -> Path | None:
    """The nearest folder upwards that a repository of git begins in."""
    place = absolute(folder)
    return next((one for one in (place, *place.parents) if (one / ".git").exists()), None)


def settings_file(folder: Path, top: Path | None = None) -> Path | None:
    """``jackstay.toml`` in the folder of a plan or the nearest one above, up to the top of its repository. Outside of a
    repository: up to the folder that the command runs in, if that is above. top: where to stop instead."""
    place = absolute(folder)
    stop = top or repository_top(place) or (Path.cwd() if place.is_relative_to(Path.cwd()) else place)
    for one in (place, *place.parents):
        if os.path.lexists(one / FILE):
            return one / FILE
        if one == stop:
            return None
    return None


def project_root(plans: Iterable[Path]) -> Path:
    """The folder that paths for other programs are relative to: the top of the repository around the first plan, else
    the folder of its settings, else the one the command runs in if that is above it, else the plan's own."""
    here = Path.cwd()
    for plan in plans:
        folder = absolute(plan.parent)
        top = repository_top(folder)
        if top is not None:
            return top
        found = settings_file(folder)
        return found.parent if found is not None else here if folder.is_relative_to(here) else folder
    return here


def plan_settings(plan: Path, day: datetime.date, top: Path | None = None) -> PlanSettings | None:
    """The settings for one plan, read anew; None where there are none. Whatever is wrong with them is told among the
    findings. top: where to stop looking."""
    found = settings_file(plan.parent, top)
    if found is None:
        return None
    from jackstay.policy.settings import PlanSettings, read_settings
    from jackstay.source.files import read_source

    shown = found.as_posix() if plan.is_absolute() else Path(os.path.relpath(found)).as_posix()
    source = read_source(shown, found)
    below = Path(os.path.relpath(absolute(plan.parent), found.parent)).as_posix()
    return PlanSettings(read_settings(source, str(found.parent)), "" if below == "." else f"{below}/", day)
