"""Day and night on a circular orbit: its period and how long each turn is dark.

The shadow is a cylinder as wide as the body, the orbit a circle (SMAD; Vallado; from memory):

- period ``T = 2 pi sqrt(a^3 / mu)`` with ``a = R + h``
- dark share of it ``arccos(sqrt(h^2 + 2 R h) / (a cos beta)) / pi``, none where that argument is 1 or more
- ``beta* = arcsin(R / a)``: from this angle between the orbit's plane and the sun on, it is never dark

Floats inside; what comes out is rounded to the millisecond and exact from there on, so that every later time is.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import NamedTuple

_TURN = math.pi / 2 * (1 + 1e-12)  # degrees come as rounded multiples of pi


class Orbit(NamedTuple):
    """period, dark: seconds, whole milliseconds; dark is 0 where it never gets dark. beta_star: radians."""

    period: Fraction
    dark: Fraction
    beta_star: float


def orbit(altitude: Fraction, beta: Fraction, radius: Fraction, pull: Fraction) -> Orbit:
    """altitude and radius in metres, beta in radians, pull (the gravitational parameter) in m^3/s^2.

    Raises ValueError, in words that continue "this orbit …", where there is no such orbit."""
    if radius <= 0:
        raise ValueError("goes round a body without a radius")
    if pull <= 0:
        raise ValueError("goes round a body without a pull")
    if altitude <= 0:
        raise ValueError("does not pass above the body")
    if abs(beta) > _TURN:
        raise ValueError("has a beta of more than a quarter turn")
    try:
        h, r, mu = float(altitude), float(radius), float(pull)
        a = h + r
        period = 2 * math.pi * a * math.sqrt(a / mu)
        horizon = math.sqrt(h) * math.sqrt(h + 2 * r)  # to where the body hides the sun
        if not all(math.isfinite(x) and x > 0 for x in (period, horizon)):
            raise OverflowError
        # under the square root of a very small altitude the quotient can be a rounding below or above its limits
        narrow = a * math.cos(min(abs(float(beta)), math.pi / 2))
        share = math.acos(horizon / narrow) / math.pi if horizon < narrow else 0.0
        star = math.asin(min(1.0, r / a))
        return Orbit(_to_milliseconds(period), _to_milliseconds(share * period), star)
    except (OverflowError, ZeroDivisionError):
        raise ValueError("is too large or too small to reckon with") from None


def _to_milliseconds(seconds: float) -> Fraction:
    return Fraction(round(seconds * 1000), 1000)
