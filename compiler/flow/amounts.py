"""Exact amounts, compared and added up in a fraction of the usual time."""

from __future__ import annotations

from fractions import Fraction

_ZERO = Fraction(0)


def exceeds(amount: Fraction, limit: Fraction) -> bool:
    """``amount > limit``, in a fraction of the time."""
    return amount.numerator * limit.denominator > limit.numerator * amount.denominator


def summed(amounts: list[Fraction]) -> Fraction:
    """The exact sum. One amount alone, or none, is the usual case, and whole ones add up faster as such."""
    if len(amounts) < 2:
        return amounts[0] if amounts else _ZERO
    if all(amount.denominator == 1 for amount in amounts):
        return Fraction(sum([amount.numerator for amount in amounts]))
    return sum(amounts, _ZERO)
