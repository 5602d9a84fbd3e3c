"""Amounts that a mechanism leaves open (how big a zero, which factor), each with what is held of it beforehand.

What is held is written as a quantile function: it turns evenly spread shares between 0 and 1 into amounts, so that the
mean over shares is the mean over the amount. Amounts that come in known sizes are listed one by one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

Array: TypeAlias = npt.NDArray[np.float64]
Quantile: TypeAlias = Callable[[Array], Array]


@dataclass(frozen=True, slots=True)
class Amount:
    """One open amount: what it is, its unit, what is held of it beforehand (in words, and as a quantile function).

    ``unit`` is a unit of the trade; "flow" stands for that of the readings, "" for a plain number.
    """

    name: str
    unit: str
    held: str
    quantile: Quantile


@dataclass(frozen=True, slots=True)
class Listed:
    """An amount that comes in known sizes, each with a share of what is held beforehand."""

    name: str
    unit: str
    held: str
    sizes: tuple[float, ...]
    shares: tuple[float, ...]


_INSIDE = 1e-15
"""Shares this near to 0 and 1 are held there: beyond lies infinity."""

Open: TypeAlias = Amount | Listed


@dataclass(frozen=True, slots=True)
class Branch:
    """One way in which a mechanism may be: its share among them, and the amounts that are open in it.

    ``ridge`` marks amounts of which readings tell only one figure together: they need a finer grid.
    """

    share: float
    amounts: tuple[Open, ...] = ()
    ridge: bool = False

    @property
    def free(self) -> int:
        """Return how many amounts are continuous."""
        return sum(isinstance(each, Amount) for each in self.amounts)


def listed(name: str, unit: str, held: str, sizes: Sequence[float], shares: Sequence[float] = ()) -> Listed:
    """Return an amount of known sizes; all are alike unless ``shares`` (of any sum) says otherwise."""
    weights = list(shares) or [1.0] * len(sizes)
    total = math.fsum(weights)
    return Listed(name, unit, held, tuple(sizes), tuple(each / total for each in weights))


def between(low: float, high: float) -> Quantile:
    """Return an even spread.

    >>> float(between(2.0, 4.0)(np.array([0.25]))[0])
    2.5
    """
    return lambda share: low + (high - low) * share


def log_between(low: float, high: float) -> Quantile:
    """Return a spread that is even in the logarithm.

    >>> float(log_between(1.0, 100.0)(np.array([0.5]))[0])
    10.0
    """
    return lambda share: np.asarray(low * (high / low) ** share, np.float64)


def around(middle: float, usual: float) -> Quantile:
    """Return a Laplace spread: ``usual`` is the mean distance from the middle, and large ones are not ruled out.

    >>> float(around(0.0, 1.0)(np.array([0.5]))[0])
    0.0
    """

    def quantile(share: Array) -> Array:
        share = np.clip(share, _INSIDE, 1 - _INSIDE)
        side = np.sign(share - 0.5)
        return np.asarray(middle - usual * side * np.log1p(-2 * np.abs(share - 0.5)), np.float64)

    return quantile


def factor_around_one(usual: float) -> Quantile:
    """Return a Laplace spread of the logarithm of a factor; ``usual`` is the mean relative distance from 1."""
    inner = around(0.0, usual)
    return lambda share: np.exp(inner(share))


def up_to(most: float, usual: float) -> Quantile:
    """Return an exponential spread from 0, cut off at ``most``; ``usual`` is its mean without the cut.

    >>> float(up_to(1.0, 0.1)(np.array([1.0]))[0])
    1.0
    """
    reached = -math.expm1(-most / usual)
    return lambda share: np.asarray(-usual * np.log1p(-share * reached), np.float64)


def either_way(usual: float, above: float) -> Quantile:
    """Return an exponential spread to both sides of 0, with the share ``above`` on the positive one."""

    def quantile(share: Array) -> Array:
        share = np.clip(share, _INSIDE, 1 - _INSIDE)
        positive = share > 1 - above
        beyond = np.where(positive, (1 - share) / above, share / (1 - above))
        return np.asarray(np.where(positive, -1, 1) * usual * np.log(beyond), np.float64)

    return quantile
