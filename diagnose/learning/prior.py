"""How much the rule book's own figures count beside closed cases: as if they had been counted on so many.

Left to itself, that is the number under which the cases are most probable (type II maximum likelihood: Good 1965, from
memory), between a least and a most. Cases that look as the rule book believes make it a large one, so that chance
changes next to nothing; cases that do not make it a small one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from math import lgamma
from typing import NamedTuple

LEAST_CASES, MOST_CASES = 200.0, 20_000.0
"""The frequencies count as much as so many closed cases, at least and at most.

The words of the scale are a factor of about three apart, and whoever chose one may well be off by one: by 200 cases a
common cause (1.6 % of all complaints, three of these cases) is believed to lie between 0.4 and 3.9 %, a very common one
(4.4 %) between 2.0 and 7.6 %.
"""

LEAST_LOOKS, MOST_LOOKS = 10.0, 1_000.0
"""A strength counts as much as so many cases of its cause in which somebody looked, at least and at most.

By ten looks what shows in half of all cases is believed to lie between 0.2 and 0.8: two words of the scale off.
"""

STEP = 1.25
"""By so much one number that is tried is larger than the one before."""


class Prior(NamedTuple):
    """How many cases the frequencies, and how many looks each strength, are worth; none: as fits the cases best."""

    cases: float | None = None
    looks: float | None = None


def fitting_cases(counts: Iterable[tuple[float, float]]) -> float:
    """Return how many cases the frequencies are worth by what was counted: how often each was expected, and found.

    What is found by the hundred as often as expected speaks for them; what never comes and what always comes, against.

    >>> fitting_cases([(50, 50), (50, 50)]), fitting_cases([(50, 100), (50, 0)])
    (20000.0, 200.0)
    """
    known = [(expected, found) for expected, found in counts if expected > 0]
    many = sum(expected for expected, _ in known)

    def likely(cases: float) -> float:
        shares = [(cases * expected / many, found) for expected, found in known]
        apart = sum(lgamma(shape + found) - lgamma(shape) for shape, found in shares)
        return lgamma(cases) - lgamma(cases + sum(found for _, found in known)) + apart

    return _best(likely, LEAST_CASES, MOST_CASES) if known else LEAST_CASES


def fitting_looks(counts: Iterable[tuple[float, int, int]]) -> float:
    """Return how many looks each strength is worth: what was believed, how often it was seen, of how many looks."""
    known = list(counts)

    def likely(looks: float) -> float:
        return sum(
            _log_beta(looks * share + seen, looks * (1 - share) + of - seen)
            - _log_beta(looks * share, looks * (1 - share))
            for share, seen, of in known
        )

    return _best(likely, LEAST_LOOKS, MOST_LOOKS) if known else LEAST_LOOKS


def _log_beta(a: float, b: float) -> float:
    return lgamma(a) + lgamma(b) - lgamma(a + b)


def _best(likely: Callable[[float], float], least: float, most: float) -> float:
    tried = [least]
    while tried[-1] * STEP < most:
        tried.append(tried[-1] * STEP)
    return float(f"{max((*tried, most), key=likely):.3g}")
