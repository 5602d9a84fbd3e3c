"""How strongly evidence speaks, in words: documents keep the figure, people get a word."""

from __future__ import annotations

WEIGHTS: tuple[tuple[float, str], ...] = ((10.0, "strongly"), (5.0, "clearly"), (0.0, "a little"))
"""From so many decibans up, either way, evidence is described by this word (common practice, from memory).

They are the steps of Jeffreys' grades of evidence (Theory of Probability, appendix B) in the unit of Good: below 5 dB,
odds moved by less than three to one, is hardly worth a mention; up to 10 dB, ten to one, is substantial; from there on
it is strong. About one deciban is the least that anybody notices (Good 1950), so that a finer scale would say nothing.
"""


def weight(decibans: float) -> str:
    """Return how strongly evidence speaks, either way.

    >>> weight(12.3), weight(-6.0), weight(0.7)
    ('strongly', 'clearly', 'a little')
    """
    return next(word for least, word in WEIGHTS if abs(decibans) >= least)
