"""Which mistakes between a current output and its receiver fit what the display says and the receiver shows.

A mistake of the usual amount predicts what is shown and can be refused by one pair of readings. One whose amount is
open (a range, a lost current, a shunt, a held output) takes its amount from the readings by least squares; it can be
refused only by more pairs than it has amounts.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

from diagnose.calculations.calculation import Column, Judgement, Table, calculation
from diagnose.calculations.current_loop import LIVE_ZERO, SPAN, share_of
from diagnose.calculations.receiver_mistakes import MISTAKES
from diagnose.calculations.terms import Term, declare
from diagnose.errors import OutOfRange

declare(
    Term(
        name="receiver-tolerance",
        title="difference that still counts as the same, of the range",
        unit="%",
        symbol="tol",
        above=0.0,
        at_most=0.2,
        short=("tolerance",),
        example="0.5 %",
    ),
    Term(
        name="display-flows",
        title="flows on the meter's display, one after the other",
        unit="m3/h",
        several=True,
        example="0; 25; 50 m3/h",
    ),
    Term(
        name="receiver-flows",
        title="flows that the receiver showed at the same times",
        unit="m3/h",
        several=True,
        example="20; 40; 60 m3/h",
    ),
)

NO_MISTAKE = "none"
_SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)

USUAL_TOLERANCE = 0.005
"""Half a per cent of range: what a display, a loop and an input card are commonly apart without fault."""

Pair = tuple[float, float]
"""True share (by the display) and share shown by the receiver."""


@dataclass(frozen=True, slots=True)
class Fit:
    """How a mistake fits: the amounts that it takes from the readings, the greatest misfit.

    ``tested`` tells whether the readings are more than the amounts, so that they could have refused it.
    """

    mistake: str
    amount: str
    reading: Callable[[float], float]
    amounts: int
    misfit: float
    tested: bool


def fits(pairs: Sequence[Pair], tolerance: float) -> tuple[Fit, ...]:
    """Return how every mistake fits the readings: those that could be refused first, the least misfit first.

    >>> [each.mistake for each in fits([(0.25, 0.5), (0.5, 0.7071)], 0.005)][:1]
    ['square root left on']
    """
    found = [_fit(NO_MISTAKE, "", lambda share: share, 0, pairs, tolerance)]
    found += [_fit(each.name, "", each.reading, 0, pairs, tolerance) for each in MISTAKES if each.reading]
    inner = [pair for pair in pairs if not _at_an_end(pair[1], tolerance)]
    for amount in _AMOUNTS:
        told = amount(inner) if inner else None
        if told is not None:
            name, text, reading, amounts = told
            found.append(_fit(name, text, reading, amounts, pairs, tolerance, len({share for share, _ in inner})))
    return tuple(sorted(found, key=lambda each: (not each.tested, each.misfit, each.amounts)))


@calculation(
    title="which mistakes fit what the receiver shows",
    formula="misfit = |x' - x_rx|",
    source="scaling of both ends, Ohm's law",
    valid="steady flow; a reading at 0 or 100 % also stands for all beyond",
)
def fitting_mistakes(
    share_of_range: float, receiver_reading: float, receiver_tolerance: float = USUAL_TOLERANCE
) -> Table:
    """Return the mistakes by their misfit to one pair: what the display says, and what the receiver shows.

    Both as shares of the meter's range; ``receiver_tolerance`` is the misfit up to which a mistake fits. Source: the
    scaling of each; a display at 25 % and a receiver at 40 % fit a receiver set to 0–20 mA.

    >>> fitting_mistakes(0.25, 0.4).rows[0][0]
    'sender 4-20, receiver 0-20'
    """
    return _table(fits([(share_of_range, receiver_reading)], receiver_tolerance), receiver_tolerance)


@calculation(
    title="which mistakes fit several readings",
    formula="misfit = greatest |x' - x_rx|; amounts by least squares",
    source="scaling of both ends, Ohm's law",
    valid="steady flow at each reading; a reading at 0 or 100 % also stands for all beyond",
)
def mistakes_fitting_readings(
    display_flows: tuple[float, ...],
    receiver_flows: tuple[float, ...],
    upper_range_value: float,
    lower_range_value: float = 0.0,
    receiver_tolerance: float = USUAL_TOLERANCE,
) -> Table:
    """Return the mistakes by their misfit to several pairs of flows [m³/s], with the amounts that they take.

    Raises OutOfRange unless there are as many of the one as of the other, or when both range values are equal.
    Source: the scaling of each; 25, 50, 75 on the display and 37.5, 62.5, 87.5 in the receiver fit a current that
    comes in.

    >>> mistakes_fitting_readings((25.0, 50.0, 75.0), (37.5, 62.5, 87.5), 100.0).rows[0][:2]
    ('current lost or added', '2 mA comes in')
    """
    if len(display_flows) != len(receiver_flows):
        counts = f"there are {len(display_flows)} and {len(receiver_flows)}"
        raise OutOfRange(f"each flow on the display needs the receiver's at the same time; {counts}")
    shown = [(each, other) for each, other in zip(display_flows, receiver_flows, strict=True)]
    pairs = [
        (share_of(each, upper_range_value, lower_range_value), share_of(other, upper_range_value, lower_range_value))
        for each, other in shown
    ]
    return _table(fits(pairs, receiver_tolerance), receiver_tolerance)


def _fit(
    name: str,
    amount: str,
    reading: Callable[[float], float],
    amounts: int,
    pairs: Sequence[Pair],
    tolerance: float,
    readings: int = 1,
) -> Fit:
    misfit = max(_misfit(reading(share), seen, tolerance) for share, seen in pairs)
    return Fit(name, amount, reading, amounts, round(misfit, 12), readings > amounts)


def _misfit(shown: float, seen: float, tolerance: float) -> float:
    """Return how far a prediction is off; a receiver that stands at an end of its range may hide what lies beyond."""
    if (abs(seen) <= tolerance and shown < seen) or (abs(seen - 1) <= tolerance and shown > seen):
        return 0.0
    return abs(shown - seen)


def _at_an_end(seen: float, tolerance: float) -> bool:
    return abs(seen) <= tolerance or abs(seen - 1) <= tolerance


_Told = tuple[str, str, Callable[[float], float], int]
"""Name, amount in words, true share → share shown, how many amounts were taken from the readings."""


def _range(pairs: Sequence[Pair]) -> _Told | None:
    square = sum(share**2 for share, _ in pairs)
    ratio = sum(share * seen for share, seen in pairs) / square if square else 0.0
    if ratio <= 0:
        return None
    text = f"URV in the receiver {ratio:.4g} times the meter's"
    return "other range, zero right", text, lambda share: ratio * share, 1


def _lost(pairs: Sequence[Pair]) -> _Told | None:
    lost = sum(share - seen for share, seen in pairs) / len(pairs)
    text = f"{abs(lost) * SPAN * 1000:.3g} mA {'is lost' if lost > 0 else 'comes in'}"
    return "current lost or added", text, lambda share: share - lost, 1


def _shunt(pairs: Sequence[Pair]) -> _Told | None:
    currents = [(LIVE_ZERO + SPAN * share, LIVE_ZERO + SPAN * seen) for share, seen in pairs]
    square = sum(sent**2 for sent, _ in currents)
    ratio = sum(sent * got for sent, got in currents) / square if square else 0.0
    if ratio <= 0:
        return None

    def reading(share: float) -> float:
        return ((LIVE_ZERO + SPAN * share) * ratio - LIVE_ZERO) / SPAN

    return "other shunt or parallel path", f"as {250 * ratio:.4g} instead of 250 ohm", reading, 1


def _held(pairs: Sequence[Pair]) -> _Told | None:
    held = sum(seen for _, seen in pairs) / len(pairs)
    text = f"at {100 * held:.4g} % ({1000 * (LIVE_ZERO + SPAN * held):.4g} mA)"
    return "output or receiver held", text, lambda share: held, 1


def _both_ends(pairs: Sequence[Pair]) -> _Told | None:
    middle = sum(share for share, _ in pairs) / len(pairs)
    level = sum(seen for _, seen in pairs) / len(pairs)
    square = sum((share - middle) ** 2 for share, _ in pairs)
    slope = sum((share - middle) * (seen - level) for share, seen in pairs) / square if square else 0.0
    if slope == 0:
        return None
    lower = level - slope * middle
    text = f"0 % shows as {100 * lower:.4g} %, 100 % as {100 * (lower + slope):.4g} %"
    return "other range at both ends", text, lambda share: lower + slope * share, 2


_AMOUNTS = (_range, _lost, _shunt, _held, _both_ends)


def _table(found: Sequence[Fit], tolerance: float) -> Table:
    columns = (Column("mistake"), Column("amount"), Column("misfit", "%"), Column("fits"))
    rows = tuple((each.mistake, each.amount, each.misfit, _fits(each, tolerance)) for each in found)
    verdict, judgement = _verdict(_simplest(found, tolerance), tolerance)
    return Table(columns, rows, verdict, judgement)


def _fits(fit: Fit, tolerance: float) -> str:
    if fit.misfit > tolerance:
        return "no"
    return "yes" if fit.tested else "needs another reading"


def _simplest(found: Sequence[Fit], tolerance: float) -> list[Fit]:
    """Return what fits with the fewest amounts: with enough of them everything fits."""
    fitting = [each for each in found if each.tested and each.misfit <= tolerance]
    fewest = min((each.amounts for each in fitting), default=0)
    return [each for each in fitting if each.amounts == fewest]


def _verdict(fitting: Sequence[Fit], tolerance: float) -> tuple[str, Judgement]:
    if not fitting:
        return "no mistake of the usual amounts fits; take a second reading at another flow", "wrong"
    if any(each.mistake == NO_MISTAKE for each in fitting):
        others = [each for each in fitting if _differs(each, tolerance)]
        if not others:
            return "the receiver shows what the display says", "fine"
        named = ", ".join(each.mistake for each in others)
        apart = _told_apart([each for each in fitting if each.mistake == NO_MISTAKE or each in others])
        return f"the receiver shows what the display says; here that also fits: {named}. {apart}", "doubtful"
    named = ", ".join(f"{each.mistake} ({each.amount})" if each.amount else each.mistake for each in fitting)
    return f"what fits: {named}" + (f". {_told_apart(fitting)}" if len(fitting) > 1 else ""), "wrong"


def _differs(fit: Fit, tolerance: float) -> bool:
    """Tell whether a mistake ever shows by more than the tolerance."""
    return any(abs(fit.reading(share) - share) > tolerance + 1e-9 for share in _SHARES)


def _told_apart(fitting: Sequence[Fit]) -> str:
    """Return at which share of the range the mistakes that fit differ most."""

    def least_gap(share: float) -> float:
        shown = [each.reading(share) for each in fitting]
        return min(abs(one - other) for one, other in combinations(shown, 2))

    best = max(_SHARES, key=lambda share: (least_gap(share), -abs(share - 0.5)))
    if math.isclose(least_gap(best), 0.0, abs_tol=1e-9):
        return "Readings at several flows tell them apart"
    return f"A reading at {100 * best:.0f} % of range tells them apart"
