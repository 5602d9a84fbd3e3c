"""The other models: no difference, zero, cut-off, partly filled pipe, losses of the reference, zero and factor."""

from __future__ import annotations

from diagnose.comparison import curves
from diagnose.comparison.mechanism import Amount, Model, Scene
from diagnose.comparison.mechanisms_of_factor import FACTOR
from diagnose.comparison.parameters import AnyParameter, discrete
from diagnose.tables.arrays import Array

ZERO = Amount("zero", "zero", "flow")
CUT = Amount("cut-off-below", "cut off below", "flow")


def _nothing_comes(scene: Scene) -> AnyParameter:
    return discrete("shown", "flow", "no current, or no flow", (scene.lower - scene.whole_range / 4, 0.0))


def _flat(r: Array, parameters: tuple[Array, ...], _scene: Scene) -> Array:
    return 0 * r + parameters[0]


NO_DIFFERENCE = Model(
    name="no-difference",
    formula=lambda r, _amounts, _scene: curves.proportional(r, 1.0),
)

OWN_CURVES = (
    Model(
        name="zero-offset",
        curve="constant",
        formula=lambda r, parameters, _scene: curves.shifted(r, parameters[0]),
        amounts=(ZERO,),
    ),
    Model(
        name="reference-leak",
        curve="constant",
        formula=lambda r, parameters, _scene: curves.shifted(r, parameters[0]),
        amounts=(Amount("flow-past-the-reference", "flow past the reference", "flow"),),
    ),
    Model(
        name="low-flow-cut-off",
        formula=lambda r, parameters, _scene: curves.cut_off(r, parameters[0]),
        amounts=(CUT,),
    ),
    Model(
        name="cut-off-and-zero",
        formula=lambda r, parameters, _scene: curves.cut_off(r, parameters[1], parameters[0]),
        amounts=(ZERO, CUT),
    ),
    Model(
        name="part-filling-at-low-flow",
        formula=lambda r, parameters, _scene: curves.filling(r, parameters[0], parameters[1]),
        amounts=(
            Amount("depth-at-no-flow", "depth over bore at no flow", "share"),
            Amount("full-from", "full from", "flow"),
        ),
    ),
    Model(
        name="gravity-line",
        formula=lambda r, parameters, _scene: curves.gravity_line(r, parameters[0], parameters[1]),
        amounts=(
            Amount("full-from", "full from", "flow"),
            Amount("electrodes-dry-below", "electrodes dry below a depth over bore of", "share"),
        ),
    ),
    Model(
        name="gas-growing",
        formula=lambda r, parameters, scene: curves.gas_growing(r, parameters[0], scene.top),
        amounts=(Amount("share-of-gas", "share of gas at the largest flow", "share"),),
    ),
    Model(
        name="hysteresis",
        formula=lambda r, parameters, _scene: curves.lagging(r, parameters[0]),
        amounts=(Amount("behind-by", "behind by", "flow"),),
    ),
    Model(
        name="zero-and-factor",
        formula=lambda r, parameters, _scene: curves.line(r, parameters[0], parameters[1]),
        amounts=(ZERO, FACTOR),
    ),
    Model(
        name="reversed",
        formula=lambda r, _amounts, _scene: curves.proportional(r, -1.0),
    ),
    Model(
        name="no-signal",
        curve="flat",
        formula=_flat,
        levels=_nothing_comes,
    ),
    Model(
        name="held",
        curve="flat",
        formula=_flat,
        amounts=(Amount("shown", "shown", "range"),),
    ),
)
