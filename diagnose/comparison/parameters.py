"""Parameters of a mechanism (how large a zero, which factor), each with its prior.

A continuous prior is given as a quantile function: it maps probabilities that are uniform between 0 and 1 to values, so
that a mean over probabilities is a mean over the prior. A discrete prior lists its values one by one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from diagnose.tables.arrays import Array

Quantile: TypeAlias = Callable[[Array], Array]


@dataclass(frozen=True, slots=True)
class Parameter:
    """A continuous parameter: its name, its unit, and its prior (in words and as a quantile function).

    ``unit`` is a unit of the trade; "flow" is the unit of the readings, "" a plain number.
    """

    name: str
    unit: str
    prior: str
    quantile: Quantile


@dataclass(frozen=True, slots=True)
class DiscreteParameter:
    """A discrete parameter: its possible values and their prior probabilities."""

    name: str
    unit: str
    prior: str
    values: tuple[float, ...]
    probabilities: tuple[float, ...]


_EPSILON = 1e-15
"""Probabilities are clipped this near to 0 and 1, where quantiles become infinite."""

AnyParameter: TypeAlias = Parameter | DiscreteParameter


@dataclass(frozen=True, slots=True)
class Branch:
    """A component of a mixture prior: its weight and its parameters.

    ``ridge`` marks parameters that the readings determine only in combination: they need a finer grid.
    """

    share: float
    parameters: tuple[AnyParameter, ...] = ()
    ridge: bool = False

    @property
    def dimensions(self) -> int:
        """Number of continuous parameters."""
        return sum(isinstance(each, Parameter) for each in self.parameters)


def discrete(
    name: str, unit: str, prior: str, values: Sequence[float], probabilities: Sequence[float] = ()
) -> DiscreteParameter:
    """Return a discrete parameter; values are equally probable unless ``shares`` gives weights (of any sum)."""
    weights = list(probabilities) or [1.0] * len(values)
    total = math.fsum(weights)
    return DiscreteParameter(name, unit, prior, tuple(values), tuple(each / total for each in weights))


def uniform(low: float, high: float) -> Quantile:
    """Return the quantile function of a uniform prior.

    >>> float(uniform(2.0, 4.0)(np.array([0.25]))[0])
    2.5
    """
    return lambda share: low + (high - low) * share


def log_uniform(low: float, high: float) -> Quantile:
    """Return the quantile function of a log-uniform prior.

    >>> float(log_uniform(1.0, 100.0)(np.array([0.5]))[0])
    10.0
    """
    return lambda share: np.asarray(low * (high / low) ** share, np.float64)


def laplace(middle: float, usual: float) -> Quantile:
    """Return the quantile function of a Laplace prior with mean absolute deviation ``usual``; its tails are heavy.

    >>> float(laplace(0.0, 1.0)(np.array([0.5]))[0])
    0.0
    """

    def quantile(share: Array) -> Array:
        share = np.clip(share, _EPSILON, 1 - _EPSILON)
        side = np.sign(share - 0.5)
        return np.asarray(middle - usual * side * np.log1p(-2 * np.abs(share - 0.5)), np.float64)

    return quantile


def log_laplace(usual: float) -> Quantile:
    """Return the quantile function of a log-Laplace prior around 1; ``usual`` is its mean relative deviation."""
    inner = laplace(0.0, usual)
    return lambda share: np.exp(inner(share))


def truncated_exponential(most: float, usual: float) -> Quantile:
    """Return the quantile function of an exponential prior truncated at ``most``; ``usual`` is its mean before that.

    >>> float(truncated_exponential(1.0, 0.1)(np.array([1.0]))[0])
    1.0
    """
    reached = -math.expm1(-most / usual)
    return lambda share: np.asarray(-usual * np.log1p(-share * reached), np.float64)


def two_sided_exponential(usual: float, above: float) -> Quantile:
    """Return the quantile function of a two-sided exponential prior with probability ``above`` on the positive side."""

    def quantile(share: Array) -> Array:
        share = np.clip(share, _EPSILON, 1 - _EPSILON)
        positive = share > 1 - above
        beyond = np.where(positive, (1 - share) / above, share / (1 - above))
        return np.asarray(np.where(positive, -1, 1) * usual * np.log(beyond), np.float64)

    return quantile
