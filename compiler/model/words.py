"""Words that print: titles from names."""

from __future__ import annotations


def with_article(word: str) -> str:
    """``a bag``, ``an airlock``, ``a unit``."""
    vowel = word[:1] in "aeiou" and not word.startswith(("uni", "use", "eu", "one"))
    return f"{'an' if vowel else 'a'} {word}"


def title_of(name: str) -> str:
    """``old-pump`` -> ``Old pump``."""
    spaced = name.replace("-", " ")
    return spaced[:1].upper() + spaced[1:]
