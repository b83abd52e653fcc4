"""Clark's moments of the later of two normal times (C. E. Clark, The greatest of a finite set of random variables,
Operations Research 9, 1961): the analytic check of sampled ends where chains join. Knows nothing of the compiler."""

from __future__ import annotations

from math import sqrt
from statistics import NormalDist

STANDARD = NormalDist()


def later(first: tuple[float, float], second: tuple[float, float], correlation: float = 0.0) -> tuple[float, float]:
    """(mean, standard deviation) of the later of two, from theirs."""
    (m1, s1), (m2, s2) = first, second
    a = sqrt(s1 * s1 + s2 * s2 - 2 * correlation * s1 * s2)
    alpha = (m1 - m2) / a
    near, far, density = STANDARD.cdf(alpha), STANDARD.cdf(-alpha), STANDARD.pdf(alpha)
    mean = m1 * near + m2 * far + a * density
    square = (m1 * m1 + s1 * s1) * near + (m2 * m2 + s2 * s2) * far + (m1 + m2) * a * density
    return mean, sqrt(square - mean * mean)
