"""Findings that can be read off the figures of a comparison: ids of the rule book, present or absent, and the reason.

What the readings say of causes does not go by findings: their likelihood by mechanism counts whole.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from diagnose.comparison.agreement import Agreement, ComparedPoint
from diagnose.rule_book.patterns import ComparedAt
from diagnose.tables.readings import Readings

ReadAt = Literal["", "display", "control-system", "counter"]
Against = Literal["reference", "display"]

SURE = 0.8
"""Least probability with which what differs is taken to be behind the display."""

STANDS = 0.005
"""Share of the largest flow up to which a reading at no flow counts as zero if no uncertainty is given."""

_SYMPTOM: dict[ComparedAt, str] = {
    "reference": "disagrees-with-reference",
    "control-system": "control-system-disagrees",
    "counter": "pulse-count-wrong",
}
"""What is compared → the finding that the two disagree."""


@dataclass(frozen=True, slots=True)
class Conclusion:
    """A finding, present or absent, and the figures behind it."""

    finding: str
    present: bool
    because: str


def with_what(read_at: ReadAt, against: Against) -> ComparedAt:
    """Return what the meter is compared with, by its name in the rule book."""
    if against == "reference":
        return "reference"
    return "counter" if read_at == "counter" else "control-system"


def findings(
    readings: Readings, agreement: Agreement, behind_display: Mapping[ComparedAt, float], compared: ComparedAt
) -> tuple[Conclusion, ...]:
    """Return the findings that the comparison decides, each once.

    ``behind_display`` is how probable it is that what differs is not the display but what is shown behind it, by where.
    """
    found = list(_of_verdict(readings, agreement, behind_display, compared))
    if compared == "reference":
        found += _at_standstill(readings)
    return tuple({each.finding: each for each in reversed(found)}.values())[::-1]


def _of_verdict(
    readings: Readings, agreement: Agreement, behind_display: Mapping[ComparedAt, float], compared: ComparedAt
) -> Iterator[Conclusion]:
    symptom, because = _SYMPTOM[compared], agreement.because
    if agreement.verdict == "cannot tell":
        return
    if agreement.verdict == "agrees":
        yield Conclusion(symptom, False, because)
        if compared == "reference":
            yield Conclusion("difference-small", True, because)
        return
    behind = sum(behind_display.values())
    if compared != "reference":
        yield Conclusion(symptom, True, because)
    elif behind < SURE:
        yield Conclusion(symptom, True, because)
        yield from _direction(readings, agreement)
    else:  # it is the number behind the display that disagrees, and the display itself may be right
        place = max(behind_display, key=lambda each: behind_display[each])
        yield Conclusion(
            _SYMPTOM[place], True, f"{100 * min(behind, 0.999):.3g} % likely, by the curve of the readings"
        )


def _direction(readings: Readings, agreement: Agreement) -> Iterator[Conclusion]:
    """Yield too high, too low, zero or negative, if that is so at all flows with a clear deviation."""
    off = [each.deviation for each in agreement.points if each.deviation is not None and _clearly(each)]
    flowing = [shown for true, shown in zip(readings.reference, readings.indicated, strict=True) if true > 0]
    backward = bool(flowing) and all(shown < 0 for shown in flowing)
    if off and 2 * len(off) >= len(flowing):
        low, high = (f"{100 * each:+.3g}" for each in (min(off), max(off)))
        reach = f"{low} %" if low == high else f"{low} to {high} %"
        reason = f"{len(off)} of {len(agreement.points)} points clearly deviate, by {reach}"
        if min(off) > 0:
            yield Conclusion("reads-high", True, reason)
        if max(off) < 0 and not backward:
            yield Conclusion("reads-low", True, reason)
    if flowing and all(shown == 0 for shown in flowing):
        yield Conclusion("zero-while-flowing", True, "the meter shows zero at every flow")
    if backward:
        yield Conclusion("flow-negative", True, "the meter shows a negative flow at every flow")


def _clearly(point: ComparedPoint) -> bool:
    """Check whether a deviation exceeds its uncertainty, or half a per cent if none is known."""
    least = 0.005 if point.uncertainty is None else point.uncertainty
    return point.deviation is not None and abs(point.deviation) > least


def _at_standstill(readings: Readings) -> Iterator[Conclusion]:
    top = max(map(abs, (*readings.reference, *readings.indicated)))
    still = [
        abs(shown) > (2 * readings.u_indicated[number] if readings.u_indicated else STANDS * top)
        for number, (true, shown) in enumerate(zip(readings.reference, readings.indicated, strict=True))
        if true == 0
    ]
    if still:
        yield Conclusion(
            "reading-at-standstill", any(still), f"{sum(still)} of {len(still)} readings at no flow are not zero"
        )
