"""Models of faults behind the meter's outputs: 4–20 mA loop, receiver, counter."""

from __future__ import annotations

from diagnose.calculations.current_loop import SPAN
from diagnose.comparison import curves
from diagnose.comparison.mechanism import Model, Scene
from diagnose.comparison.mechanisms_of_factor import round_ratios
from diagnose.comparison.parameters import (
    Branch,
    Parameter,
    discrete,
    log_laplace,
    log_uniform,
    one_branch,
    two_sided_exponential,
    uniform,
)
from diagnose.tables.arrays import Array

SHUNTS = {500: 3.0, 249: 2.0, 100: 1.0, 50: 1.0, 600: 1.0, 240: 1.0}
"""Resistances [ohm] found in place of 250 ohm, and their relative frequency (estimate)."""


def _range_only(scene: Scene) -> tuple[Branch, ...]:
    return scene.with_range(Branch(1.0))


def _shunts(scene: Scene) -> tuple[Branch, ...]:
    name = "share of the current that is read"
    known = discrete(
        name, "", "common shunts other than 250 ohm", [each / 250 for each in SHUNTS], list(SHUNTS.values())
    )
    near = Parameter(name, "", "around 1, usually 5 % off", log_laplace(0.05))
    return scene.with_range(Branch(0.5, (known,)), Branch(0.5, (near,)))


def _lower_ends(scene: Scene) -> tuple[Branch, ...]:
    name = "steepness"
    both = discrete(name, "", "one side set for both directions, the other for one", (0.5, 2.0))
    near = Parameter(name, "", "around 1, usually 15 % off", log_laplace(0.15))
    return scene.with_range(Branch(0.6, (both,)), Branch(0.4, (near,)))


def _current(scene: Scene) -> tuple[Branch, ...]:
    prior = "usually 0.4 mA, two thirds of it lost"
    return scene.with_range(
        Branch(1.0, (Parameter("current gained (lost: negative)", "mA", prior, two_sided_exponential(4e-4, 0.33)),))
    )


def _root_and_span(scene: Scene) -> tuple[Branch, ...]:
    name = "receiver's span over the meter's"
    any_ratio = Parameter(name, "", "log-uniform from 0.2 to 5", log_uniform(0.2, 5.0))
    return scene.with_range(Branch(0.7, (round_ratios(name),)), Branch(0.3, (any_ratio,)))


def _shift_by_current(r: Array, parameters: tuple[Array, ...], scene: Scene) -> Array:
    return curves.shifted(r, parameters[0] / SPAN * scene.span(parameters))


def _root_with_span(r: Array, parameters: tuple[Array, ...], scene: Scene) -> Array:
    return curves.proportional(curves.root(r, scene.range_(parameters)), parameters[0])


def _limits(scene: Scene) -> tuple[Branch, ...]:
    prior = "log-uniform from 0.15 to 1.1 times the largest flow"
    return one_branch(Parameter("largest flow shown", "flow", prior, log_uniform(0.15 * scene.top, 1.1 * scene.top)))


def _losses(scene: Scene) -> tuple[Branch, ...]:
    prior = "log-uniform from 0.1 to 1.1 times the largest flow"
    above = Parameter("pulses are lost above", "flow", prior, log_uniform(0.1 * scene.top, 1.1 * scene.top))
    return one_branch(above, Parameter("share of pulses lost", "%", "uniform from 2 to 100 %", uniform(0.02, 1.0)))


RECEIVERS = (
    Model(
        name="sender-4-20-receiver-0-20",
        through_receiver=True,
        curve="upper-end",
        formula=lambda r, parameters, scene: curves.sender_live_receiver_dead(r, scene.range_(parameters)),
        branches=_range_only,
    ),
    Model(
        name="sender-0-20-receiver-4-20",
        through_receiver=True,
        curve="upper-end",
        formula=lambda r, parameters, scene: curves.sender_dead_receiver_live(r, scene.range_(parameters)),
        branches=_range_only,
    ),
    Model(
        name="square-root",
        through_receiver=True,
        formula=lambda r, parameters, scene: curves.root(r, scene.range_(parameters)),
        branches=_range_only,
    ),
    Model(
        name="squared",
        through_receiver=True,
        formula=lambda r, parameters, scene: curves.square(r, scene.range_(parameters)),
        branches=_range_only,
    ),
    Model(
        name="square-root-and-span",
        through_receiver=True,
        formula=_root_with_span,
        branches=_root_and_span,
    ),
    Model(
        name="half-current",
        through_receiver=True,
        curve="current",
        formula=lambda r, parameters, scene: curves.part_of_current(r, 0.5, scene.range_(parameters)),
        branches=_range_only,
    ),
    Model(
        name="wrong-shunt",
        through_receiver=True,
        curve="current",
        formula=lambda r, parameters, scene: curves.part_of_current(r, parameters[0], scene.range_(parameters)),
        branches=_shunts,
    ),
    Model(
        name="lower-range-value",
        through_receiver=True,
        curve="upper-end",
        formula=lambda r, parameters, scene: curves.other_lower_end(r, parameters[0], scene.range_(parameters)),
        branches=_lower_ends,
    ),
    Model(
        name="leakage",
        through_receiver=True,
        curve="constant",
        formula=_shift_by_current,
        branches=_current,
    ),
    Model(
        name="saturation",
        through_receiver=True,
        curve="limited",
        formula=lambda r, parameters, _scene: curves.limited(r, parameters[0]),
        branches=_limits,
    ),
    Model(
        name="gradual-pulse-loss",
        formula=lambda r, parameters, _scene: curves.losing_more_above(r, parameters[0], parameters[1]),
        branches=_losses,
    ),
    Model(
        name="pulse-loss",
        formula=lambda r, parameters, _scene: curves.losing_above(r, parameters[0], parameters[1]),
        branches=_losses,
    ),
)
