"""What makes a comparison doubtful: too few points, one flow, points that stand apart, columns that look swapped."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.analyses.comparison_fit import Fit
from diagnose.analyses.ranking import Group
from diagnose.analyses.readings import Readings
from diagnose.calculations.straight_line import FEWEST
from diagnose.units import show, unit_info

STRAIGHT = frozenset(
    {"factor", "constant", "current", "upper-end", "flat", "no-difference", "zero-and-factor", "reversed"}
)
"""Curves that are straight lines: only from them a point can stand apart."""

SAME = 0.002
"""Share of the largest flow up to which flows count as the same."""

MOST_NAMED = 4

WIDE = 0.1
"""Share of the largest flow over which the other column must move for the columns to look swapped."""


def doubts(readings: Readings, fit: Fit | None, groups: Sequence[Group]) -> list[str]:
    """Return what is doubtful, in words."""
    return [
        *_too_little(readings, fit),
        *_apart(readings, fit, groups),
        *_swapped(readings),
        *_constant(readings),
        *_copied(readings),
    ]


def _shown(flow: float, unit: str) -> str:
    return show(flow, unit, unit_info(unit).factor)


def _too_little(readings: Readings, fit: Fit | None) -> list[str]:
    count = len(readings.reference)
    if not any(readings.reference):
        return [
            "all readings are at no flow: they say what the zero is, and nothing of the factor; compare at flow too"
        ]
    if fit is None:
        points = "one pair" if count == 1 else "all pairs are at the same flow: that"
        return [f"{points} cannot tell a zero from a factor; compare at a second flow, at 20 % of the first or below"]
    if count < FEWEST and not readings.known:
        return ["a line goes through any two points: nothing says how sure it is; take three or more"]
    if count < FEWEST:
        return ["a line goes through any two points: whether it is a line is not tested; take three or more"]
    if readings.of_reference and not readings.of_indicated:
        return ["only the reference's uncertainty is given; the meter's own scatter counts as none"]
    return []


def _apart(readings: Readings, fit: Fit | None, groups: Sequence[Group]) -> list[str]:
    if not fit:
        return []
    bent = bool(groups) and groups[0].curve not in STRAIGHT
    told = []
    for each in fit.outliers:
        flow = _shown(readings.reference[each.point], readings.unit)
        text = f"point {each.point + 1} (at {flow}) lies {abs(each.ratio):.1f} standard deviations off the line"
        if bent and groups[0].members[0].is_a_model:
            told.append(f"{text}, which is no straight one: {groups[0].members[0].mechanism.title}")
        else:
            told.append(f"{text}; it is counted like the others: check it, and repeat it")
    return told


def _swapped(readings: Readings) -> list[str]:
    """Suspect swapped columns where the reference stands still and the meter moves: meters end or cut off."""
    top = max(*map(abs, readings.reference), *map(abs, readings.indicated))
    for end in (max(readings.reference), 0.0):
        at_end = [
            shown
            for true, shown in zip(readings.reference, readings.indicated, strict=True)
            if abs(true - end) <= SAME * top
        ]
        others = len(readings.reference) - len(at_end)
        enough = len(at_end) >= 2 and (others or len(at_end) > 2)
        if enough and max(at_end) - min(at_end) > WIDE * top:
            flow = _shown(end, readings.unit)
            return [f"the reference stays at {flow} while the meter moves: are the columns swapped?"]
    return []


def _constant(readings: Readings) -> list[str]:
    shown, true = readings.indicated, readings.reference
    top = max(map(abs, true))
    if len(shown) >= 2 and max(shown) == min(shown) and max(true) - min(true) > WIDE * top:
        return [f"the meter shows {_shown(shown[0], readings.unit)} at every flow: it does not follow"]
    return []


def _copied(readings: Readings) -> list[str]:
    """Tell of pairs that are the same to the last digit: copies make a comparison look surer than it is."""
    pairs = list(zip(readings.reference, readings.indicated, strict=True))
    first = {pair: number for number, pair in reversed(list(enumerate(pairs, 1)))}
    again = [f"{number} as {first[pair]}" for number, pair in enumerate(pairs, 1) if pair[0] and first[pair] != number]
    if not again:
        return []
    more = f" and {len(again) - MOST_NAMED} more" if len(again) > MOST_NAMED else ""
    named = ", ".join(again[:MOST_NAMED]) + more
    return [f"the same pair again: {named}; if it was copied and not measured again, leave the copy out"]
