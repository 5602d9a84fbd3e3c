"""Warnings about a comparison: too few points, a single flow, outliers, columns that look swapped."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.calculations.straight_line import FEWEST
from diagnose.comparison.agreement import in_a_row, numbered
from diagnose.comparison.fit import Fit
from diagnose.comparison.ranking import AmbiguityGroup
from diagnose.tables.readings import Readings
from diagnose.units import show, unit_info

STRAIGHT_CURVES = frozenset(
    {"factor", "constant", "current", "upper-end", "flat", "no-difference", "zero-and-factor", "reversed"}
)
"""Curves that are straight lines: only for these are outliers meaningful."""

SAME = 0.002
"""Difference of flows that count as the same, as a share of the largest flow."""

MOST_NAMED = 4

WIDE = 0.1
"""Share of the largest flow by which the other column must move for the columns to look swapped."""


def doubts(readings: Readings, fit: Fit | None, groups: Sequence[AmbiguityGroup]) -> list[str]:
    """Return the warnings, in words."""
    return [
        *_too_few(readings, fit),
        *_outliers(readings, fit, groups),
        *_swapped(readings),
        *_constant(readings),
        *_copied(readings),
    ]


def _shown(flow: float, unit: str) -> str:
    return show(flow, unit, unit_info(unit).factor)


def _too_few(readings: Readings, fit: Fit | None) -> list[str]:
    count = len(readings.reference)
    if not any(readings.reference):
        return [
            "all readings are at no flow: they show the zero, but say nothing about the factor; compare at flow as well"
        ]
    if fit is None:
        points = "one pair" if count == 1 else "pairs at a single flow"
        return [f"{points} cannot tell a zero error from a factor; compare at a second flow, at most 20 % of the first"]
    if count < FEWEST and not readings.known:
        return ["a line fits any two points, so its uncertainty is unknown; take three or more"]
    if count < FEWEST:
        return ["a line fits any two points, so nobody can tell whether it is straight; take three or more"]
    if readings.u_reference and not readings.u_indicated:
        return ["only the uncertainty of the reference is given; the meter's is taken as what its figures resolve"]
    return []


def _outliers(readings: Readings, fit: Fit | None, groups: Sequence[AmbiguityGroup]) -> list[str]:
    """Tell of readings far off the line, in one note; nothing where it is a curve that comes first."""
    if not fit or not fit.outliers or is_bent(groups):
        return []
    flows = in_a_row([_shown(readings.reference[each.point], readings.unit) for each in fit.outliers])
    ratios = sorted(abs(each.ratio) for each in fit.outliers)
    by = f"{ratios[0]:.2g}" if f"{ratios[0]:.2g}" == f"{ratios[-1]:.2g}" else f"{ratios[0]:.2g} to {ratios[-1]:.2g}"
    of = "what you state" if readings.known else "the scatter of the others"
    are, them = ("is", "it") if len(ratios) == 1 else ("are", "them")
    return [
        f"{numbered([each.point for each in fit.outliers])} (at {flows}) {are} off the line by {by} times {of}: check "
        f"and repeat {them}; the line still includes {them}"
    ]


def is_bent(groups: Sequence[AmbiguityGroup]) -> bool:
    """Check whether what comes first is a known curve that is not a straight line."""
    return bool(groups) and groups[0].members[0].is_a_model and groups[0].curve not in STRAIGHT_CURVES


def _swapped(readings: Readings) -> list[str]:
    """Suspect swapped columns if the reference stays still while the meter moves: only meters saturate or cut off."""
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
        return [f"the meter shows {_shown(shown[0], readings.unit)} at every flow: it does not respond"]
    return []


def _copied(readings: Readings) -> list[str]:
    """Warn of pairs that are equal to the last digit: copies make a comparison look better than it is."""
    pairs = list(zip(readings.reference, readings.indicated, strict=True))
    first = {pair: number for number, pair in reversed(list(enumerate(pairs, 1)))}
    again = [f"{number} as {first[pair]}" for number, pair in enumerate(pairs, 1) if pair[0] and first[pair] != number]
    if not again:
        return []
    more = f" and {len(again) - MOST_NAMED} more" if len(again) > MOST_NAMED else ""
    named = ", ".join(again[:MOST_NAMED]) + more
    return [f"repeated pair: {named}; if it was copied rather than measured again, leave the copy out"]
