"""The comparison document as types, ``"format": "comparison/3"``: flows in ``unit``, shares as plain ratios.

A figure that cannot be given is null; a field that is ``UNSET`` is left out of the JSON.
"""

from __future__ import annotations

from typing import Literal

from msgspec import UNSET, UnsetType

from diagnose.documents.typed import Document, FindingDocument
from diagnose.units import unit_info


class PairDocument(Document, frozen=True, kw_only=True):
    """One pair of readings: its deviation, its expanded uncertainty (k = 2) and what is permissible, as ratios.

    ``normalised_error`` is E_n, where the uncertainties of both are stated.
    """

    reference: float
    indicated: float
    deviation: float | None
    expanded_uncertainty: float | None
    permissible_error: float | None
    conformity: str | None
    normalised_error: float | None = None


class IntervalDocument(Document, frozen=True, kw_only=True):
    """A fitted figure with its standard error and its 95 % limits."""

    value: float
    standard_error: float | None
    low: float | None
    high: float | None


class LackOfFitDocument(Document, frozen=True, kw_only=True):
    """Whether the pairs do not lie on a straight line: by which test, and the chance of as much if they did."""

    test: str
    chance: float
    shown: bool


class OutlierDocument(Document, frozen=True, kw_only=True):
    """A pair (numbered from 1) that stands apart: residual over its standard deviation, and the chance of it."""

    pair: int
    ratio: float
    chance: float


class FitDocument(Document, frozen=True, kw_only=True):
    """The line indicated = zero + gain × reference."""

    zero: IntervalDocument
    gain: IntervalDocument
    covariance: float | None
    weighted: bool
    residual_deviation: float | None
    chi_squared: float | None
    degrees_of_freedom: int
    residuals: tuple[float, ...]
    lack_of_fit: LackOfFitDocument | None
    outliers: tuple[OutlierDocument, ...]
    chance_without_difference: float | None


class ParameterDocument(Document, frozen=True, kw_only=True):
    """One amount of a mechanism: median and 95 % limits, and what was believed of it before the readings."""

    value: float
    low: float
    high: float
    unit: str
    held_before: str


class MechanismDocument(Document, frozen=True, kw_only=True):
    """A way in which readings come to differ: its curve, probability, amounts, what tells it apart, and its cure."""

    id: str
    title: str
    curve: str
    probability: float
    log_evidence: float
    parameters: dict[str, ParameterDocument]
    means: str
    look: str
    remedy: str


class CurveDocument(Document, frozen=True, kw_only=True):
    """Mechanisms that draw the same curve, which pairs cannot tell apart; what they have in common, in words."""

    curve: str
    common: str
    probability: float
    mechanisms: tuple[str, ...]


class EvidenceDocument(Document, frozen=True, kw_only=True):
    """How strongly the readings alone favour the leading mechanism over the best one with another curve."""

    mechanism: str
    log_marginal_likelihood: float
    next: str
    log_marginal_likelihood_of_next: float
    bayes_factor: float


class LikelyCause(Document, frozen=True, kw_only=True):
    """A cause with its probability by these readings alone, as a diagnosis has it."""

    id: str
    title: str
    probability: float


class SeparationDocument(Document, frozen=True, kw_only=True):
    """A reading that would tell two mechanisms apart: at which flow, and what each of them predicts there."""

    mechanisms: tuple[str, str]
    flow: float
    share: float | None
    foreseen: tuple[float, float]
    ratio: float
    text: str


class ConstantDocument(Document, frozen=True, kw_only=True):
    """A new flow constant with its uncertainty, or why there is none (``refused``)."""

    refused: str | UnsetType = UNSET
    old: float | UnsetType = UNSET
    meter_factor: float | UnsetType = UNSET
    new: float | UnsetType = UNSET
    expanded_uncertainty: float | UnsetType = UNSET


class DrawnCurve(Document, frozen=True, kw_only=True):
    """What a leading mechanism, or those that draw the same, indicate at the flows of the picture."""

    id: str
    title: str
    indicated: tuple[float, ...]


class PictureDocument(Document, frozen=True, kw_only=True):
    """What is drawn beside the pairs: at ``flows``, the line and the curves of the leading mechanisms."""

    flows: tuple[float, ...]
    line: tuple[float, ...] | None
    curves: tuple[DrawnCurve, ...]


def amounts_in(unit: str) -> str:
    """Return what readings in a unit are of.

    >>> amounts_in("m3/h"), amounts_in("gal")
    ('flows', 'volumes')
    """
    return "volumes" if unit_info(unit).dimension == unit_info("m3").dimension else "flows"


class ComparisonDocument(Document, frozen=True, kw_only=True, tag_field="format", tag="comparison/3"):
    """A comparison: verdict, decision, pairs, line, mechanisms most probable first, and what would tell them apart.

    ``part`` is "as found" or "as left" where a table has both. ``verdict`` says whether there is a difference,
    ``decision`` whether limits that were given are kept.

    ``assumed`` is what was held before the readings, ``decision_rule`` how pass and fail are told; ``causes`` and
    ``findings`` are what follows for the diagnosis, ``no_cause`` says why no causes do.
    """

    part: str | None
    unit: str
    verdict: Literal["agrees", "cannot tell", "disagrees"]
    because: str
    decision: Literal["pass", "cannot tell", "fail"] | None
    decision_because: str | None
    pairs: tuple[PairDocument, ...]
    fit: FitDocument | None
    assumed: tuple[str, ...]
    decision_rule: str
    mechanisms: tuple[MechanismDocument, ...]
    curves: tuple[CurveDocument, ...]
    causes: tuple[LikelyCause, ...]
    no_cause: str | None
    evidence: EvidenceDocument | None
    separating: tuple[SeparationDocument, ...]
    advice: tuple[str, ...]
    new_constant: ConstantDocument | None
    findings: tuple[FindingDocument, ...]
    warnings: tuple[str, ...]
    picture: PictureDocument
