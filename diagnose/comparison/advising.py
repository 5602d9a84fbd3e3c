"""Advice after a comparison: correct the cause at its source; change the flow constant only where that is right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.comparison.agreement import Agreement, numbered
from diagnose.comparison.estimates import quantiles
from diagnose.comparison.fit import Fit
from diagnose.comparison.mechanism import ModelledMechanism
from diagnose.comparison.mechanisms_of_own_curve import NO_DIFFERENCE
from diagnose.comparison.ranking import AmbiguityGroup, RankedMechanism
from diagnose.tables.readings import Readings
from diagnose.units import show, unit_info

LIKELY = 0.05
"""Least share of the probability of its curve for a mechanism to be worth checking."""

LEADS = 0.5
ALIKE = 1.2
"""Ratio of uncertainties up to which one of them is told for all."""

PURE = 0.9
"""Least probability of a pure factor for which a new flow constant is calculated."""

ORIGIN = "flow-constant"
"""The model of the only cause of a factor for which a new flow constant is right."""


@dataclass(frozen=True, slots=True)
class NewConstant:
    """A new flow constant with its expanded uncertainty (95 %), and the meter factor it is based on."""

    old: float
    new: float
    uncertainty: float
    meter_factor: float


def advice(agreement: Agreement, groups: Sequence[AmbiguityGroup]) -> list[str]:
    """Return the advice, in order."""
    if not groups:
        return []
    if agreement.verdict == "agrees":
        return ["change nothing"]
    leading = groups[0]
    if leading.curve == NO_DIFFERENCE.draws and agreement.apart:
        return [f"change nothing; repeat {numbered(agreement.apart)} at the same flow"]
    if leading.curve == NO_DIFFERENCE.draws:
        return ["these readings give no reason to change anything; repeat with a better reference, or with more points"]
    if not leading.members[0].is_a_model:
        return [leading.members[0].mechanism.known.remedy, f"check: {leading.members[0].mechanism.known.look}"]
    if agreement.verdict == "cannot tell":
        first = "change nothing yet: the readings do not show whether the difference is real"
        return [first, *_looks(leading)]
    return [*_looks(leading), *_remedy(leading)]


def no_cause(agreement: Agreement, groups: Sequence[AmbiguityGroup], readings: Readings) -> str:
    """Return why no causes follow from a comparison, and what it does not exclude; "" where some follow."""
    if not groups:
        return ""
    if groups[0].curve == NO_DIFFERENCE.draws:
        return f"these readings give no cause to look for a fault; {_not_excluded(agreement, readings)}"
    if not groups[0].members[0].is_a_model and groups[0].probability >= LEADS:
        return "no single cause makes such readings: look for two at once, or for readings that went wrong"
    return ""


def _not_excluded(agreement: Agreement, readings: Readings) -> str:
    factor = unit_info(readings.unit).factor
    known = sorted((each.uncertainty, each.reference) for each in agreement.points if each.uncertainty is not None)
    if not known:
        return "how large a fault they would show is not known"
    (least, at_least), (most, at_most) = known[0], known[-1]
    reach = f"±{100 * least:.2g} % at {show(at_least, readings.unit, factor)}"
    if most > ALIKE * least:
        reach += f" or ±{100 * most:.2g} % at {show(at_most, readings.unit, factor)}"
    return f"they would not show one of less than {reach}, nor one at flows that were not compared"


def _looks(group: AmbiguityGroup) -> list[str]:
    likely = [each.mechanism for each in group.members if each.probability >= LIKELY * group.probability]
    if len(likely) == 1:
        return [f"check: {each.known.look}" for each in likely]
    first = "several faults give the same curve, and no readings tell them apart; these checks do:"
    return [first, *(f"{each.title}: {each.known.look}" for each in likely)]


def _remedy(group: AmbiguityGroup) -> list[str]:
    best = group.members[0]
    if best.probability < LEADS * group.probability:
        return ["correct what you find at its source; do not trim zero or flow constant to make up for another fault"]
    return [f"once that is confirmed: {best.mechanism.known.remedy}"]


def new_constant(
    old: float,
    origin: str,
    agreement: Agreement,
    fit: Fit | None,
    groups: Sequence[AmbiguityGroup],
    mechanisms: Sequence[ModelledMechanism],
) -> tuple[NewConstant | None, str]:
    """Return the new flow constant, or None and the reason why there is none.

    It is right only for a pure factor, once a check has shown that the flow constant itself is wrong.
    """
    if agreement.verdict != "disagrees":
        return None, "no new flow constant: the readings do not show that the meter is off"
    if not groups or groups[0].curve != "factor" or groups[0].probability < PURE:
        return None, "no new flow constant: the difference is not clearly a pure factor; find its cause first"
    if fit and fit.zero.low * fit.zero.high > 0 and groups[0].probability < 0.99:
        return None, "no new flow constant: the zero is off as well; find out why first"
    by_constant = next((each for each in groups[0].members if each.mechanism.model.name == ORIGIN), None)
    if by_constant is None or origin != by_constant.mechanism.id:
        if origin:
            remedy = next((each.known.remedy for each in mechanisms if each.id == origin), "correct it at its source")
            return None, f"no new flow constant: the constant is not what is wrong; {remedy}"
        return None, (
            "no new flow constant: many faults give a factor, and changing the constant would hide them; once a check "
            f"has shown that the constant itself is wrong, give --origin {ORIGIN}"
        )
    low, middle, high = _factor(by_constant)
    return NewConstant(old, old / middle, old * (1 / low - 1 / high) / 2, 1 / middle), ""


def _factor(ranked: RankedMechanism) -> tuple[float, float, float]:
    assert ranked.marginal is not None
    (_, amounts, log_weights), *_ = ranked.marginal.posterior
    low, middle, high = quantiles(amounts[0][:, 0], np.exp(log_weights))
    return low, middle, high
