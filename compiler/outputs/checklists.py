"""All checklists and lists of a plan, in each form: text, page, paper."""

from __future__ import annotations

from collections.abc import Container, Sequence

from jackstay.model.records import Thing, World
from jackstay.outputs.checklist import ALL_TO_READ, HOW_TO_READ, checklist
from jackstay.outputs.combined import combined
from jackstay.outputs.deck import actors_of, deck
from jackstay.outputs.deck_html import page
from jackstay.outputs.deck_pdf import sheets
from jackstay.outputs.deck_records import Deck
from jackstay.outputs.frame import Frame
from jackstay.outputs.lists import chapters, lists
from jackstay.outputs.lists_html import list_page, on_paper
from jackstay.outputs.views import View

Sheet = tuple[Deck, str, str]  # a deck, its heading, and how to read it


def subjects(views: list[View]) -> list[str]:
    """The names of all of them, without an ending."""
    return [*(f"checklist-{name}" for _, name in named(actors_of(views))), "combined", "pack"]


def checklists(
    world: World, views: list[View], frame: Frame, papers: Sequence[str], only: Container[str] | None = None
) -> dict[str, bytes]:
    """``checklist-<actor>`` of everybody, ``combined``, ``pack``: as ``.txt`` and ``.html``; on each of the papers as
    ``…-<paper>.pdf``, but for machines, whose steps are in the deck of whoever runs them.
    only: of the subjects; None: all."""
    made: dict[str, bytes] = {}
    printed: list[tuple[str, Sheet]] = []
    for actor, name in named(actors_of(views)):
        if only is not None and f"checklist-{name}" not in only:
            continue
        cards = deck(world, views, actor, name)
        heading = f"Checklist: {cards.subject}" + (f", run by {cards.runs}" if cards.runs else "")
        made |= _both(f"checklist-{name}", (cards, heading, HOW_TO_READ), frame)
        if actor.runner is None:
            printed.append((f"checklist-{name}", (cards, heading, HOW_TO_READ)))
    if only is None or "combined" in only:
        everybody: Sheet = (combined(world, views), "Combined checklist", ALL_TO_READ)
        made |= _both("combined", everybody, frame)
        printed.append(("combined", everybody))
    if only is None or "pack" in only:
        told = chapters(world, views)
        made["pack.txt"] = lists(told, frame).encode("utf-8")
        made["pack.html"] = list_page(told, frame).encode("utf-8")
        printed.append(("pack", on_paper(told, frame.said)))
    for paper in papers:
        files = sheets([sheet for _, sheet in printed], frame, paper)
        made.update((f"{name}-{paper}.pdf", file) for (name, _), file in zip(printed, files, strict=True))
    return made


def _both(name: str, sheet: Sheet, frame: Frame) -> dict[str, bytes]:
    return {
        f"{name}.txt": checklist(sheet[0], frame).encode("utf-8"),
        f"{name}.html": page(*sheet, frame).encode("utf-8"),
    }


def named(actors: list[Thing]) -> list[tuple[Thing, str]]:
    """Actors of two modules may share a name: the second then gets a number."""
    taken: dict[str, int] = {}
    found = []
    for actor in actors:
        taken[actor.name] = taken.get(actor.name, 0) + 1
        count = taken[actor.name]
        found.append((actor, actor.name if count == 1 else f"{actor.name}-{count}"))
    return found
