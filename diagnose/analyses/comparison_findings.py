"""What follows from a comparison in the words of the rule book: ids of findings, present or absent, and why.

What the pairs show by themselves (too high, nothing at flow) is told from the figures. Everything else is told by the
mechanisms: the probability of a finding is that of all mechanisms together which the rule book says show it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from diagnose.analyses.agreement import Agreement, Point
from diagnose.analyses.mechanism import Sits
from diagnose.analyses.ranking import Group, Ranked
from diagnose.analyses.readings import Readings
from diagnose.rule_book.types import ComparedAt

ReadAt = Literal["", "display", "control-system", "counter"]
Against = Literal["reference", "display"]

SURE = 0.8
"""Probability from which a finding is present, and from which a curve is sure."""

UNSEEN = 0.02
"""Probability up to which a finding is absent, once something else is sure."""

STANDS = 0.005
"""Share of the largest flow up to which a reading at no flow counts as none, where no uncertainty is given."""

BEHIND_DISPLAY: frozenset[Sits] = frozenset({"receiver", "counter"})

_SYMPTOM: dict[ComparedAt, str] = {
    "reference": "disagrees-with-reference",
    "control-system": "control-system-disagrees",
    "counter": "pulse-count-wrong",
}
"""What is compared → the finding that both do not agree."""


@dataclass(frozen=True, slots=True)
class Told:
    """One finding, present or absent, and the figures behind it."""

    finding: str
    present: bool
    because: str


def compared_at(read_at: ReadAt, against: Against) -> ComparedAt:
    """Return what the meter is compared with, as the rule book calls it."""
    if against == "reference":
        return "reference"
    return "counter" if read_at == "counter" else "control-system"


def findings(
    readings: Readings, agreement: Agreement, groups: Sequence[Group], compared: ComparedAt
) -> tuple[Told, ...]:
    """Return findings, each once; what the comparison does not tell is not among them."""
    ranked = [each for group in groups for each in group.members]
    found = list(_of_verdict(readings, agreement, ranked, compared))
    if compared == "reference":
        found += _at_standstill(readings)
    if agreement.verdict != "cannot tell":
        found += _of_mechanisms(groups, ranked, compared)
    return tuple({each.finding: each for each in reversed(found)}.values())[::-1]


def _of_verdict(
    readings: Readings, agreement: Agreement, ranked: Sequence[Ranked], compared: ComparedAt
) -> Iterator[Told]:
    symptom, because = _SYMPTOM[compared], agreement.because
    if agreement.verdict == "cannot tell":
        return
    if agreement.verdict == "agrees":
        yield Told(symptom, False, because)
        if compared == "reference":
            yield Told("difference-small", True, because)
        return
    if compared != "reference":
        yield Told(symptom, True, because)
    elif _behind_display(ranked) < SURE:
        # else what disagrees is the number behind the display; of the display itself nothing is known
        yield Told(symptom, True, because)
        yield from _direction(readings, agreement)


def _behind_display(ranked: Sequence[Ranked]) -> float:
    return sum(each.probability for each in ranked if each.mechanism.model.sits <= BEHIND_DISPLAY)


def _direction(readings: Readings, agreement: Agreement) -> Iterator[Told]:
    """Tell whether what is shown is too high, too low, nothing, or backwards, at all flows where it is clearly off."""
    off = [each.deviation for each in agreement.points if each.deviation is not None and _clearly(each)]
    flowing = [shown for true, shown in zip(readings.reference, readings.indicated, strict=True) if true > 0]
    backward = bool(flowing) and all(shown < 0 for shown in flowing)
    if off:
        reach = f"{100 * min(off):+.2g} to {100 * max(off):+.2g} %"
        told = f"{len(off)} of {len(agreement.points)} deviate clearly, by {reach}"
        if min(off) > 0:
            yield Told("reads-high", True, told)
        if max(off) < 0 and not backward:
            yield Told("reads-low", True, told)
    if flowing and all(shown == 0 for shown in flowing):
        yield Told("zero-while-flowing", True, "the meter shows nothing at every flow")
    if backward:
        yield Told("flow-negative", True, "the meter shows less than nothing at every flow")


def _clearly(point: Point) -> bool:
    """Tell whether a deviation lies beyond its uncertainty, or beyond half a per cent where none is known."""
    least = 0.005 if point.uncertainty is None else point.uncertainty
    return point.deviation is not None and abs(point.deviation) > least


def _at_standstill(readings: Readings) -> Iterator[Told]:
    top = max(map(abs, (*readings.reference, *readings.indicated)))
    still = [
        abs(shown) > (2 * readings.of_indicated[number] if readings.of_indicated else STANDS * top)
        for number, (true, shown) in enumerate(zip(readings.reference, readings.indicated, strict=True))
        if true == 0
    ]
    if still:
        yield Told(
            "reading-at-standstill", any(still), f"{sum(still)} of {len(still)} readings at no flow are not zero"
        )


def _of_mechanisms(groups: Sequence[Group], ranked: Sequence[Ranked], compared: ComparedAt) -> Iterator[Told]:
    """Tell the findings of mechanisms by the probability of all mechanisms together that show them."""
    showing: dict[str, list[Ranked]] = {}
    for each in ranked:
        for name in each.mechanism.known.shows.get(compared, ()):
            showing.setdefault(name, []).append(each)
    sure = bool(groups) and groups[0].probability >= SURE
    for name, of in showing.items():
        together = sum(each.probability for each in of)
        if together >= SURE:
            yield Told(name, True, f"{_percent(together)} probable: {_leading(of)}")
        elif together <= UNSEEN and sure and not _elsewhere(of, compared):
            yield Told(name, False, f"{_percent(together)} probable, while {_leading(groups[0].members)} is sure")


def _elsewhere(of: Sequence[Ranked], compared: ComparedAt) -> bool:
    """Tell whether what shows a finding sits behind the display, which a comparison with a reference need not pass."""
    return compared == "reference" and all(each.mechanism.model.sits <= BEHIND_DISPLAY for each in of)


def _percent(share: float) -> str:
    """Return a probability in whole per cent, without claiming certainty."""
    return ">99 %" if share > 0.995 else "<1 %" if share < 0.005 else f"{100 * share:.0f} %"


def _leading(of: Sequence[Ranked]) -> str:
    more = f" or {len(of) - 1} more of the kind" if len(of) > 1 and of[0].probability < SURE else ""
    return f"{of[0].mechanism.title}{more}"
