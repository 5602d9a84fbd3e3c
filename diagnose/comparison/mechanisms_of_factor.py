"""Models of faults that give the same factor at every flow; pairs of readings cannot tell them apart.

They differ in the size of the factor (typical ones for units and ranges), and in what a check finds.
"""

from __future__ import annotations

from diagnose.calculations.flow_units import FLOW_UNITS
from diagnose.comparison import curves
from diagnose.comparison.mechanism import Model, Scene
from diagnose.comparison.parameters import (
    Branch,
    DiscreteParameter,
    Parameter,
    discrete,
    laplace,
    log_laplace,
    log_uniform,
    one_branch,
    truncated_exponential,
    uniform,
)
from diagnose.tables.arrays import Array

COMMON_UNITS = {"m3/h": 4, "L/s": 4, "L/min": 3, "US gal/min": 3, "imp gal/min": 2, "m3/day": 2, "ML/day": 2, "L/h": 2}
"""Relative frequency of units in the trade (estimate); others count as 1."""

BORES = (15, 25, 32, 40, 50, 65, 80, 100, 125, 150, 200, 250, 300, 350, 400, 500, 600)
"""Common nominal bores [mm]."""

ROUND_RANGES = (1.0, 1.2, 1.25, 1.5, 1.6, 1.8, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
"""Upper range values that people choose, of any power of ten."""


def unit_factors(label: str) -> dict[float, tuple[str, float]]:
    """Return factor → (most probable mix-up with this factor, probability) over all pairs of trade units.

    Pairs that include the ``label`` of the readings are four times as frequent.

    >>> unit_factors("m3/h")[4.402868][0]
    'a number in US gal/min labelled m3/h'
    """
    found: dict[float, list[tuple[float, str]]] = {}
    for number, of_number in FLOW_UNITS.items():
        for label_unit, of_label in FLOW_UNITS.items():
            if number == label_unit:
                continue
            weight = (
                COMMON_UNITS.get(number, 1)
                * COMMON_UNITS.get(label_unit, 1)
                * (4 if label in (number, label_unit) else 1)
            )
            mix_up = f"a number in {number} labelled {label_unit}"
            found.setdefault(float(f"{of_label / of_number:.7g}"), []).append((float(weight), mix_up))
    every = sum(weight for pairs in found.values() for weight, _ in pairs)
    return {
        factor: (max(pairs, key=lambda pair: pair[0])[1], sum(weight for weight, _ in pairs) / every)
        for factor, pairs in sorted(found.items())
    }


def _units(scene: Scene) -> tuple[Branch, ...]:
    known = unit_factors(scene.unit)
    shares = [share for _, share in known.values()]
    prior = "all pairs of trade units, weighted towards common ones and the unit of the readings"
    return one_branch(discrete("factor", "", prior, list(known), shares))


def _tens(_scene: Scene) -> tuple[Branch, ...]:
    sizes = (10.0, 100.0, 1000.0, 0.1, 0.01, 0.001)
    return one_branch(
        discrete("factor", "", "a factor of ten, a hundred or a thousand, either way", sizes, (6, 2, 3, 6, 2, 3))
    )


def _bores(_scene: Scene) -> tuple[Branch, ...]:
    steps = [1, 2, -1, -2]
    ratios = [
        (BORES[at + step] / bore, 1.0 / abs(step))
        for at, bore in enumerate(BORES)
        for step in steps
        if 0 <= at + step < len(BORES)
    ]
    name = "bore entered over true bore"
    near = Parameter(name, "", "around 1, usually 2.5 % off (schedule, liner, tolerance)", log_laplace(0.025))
    other = discrete(
        name, "", "a neighbouring nominal bore", [each for each, _ in ratios], [each for _, each in ratios]
    )
    return (Branch(0.6, (near,)), Branch(0.4, (other,)))


def round_ratios(name: str) -> DiscreteParameter:
    """Return the ratios of round ranges as a discrete parameter."""
    ratios = {round(a / b, 9) for a in ROUND_RANGES for b in ROUND_RANGES if a != b and 0.2 <= a / b <= 5}
    return discrete(name, "", "ratios of round ranges", sorted(ratios))


def _settings(name: str) -> tuple[Branch, ...]:
    """Return the prior of a ratio of two settings that should be equal, usually of round figures."""
    any_ratio = Parameter(name, "", "log-uniform from 0.2 to 5", log_uniform(0.2, 5.0))
    return (Branch(0.7, (round_ratios(name),)), Branch(0.3, (any_ratio,)))


def _conducting(_scene: Scene) -> tuple[Branch, ...]:
    clear = Parameter(
        "thickness of the deposit over the bore", "%", "usually 0.5 %, up to 10 %", truncated_exponential(0.1, 0.005)
    )
    ratio = Parameter(
        "deposit's conductivity over the liquid's", "", "log-uniform from 2 to 100", log_uniform(2.0, 100.0)
    )
    return (Branch(1.0, (clear, ratio), ridge=True),)


def _factor(name: str, usual: float) -> Parameter:
    return Parameter(name, "", f"around 1, usually {100 * usual:g} % off", log_laplace(usual))


def _times(r: Array, parameters: tuple[Array, ...], _scene: Scene) -> Array:
    return curves.proportional(r, parameters[0])


CONSTANT = Model(
    name="flow-constant",
    curve="factor",
    formula=_times,
    branches=lambda _scene: one_branch(_factor("factor", 0.03)),
)

FACTORS = (
    CONSTANT,
    Model(
        name="bore",
        curve="factor",
        formula=lambda r, parameters, _scene: curves.proportional(r, parameters[0] ** 2),
        branches=_bores,
    ),
    Model(
        name="unit-mix-up",
        curve="factor",
        formula=_times,
        branches=_units,
    ),
    Model(
        name="power-of-ten",
        curve="factor",
        formula=_times,
        branches=_tens,
    ),
    Model(
        name="span-mismatch",
        curve="factor",
        formula=_times,
        branches=lambda _scene: _settings("receiver's span over the meter's"),
    ),
    Model(
        name="pulse-value",
        curve="factor",
        formula=_times,
        branches=lambda _scene: _settings("counter's volume a pulse over the meter's"),
    ),
    Model(
        name="gas",
        curve="factor",
        formula=lambda r, parameters, _scene: curves.proportional(r, curves.gas_factor(parameters[0])),
        branches=lambda _scene: one_branch(
            Parameter("share of gas", "%", "usually 3 %, up to 30 %", truncated_exponential(0.3, 0.03))
        ),
    ),
    Model(
        name="part-filling",
        curve="factor",
        formula=lambda r, parameters, _scene: curves.proportional(r, 1 / curves.wet_share(parameters[0])),
        branches=lambda _scene: one_branch(
            Parameter("depth over bore", "%", "uniform from 50 to 99 %", uniform(0.5, 0.99))
        ),
    ),
    Model(
        name="insulating-deposit",
        curve="factor",
        formula=lambda r, parameters, _scene: curves.proportional(r, curves.deposit_factor(1 - 2 * parameters[0], 0.0)),
        branches=lambda _scene: one_branch(
            Parameter("thickness over bore", "%", "usually 1 %, up to 10 %", truncated_exponential(0.1, 0.01))
        ),
    ),
    Model(
        name="conducting-deposit",
        curve="factor",
        formula=lambda r, parameters, _scene: curves.proportional(
            r, curves.deposit_factor(1 - 2 * parameters[0], parameters[1])
        ),
        branches=_conducting,
    ),
    Model(
        name="electrode-film",
        curve="factor",
        formula=lambda r, parameters, _scene: curves.proportional(r, 1 - parameters[0]),
        branches=lambda _scene: one_branch(
            Parameter("signal lost", "%", "usually 2 %, up to 50 %", truncated_exponential(0.5, 0.02))
        ),
    ),
    Model(
        name="flow-profile",
        curve="factor",
        formula=_times,
        branches=lambda _scene: one_branch(_factor("factor", 0.015)),
    ),
    Model(
        name="small-factor",
        curve="factor",
        formula=_times,
        branches=lambda _scene: one_branch(_factor("factor", 0.006)),
    ),
    Model(
        name="reference-factor",
        curve="factor",
        formula=_times,
        branches=lambda _scene: one_branch(_factor("factor", 0.03)),
    ),
    Model(
        name="reference-time",
        curve="factor",
        formula=lambda r, parameters, _scene: curves.proportional(r, 1 + parameters[0]),
        branches=lambda _scene: one_branch(
            Parameter("error of the time", "%", "around 0, usually 0.7 % off", laplace(0.0, 0.007))
        ),
    ),
)
