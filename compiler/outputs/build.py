"""All outputs of a checked plan: names and bytes, part by part. The same plan gives the same bytes.

A *part* is what is made together, and can be asked for alone. Parts know nothing of each other, so that they can be
made beside one another; each imports what it needs when it is made, and nothing else."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import partial
from typing import Any, NamedTuple

from jackstay.outputs.frame import Frame, frame_of
from jackstay.outputs.views import NOT_FOLLOWED, View, views_of

SEED = 1  # of a forecast's draws
NOT_PRINTED = "not-followed.txt"


@dataclass(frozen=True, slots=True)
class Job:
    """checked: anything with ``world``, ``flow``, ``diagnostics`` and ``sources``. papers: what checklists and lists
    are printed on, of ``a4``, ``letter`` and ``cuff``. samples: runs of the review page's forecast; 0: none."""

    checked: Any
    views: list[View]
    frame: Frame
    papers: tuple[str, ...] = ()
    samples: int = 0


Made = Mapping[str, "str | bytes"]


class Part(NamedTuple):
    """files: patterns of the names that it may give. pieces: where it is long, the same in pieces that can be made
    beside one another."""

    files: tuple[str, ...]
    make: Callable[[Job], Made]
    pieces: Callable[[Job], list[Callable[[], Made]]] | None = None


class UnknownOutput(LookupError):
    """No part has this name, and none gives a file of this name."""


def build(checked: Any, unchecked: bool = False, papers: Sequence[str] = (), samples: int = 0) -> dict[str, bytes]:
    """File name -> content; the rest as in `Job`.

    unchecked: every output says loudly that the plan has not passed. Without a layout program the order sheets
    are only texts and ``order-not-drawn.txt`` says why. Where ``flow`` is None nothing was followed, and the one file
    says so."""
    job = job_of(checked, unchecked, papers, samples)
    return files_of(job, PARTS)


def job_of(checked: Any, unchecked: bool, papers: Sequence[str] = (), samples: int = 0) -> Job:
    views = views_of(checked.flow) if checked.flow is not None else []
    return Job(checked, views, frame_of(checked, unchecked), tuple(papers), samples)


def files_of(job: Job, parts: Iterable[str]) -> dict[str, bytes]:
    return joined(piece() for piece in pieces_of(job, parts))


def pieces_of(job: Job, parts: Iterable[str]) -> list[Callable[[], Made]]:
    """What there is to be done for these parts; of a plan that was not followed, the one file that says so."""
    if job.checked.flow is None:
        return [partial(_not_followed, job)]
    found: list[Callable[[], Made]] = []
    for name in parts:
        part = PARTS[name]
        found += part.pieces(job) if part.pieces is not None else [partial(part.make, job)]
    return found


def joined(pieces: Iterable[Made]) -> dict[str, bytes]:
    made = {file: content for piece in pieces for file, content in piece.items()}
    return {file: text.encode("utf-8") if isinstance(text, str) else text for file, text in sorted(made.items())}


def chosen(names: Sequence[str]) -> tuple[list[str], Callable[[str], bool]]:
    """The parts that are needed for what is asked for, slowest first, and whether a file is asked for. names: of parts
    or of files, where ``*`` stands for anything; none: all. Raises `UnknownOutput`."""
    if not names:
        return list(PARTS), lambda file: True
    parts = set(names) & set(PARTS)
    patterns = [name for name in names if name not in parts]
    wanted = set(parts)
    for pattern in patterns:
        giving = {name for name, part in PARTS.items() if any(_meet(pattern, file) for file in part.files)}
        if not giving:
            raise UnknownOutput(pattern)
        wanted |= giving
    from_parts = [file for name in parts for file in PARTS[name].files] + [NOT_PRINTED]

    def asked(file: str) -> bool:
        return any(fnmatchcase(file, pattern) for pattern in (*from_parts, *patterns))

    return [name for name in PARTS if name in wanted], asked


def _meet(pattern: str, other: str) -> bool:
    """Whether a name may fit both patterns; said too often rather than too seldom."""
    if "*" not in pattern:
        return fnmatchcase(pattern, other)
    start, end = pattern.split("*")[0], pattern.split("*")[-1]
    first, last = other.split("*")[0], other.split("*")[-1]
    starts = start.startswith(first) or first.startswith(start)
    return starts and (end.endswith(last) or last.endswith(end))


def _not_followed(job: Job) -> Made:
    from jackstay.outputs.paper import wrap

    lines = [*job.frame.head("Not printed"), *wrap(NOT_FOLLOWED), *job.frame.foot()]
    return {NOT_PRINTED: "\n".join(lines) + "\n"}


# --- the parts -------------------------------------------------------------------------------------------------------


def _checklists(job: Job) -> Made:
    from jackstay.outputs.checklists import checklists

    return checklists(job.checked.world, job.views, job.frame, job.papers)


def _each_checklist(job: Job) -> list[Callable[[], Made]]:
    from jackstay.outputs.checklists import checklists, subjects

    world, views, frame, papers = job.checked.world, job.views, job.frame, job.papers
    names = subjects(views)
    slowest = ["combined", *(name for name in names if name != "combined")]
    return [partial(checklists, world, views, frame, papers, (name,)) for name in slowest]


def _order(job: Job) -> Made:
    from jackstay.outputs.order import order

    return order(job.checked.world, job.views, job.frame)


def _crew(job: Job) -> Made:
    from jackstay.outputs.crewline import crew_timelines

    return crew_timelines(job.checked.world, job.views, job.frame)


def _review(job: Job) -> Made:
    from jackstay.outputs.page import page

    return page(job.checked, job.views, job.frame, _forecast(job))


def _forecast(job: Job) -> dict[str, Any] | None:
    """What ``jackstay forecast --format json`` prints; nothing of a plan that has not passed."""
    if not job.samples or job.frame.unchecked:
        return None
    import json

    from jackstay.outputs.forecast import as_json
    from jackstay.timing.sampling_forecast import forecast

    flow = job.checked.flow
    found = [(one, forecast(job.checked.world, one, job.samples, SEED)) for one in flow.excursions]
    told: dict[str, Any] = json.loads(as_json(job.checked, found, job.samples, SEED))
    return told


def _custody(job: Job) -> Made:
    from jackstay.outputs.custody_list import custody_list
    from jackstay.outputs.custody_sheets import custody

    world = job.checked.world
    return {**custody(world, job.views, job.frame), "custody.txt": custody_list(world, job.views, job.frame)}


def _holds(job: Job) -> Made:
    from jackstay.outputs.custody_holds import who_holds_what

    return who_holds_what(job.checked.world, job.views, job.frame)


def _frames(job: Job) -> Made:
    from jackstay.outputs.frames_strip import frames

    return frames(job.checked.world, job.views, job.frame)


def _home(job: Job) -> Made:
    from jackstay.outputs.wayhome import wayhome

    return {"way-home.txt": wayhome(job.views, job.frame)}


def _data(job: Job) -> Made:
    from jackstay.outputs.data import plan_json

    return {"plan.json": plan_json(job.checked.world, job.views, job.frame)}


def _timeline(job: Job) -> Made:
    from jackstay.outputs.timeline import timeline

    return {"timeline.txt": timeline(job.views, job.frame)}


def _calendar(job: Job) -> Made:
    from jackstay.outputs.calendar import calendar

    dates = calendar(job.views, job.frame)
    return {} if dates is None else {"timeline.ics": dates}


def _luck(job: Job) -> Made:
    from jackstay.outputs.luck import luck

    return {"luck.txt": luck(job.checked.world, job.views, job.frame)}


def _forms(job: Job) -> Made:
    from jackstay.outputs.forms import forms

    return forms(job.checked.world, job.views, job.frame)


def _end(job: Job) -> Made:
    from jackstay.outputs.ending import ending

    return {"end.txt": ending(job.checked.world, job.views, job.frame)}


# The slowest first: whoever makes several beside one another begins with those.
PARTS: dict[str, Part] = {
    "checklists": Part(("checklist-*", "combined*", "pack*"), _checklists, _each_checklist),
    "crew": Part(("timeline-*.svg",), _crew),
    "review": Part(("review.html",), _review),
    "way-home": Part(("way-home.txt",), _home),
    "data": Part(("plan.json",), _data),
    "order": Part(("order-*",), _order),
    "timeline": Part(("timeline.txt",), _timeline),
    "frames": Part(("frames-*.svg",), _frames),
    "custody": Part(("custody*",), _custody),
    "holds": Part(("who-holds-what-*.svg",), _holds),
    "luck": Part(("luck.txt",), _luck),
    "end": Part(("end.txt",), _end),
    "forms": Part(("form-*",), _forms),
    "calendar": Part(("timeline.ics",), _calendar),
}
