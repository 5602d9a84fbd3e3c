"""Pairs of readings in SI, as they are compared, with units, resolution and uncertainties."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from diagnose.calculations.entering import DIVISORS, Spread
from diagnose.tables.amounts import EXPANDED, one_for_all
from diagnose.tables.headings import Stage

ReadingKind = Literal["flow", "volume"]


def uncertainty_of_step(step: float) -> float:
    """Return the standard uncertainty of a figure whose last digit steps by so much (JCGM 100:2008, F.2.2.1).

    >>> round(uncertainty_of_step(0.1), 4)
    0.0289
    """
    return step / math.sqrt(12)


@dataclass(frozen=True, slots=True)
class Readings:
    """Pairs in SI, their standard uncertainties (empty if unknown), the unit to show them in, and warnings.

    ``kind`` says whether they are flows or volumes [m³] of runs of unknown length. The resolution of each is what a
    step of the last digit stands for; empty if nobody wrote the figures. ``coverage`` are the factors by which the
    uncertainties of both sides were divided, None where they are unknown or differ. ``name`` tells one comparison of a
    table from another (`as found`).
    """

    reference: tuple[float, ...]
    indicated: tuple[float, ...]
    u_reference: tuple[float, ...] = ()
    u_indicated: tuple[float, ...] = ()
    unit: str = "m3/h"
    warnings: tuple[str, ...] = ()
    resolution_reference: tuple[float, ...] = ()
    resolution_indicated: tuple[float, ...] = ()
    kind: ReadingKind = "flow"
    coverage_reference: float | None = None
    coverage_indicated: float | None = None
    name: Stage = ""

    def only(self, numbers: Sequence[int]) -> Readings:
        """Return only the pairs with these numbers, without the warnings."""

        def kept(column: tuple[float, ...]) -> tuple[float, ...]:
            return tuple(column[number] for number in numbers) if column else ()

        return replace(
            self,
            reference=kept(self.reference),
            indicated=kept(self.indicated),
            u_reference=kept(self.u_reference),
            u_indicated=kept(self.u_indicated),
            resolution_reference=kept(self.resolution_reference),
            resolution_indicated=kept(self.resolution_indicated),
            warnings=(),
        )

    @property
    def resolutions(self) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """The steps of the figures of both columns; empty where they are not known."""
        return (self.resolution_reference, self.resolution_indicated)

    @property
    def known(self) -> bool:
        """Whether uncertainties are known."""
        return bool(self.u_reference or self.u_indicated)


def with_uncertainty(readings: Readings, reference: str, indicated: str, spread: Spread | None = None) -> Readings:
    """Return readings with the same uncertainty for all pairs of a side, ``0.5 %`` or ``0.2 m3/h``; "" changes nothing.

    Raises UnitError for one that cannot be read or is not greater than zero.
    """
    divisor = DIVISORS[spread] if spread else EXPANDED
    usual = "m3" if readings.kind == "volume" else "m3/h"
    top = max(map(abs, (*readings.reference, *readings.indicated)))
    if reference:
        u = one_for_all(reference, readings.reference, usual, divisor, top)
        readings = replace(readings, u_reference=u, coverage_reference=divisor)
    if indicated:
        u = one_for_all(indicated, readings.indicated, usual, divisor, top)
        readings = replace(readings, u_indicated=u, coverage_indicated=divisor)
    if spread is None and (reference or indicated):
        told = "the uncertainties given are taken as expanded (k = 2); say --uncertainties standard if they are not"
        readings = replace(readings, warnings=(*readings.warnings, told))
    return readings
