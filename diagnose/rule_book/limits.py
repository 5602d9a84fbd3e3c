"""Comparisons in which a reading is only a limit: true or false where every value within it agrees, else undecided.

A limit is a half-line, and what is compared, ``value − operand``, rises or falls steadily along it unless a tolerance
grows as fast as the value; so its least and greatest lie at the bound and at infinity. Where several quantities are
limits each runs by itself, and the comparison is decided only if all their values together agree.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from diagnose.rule_book.condition_types import Operand, Relation
from diagnose.rule_book.quantities import Limit

ROUNDING = 1e-12
"""Share by which two figures may differ through conversion and still count as equal: 85 % of 24 V is 20.4 V."""


def side_of(value: float, limit: float) -> int:
    """Return -1 where a value is below a limit, 1 where it is above, and 0 where they are equal but for rounding.

    >>> side_of(20.4, 0.85 * 24), side_of(20.39, 0.85 * 24), side_of(0.1 + 0.2, 0.3)
    (0, -1, 0)
    """
    if math.isclose(value, limit, rel_tol=ROUNDING):
        return 0
    return -1 if value < limit else 1


def value_of(operand: Operand, values: Mapping[str, Any]) -> float:
    """Return an operand's value (SI); every quantity that it names has a figure in ``values``."""
    middle = operand.constant + sum(factor * values[name] for factor, name in operand.terms)
    if not operand.sign:
        return float(middle)
    parts = (absolute + share * abs(values[name]) for absolute, share, name in operand.within)
    return float(middle + operand.sign * math.hypot(*parts))


def true_within_limits(comparison: Relation, values: Mapping[str, Any]) -> bool | None:
    """Return whether a comparison (its ``holds`` left aside) is true or false for all that limits leave open, or None.

    >>> above_10 = Relation(quantity="x", relation="above", operands=(Operand(constant=10.0),))
    >>> [true_within_limits(above_10, {"x": each}) for each in (Limit(20.0, "above"), Limit(5.0, "above"))]
    [True, None]
    >>> true_within_limits(above_10, {"x": Limit(10.0, "below")})
    False
    """
    if comparison.relation == "one of":
        return None
    return _true_of(comparison, [_span(comparison.quantity, operand, values) for operand in comparison.operands])


def _true_of(comparison: Relation, spans: Sequence[_Span]) -> bool | None:
    """Return whether a comparison is true for all that the differences to its operands may be."""
    if comparison.relation == "below":
        return _negative(spans[0])
    if comparison.relation == "above":
        return _positive(spans[0])
    outside = (_negative(spans[0]), _positive(spans[1]))
    if True in outside:
        return False
    return None if None in outside else True


def true_within_uncertainty(comparison: Relation, values: Mapping[str, Any]) -> bool | None:
    """Return whether a comparison (its ``holds`` left aside) is true or false within the uncertainty, or None.

    Figures may have an uncertainty, which goes into the difference with all correlations; what counts is whether its
    expanded uncertainty (k = 2; JCGM 100:2008, 6.2) reaches from one side of the limit to the other.
    """
    spans = [_uncertain(comparison.quantity, operand, values) for operand in comparison.operands]
    return _true_of(comparison, spans)


def is_uncertain(value: Any) -> bool:
    """Tell whether a value is a figure with an uncertainty."""
    return bool(getattr(value, "std_dev", 0.0))


def without_uncertainty(value: Any) -> Any:
    """Return a value without its uncertainty."""
    return getattr(value, "nominal_value", value)


_COVERAGE = 2.0


class _Span(NamedTuple):
    """How far a difference spreads; where it is ``open`` it never reaches its ends."""

    least: float
    greatest: float
    open: bool


_ANYTHING = _Span(-math.inf, math.inf, True)


def _negative(span: _Span) -> bool | None:
    if span.greatest < 0 or (span.open and span.greatest == 0):
        return True
    return False if span.least >= 0 else None


def _positive(span: _Span) -> bool | None:
    return _negative(_Span(-span.greatest, -span.least, span.open))


def _uncertain(quantity: str, operand: Operand, values: Mapping[str, Any]) -> _Span:
    """Return how far ``quantity − operand`` spreads within its expanded uncertainty."""
    plain = {name: without_uncertainty(each) for name, each in values.items()}
    against = value_of(operand, plain)
    difference = plain[quantity] - against if side_of(plain[quantity], against) else 0.0
    spread = values[quantity] - sum(factor * values[name] for factor, name in operand.terms)
    half = _COVERAGE * float(getattr(spread, "std_dev", 0.0))
    return _Span(difference - half, difference + half, False)


def _span(quantity: str, operand: Operand, values: Mapping[str, Any]) -> _Span:
    """Return how far ``quantity − operand`` spreads over all values within the limits."""
    weights = {quantity: 1.0}
    for factor, name in operand.terms:
        weights[name] = weights.get(name, 0.0) - factor
    shares = {name: abs(share) for _, share, name in operand.within} if operand.sign else {}
    ends: set[str] = set()
    at_bounds: dict[str, float] = {}
    for name, weight in weights.items():
        value, share = values[name], shares.get(name, 0.0)
        at_bounds[name] = value.bound if isinstance(value, Limit) else value
        if not isinstance(value, Limit) or weight == share == 0:
            continue
        if abs(weight) <= share:
            return _ANYTHING
        ends.add("greatest" if (value.direction == "above") == (weight > 0) else "least")
    against = value_of(operand, at_bounds)
    difference = at_bounds[quantity] - against if side_of(at_bounds[quantity], against) else 0.0
    return _Span(
        -math.inf if "least" in ends else difference, math.inf if "greatest" in ends else difference, bool(ends)
    )
