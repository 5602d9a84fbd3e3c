"""How much the rule book's own figures count beside closed cases: as if they had been counted on so many."""

from __future__ import annotations

from typing import NamedTuple

PRIOR_CASES = 200
"""The frequencies count as much as so many closed cases.

The words of the scale are a factor of about three apart, and whoever chose one may well be off by one: a common cause
(1.6 % of all complaints, three of these cases) is then believed to lie between 0.4 and 3.9 %, a very common one (4.4 %)
between 2.0 and 7.6 %. A site with fifty closed cases changes little, one with a thousand has mostly its own figures.
"""

PRIOR_LOOKS = 10
"""A strength counts as much as so many cases of its cause in which somebody looked; with as many, both count alike."""


class Prior(NamedTuple):
    """How many cases the frequencies, and how many looks each strength, are worth."""

    cases: float = PRIOR_CASES
    looks: float = PRIOR_LOOKS
