"""What to do after a comparison: mend the cause at its source; a new flow constant only where that is right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.analyses.agreement import Agreement
from diagnose.analyses.comparison_fit import Fit
from diagnose.analyses.estimates import quantiles
from diagnose.analyses.mechanism import Mechanism
from diagnose.analyses.ranking import Group, Ranked

LIKELY = 0.05
"""Share of its curve's probability from which a mechanism is worth a look."""

LEADS = 0.5
PURE = 0.9
"""Probability of a pure factor from which a flow constant may be worked out."""

ORIGIN = "flow-constant"
"""The model of the one origin of a factor for which a new flow constant is right."""


@dataclass(frozen=True, slots=True)
class NewConstant:
    """A new flow constant with its expanded uncertainty (limits of 95 %), and the meter factor that it is made of."""

    old: float
    new: float
    uncertainty: float
    meter_factor: float


def advice(agreement: Agreement, groups: Sequence[Group]) -> list[str]:
    """Return what to do, in order."""
    if not groups:
        return []
    if agreement.verdict == "agrees":
        return ["change nothing"]
    leading = groups[0]
    if leading.curve == "no-difference":
        return ["change nothing on the strength of these readings; repeat with a surer reference, or more points"]
    if not leading.members[0].is_a_model:
        return [leading.members[0].mechanism.known.remedy, f"look: {leading.members[0].mechanism.known.look}"]
    if agreement.verdict == "cannot tell":
        first = "change nothing yet: it cannot be told whether the difference is real"
        return [first, *_looks(leading)]
    return [*_looks(leading), *_remedy(leading)]


def _looks(group: Group) -> list[str]:
    likely = [each.mechanism for each in group.members if each.probability >= LIKELY * group.probability]
    if len(likely) == 1:
        return [f"look: {each.known.look}" for each in likely]
    first = "the same curve has several origins, which no pairs of readings tell apart; what tells them apart:"
    return [first, *(f"{each.title}: {each.known.look}" for each in likely)]


def _remedy(group: Group) -> list[str]:
    best = group.members[0]
    if best.probability < LEADS * group.probability:
        return ["put right at its source what a look finds; trim neither zero nor constant against something else"]
    return [f"when that is found: {best.mechanism.known.remedy}"]


def new_constant(
    old: float,
    origin: str,
    agreement: Agreement,
    fit: Fit | None,
    groups: Sequence[Group],
    mechanisms: Sequence[Mechanism],
) -> tuple[NewConstant | None, str]:
    """Return the new flow constant, else why there is none.

    It is right only for a pure factor whose origin, found by a look, is the flow constant itself.
    """
    if agreement.verdict != "disagrees":
        return None, "no new flow constant: that the meter deviates is not shown"
    if not groups or groups[0].curve != "factor" or groups[0].probability < PURE:
        return None, "no new flow constant: the difference is not shown to be a pure factor; find its cause first"
    if fit and fit.zero.low * fit.zero.high > 0 and groups[0].probability < 0.99:
        return None, "no new flow constant: the zero is off as well; find out why first"
    by_constant = next((each for each in groups[0].members if each.mechanism.model.name == ORIGIN), None)
    if by_constant is None or origin != by_constant.mechanism.id:
        if origin:
            remedy = next((each.known.remedy for each in mechanisms if each.id == origin), "mend it where it is")
            return None, f"no new flow constant: it is not what is wrong; {remedy}"
        return None, (
            "no new flow constant: a factor has many origins, and a trimmed constant would hide them; once a look has "
            f"shown that it is the constant itself, say --origin {ORIGIN}"
        )
    low, middle, high = _factor(by_constant)
    return NewConstant(old, old / middle, old * (1 / low - 1 / high) / 2, 1 / middle), ""


def _factor(ranked: Ranked) -> tuple[float, float, float]:
    assert ranked.weighed is not None
    (_, amounts, log_weights), *_ = ranked.weighed.rows
    low, middle, high = quantiles(amounts[0][:, 0], np.exp(log_weights))
    return low, middle, high
