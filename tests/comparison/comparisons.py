"""Comparisons for tests: invented pairs, and pairs computed from published or derived formulas."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from diagnose.analyses.answering import compare_with
from diagnose.comparison.comparing import Comparison, Question
from diagnose.tables.readings import Readings
from diagnose.units import unit_info
from tests.engines import real_engine

HOUR = unit_info("m3/h").factor
"""One m³/h in SI."""

FLOWS = (10.0, 25.0, 40.0, 60.0, 80.0, 95.0)
"""Reference flows [m³/h] of invented comparisons within a range of 0 to 100 m³/h."""

WORKED_REFERENCE = (5.0, 10.0, 20.0, 40.0, 60.0)
WORKED_INDICATED = (5.31, 10.42, 20.59, 41.01, 61.42)
"""The worked example of the fact sheet, 8.12."""


def readings(
    reference: Sequence[float],
    indicated: Sequence[float],
    u_reference: Sequence[float] = (),
    u_indicated: Sequence[float] = (),
) -> Readings:
    """Return readings given in m³/h."""
    columns = ([each * HOUR for each in column] for column in (reference, indicated, u_reference, u_indicated))
    return Readings(*map(tuple, columns), unit="m3/h")


def compared(reference: Sequence[float], indicated: Sequence[float], **known: Any) -> Comparison:
    """Return what the real rule book's mechanisms make of pairs in m³/h; range and bore in m³/h and mm."""
    flows = {name: known.pop(name) * HOUR for name in ("upper", "lower") if name in known}
    bore = {"bore": known.pop("bore") / 1000} if "bore" in known else {}
    question = Question(**flows, **bore, **known)
    return compare_with(real_engine(), {}, readings(reference, indicated), question)


def scattered(truth: Sequence[float], share: float, seed: int = 1) -> tuple[float, ...]:
    """Return figures with a scatter of this share of each."""
    random = np.random.default_rng(seed)
    return tuple(float(each) for each in np.array(truth) * (1 + share * random.standard_normal(len(truth))))


def present(comparison: Comparison) -> set[str]:
    """Return the findings that a comparison tells to be present."""
    return {each.finding for each in comparison.findings if each.present}


def absent(comparison: Comparison) -> set[str]:
    """Return the findings that a comparison tells to be absent."""
    return {each.finding for each in comparison.findings if not each.present}
