"""Models of faults that give the same factor at every flow; pairs of readings cannot tell them apart.

They differ in the size of the factor (typical ones for units and ranges), and in what a check finds.
"""

from __future__ import annotations

from diagnose.comparison import curves
from diagnose.comparison.mechanism import Amount, Model, Scene
from diagnose.tables.arrays import Array

FACTOR = Amount("factor", "factor", "ratio")
SPANS = Amount("span-ratio", "receiver's span over the meter's", "ratio")


def _times(r: Array, parameters: tuple[Array, ...], _scene: Scene) -> Array:
    return curves.proportional(r, parameters[0])


CONSTANT = Model(
    name="flow-constant",
    curve="factor",
    formula=_times,
    amounts=(FACTOR,),
)

FACTORS = (
    CONSTANT,
    Model(
        name="bore",
        curve="factor",
        formula=lambda r, parameters, _scene: curves.proportional(r, parameters[0] ** 2),
        amounts=(Amount("entered-over-true", "bore entered over true bore", "ratio"),),
    ),
    Model(
        name="unit-mix-up",
        curve="factor",
        formula=_times,
        amounts=(FACTOR,),
    ),
    Model(
        name="power-of-ten",
        curve="factor",
        formula=_times,
        amounts=(FACTOR,),
    ),
    Model(
        name="span-mismatch",
        curve="factor",
        formula=_times,
        amounts=(SPANS,),
    ),
    Model(
        name="pulse-value",
        curve="factor",
        formula=_times,
        amounts=(Amount("pulse-ratio", "counter's volume a pulse over the meter's", "ratio"),),
    ),
    Model(
        name="gas",
        curve="factor",
        formula=lambda r, parameters, _scene: curves.proportional(r, curves.gas_factor(parameters[0])),
        amounts=(Amount("share-of-gas", "share of gas", "share"),),
    ),
    Model(
        name="part-filling",
        curve="factor",
        formula=lambda r, parameters, _scene: curves.proportional(r, 1 / curves.wet_share(parameters[0])),
        amounts=(Amount("depth", "depth over bore", "share"),),
    ),
    Model(
        name="insulating-deposit",
        curve="factor",
        formula=lambda r, parameters, _scene: curves.proportional(r, curves.deposit_factor(1 - 2 * parameters[0], 0.0)),
        amounts=(Amount("thickness", "thickness over bore", "share"),),
    ),
    Model(
        name="conducting-deposit",
        curve="factor",
        formula=lambda r, parameters, _scene: curves.proportional(
            r, curves.deposit_factor(1 - 2 * parameters[0], parameters[1])
        ),
        amounts=(
            Amount("thickness", "thickness of the deposit over the bore", "share"),
            Amount("conductivity-ratio", "deposit's conductivity over the liquid's", "ratio"),
        ),
        ridge=True,
    ),
    Model(
        name="electrode-film",
        curve="factor",
        formula=lambda r, parameters, _scene: curves.proportional(r, 1 - parameters[0]),
        amounts=(Amount("signal-lost", "signal lost", "share"),),
    ),
    Model(
        name="flow-profile",
        curve="factor",
        formula=_times,
        amounts=(FACTOR,),
    ),
    Model(
        name="small-factor",
        curve="factor",
        formula=_times,
        amounts=(FACTOR,),
    ),
    Model(
        name="reference-factor",
        curve="factor",
        formula=_times,
        amounts=(FACTOR,),
    ),
    Model(
        name="reference-time",
        curve="factor",
        formula=lambda r, parameters, _scene: curves.proportional(r, 1 + parameters[0]),
        amounts=(Amount("error-of-the-time", "error of the time", "share"),),
    ),
)
