"""The other models: no difference, zero, cut-off, partly filled pipe, losses of the reference, zero and factor."""

from __future__ import annotations

import math

from diagnose.comparison import curves
from diagnose.comparison.mechanism import Model, Scene
from diagnose.comparison.parameters import (
    Branch,
    Parameter,
    Quantile,
    discrete,
    laplace,
    log_laplace,
    log_uniform,
    one_branch,
    truncated_exponential,
    uniform,
)
from diagnose.tables.arrays import Array

USUAL_ZERO = 0.005
"""Typical zero error of a faulty meter as a velocity [m/s] (estimate; a healthy one stays within about 1 mm/s)."""

USUAL_SHIFT = 0.015
"""Typical zero error of a faulty meter over the largest flow, if the bore is not known (estimate)."""


LARGER = 5.0
"""A bad earth or a wet cable may make the zero error this many times larger."""


def area(bore: float) -> float:
    """Return the cross-section [m²] of a bore [m]."""
    return math.pi * bore**2 / 4


def _zeros(scene: Scene, *further: Parameter) -> tuple[Branch, ...]:
    """Return a typical zero error and a much larger one, each with further parameters."""
    if scene.bore is None:
        usual, typical = USUAL_SHIFT * scene.top, f"{100 * USUAL_SHIFT:g} % of the largest flow"
    else:
        usual, typical = USUAL_ZERO * area(scene.bore), f"{1000 * USUAL_ZERO:g} mm/s"
    prior = f"around 0, usually {typical}, sometimes {LARGER:g} times that"
    near, far = (Parameter("zero", "flow", prior, laplace(0.0, each)) for each in (usual, LARGER * usual))
    return (Branch(0.75, (near, *further)), Branch(0.25, (far, *further)))


def _loss(scene: Scene) -> tuple[Branch, ...]:
    prior = "around 0, usually 2 % of the largest flow"
    return one_branch(Parameter("flow past the reference", "flow", prior, laplace(0.0, 0.02 * scene.top)))


def _cut(scene: Scene) -> Parameter:
    prior = "log-uniform from 0.5 to 60 % of the largest flow"
    return Parameter("cut off below", "flow", prior, log_uniform(0.005 * scene.top, 0.6 * scene.top))


def _fills(scene: Scene) -> tuple[Branch, ...]:
    rest = Parameter("depth over bore at no flow", "%", "uniform from 50 to 95 %", uniform(0.5, 0.95))
    prior = "log-uniform from 0.1 to 1 times the largest flow"
    full = Parameter("full from", "flow", prior, log_uniform(0.1 * scene.top, scene.top))
    return one_branch(rest, full)


def _lags(scene: Scene) -> tuple[Branch, ...]:
    prior = "usually 2 % of the largest flow, up to 20 %"
    return one_branch(Parameter("behind by", "flow", prior, _scaled(truncated_exponential(0.2, 0.02), scene.top)))


def _scaled(quantile: Quantile, unit: float) -> Quantile:
    return lambda share: unit * quantile(share)


def _held(scene: Scene) -> tuple[Branch, ...]:
    span = (scene.upper or scene.top) - scene.lower
    level = Parameter("shown", "flow", "uniform over the range and a tenth beyond", uniform(0.0, 1.1 * span))
    return one_branch(level)


def _nothing_comes(scene: Scene) -> tuple[Branch, ...]:
    span = (scene.upper or scene.top) - scene.lower
    return one_branch(discrete("shown", "flow", "no current, or no flow", (scene.lower - span / 4, 0.0)))


def _zero_and_factor(scene: Scene) -> tuple[Branch, ...]:
    prior = "around 1, usually 4 % off, sometimes 20 %"
    near, far = (Parameter("factor", "", prior, log_laplace(each)) for each in (0.04, 0.2))
    usual, larger = _zeros(scene)
    parts = ((0.7, usual, near), (0.15, usual, far), (0.1, larger, near), (0.05, larger, far))
    return tuple(Branch(share, (*zero.parameters, factor)) for share, zero, factor in parts)


def _flat(r: Array, parameters: tuple[Array, ...], _scene: Scene) -> Array:
    return 0 * r + parameters[0]


NO_DIFFERENCE = Model(
    name="no-difference",
    formula=lambda r, _amounts, _scene: curves.proportional(r, 1.0),
    branches=lambda _scene: one_branch(),
)

OWN_CURVES = (
    Model(
        name="zero-offset",
        curve="constant",
        formula=lambda r, parameters, _scene: curves.shifted(r, parameters[0]),
        branches=_zeros,
    ),
    Model(
        name="reference-leak",
        curve="constant",
        formula=lambda r, parameters, _scene: curves.shifted(r, parameters[0]),
        branches=_loss,
    ),
    Model(
        name="low-flow-cut-off",
        formula=lambda r, parameters, _scene: curves.cut_off(r, parameters[0]),
        branches=lambda scene: one_branch(_cut(scene)),
    ),
    Model(
        name="cut-off-and-zero",
        formula=lambda r, parameters, _scene: curves.cut_off(r, parameters[1], parameters[0]),
        branches=lambda scene: _zeros(scene, _cut(scene)),
    ),
    Model(
        name="part-filling-at-low-flow",
        formula=lambda r, parameters, _scene: curves.filling(r, parameters[0], parameters[1]),
        branches=_fills,
    ),
    Model(
        name="gas-growing",
        formula=lambda r, parameters, scene: curves.gas_growing(r, parameters[0], scene.top),
        branches=lambda _scene: one_branch(
            Parameter(
                "share of gas at the largest flow", "%", "usually 4 %, up to 40 %", truncated_exponential(0.4, 0.04)
            )
        ),
    ),
    Model(
        name="hysteresis",
        formula=lambda r, parameters, _scene: curves.lagging(r, parameters[0]),
        branches=_lags,
    ),
    Model(
        name="zero-and-factor",
        formula=lambda r, parameters, _scene: curves.line(r, parameters[0], parameters[1]),
        branches=_zero_and_factor,
    ),
    Model(
        name="reversed",
        formula=lambda r, _amounts, _scene: curves.proportional(r, -1.0),
        branches=lambda _scene: one_branch(),
    ),
    Model(
        name="no-signal",
        curve="flat",
        formula=_flat,
        branches=_nothing_comes,
    ),
    Model(
        name="held",
        curve="flat",
        formula=_flat,
        branches=_held,
    ),
)
