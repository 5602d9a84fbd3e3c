"""Mechanisms between the meter's outputs and the number that somebody else shows: 4–20 mA loop, receiver, counter."""

from __future__ import annotations

from diagnose.analyses import curves
from diagnose.analyses.amounts import (
    Amount,
    Array,
    Branch,
    between,
    either_way,
    factor_around_one,
    listed,
    log_between,
)
from diagnose.analyses.mechanism import COUNTER, RECEIVER, Model, Scene
from diagnose.analyses.mechanisms_of_factor import round_ratios
from diagnose.calculations.current_loop import SPAN

SHUNTS = {500: 3.0, 249: 2.0, 100: 1.0, 50: 1.0, 600: 1.0, 240: 1.0}
"""Resistances [ohm] met where 250 ohm should be, and how often (estimate)."""


def _range_only(scene: Scene) -> tuple[Branch, ...]:
    return scene.with_range(Branch(1.0))


def _shunts(scene: Scene) -> tuple[Branch, ...]:
    name = "part of the current that counts"
    known = listed(name, "", "other shunts for 250 ohm", [each / 250 for each in SHUNTS], list(SHUNTS.values()))
    near = Amount(name, "", "around 1, usually 5 % off", factor_around_one(0.05))
    return scene.with_range(Branch(0.5, (known,)), Branch(0.5, (near,)))


def _lower_ends(scene: Scene) -> tuple[Branch, ...]:
    name = "steepness"
    both = listed(name, "", "both directions sent and one read, or the other way round", (0.5, 2.0))
    near = Amount(name, "", "around 1, usually 15 % off", factor_around_one(0.15))
    return scene.with_range(Branch(0.6, (both,)), Branch(0.4, (near,)))


def _current(scene: Scene) -> tuple[Branch, ...]:
    held = "usually 0.4 mA, two thirds of it lost"
    return scene.with_range(
        Branch(1.0, (Amount("current gained (lost: negative)", "mA", held, either_way(4e-4, 0.33)),))
    )


def _root_and_span(scene: Scene) -> tuple[Branch, ...]:
    name = "receiver's span over the meter's"
    any_ratio = Amount(name, "", "even in the logarithm from 0.2 to 5", log_between(0.2, 5.0))
    return scene.with_range(Branch(0.7, (round_ratios(name),)), Branch(0.3, (any_ratio,)))


def _shift_by_current(r: Array, amounts: tuple[Array, ...], scene: Scene) -> Array:
    return curves.shifted(r, amounts[0] / SPAN * scene.span(amounts))


def _root_with_span(r: Array, amounts: tuple[Array, ...], scene: Scene) -> Array:
    return curves.proportional(curves.root(r, scene.range_(amounts)), amounts[0])


def _limits(scene: Scene) -> tuple[Branch, ...]:
    held = "even in the logarithm from 0.15 to 1.1 times the largest flow"
    return (Branch(1.0, (Amount("shown at most", "flow", held, log_between(0.15 * scene.top, 1.1 * scene.top)),)),)


def _losses(scene: Scene) -> tuple[Branch, ...]:
    held = "even in the logarithm from 0.1 to 1.1 times the largest flow"
    above = Amount("pulses are lost above", "flow", held, log_between(0.1 * scene.top, 1.1 * scene.top))
    return (Branch(1.0, (above, Amount("share of pulses lost", "%", "even from 2 to 100 %", between(0.02, 1.0)))),)


RECEIVERS = (
    Model(
        name="sender-4-20-receiver-0-20",
        sits=RECEIVER,
        curve="upper-end",
        formula=lambda r, amounts, scene: curves.sender_live_receiver_dead(r, scene.range_(amounts)),
        branches=_range_only,
    ),
    Model(
        name="sender-0-20-receiver-4-20",
        sits=RECEIVER,
        curve="upper-end",
        formula=lambda r, amounts, scene: curves.sender_dead_receiver_live(r, scene.range_(amounts)),
        branches=_range_only,
    ),
    Model(
        name="square-root",
        sits=RECEIVER,
        formula=lambda r, amounts, scene: curves.root(r, scene.range_(amounts)),
        branches=_range_only,
    ),
    Model(
        name="squared",
        sits=RECEIVER,
        formula=lambda r, amounts, scene: curves.square(r, scene.range_(amounts)),
        branches=_range_only,
    ),
    Model(
        name="square-root-and-span",
        sits=RECEIVER,
        formula=_root_with_span,
        branches=_root_and_span,
    ),
    Model(
        name="half-current",
        sits=RECEIVER,
        curve="current",
        formula=lambda r, amounts, scene: curves.part_of_current(r, 0.5, scene.range_(amounts)),
        branches=_range_only,
    ),
    Model(
        name="wrong-shunt",
        sits=RECEIVER,
        curve="current",
        formula=lambda r, amounts, scene: curves.part_of_current(r, amounts[0], scene.range_(amounts)),
        branches=_shunts,
    ),
    Model(
        name="lower-range-value",
        sits=RECEIVER,
        curve="upper-end",
        formula=lambda r, amounts, scene: curves.other_lower_end(r, amounts[0], scene.range_(amounts)),
        branches=_lower_ends,
    ),
    Model(
        name="leakage",
        sits=RECEIVER,
        curve="constant",
        formula=_shift_by_current,
        branches=_current,
    ),
    Model(
        name="saturation",
        sits=RECEIVER,
        curve="limited",
        formula=lambda r, amounts, _scene: curves.limited(r, amounts[0]),
        branches=_limits,
    ),
    Model(
        name="pulse-loss",
        sits=COUNTER,
        formula=lambda r, amounts, _scene: curves.losing_above(r, amounts[0], amounts[1]),
        branches=_losses,
    ),
)
