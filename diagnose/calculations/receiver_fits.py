"""Which mistakes between a current output and its receiver fit the readings of display and receiver.

A mistake without parameters predicts the reading and can be rejected by a single pair. One with parameters (a range, a
lost current, a shunt, a held output) is fitted by least squares, and can be rejected only by more pairs than it has
parameters.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

from diagnose.calculations.calculation import Column, Table, calculation
from diagnose.calculations.current_loop import LIVE_ZERO, SPAN, share_of
from diagnose.calculations.receiver_mistakes import MISTAKES
from diagnose.errors import OutOfRange

NO_MISTAKE = "none"
_SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)

USUAL_TOLERANCE = 0.005
"""Half a per cent of range: usual difference between display and receiver without a fault."""

Pair = tuple[float, float]
"""True share (by the display) and share shown by the receiver."""


@dataclass(frozen=True, slots=True)
class MistakeFit:
    """The fit of a mistake: its parameters in words, its reading by true share, and its largest misfit.

    ``tested`` is set if there are more readings than parameters, so that they could have rejected it.
    """

    mistake: str
    parameter: str
    reading: Callable[[float], float]
    parameter_count: int
    misfit: float
    tested: bool


def fits(pairs: Sequence[Pair], tolerance: float) -> tuple[MistakeFit, ...]:
    """Fit every mistake to the readings; sorted by those that could be rejected, then by misfit.

    >>> [each.mistake for each in fits([(0.25, 0.5), (0.5, 0.7071)], 0.005)][:1]
    ['square root left on']
    """
    found = [_fit(NO_MISTAKE, "", lambda share: share, 0, pairs, tolerance)]
    found += [_fit(each.name, "", each.reading, 0, pairs, tolerance) for each in MISTAKES if each.reading]
    inner = [pair for pair in pairs if not _at_an_end(pair[1], tolerance)]
    for parameter in _ESTIMATORS:
        candidate = parameter(inner) if inner else None
        if candidate is not None:
            name, text, reading, parameter_count = candidate
            found.append(
                _fit(name, text, reading, parameter_count, pairs, tolerance, len({share for share, _ in inner}))
            )
    return tuple(sorted(found, key=lambda each: (not each.tested, each.misfit, each.parameter_count)))


@calculation(
    title="which mistakes fit what the receiver shows",
    formula="misfit = |x' - x_rx|",
    source="scaling of both ends, Ohm's law",
    valid="steady flow; a reading at 0 or 100 % may also be anything beyond",
)
def fitting_mistakes(
    share_of_range: float, receiver_reading: float, receiver_tolerance: float = USUAL_TOLERANCE
) -> Table:
    """Return the mistakes by their misfit to one pair of readings of display and receiver.

    Both as shares of the meter's range; ``receiver_tolerance`` is the misfit up to which a mistake fits. Source: the
    scaling of each; a display at 25 % and a receiver at 40 % fit a receiver set to 0–20 mA.

    >>> fitting_mistakes(0.25, 0.4).rows[0][0]
    'sender 4-20, receiver 0-20'
    """
    return _table(fits([(share_of_range, receiver_reading)], receiver_tolerance), receiver_tolerance)


@calculation(
    title="which mistakes fit several readings",
    formula="misfit = largest |x' - x_rx|; parameters by least squares",
    source="scaling of both ends, Ohm's law",
    valid="steady flow at each reading; a reading at 0 or 100 % may also be anything beyond",
)
def mistakes_fitting_readings(
    display_flows: tuple[float, ...],
    receiver_flows: tuple[float, ...],
    upper_range_value: float,
    lower_range_value: float = 0.0,
    receiver_tolerance: float = USUAL_TOLERANCE,
) -> Table:
    """Return the mistakes by their misfit to several pairs of flows [m³/s], with their parameters.

    Raises OutOfRange unless there are as many of one as of the other, and one, or when both range values are equal.
    Source: the scaling of each; 25, 50, 75 on the display and 37.5, 62.5, 87.5 in the receiver fit a current that
    is added.

    >>> mistakes_fitting_readings((25.0, 50.0, 75.0), (37.5, 62.5, 87.5), 100.0).rows[0][:2]
    ('current lost or added', '2 mA is added')
    """
    if not display_flows:
        raise OutOfRange("there is no reading to compare")
    if len(display_flows) != len(receiver_flows):
        counts = f"there are {len(display_flows)} and {len(receiver_flows)}"
        raise OutOfRange(f"each flow on the display needs one of the receiver at the same time; {counts}")
    shown = [(each, other) for each, other in zip(display_flows, receiver_flows, strict=True)]
    pairs = [
        (share_of(each, upper_range_value, lower_range_value), share_of(other, upper_range_value, lower_range_value))
        for each, other in shown
    ]
    return _table(fits(pairs, receiver_tolerance), receiver_tolerance)


def _fit(
    name: str,
    parameter: str,
    reading: Callable[[float], float],
    parameter_count: int,
    pairs: Sequence[Pair],
    tolerance: float,
    readings: int = 1,
) -> MistakeFit:
    misfit = max(_misfit(reading(share), seen, tolerance) for share, seen in pairs)
    return MistakeFit(name, parameter, reading, parameter_count, round(misfit, 12), readings > parameter_count)


def _misfit(shown: float, seen: float, tolerance: float) -> float:
    """Return the misfit of a prediction; a receiver at an end of its range may hide what lies beyond."""
    if (abs(seen) <= tolerance and shown < seen) or (abs(seen - 1) <= tolerance and shown > seen):
        return 0.0
    return abs(shown - seen)


def _at_an_end(seen: float, tolerance: float) -> bool:
    return abs(seen) <= tolerance or abs(seen - 1) <= tolerance


_Candidate = tuple[str, str, Callable[[float], float], int]
"""Name, parameters in words, true share → share shown, number of fitted parameters."""


def _range(pairs: Sequence[Pair]) -> _Candidate | None:
    square = sum(share**2 for share, _ in pairs)
    ratio = sum(share * seen for share, seen in pairs) / square if square else 0.0
    if ratio <= 0:
        return None
    text = f"URV in the receiver {ratio:.4g} times the meter's"
    return "other range, zero right", text, lambda share: ratio * share, 1


def _lost(pairs: Sequence[Pair]) -> _Candidate | None:
    lost = sum(share - seen for share, seen in pairs) / len(pairs)
    text = f"{abs(lost) * SPAN * 1000:.3g} mA {'is lost' if lost > 0 else 'is added'}"
    return "current lost or added", text, lambda share: share - lost, 1


def _shunt(pairs: Sequence[Pair]) -> _Candidate | None:
    currents = [(LIVE_ZERO + SPAN * share, LIVE_ZERO + SPAN * seen) for share, seen in pairs]
    square = sum(sent**2 for sent, _ in currents)
    ratio = sum(sent * got for sent, got in currents) / square if square else 0.0
    if ratio <= 0:
        return None

    def reading(share: float) -> float:
        return ((LIVE_ZERO + SPAN * share) * ratio - LIVE_ZERO) / SPAN

    return "other shunt or parallel path", f"as {250 * ratio:.4g} instead of 250 ohm", reading, 1


def _held(pairs: Sequence[Pair]) -> _Candidate | None:
    held = sum(seen for _, seen in pairs) / len(pairs)
    text = f"at {100 * held:.4g} % ({1000 * (LIVE_ZERO + SPAN * held):.4g} mA)"
    return "output or receiver held", text, lambda share: held, 1


def _both_ends(pairs: Sequence[Pair]) -> _Candidate | None:
    middle = sum(share for share, _ in pairs) / len(pairs)
    level = sum(seen for _, seen in pairs) / len(pairs)
    square = sum((share - middle) ** 2 for share, _ in pairs)
    slope = sum((share - middle) * (seen - level) for share, seen in pairs) / square if square else 0.0
    if slope == 0:
        return None
    lower = level - slope * middle
    text = f"0 % shows as {100 * lower:.4g} %, 100 % as {100 * (lower + slope):.4g} %"
    return "other range at both ends", text, lambda share: lower + slope * share, 2


_ESTIMATORS = (_range, _lost, _shunt, _held, _both_ends)


def _table(found: Sequence[MistakeFit], tolerance: float) -> Table:
    columns = (Column("mistake"), Column("parameters"), Column("misfit", "%"), Column("fits"))
    rows = tuple((each.mistake, each.parameter, each.misfit, _fits(each, tolerance)) for each in found)
    remark = _remark(_simplest(found, tolerance), tolerance)
    return Table(columns, rows, remark)


def _fits(fit: MistakeFit, tolerance: float) -> str:
    if fit.misfit > tolerance:
        return "no"
    return "yes" if fit.tested else "needs another reading"


def _simplest(found: Sequence[MistakeFit], tolerance: float) -> list[MistakeFit]:
    """Return the fits with the fewest parameters: with enough of them everything fits."""
    fitting = [each for each in found if each.tested and each.misfit <= tolerance]
    fewest = min((each.parameter_count for each in fitting), default=0)
    return [each for each in fitting if each.parameter_count == fewest]


def _remark(fitting: Sequence[MistakeFit], tolerance: float) -> str:
    if not fitting:
        return "none of the usual mistakes fits; take a second reading at another flow"
    if any(each.mistake == NO_MISTAKE for each in fitting):
        others = [each for each in fitting if _differs(each, tolerance)]
        if not others:
            return "the receiver shows what the display says"
        named = ", ".join(each.mistake for each in others)
        apart = _how_to_separate([each for each in fitting if each.mistake == NO_MISTAKE or each in others])
        return f"the receiver shows what the display says; but this also fits: {named}. {apart}"
    named = ", ".join(f"{each.mistake} ({each.parameter})" if each.parameter else each.mistake for each in fitting)
    return f"what fits: {named}" + (f". {_how_to_separate(fitting)}" if len(fitting) > 1 else "")


def _differs(fit: MistakeFit, tolerance: float) -> bool:
    """Check whether a mistake ever shows by more than the tolerance."""
    return any(abs(fit.reading(share) - share) > tolerance + 1e-9 for share in _SHARES)


def _how_to_separate(fitting: Sequence[MistakeFit]) -> str:
    """Return at which share of the range the fitting mistakes differ most."""

    def least_gap(share: float) -> float:
        shown = [each.reading(share) for each in fitting]
        return min(abs(one - other) for one, other in combinations(shown, 2))

    best = max(_SHARES, key=lambda share: (least_gap(share), -abs(share - 0.5)))
    if math.isclose(least_gap(best), 0.0, abs_tol=1e-9):
        return "Readings at several flows would tell them apart"
    return f"A reading at {100 * best:.0f} % of range would tell them apart"
