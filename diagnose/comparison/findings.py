"""Findings that follow from a comparison: ids of the rule book, present or absent, and the reason.

What the pairs show directly (too high, nothing at flow) follows from the figures. Everything else follows from the
mechanisms: the probability of a finding is the total of all mechanisms that show it according to the rule book.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from diagnose.comparison.agreement import Agreement, ComparedPoint
from diagnose.comparison.mechanism import Sits
from diagnose.comparison.ranking import AmbiguityGroup, RankedMechanism
from diagnose.rule_book.patterns import ComparedAt
from diagnose.tables.readings import Readings

ReadAt = Literal["", "display", "control-system", "counter"]
Against = Literal["reference", "display"]

SURE = 0.8
"""Least probability for a finding to be present, and for a curve to be certain."""

UNSEEN = 0.02
"""Largest probability for a finding to be absent, once another curve is certain."""

STANDS = 0.005
"""Share of the largest flow up to which a reading at no flow counts as zero if no uncertainty is given."""

BEHIND_DISPLAY: frozenset[Sits] = frozenset({"receiver", "counter"})

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


def compared_at(read_at: ReadAt, against: Against) -> ComparedAt:
    """Return what the meter is compared with, by its name in the rule book."""
    if against == "reference":
        return "reference"
    return "counter" if read_at == "counter" else "control-system"


def findings(
    readings: Readings, agreement: Agreement, groups: Sequence[AmbiguityGroup], compared: ComparedAt
) -> tuple[Conclusion, ...]:
    """Return the findings that the comparison decides, each once."""
    ranked = [each for group in groups for each in group.members]
    found = list(_of_verdict(readings, agreement, ranked, compared))
    if compared == "reference":
        found += _at_standstill(readings)
    if agreement.verdict != "cannot tell":
        found += _of_mechanisms(groups, ranked, compared)
    return tuple({each.finding: each for each in reversed(found)}.values())[::-1]


def _of_verdict(
    readings: Readings, agreement: Agreement, ranked: Sequence[RankedMechanism], compared: ComparedAt
) -> Iterator[Conclusion]:
    symptom, because = _SYMPTOM[compared], agreement.because
    if agreement.verdict == "cannot tell":
        return
    if agreement.verdict == "agrees":
        yield Conclusion(symptom, False, because)
        if compared == "reference":
            yield Conclusion("difference-small", True, because)
        return
    if compared != "reference":
        yield Conclusion(symptom, True, because)
    elif _behind_display(ranked) < SURE:
        # Otherwise it is the number behind the display that disagrees, and the display itself may be right.
        yield Conclusion(symptom, True, because)
        yield from _direction(readings, agreement)


def _behind_display(ranked: Sequence[RankedMechanism]) -> float:
    return sum(each.probability for each in ranked if each.mechanism.model.sits <= BEHIND_DISPLAY)


def _direction(readings: Readings, agreement: Agreement) -> Iterator[Conclusion]:
    """Yield too high, too low, zero or negative, if that is so at all flows with a clear deviation."""
    off = [each.deviation for each in agreement.points if each.deviation is not None and _clearly(each)]
    flowing = [shown for true, shown in zip(readings.reference, readings.indicated, strict=True) if true > 0]
    backward = bool(flowing) and all(shown < 0 for shown in flowing)
    if off:
        reach = f"{100 * min(off):+.2g} to {100 * max(off):+.2g} %"
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


def _of_mechanisms(
    groups: Sequence[AmbiguityGroup], ranked: Sequence[RankedMechanism], compared: ComparedAt
) -> Iterator[Conclusion]:
    """Yield the findings that mechanisms show, by the total probability of those mechanisms."""
    showing: dict[str, list[RankedMechanism]] = {}
    for each in ranked:
        for name in each.mechanism.known.shows.get(compared, ()):
            showing.setdefault(name, []).append(each)
    sure = bool(groups) and groups[0].probability >= SURE
    for name, of in showing.items():
        together = sum(each.probability for each in of)
        if together >= SURE:
            yield Conclusion(name, True, f"{_percent(together)} probable: {_leading(of)}")
        elif together <= UNSEEN and sure and not _elsewhere(of, compared):
            yield Conclusion(
                name, False, f"{_percent(together)} probable, while {_leading(groups[0].members)} is certain"
            )


def _elsewhere(of: Sequence[RankedMechanism], compared: ComparedAt) -> bool:
    """Check whether only faults behind the display show a finding, so that the comparison cannot exclude it."""
    return compared == "reference" and all(each.mechanism.model.sits <= BEHIND_DISPLAY for each in of)


def _percent(share: float) -> str:
    """Format a probability in whole per cent, without claiming certainty."""
    return ">99 %" if share > 0.995 else "<1 %" if share < 0.005 else f"{100 * share:.0f} %"


def _leading(of: Sequence[RankedMechanism]) -> str:
    more = f" or {len(of) - 1} more with the same effect" if len(of) > 1 and of[0].probability < SURE else ""
    return f"{of[0].mechanism.title}{more}"
