"""Words that print: titles from names."""

from __future__ import annotations


def title_of(name: str) -> str:
    """``old-pump`` -> ``Old pump``."""
    spaced = name.replace("-", " ")
    return spaced[:1].upper() + spaced[1:]
