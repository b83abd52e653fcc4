"""Decks, the combined checklist and the lists on paper, laid out by typst.

The same data gives the same bytes. The two faces come with typst; the machine's own are asked only for letters that
these lack, so a plan in Latin, Greek or Cyrillic letters gives the same bytes on every machine."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from jackstay.outputs.deck_records import Deck, plain
from jackstay.outputs.deck_typ import TEMPLATE
from jackstay.outputs.frame import Frame

PAPERS = ("a4", "letter", "cuff")  # cuff: a strip of 90 by 200 mm, for the cuff of a glove
JOBS = 2
COVERED = 0x530  # letters below this are in the faces that come with typst


def sheets(made: Sequence[tuple[Deck, str, str]], frame: Frame, paper: str) -> list[bytes]:
    """made: (deck, heading, how to read it). paper: one of ``PAPERS``. The bytes of a PDF for each, in turn."""
    from concurrent.futures import ThreadPoolExecutor

    import typst

    inputs = [json.dumps(_data(deck, heading, how, frame, paper), ensure_ascii=False) for deck, heading, how in made]
    other = any(ord(letter) >= COVERED for text in inputs for letter in text if not 0x2000 <= ord(letter) < 0x2800)
    fonts = typst.Fonts(include_system_fonts=other)

    def one(data: str) -> bytes:
        compiler = typst.Compiler(TEMPLATE.encode("utf-8"), font_paths=fonts, sys_inputs={"data": data})
        file = compiler.compile(format="pdf", timestamp=0)
        assert isinstance(file, bytes)
        return file

    with ThreadPoolExecutor(JOBS) as pool:
        return list(pool.map(one, inputs))


def _data(deck: Deck, heading: str, how: str, frame: Frame, paper: str) -> dict[str, Any]:
    told = {
        "title": frame.title,
        "identity": frame.identity,
        "tally": frame.tally,
        "warning": frame.warning,
        "marks": list(frame.marks),
        "safety": list(frame.safety),
        "word": frame.said.heading,
    }
    return {"deck": plain(deck) | {"heading": heading}, "frame": told, "paper": paper, "how": how}
