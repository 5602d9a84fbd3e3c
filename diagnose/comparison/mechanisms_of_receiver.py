"""Models of faults behind the meter's outputs: 4–20 mA loop, receiver, counter."""

from __future__ import annotations

from diagnose.calculations.current_loop import SPAN
from diagnose.comparison import curves
from diagnose.comparison.mechanism import Amount, Model, Scene
from diagnose.comparison.mechanisms_of_factor import SPANS
from diagnose.tables.arrays import Array

LOST = (
    Amount("lost-above", "pulses are lost above", "flow"),
    Amount("pulses-lost", "share of pulses lost", "share"),
)


def _shift_by_current(r: Array, parameters: tuple[Array, ...], scene: Scene) -> Array:
    return curves.shifted(r, parameters[0] / SPAN * scene.span(parameters))


def _root_with_span(r: Array, parameters: tuple[Array, ...], scene: Scene) -> Array:
    return curves.proportional(curves.root(r, scene.range_(parameters)), parameters[0])


RECEIVERS = (
    Model(
        name="sender-4-20-receiver-0-20",
        through_receiver=True,
        curve="upper-end",
        formula=lambda r, parameters, scene: curves.sender_live_receiver_dead(r, scene.range_(parameters)),
    ),
    Model(
        name="sender-0-20-receiver-4-20",
        through_receiver=True,
        curve="upper-end",
        formula=lambda r, parameters, scene: curves.sender_dead_receiver_live(r, scene.range_(parameters)),
    ),
    Model(
        name="square-root",
        through_receiver=True,
        formula=lambda r, parameters, scene: curves.root(r, scene.range_(parameters)),
    ),
    Model(
        name="squared",
        through_receiver=True,
        formula=lambda r, parameters, scene: curves.square(r, scene.range_(parameters)),
    ),
    Model(
        name="square-root-and-span",
        through_receiver=True,
        formula=_root_with_span,
        amounts=(SPANS,),
    ),
    Model(
        name="square-root-of-zero-twenty",
        through_receiver=True,
        formula=lambda r, parameters, scene: curves.root_live_receiver_dead(r, scene.range_(parameters)),
    ),
    Model(
        name="half-current",
        through_receiver=True,
        curve="current",
        formula=lambda r, parameters, scene: curves.part_of_current(r, 0.5, scene.range_(parameters)),
    ),
    Model(
        name="wrong-shunt",
        through_receiver=True,
        curve="current",
        formula=lambda r, parameters, scene: curves.part_of_current(r, parameters[0], scene.range_(parameters)),
        amounts=(Amount("part-of-current", "share of the current that is read", "ratio"),),
    ),
    Model(
        name="lower-range-value",
        through_receiver=True,
        curve="upper-end",
        formula=lambda r, parameters, scene: curves.other_lower_end(r, parameters[0], scene.range_(parameters)),
        amounts=(Amount("steepness", "steepness", "ratio"),),
    ),
    Model(
        name="leakage",
        through_receiver=True,
        curve="constant",
        formula=_shift_by_current,
        amounts=(Amount("current-gained", "current gained (lost: negative)", "current"),),
    ),
    Model(
        name="saturation",
        through_receiver=True,
        curve="limited",
        formula=lambda r, parameters, _scene: curves.limited(r, parameters[0]),
        amounts=(Amount("largest-flow-shown", "largest flow shown", "flow"),),
    ),
    Model(
        name="number-wraps",
        through_receiver=True,
        formula=lambda r, parameters, _scene: curves.wrapped(r, parameters[0], parameters[1]),
        amounts=(
            Amount("largest-number", "largest flow that the number holds", "flow"),
            Amount("jumps-by", "jumps by so many times that", "ratio"),
        ),
    ),
    Model(
        name="gradual-pulse-loss",
        formula=lambda r, parameters, _scene: curves.losing_more_above(r, parameters[0], parameters[1]),
        amounts=LOST,
    ),
    Model(
        name="dead-time",
        formula=lambda r, parameters, scene: curves.dead_after_each(r, parameters[0], scene.top),
        amounts=(Amount("busy-at-the-top", "dead time over the time between pulses at the largest flow", "share"),),
    ),
    Model(
        name="pulse-loss",
        formula=lambda r, parameters, _scene: curves.losing_above(r, parameters[0], parameters[1]),
        amounts=LOST,
    ),
)
