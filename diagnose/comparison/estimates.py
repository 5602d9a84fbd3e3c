"""Posterior estimates of the parameters of a mechanism: median and credible interval of 95 %, in usual units."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diagnose.comparison.amounts import area, unit_factors
from diagnose.comparison.mechanism import Scene
from diagnose.comparison.ranking import RankedMechanism
from diagnose.tables.arrays import Array
from diagnose.units import unit_info

DIGITS = 6
_FACTORS = {"%": 0.01, "mA": 0.001, "mm/s": 0.001, "": 1.0}


@dataclass(frozen=True, slots=True)
class Estimate:
    """A parameter estimate: posterior median and 95 % credible interval in ``unit``, and the prior in words."""

    name: str
    value: float
    low: float
    high: float
    unit: str
    prior: str


def estimates(ranked: RankedMechanism, scene: Scene) -> tuple[Estimate, ...]:
    """Return the parameter estimates of a mechanism, in the order of its model; none without a model."""
    if ranked.marginal is None:
        return ()
    columns: dict[str, tuple[str, str, list[Array], list[Array]]] = {}
    for branch, parameters, log_weights in ranked.marginal.posterior:
        for parameter, values in zip(branch.parameters, parameters, strict=True):
            _, _, of, weights = columns.setdefault(parameter.name, (parameter.unit, parameter.prior, [], []))
            of.append(values[:, 0])
            weights.append(np.exp(log_weights))
    found = [
        _estimate(name, unit, prior, np.concatenate(of), np.concatenate(weights), scene)
        for name, (unit, prior, of, weights) in columns.items()
    ]
    return (*found, *_as_velocity(ranked, found, scene))


def _estimate(name: str, unit: str, prior: str, values: Array, weights: Array, scene: Scene) -> Estimate:
    factor = unit_info(scene.unit).factor if unit == "flow" else _FACTORS[unit]
    low, middle, high = (float(f"{each / factor:.{DIGITS}g}") for each in quantiles(values, weights))
    return Estimate(name, middle, low, high, scene.unit if unit == "flow" else unit, prior)


def quantiles(values: Array, weights: Array, shares: tuple[float, ...] = (0.025, 0.5, 0.975)) -> list[float]:
    """Return weighted quantiles.

    >>> quantiles(np.array([3.0, 1.0, 2.0]), np.array([1.0, 1.0, 1.0]), (0.5,))
    [2.0]
    """
    order = np.argsort(values)
    reached = np.cumsum(weights[order])
    at = np.searchsorted(reached, np.array(shares) * reached[-1])
    return [float(values[order][min(each, len(values) - 1)]) for each in at]


def _as_velocity(ranked: RankedMechanism, found: list[Estimate], scene: Scene) -> tuple[Estimate, ...]:
    """Return the zero as a velocity as well, by which zeros of meters of all sizes compare."""
    zero = next((each for each in found if each.name == "zero"), None)
    if zero is None or scene.bore is None:
        return ()
    factor = unit_info(scene.unit).factor / area(scene.bore) * 1000
    value, low, high = (float(f"{each * factor:.{DIGITS}g}") for each in (zero.value, zero.low, zero.high))
    return (Estimate("zero as a velocity", value, low, high, "mm/s", zero.prior),)


def interpretation(ranked: RankedMechanism, scene: Scene, found: tuple[Estimate, ...]) -> str:
    """Explain the estimates in words, for mechanisms where they do not speak for themselves; otherwise ""."""
    name = ranked.mechanism.model.name
    if name == "unit-mix-up":
        known = unit_factors(scene.unit, ranked.mechanism.held[0].amounts["factor"])
        return known[min(known, key=lambda factor: abs(factor - found[0].value))][0]
    if name == "lower-range-value":
        steepness = found[0].value
        upper = scene.upper / unit_info(scene.unit).factor if scene.upper is not None else found[-1].value
        of_meter, of_receiver = upper * (1 - 1 / steepness), upper * (1 - steepness)
        unit = scene.unit
        return f"an LRV of {of_meter:.4g} {unit} only in the meter, or {of_receiver:.4g} {unit} only in the receiver"
    return ""
