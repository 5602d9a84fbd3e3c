"""The beta distribution: what is believed of a share of which some cases were counted."""

from __future__ import annotations

from functools import lru_cache
from math import exp, lgamma, log, log1p
from typing import NamedTuple

TINY = 1e-300
STEPS = 300


class Interval(NamedTuple):
    """Between what a share lies with a stated probability."""

    low: float
    high: float


CREDIBLE = 0.95
"""Probability of the intervals that are told, half of the rest on either side."""


@lru_cache(4096)
def credible(a: float, b: float, probability: float = CREDIBLE) -> Interval:
    """Return the credible interval of a share that is believed by Beta(a, b).

    With nothing but one case for and one against (Jeffreys' prior of a half each):

    >>> low, high = credible(1.5, 1.5)
    >>> round(low, 3), round(high, 3)
    (0.061, 0.939)
    """
    outside = (1 - probability) / 2
    return Interval(quantile(a, b, outside), quantile(a, b, 1 - outside))


def quantile(a: float, b: float, probability: float) -> float:
    """Return the share below which Beta(a, b) lies with this probability; bisection, to the last digits."""
    if a <= 0:
        return 0.0
    if b <= 0:
        return 1.0
    low, high = 0.0, 1.0
    for _ in range(STEPS):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        if below(a, b, middle) < probability:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def below(a: float, b: float, share: float) -> float:
    """Return the probability of Beta(a, b) below a share: the regularised incomplete beta function.

    By its continued fraction (Abramowitz and Stegun 26.5.8), with Lentz's method, on the side where it converges.
    """
    if share <= 0:
        return 0.0
    if share >= 1:
        return 1.0
    if share > (a + 1) / (a + b + 2):
        return 1 - below(b, a, 1 - share)
    front = exp(a * log(share) + b * log1p(-share) + lgamma(a + b) - lgamma(a) - lgamma(b)) / a
    return front * _fraction(a, b, share)


def _fraction(a: float, b: float, x: float) -> float:
    """Return the continued fraction 1/(1 + t1/(1 + t2/(1 + ...)))."""
    c, d = 1.0, 1 / (_term(a, b, x, 1) + 1 or TINY)
    value = d
    for number in range(2, STEPS):
        term = _term(a, b, x, number)
        d = 1 / (1 + term * d or TINY)
        c = 1 + term / c or TINY
        value *= c * d
        if abs(c * d - 1) < 1e-15:
            break
    return value


def _term(a: float, b: float, x: float, number: int) -> float:
    m = number // 2
    if number % 2:
        return -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
    return m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
