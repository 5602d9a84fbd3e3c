"""The sums over every combination of causes: one pass forward, one backward, nothing but additions of positive terms.

A vector over the subsets of the present findings ("which of them are already produced") passes through the causes one
at a time. Causes that produce just one and the same present finding act on the vector alike, so a whole group of them
passes as one step; what each of them alone contributes follows from three inner products.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Action = tuple[float, float, float]
"""What becomes of one finding: not produced stays so, not produced becomes produced, produced stays so."""

NOTHING: Action = (1.0, 0.0, 1.0)


@dataclass(frozen=True)
class SweepResult:
    """Joint probabilities with the evidence: each cause there [n], at least one there, and altogether."""

    joint: Array
    some: float
    total: float
    readings: tuple[ShownAlone, ...] = ()


@dataclass(frozen=True)
class Showing:
    """How causes show in readings that were compared: each does with ``shows`` [n] when it is there.

    ``weighted`` [n] is that times the likelihood of the readings if it alone shows; ``nothing`` and ``several`` are
    their likelihoods where none shows, and where more than one does. ``leak`` is how often they differ without a cause.
    """

    shows: Array
    weighted: Array
    nothing: float
    several: float
    leak: float = 0.0
    leak_weighted: float = 0.0


@dataclass(frozen=True)
class ShownAlone:
    """Joint probabilities with the evidence: nothing shows in readings, several do, and each cause alone does [n]."""

    nothing: float
    several: float
    causes: Array


NONE_SHOWS, ONE_SHOWS, _ONE_UNWEIGHTED, SEVERAL_SHOW = range(4)
"""What shows in readings: the second with the likelihood of the readings, the third the same without."""

_STATES = 4


@dataclass(frozen=True)
class _Single:
    """Causes that all produce just the finding of ``bit``.

    What each does when it is ``there`` and when it ``maybe`` is, and the chance that it is not (``none``).
    """

    rows: tuple[int, ...]
    bit: int
    there: tuple[Action, ...]
    maybe: tuple[Action, ...]
    none: tuple[float, ...]
    together: Action
    absent: float

    def forward(self, vector: Array) -> Array:
        """Return the vector after these causes."""
        stays, becomes, keeps = self.together
        halves = vector.reshape(-1, 2, 1 << self.bit)
        made = np.empty_like(halves)
        made[:, 0] = halves[:, 0] * stays
        made[:, 1] = halves[:, 0] * becomes + halves[:, 1] * keeps
        return made.reshape(vector.shape)

    def backward(self, vector: Array, before: Array, start: Array, joint: Array) -> tuple[Array, float]:
        """Return the vector before these causes, and the part in which the first cause there is one of them."""
        after = [NOTHING]
        for action in reversed(self.maybe):
            after.append(_then(action, after[-1]))
        after.reverse()  # after[i + 1] is what all behind the i-th do together
        known, from_start = _products(before, vector, self.bit), _products(start, vector, self.bit)
        ahead, first, absent = NOTHING, 0.0, 1.0
        for number, row in enumerate(self.rows):
            behind = _then(self.there[number], after[number + 1])
            joint[row] = _value(known, _then(ahead, behind))
            first += absent * _value(from_start, behind)
            ahead = _then(ahead, self.maybe[number])
            absent *= self.none[number]
        stays, becomes, keeps = self.together
        halves = vector.reshape(-1, 2, 1 << self.bit)
        made = np.empty_like(halves)
        made[:, 0] = halves[:, 0] * stays + halves[:, 1] * becomes
        made[:, 1] = halves[:, 1] * keeps
        return made.reshape(vector.shape), first


@dataclass(frozen=True)
class _Several:
    """One cause that produces several of the present findings: (bit, strength) of each.

    ``readings`` are (lowest bit, shows, weighted) of each comparison in which it shows.
    """

    row: int
    weight: float
    absent: float
    shows: tuple[tuple[int, float], ...]
    readings: tuple[tuple[int, float, float], ...] = ()

    def forward(self, vector: Array) -> Array:
        """Return the vector after this cause."""
        made = vector * self.weight
        for bit, strength in self.shows:
            made = _produce(made, bit, strength)
        for each in self.readings:
            made = _show(made, *each)
        return vector * self.absent + made

    def backward(self, vector: Array, before: Array, start: Array, joint: Array) -> tuple[Array, float]:
        """Return the vector before this cause, and the part in which it is the first that is there."""
        through = vector * self.weight
        for bit, strength in self.shows:
            through = _produce_backward(through, bit, strength)
        for each in self.readings:
            through = _show_backward(through, *each)
        joint[self.row] = float(before @ through)
        return vector * self.absent + through, float(start @ through)

    def alone(self, vector: Array, before: Array, number: int) -> float:
        """Return the joint probability that nothing but this cause shows in one of the comparisons."""
        through = vector * self.weight
        for bit, strength in self.shows:
            through = _produce_backward(through, bit, strength)
        for other, each in enumerate(self.readings):
            if other != number:
                through = _show_backward(through, *each)
        bit, _, weighted = self.readings[number]
        old, new = (each.reshape(-1, _STATES, 1 << bit) for each in (before, through))
        return weighted * float((old[:, NONE_SHOWS] * new[:, ONE_SHOWS]).sum())


def sweep(
    strengths: Array,
    leaks: Array,
    weights: Array,
    rest: Array,
    likelihoods: Array | None = None,
    readings: Sequence[Showing] = (),
) -> SweepResult:
    """Return the joint probabilities.

    ``strengths`` [n × m] and ``leaks`` [m] of the findings that are swept; ``weights`` [n] is P(cause there, absent
    findings do not show), ``rest`` [n] P(cause not there). ``likelihoods`` [m × 2] of what was heard of each finding,
    where it does not show and where it does (virtual evidence, Pearl 1988); without them all were seen: 0 and 1.
    ``readings`` are comparisons in which the causes may show.
    """
    start: Array = np.zeros(1 << len(leaks))
    start[0] = 1.0
    for bit, leak in enumerate(leaks.tolist()):
        start = _produce(start, bit, leak)
    for each in readings:
        start = _with_states([1 - each.leak, each.leak_weighted, each.leak, 0.0], start)
    compared = np.zeros(len(weights), dtype=bool)
    for each in readings:
        compared |= each.shows > 0
    count = ((strengths > 0).sum(axis=1) + 2 * compared) * (weights > 0)
    steps = _steps(strengths, weights, rest, count, readings)
    end = _end(np.tile([0.0, 1.0], (len(leaks), 1)) if likelihoods is None else likelihoods)
    for each in readings:
        end = _with_states([each.nothing, 1.0, 0.0, each.several], end)
    forward = [start]
    for step in steps:
        forward.append(step.forward(forward[-1]))
    joint = np.zeros(len(weights))
    absent_before = np.cumprod([1.0, *(step.absent for step in steps)]).tolist()
    alone = np.zeros((len(readings), len(weights)))
    some = 0.0
    vector = end
    for number in range(len(steps) - 1, -1, -1):
        for comparison in range(len(readings)):
            _add_alone(alone, steps[number], vector, forward[number], comparison)
        # Which cause is the first that is there: a sum over that subtracts nothing.
        vector, first = steps[number].backward(vector, forward[number], start, joint)
        some += absent_before[number] * first
    total, no_active = float(forward[-1] @ end), float(start @ end) * absent_before[-1]
    shown = tuple(
        ShownAlone(*_without_one(forward[-1], end, len(leaks) + 2 * number), alone[number])
        for number in range(len(readings))
    )
    result = SweepResult(joint, some, total, shown)
    return _with_passive(result, no_active, np.flatnonzero(count == 0), weights, rest)


def _with_states(states: list[float], vector: Array) -> Array:
    return np.asarray(np.kron(np.array(states), vector))


def _add_alone(alone: Array, step: _Single | _Several, vector: Array, before: Array, comparison: int) -> None:
    if isinstance(step, _Several) and step.readings:
        alone[comparison, step.row] = step.alone(vector, before, comparison)


def _without_one(vector: Array, end: Array, bit: int) -> tuple[float, float]:
    """Return the joint probabilities that nothing, and that more than one cause, shows in a comparison."""
    made = (vector * end).reshape(-1, _STATES, 1 << bit)
    return float(made[:, NONE_SHOWS].sum()), float(made[:, SEVERAL_SHOW].sum())


def _end(likelihoods: Array) -> Array:
    """Return the likelihood of what was heard for every subset of findings that show."""
    vector = np.ones(1)
    for not_shown, shown in likelihoods.tolist():
        vector = np.concatenate((vector * not_shown, vector * shown))
    return vector


def _with_passive(
    active: SweepResult, no_active: float, passive: npt.NDArray[np.intp], weights: Array, rest: Array
) -> SweepResult:
    """Add the causes that produce no present finding: they only scale; each may still be the first that is there."""
    norm = rest[passive] + weights[passive]
    joint = active.joint.copy()
    joint[passive] = active.total * weights[passive] / norm
    before = np.cumprod(np.concatenate(([1.0], rest[passive] / norm)))[:-1]
    some = active.some + no_active * float(before @ (weights[passive] / norm))
    return scaled(SweepResult(joint, some, active.total, active.readings), float(np.prod(norm)))


def scaled(result: SweepResult, by: float) -> SweepResult:
    """Return all joint probabilities times a factor."""
    shown = tuple(ShownAlone(each.nothing * by, each.several * by, each.causes * by) for each in result.readings)
    return SweepResult(result.joint * by, result.some * by, result.total * by, shown)


def _steps(
    strengths: Array, weights: Array, rest: Array, count: npt.NDArray[np.intp], readings: Sequence[Showing]
) -> list[_Single | _Several]:
    weight, absent = weights.tolist(), rest.tolist()
    alone = (count == 1)[:, None] & (strengths > 0)
    steps: list[_Single | _Several] = []
    for bit in np.flatnonzero(alone.any(axis=0)).tolist():
        rows = np.flatnonzero(alone[:, bit]).tolist()
        pairs = zip(rows, strengths[rows, bit].tolist(), strict=True)
        there = [(weight[row] * (1 - strength), weight[row] * strength, weight[row]) for row, strength in pairs]
        maybe = [
            (absent[row] + stays, becomes, absent[row] + keeps)
            for row, (stays, becomes, keeps) in zip(rows, there, strict=True)
        ]
        together = NOTHING
        for action in maybe:
            together = _then(together, action)
        none = tuple(absent[row] for row in rows)
        steps.append(_Single(tuple(rows), bit, tuple(there), tuple(maybe), none, together, math.prod(none)))
    for row in np.flatnonzero(count > 1).tolist():
        shows = tuple((bit, strength) for bit, strength in enumerate(strengths[row].tolist()) if strength > 0)
        steps.append(_Several(row, weight[row], absent[row], shows, _readings_of(row, readings, strengths.shape[1])))
    return steps


def _then(one: Action, other: Action) -> Action:
    """Return one action followed by another."""
    return (one[0] * other[0], one[0] * other[1] + one[1] * other[2], one[2] * other[2])


def _products(before: Array, after: Array, bit: int) -> Action:
    """Return the inner products of two vectors: by what was, and what becomes, of one finding."""
    old, new = before.reshape(-1, 2, 1 << bit), after.reshape(-1, 2, 1 << bit)
    return (
        float((old[:, 0] * new[:, 0]).sum()),
        float((old[:, 0] * new[:, 1]).sum()),
        float((old[:, 1] * new[:, 1]).sum()),
    )


def _value(products: Action, action: Action) -> float:
    return products[0] * action[0] + products[1] * action[1] + products[2] * action[2]


def _produce(vector: Array, bit: int, strength: float) -> Array:
    """Return the vector after one finding may have been produced."""
    halves = vector.reshape(-1, 2, 1 << bit)
    made = np.empty_like(halves)
    made[:, 0] = halves[:, 0] * (1 - strength)
    made[:, 1] = halves[:, 1] + halves[:, 0] * strength
    return made.reshape(vector.shape)


def _readings_of(row: int, readings: Sequence[Showing], bits: int) -> tuple[tuple[int, float, float], ...]:
    return tuple(
        (bits + 2 * number, float(each.shows[row]), float(each.weighted[row])) for number, each in enumerate(readings)
    )


def _show(vector: Array, bit: int, shows: float, weighted: float) -> Array:
    """Return the vector after one cause may have shown in a comparison."""
    old = vector.reshape(-1, _STATES, 1 << bit)
    made = old * (1 - shows)
    made[:, ONE_SHOWS] += weighted * old[:, NONE_SHOWS]
    made[:, _ONE_UNWEIGHTED] += shows * old[:, NONE_SHOWS]
    made[:, SEVERAL_SHOW] = old[:, SEVERAL_SHOW] + shows * old[:, _ONE_UNWEIGHTED]
    return made.reshape(vector.shape)


def _show_backward(vector: Array, bit: int, shows: float, weighted: float) -> Array:
    """Return the transpose of :func:`_show` applied to ``vector``."""
    old = vector.reshape(-1, _STATES, 1 << bit)
    made = old * (1 - shows)
    made[:, NONE_SHOWS] += weighted * old[:, ONE_SHOWS] + shows * old[:, _ONE_UNWEIGHTED]
    made[:, _ONE_UNWEIGHTED] += shows * old[:, SEVERAL_SHOW]
    made[:, SEVERAL_SHOW] = old[:, SEVERAL_SHOW]
    return made.reshape(vector.shape)


def _produce_backward(vector: Array, bit: int, strength: float) -> Array:
    """Return the transpose of :func:`_produce` applied to ``vector``."""
    halves = vector.reshape(-1, 2, 1 << bit)
    made = halves.copy()
    made[:, 0] = halves[:, 0] * (1 - strength) + halves[:, 1] * strength
    return made.reshape(vector.shape)
