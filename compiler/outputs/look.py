"""The look that all pictures share: colours, type sizes, and how actors are told apart.

The picture of a plan is a rigged line: lanes are lines between posts, steps are tags clipped to them, things are beads
on them. Whoever is told apart by a hue is told apart first by a letter in a shape, by a dash and by a fill pattern: all
of it reads in black and white. Hues: the colour set by Okabe and Ito for every kind of colour vision (Color Universal
Design, 2008)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from jackstay.flow.records import Step
from jackstay.model.records import Thing
from jackstay.outputs.views import View
from jackstay.outputs.wording import source_place

# Points. A sheet is A3 landscape at most; no text is smaller than SMALL.
A3_WIDTH, A3_HEIGHT = 1190.55, 841.89
MARGIN = 26.0
SMALL, TEXT, STRONG, HEAD, TITLE = 7.0, 8.0, 9.0, 11.0, 17.0
LEAD = 1.28  # from one line of text to the next, in type sizes
FACES = "'Liberation Sans', Arial, Helvetica, 'DejaVu Sans', Verdana, sans-serif"

# name: (light and paper, dark)
COLOURS = {
    "paper": ("#ffffff", "#10171f"),
    "ink": ("#14202b", "#eceae2"),
    "soft": ("#4a5763", "#b3bcc4"),
    "hair": ("#b9c1c8", "#47525d"),
    "wash": ("#f2f0e9", "#1a242e"),
    "tag": ("#fffdf6", "#1f2a35"),
    "loud": ("#b3261e", "#ff8a7a"),
    "dusk": ("#d9dde6", "#2b3446"),
}
HUES = ("#0072b2", "#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9")
ON_HUE = ("#ffffff", "#000000", "#000000", "#000000", "#000000", "#000000")
SHAPES = ("circle", "square", "triangle", "hexagon", "diamond", "pentagon")
DASHES = ("", "7 2.5", "1.6 2.2", "9 2.5 1.6 2.5", "4 2", "12 2.5 2 2.5 2 2.5")
PATTERNS = ("dots", "rising", "falling", "level", "upright", "checks")


@dataclass(frozen=True, slots=True)
class ActorStyle:
    """turn: its place in the crew; beyond six the shapes begin again, with a ring round them (rings)."""

    turn: int
    letter: str

    @property
    def hue(self) -> int:
        """Index of its classes ``h0`` to ``h5`` (fill) and ``l0`` to ``l5`` (line)."""
        return self.turn % len(HUES)

    @property
    def shape(self) -> str:
        return SHAPES[self.turn % len(SHAPES)]

    @property
    def dash(self) -> str:
        return DASHES[self.turn % len(DASHES)]

    @property
    def pattern(self) -> str:
        return PATTERNS[self.turn % len(PATTERNS)]

    @property
    def rings(self) -> int:
        return self.turn // len(SHAPES)


def actor_styles(views: Iterable[View], things: Iterable[Thing] = ()) -> dict[Thing, ActorStyle]:
    """Every actor's style: crews first, as they are written, then who else takes part, then other actors."""
    actors: dict[Thing, None] = {}
    for view in views:
        actors.update((actor, None) for actor in view.own)
    actors.update((thing, None) for thing in things if thing.sort == "actor")
    taken: set[str] = set()
    found: dict[Thing, ActorStyle] = {}
    for turn, actor in enumerate(actors):
        letters = [letter.upper() for letter in actor.title + actor.name if letter.isalnum()] or ["?"]
        # a letter of the name that nobody has; else a number; else (a hundred people) the letter that others have too
        free = (one for one in [*letters, *map(str, range(2, 10))] if one not in taken and len(one) == 1)
        letter = next(free, letters[0][:1])
        taken.add(letter)
        found[actor] = ActorStyle(turn, letter)
    return found


@cache
def css() -> str:
    """The style of every sheet. Paper, and programs that know no variables, get the light colours; a screen may set
    ``--js-…`` anew, and gets the dark ones when it asks for them."""
    plain: list[str] = []
    screen: list[str] = []
    for name, (light, _) in COLOURS.items():
        plain += [f".f-{name}{{fill:{light}}}", f".s-{name}{{stroke:{light}}}"]
        screen += [f".f-{name}{{fill:var(--js-{name},{light})}}", f".s-{name}{{stroke:var(--js-{name},{light})}}"]
    for at, (hue, on) in enumerate(zip(HUES, ON_HUE, strict=True)):
        plain += [f".h{at}{{fill:{hue}}}", f".l{at}{{stroke:{hue}}}", f".o{at}{{fill:{on}}}"]
    dark = ";".join(f"--js-{name}:{dark}" for name, (_, dark) in COLOURS.items())
    return (
        "".join(plain)
        + ".n{fill:none}"
        + f"@media screen{{{''.join(screen)}}}"
        + f"@media screen and (prefers-color-scheme:dark){{.js-sheet{{{dark}}}}}"
    )


def step_id(view: View, step: Step) -> str:
    """The name a step has in ``plan.json`` and in every picture: excursion/task/number."""
    return f"{view.excursion.name}/{step.entry.task.name}/{step.index}"


def step_link(view: View, step: Step) -> dict[str, str]:
    """What an element that stands for a step carries, so that a page can link it."""
    return {"data-step": step_id(view, step), "data-place": source_place(step.entry.at)}
