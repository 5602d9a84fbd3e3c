"""Tail probabilities of Student's t, normal and chi-squared distributions, in closed form."""

from __future__ import annotations

import math


def student_tail(t: float, freedom: int) -> float:
    """Return the two-sided tail probability of Student's t.

    Source: Abramowitz and Stegun, 26.7.3 and 26.7.4 (from memory); t = 3.182446 with 3 degrees of freedom gives 5 %.

    >>> student_tail(3.182446, 3)
    0.0500000
    """
    angle = math.atan(abs(t) / math.sqrt(freedom))
    cosine, total = math.cos(angle), 0.0
    term = 1.0 if freedom % 2 == 0 else cosine
    for power in range(freedom % 2, freedom - 1, 2):
        total += term
        term *= cosine**2 * (power + 1) / (power + 2)
    inside = math.sin(angle) * total
    if freedom % 2:
        inside = 2 / math.pi * (angle + inside)
    return max(0.0, 1 - inside)


def normal_tail(z: float) -> float:
    """Return the two-sided tail probability of the normal distribution.

    >>> normal_tail(1.959964)
    0.0500000
    """
    return math.erfc(abs(z) / math.sqrt(2))


def chi_squared_tail(chi_squared: float, freedom: int) -> float:
    """Return the upper tail probability of chi-squared.

    Source: Abramowitz and Stegun, 26.4.4 and 26.4.5 (from memory); 7.814728 with 3 degrees of freedom gives 5 %.

    >>> chi_squared_tail(7.814728, 3)
    0.0500000
    """
    if chi_squared <= 0:
        return 1.0
    half = chi_squared / 2
    if freedom % 2:
        tail, done = math.erfc(math.sqrt(half)), 1
    else:
        tail, done = math.exp(-half), 2
    while done < freedom:
        tail += math.exp(done / 2 * math.log(half) - half - math.lgamma(done / 2 + 1))
        done += 2
    return tail
