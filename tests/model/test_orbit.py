"""Day and night on an orbit, against published and independently worked figures."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jackstay.model.orbit import Orbit, orbit

# The Earth's equatorial radius and gravitational parameter: WGS 84 / EGM96, in km and km^3/s^2.
RADIUS, PULL = Fraction("6378.137"), Fraction("398600.4418")
KM = 1000


def earth(altitude: float, beta: float) -> Orbit:
    """Kilometres and degrees."""
    degree = Fraction("0.017453292519943295")
    return orbit(Fraction(altitude) * KM, Fraction(beta) * degree, RADIUS * KM, PULL * KM**3)


def minutes(seconds: Fraction) -> float:
    return float(seconds) / 60


# Worked twice for the project from the formulas in SMAD and Vallado: altitude in km, period in min, beta* in degrees,
# and minutes of dark at beta 0, 30, 45, 60 and 70 degrees.
WORKED = [
    (350, 91.54, 71.44, (36.33, 34.80, 32.16, 25.66, 10.91)),
    (400, 92.56, 70.22, (36.11, 34.45, 31.58, 24.37, 4.26)),
    (500, 94.62, 68.02, (35.75, 33.85, 30.51, 21.83, 0)),
]


@pytest.mark.parametrize(("altitude", "period", "star", "dark"), WORKED)
def test_worked_figures(altitude: int, period: float, star: float, dark: tuple[float, ...]) -> None:
    for beta, expected in zip((0, 30, 45, 60, 70), dark, strict=True):
        found = earth(altitude, beta)
        assert minutes(found.period) == pytest.approx(period, abs=0.005)
        assert math.degrees(found.beta_star) == pytest.approx(star, abs=0.005)
        assert minutes(found.dark) == pytest.approx(expected, abs=0.005)
        assert earth(altitude, -beta).dark == found.dark


# Published longest eclipses of circular orbits at beta 0, in minutes.
@pytest.mark.parametrize(("altitude", "dark"), [(200, 37.28), (400, 36.11), (1370, 34.82)])
def test_published_figures_at_beta_0(altitude: int, dark: float) -> None:
    assert minutes(earth(altitude, 0).dark) == pytest.approx(dark, abs=0.01)


def test_the_shortest_dark_is_near_1370_km() -> None:
    shortest = min(range(200, 3000, 10), key=lambda altitude: earth(altitude, 0).dark)
    assert 1330 <= shortest <= 1410


def test_beyond_beta_star_it_is_never_dark() -> None:
    star = math.degrees(earth(400, 0).beta_star)
    assert earth(400, star + 0.01).dark == 0
    assert 0 < earth(400, star - 0.01).dark < 60
    assert earth(400, 90).dark == 0


@settings(max_examples=100, deadline=None)
@given(st.floats(150, 2000), st.floats(0, 90))
def test_against_the_shadow_itself(altitude: float, beta: float) -> None:
    """Points of the orbit are in the dark that lie behind the body and within its radius of the axis from the sun."""
    found = earth(altitude, beta)
    r, a, tilt = float(RADIUS), float(RADIUS) + altitude, math.radians(beta)
    count = 4000
    hidden = 0
    for n in range(count):
        angle = 2 * math.pi * (n + 0.5) / count
        along = a * math.cos(angle) * math.cos(tilt)  # towards the sun
        aside = math.hypot(a * math.sin(angle), a * math.cos(angle) * math.sin(tilt))
        hidden += along < 0 and aside < r
    assert float(found.dark / found.period) == pytest.approx(hidden / count, abs=2 / count)


def test_whole_milliseconds() -> None:
    found = earth(400, 30)
    assert (found.period * 1000).denominator == (found.dark * 1000).denominator == 1


@pytest.mark.parametrize(
    ("altitude", "beta", "radius", "pull", "words"),
    [
        (0, 0, 1, 1, "does not pass above the body"),
        (-1, 0, 1, 1, "does not pass above the body"),
        (1, 0, 0, 1, "without a radius"),
        (1, 0, 1, 0, "without a pull"),
        (1, 2, 1, 1, "a quarter turn"),
        (Fraction(10) ** 400, 0, 1, 1, "too large or too small"),
        (Fraction(10) ** 300, 0, 1, Fraction(1, 10**300), "too large or too small"),
        (Fraction(1, 10**400), 0, 1, 1, "too large or too small"),
        (1, 0, 1, Fraction(1, 10**400), "too large or too small"),
    ],
)
def test_no_such_orbit(altitude: Fraction, beta: Fraction, radius: Fraction, pull: Fraction, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        orbit(Fraction(altitude), Fraction(beta), Fraction(radius), Fraction(pull))
