"""How wide a text is, whatever face the reader has: measured with the advance widths of the widest usual plain faces.

Widths are thousandths of the type size: of each letter the greater of DejaVu Sans (measured from the face) and Verdana
(memory). Every other usual plain face is narrower, so what fits by these numbers fits on any screen and paper."""

from __future__ import annotations

import unicodedata
from functools import lru_cache

# From the space to the tilde.
_PLAIN = (
    352, 401, 460, 838, 636, 1077, 780, 275, 454, 454, 636, 838, 364, 454, 364, 454,
    636, 636, 636, 636, 636, 636, 636, 636, 636, 636, 454, 454, 838, 838, 838, 545,
    1000, 684, 686, 698, 771, 632, 575, 776, 752, 421, 455, 693, 557, 863, 749, 788, 604, 788, 696, 684, 616, 732, 684,
    989, 686, 616, 686, 454, 454, 454, 838, 636, 636,
    613, 635, 550, 635, 615, 352, 635, 634, 278, 344, 592, 278, 974, 634, 612, 635, 635, 427, 521, 394, 634, 592,
    818, 592, 592, 525, 636, 454, 636, 838,
)  # fmt: skip
_BOLD = (
    348, 456, 587, 867, 711, 1272, 872, 332, 543, 543, 711, 867, 380, 480, 380, 689,
    711, 711, 711, 711, 711, 711, 711, 711, 711, 711, 402, 402, 867, 867, 867, 617,
    1000, 776, 762, 734, 830, 683, 683, 821, 837, 546, 555, 775, 637, 995, 847, 850, 733, 850, 782, 720, 682, 812, 774,
    1128, 771, 737, 725, 543, 689, 543, 867, 711, 711,
    675, 716, 593, 716, 678, 435, 716, 712, 343, 403, 671, 343, 1058, 712, 687, 716, 716, 497, 595, 478, 712, 652,
    979, 669, 652, 597, 712, 543, 712, 867,
)  # fmt: skip
_SIGNS = {0xB7: 364, 0x2013: 636, 0x2014: 1000, 0x2018: 340, 0x2019: 340, 0x201C: 530, 0x201D: 530, 0x2026: 1000}
_ARROWS = range(0x2190, 0x2200)
_OTHER = 1240  # other scripts' letters: wider than nearly all of DejaVu's
_PICTURE = 1400  # pictographs: no face draws them wider
_WIDER = 1.18  # a bold letter against a plain one, where no table says
ELLIPSIS = "…"


@lru_cache(maxsize=4096)
def _advance(letter: str, bold: bool) -> int:
    table = _BOLD if bold else _PLAIN
    code = ord(letter)
    if 32 <= code < 127:
        return table[code - 32]
    if unicodedata.combining(letter) or unicodedata.category(letter) in ("Cf", "Me", "Mn"):
        return 0
    if unicodedata.east_asian_width(letter) in "WF":
        return _PICTURE if code >= 0x1F000 or unicodedata.category(letter) == "So" else 1020
    base = ord(unicodedata.normalize("NFD", letter)[0])
    if 32 <= base < 127:
        return table[base - 32]
    width = _SIGNS.get(code) or (838 if code in _ARROWS else _PICTURE if code >= 0x1F000 else _OTHER)
    return round(width * _WIDER) if bold else width


@lru_cache(maxsize=16384)
def text_width(text: str, size: float, bold: bool = False) -> float:
    """In the unit of ``size``. An upper bound: a reader's face may need less."""
    return sum([_advance(letter, bold) for letter in text]) * size / 1000


def fold(text: str, size: float, width: float, bold: bool = False) -> str:
    """The text, or as much of its beginning as fits with ``…`` after it; nothing where not even that fits."""
    if text_width(text, size, bold) <= width:
        return text
    room = width - text_width(ELLIPSIS, size, bold)
    if room < 0:
        return ""
    kept, used = 0, 0.0
    for letter in text:
        used += _advance(letter, bold) * size / 1000
        if used > room:
            break
        kept += 1
    return text[:kept].rstrip(" ,;:-/") + ELLIPSIS


def wrap_text(text: str, size: float, width: float, most: int = 0, bold: bool = False) -> list[str]:
    """Lines no wider than ``width``, broken at spaces, and within a word (after a hyphen if it has one) where it alone
    is wider. most: of so many lines the last is folded; 0: as many as it takes."""
    lines: list[str] = []
    line = ""
    for piece in _pieces(text, size, width, bold):
        if line and text_width((line + piece).rstrip(), size, bold) > width:
            lines.append(line.rstrip())
            line = ""
        line += piece
    if line.strip() or not lines:
        lines.append(line.rstrip())
    if most and len(lines) > most:
        rest = " ".join(lines[most - 1 :])
        lines = [*lines[: most - 1], fold(rest, size, width, bold)]
    return lines


def _pieces(text: str, size: float, width: float, bold: bool) -> list[str]:
    """What is never broken, each with the space after it."""
    found: list[str] = []
    for word in text.split():
        if text_width(word, size, bold) > width:
            part, used = "", 0.0
            for letter in word:
                more = _advance(letter, bold) * size / 1000
                if part and used + more > width:
                    cut = part.rfind("-") + 1
                    cut = cut if cut > len(part) // 3 else len(part)
                    found.append(part[:cut])
                    part = part[cut:]
                    used = text_width(part, size, bold)
                part += letter
                used += more
            word = part
        found.append(word + " ")
    return found
