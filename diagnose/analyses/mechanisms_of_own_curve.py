"""The other mechanisms: none at all, zero, cut-off, a pipe that fills, the reference's losses, two at once."""

from __future__ import annotations

import math

from diagnose.analyses import curves
from diagnose.analyses.amounts import (
    Amount,
    Array,
    Branch,
    around,
    between,
    factor_around_one,
    listed,
    log_between,
)
from diagnose.analyses.mechanism import ANYWHERE, COUNTER, METER, RECEIVER, REFERENCE, Model, Scene

USUAL_ZERO = 0.005
"""Zero of a meter in trouble, a velocity [m/s] (estimate; a sound one holds about 1 mm/s)."""

USUAL_SHIFT = 0.015
"""Zero of a meter in trouble, over the largest flow, where the bore is not known (estimate)."""


LARGER = 5.0
"""Times the usual zero that a bad earth or a wet cable may make."""


def area(bore: float) -> float:
    """Return the cross-section [m²] of a bore [m]."""
    return math.pi * bore**2 / 4


def _zeros(scene: Scene, *further: Amount) -> tuple[Branch, ...]:
    """Return the usual zero, and one that is far larger, each with further amounts."""
    if scene.bore is None:
        usual, told = USUAL_SHIFT * scene.top, f"{100 * USUAL_SHIFT:g} % of the largest flow"
    else:
        usual, told = USUAL_ZERO * area(scene.bore), f"{1000 * USUAL_ZERO:g} mm/s"
    held = f"around 0, usually {told}, now and then {LARGER:g} times that"
    near, far = (Amount("zero", "flow", held, around(0.0, each)) for each in (usual, LARGER * usual))
    return (Branch(0.75, (near, *further)), Branch(0.25, (far, *further)))


def _loss(scene: Scene) -> tuple[Branch, ...]:
    held = "around 0, usually 2 % of the largest flow"
    return (Branch(1.0, (Amount("flow past the reference", "flow", held, around(0.0, 0.02 * scene.top)),)),)


def _cut(scene: Scene) -> Amount:
    held = "even in the logarithm from 0.5 to 60 % of the largest flow"
    return Amount("cut off below", "flow", held, log_between(0.005 * scene.top, 0.6 * scene.top))


def _fills(scene: Scene) -> tuple[Branch, ...]:
    rest = Amount("depth over bore at no flow", "%", "even from 50 to 95 %", between(0.5, 0.95))
    held = "even in the logarithm from 0.1 to 1 times the largest flow"
    full = Amount("full from", "flow", held, log_between(0.1 * scene.top, scene.top))
    return (Branch(1.0, (rest, full)),)


def _held(scene: Scene) -> tuple[Branch, ...]:
    span = (scene.upper or scene.top) - scene.lower
    level = Amount("shown", "flow", "even over the range and a tenth beyond", between(0.0, 1.1 * span))
    return (Branch(1.0, (level,)),)


def _nothing_comes(scene: Scene) -> tuple[Branch, ...]:
    span = (scene.upper or scene.top) - scene.lower
    return (Branch(1.0, (listed("shown", "flow", "no current, or no flow", (scene.lower - span / 4, 0.0)),)),)


def _zero_and_factor(scene: Scene) -> tuple[Branch, ...]:
    held = "around 1, usually 4 % off, now and then 20 %"
    near, far = (Amount("factor", "", held, factor_around_one(each)) for each in (0.04, 0.2))
    usual, larger = _zeros(scene)
    parts = ((0.7, usual, near), (0.15, usual, far), (0.1, larger, near), (0.05, larger, far))
    return tuple(Branch(share, (*zero.amounts, factor)) for share, zero, factor in parts)


def _flat(r: Array, amounts: tuple[Array, ...], _scene: Scene) -> Array:
    return 0 * r + amounts[0]


NO_DIFFERENCE = Model(
    name="no-difference",
    sits=ANYWHERE,
    formula=lambda r, _amounts, _scene: curves.proportional(r, 1.0),
    branches=lambda _scene: (Branch(1.0),),
)

OWN_CURVES = (
    Model(
        name="zero-offset",
        sits=METER,
        curve="constant",
        formula=lambda r, amounts, _scene: curves.shifted(r, amounts[0]),
        branches=_zeros,
    ),
    Model(
        name="reference-leak",
        sits=REFERENCE,
        curve="constant",
        formula=lambda r, amounts, _scene: curves.shifted(r, amounts[0]),
        branches=_loss,
    ),
    Model(
        name="low-flow-cut-off",
        sits=METER | RECEIVER,
        formula=lambda r, amounts, _scene: curves.cut_off(r, amounts[0]),
        branches=lambda scene: (Branch(1.0, (_cut(scene),)),),
    ),
    Model(
        name="cut-off-and-zero",
        sits=METER | RECEIVER,
        formula=lambda r, amounts, _scene: curves.cut_off(r, amounts[1], amounts[0]),
        branches=lambda scene: _zeros(scene, _cut(scene)),
    ),
    Model(
        name="part-filling-at-low-flow",
        sits=METER,
        formula=lambda r, amounts, _scene: curves.filling(r, amounts[0], amounts[1]),
        branches=_fills,
    ),
    Model(
        name="zero-and-factor",
        sits=ANYWHERE,
        formula=lambda r, amounts, _scene: curves.line(r, amounts[0], amounts[1]),
        branches=_zero_and_factor,
    ),
    Model(
        name="reversed",
        sits=METER,
        formula=lambda r, _amounts, _scene: curves.proportional(r, -1.0),
        branches=lambda _scene: (Branch(1.0),),
    ),
    Model(
        name="no-signal",
        sits=METER | RECEIVER | COUNTER,
        curve="flat",
        formula=_flat,
        branches=_nothing_comes,
    ),
    Model(
        name="held",
        curve="flat",
        sits=METER | RECEIVER | COUNTER,
        formula=_flat,
        branches=_held,
    ),
)
