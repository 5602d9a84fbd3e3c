"""A reading of which only one side is known settles a comparison, or leaves it open; it is never stretched."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.rule_book.condition_types import All, AnyOf, Operand, Relation
from diagnose.rule_book.conditions import truth
from diagnose.rule_book.quantities import Limit, Quantity
from tests.rule_book.test_conditions import condition

ABOVE_20 = Limit(20.0, "above")
BELOW_2 = Limit(2.0, "below")

SETTLED_OR_NOT: list[tuple[str, dict[str, Any], bool | None]] = [
    ("{voltage: {above: 10 V}}", {"voltage": ABOVE_20}, True),
    ("{voltage: {above: 20 V}}", {"voltage": ABOVE_20}, True),
    ("{voltage: {above: 50 V}}", {"voltage": ABOVE_20}, None),
    ("{voltage: {below: 1 V}}", {"voltage": ABOVE_20}, False),
    ("{voltage: {below: 20 V}}", {"voltage": ABOVE_20}, False),
    ("{voltage: {below: 50 V}}", {"voltage": ABOVE_20}, None),
    ("{not: {voltage: {below: 1 V}}}", {"voltage": ABOVE_20}, True),
    ("{not: {voltage: {below: 50 V}}}", {"voltage": ABOVE_20}, None),
    ("{not: {voltage: {above: 10 V}}}", {"voltage": ABOVE_20}, False),
    ("{voltage: {below: 3 V}}", {"voltage": BELOW_2}, True),
    ("{voltage: {below: 2 V}}", {"voltage": BELOW_2}, True),
    ("{voltage: {below: 1 V}}", {"voltage": BELOW_2}, None),
    ("{voltage: {above: 2 V}}", {"voltage": BELOW_2}, False),
    ("{voltage: {above: 1 V}}", {"voltage": BELOW_2}, None),
    ("{voltage: {between: [2 V, 3 V]}}", {"voltage": BELOW_2}, False),
    ("{voltage: {between: [2 V, 20 V]}}", {"voltage": ABOVE_20}, False),
    ("{voltage: {between: [1 V, 30 V]}}", {"voltage": ABOVE_20}, None),
    ("{not: {voltage: {between: [2 V, 3 V]}}}", {"voltage": BELOW_2}, True),
    ("{voltage: {near: 5 V, within: 1 V}}", {"voltage": BELOW_2}, False),
    ("{voltage: {differs-from: 5 V, by-more-than: 1 V}}", {"voltage": BELOW_2}, True),
    ("{voltage: {differs-from: 5 V, by-more-than: 4 V}}", {"voltage": BELOW_2}, None),
    # joined with another quantity, on whichever side the limit stands
    ("{voltage: {above: nominal-voltage}}", {"voltage": ABOVE_20, "nominal-voltage": 12.0}, True),
    ("{voltage: {above: nominal-voltage}}", {"voltage": ABOVE_20, "nominal-voltage": 24.0}, None),
    ("{voltage: {above: nominal-voltage}}", {"voltage": 12.0, "nominal-voltage": ABOVE_20}, False),
    ("{voltage: {above: nominal-voltage}}", {"voltage": 24.0, "nominal-voltage": ABOVE_20}, None),
    ("{voltage: {below: 50 % of nominal-voltage}}", {"voltage": 9.0, "nominal-voltage": ABOVE_20}, True),
    ("{voltage: {below: nominal-voltage}}", {"voltage": BELOW_2, "nominal-voltage": ABOVE_20}, True),
    ("{voltage: {above: nominal-voltage}}", {"voltage": ABOVE_20, "nominal-voltage": ABOVE_20}, None),
    ("{voltage: {above: nominal-voltage}}", {"voltage": ABOVE_20}, None),
    # tolerances: 1 V at the lamp and 10 % of the nominal voltage
    (
        "{voltage: {above: nominal-voltage, by-more-than: tolerance}}",
        {"voltage": ABOVE_20, "nominal-voltage": 18.0},
        None,
    ),
    (
        "{voltage: {above: nominal-voltage, by-more-than: tolerance}}",
        {"voltage": ABOVE_20, "nominal-voltage": 17.0},
        True,
    ),
    ("{voltage: {near: nominal-voltage, within: tolerance}}", {"voltage": 12.0, "nominal-voltage": ABOVE_20}, False),
    # in company: what is settled decides, what is not leaves it open
    ("{lamp-dark: present, voltage: {above: 50 V}}", {"lamp-dark": False, "voltage": ABOVE_20}, False),
    ("{any: [{lamp-dark: present}, {voltage: {above: 50 V}}]}", {"lamp-dark": True, "voltage": ABOVE_20}, True),
    ("{any: [{lamp-dark: present}, {voltage: {above: 50 V}}]}", {"lamp-dark": False, "voltage": ABOVE_20}, None),
]


@pytest.mark.parametrize(
    ("text", "known", "wanted"), SETTLED_OR_NOT, ids=[f"{text} {known}" for text, known, _ in SETTLED_OR_NOT]
)
def test_a_limit_settles_a_condition_or_leaves_it_open(text: str, known: dict[str, Any], wanted: bool | None) -> None:
    """What it does not settle makes neither the condition nor its negation true."""
    findings = {name: value for name, value in known.items() if isinstance(value, bool)}
    assert truth(condition(text), findings, known) is wanted


def test_a_limit_is_no_word() -> None:
    """Where a word is wanted a limit says nothing, either way."""
    for holds in (True, False):
        word = Relation(quantity="place", relation="one of", choices=("inside",), holds=holds)
        assert truth(word, {}, {"place": ABOVE_20}) is None


FIGURES = st.integers(-40, 40).map(lambda eighths: eighths / 8)
FAR = 1e9
"""Beyond everything that the draws below compare with."""


@st.composite
def limits(draw: st.DrawFn) -> Limit:
    """Draw a limit."""
    return Limit(draw(FIGURES), draw(st.sampled_from(["above", "below"])))


@st.composite
def comparisons_of_one(draw: st.DrawFn, with_share: bool = True) -> Relation:
    """Draw a comparison of ``x`` with figures, some with a tolerance that may grow with ``x`` itself."""
    relation = draw(st.sampled_from(["below", "above", "between"]))
    lower = draw(FIGURES)
    share = draw(st.sampled_from([0.0, 0.1, 0.5])) if with_share else 0.0
    within = ((draw(st.sampled_from([0.0, 0.5])), share, "x"),)
    signs = draw(st.sampled_from([(0, 0), (-1, 1)])) if relation == "between" else (draw(st.sampled_from([-1, 0, 1])),)
    upper = lower if signs == (-1, 1) else lower + draw(st.sampled_from([0.0, 0.5, 2.0]))
    operands = tuple(
        Operand(constant=constant, sign=sign, within=within if sign else ())
        for constant, sign in zip((lower, upper), signs, strict=False)
    )
    return Relation(quantity="x", relation=relation, operands=operands, holds=draw(st.booleans()))


def inside(limit: Limit, steps: float) -> float:
    """Return the value so far beyond the bound."""
    return limit.bound + steps if limit.direction == "above" else limit.bound - steps


STEPS = st.floats(2**-20, 100) | st.sampled_from([2**-20, 0.125, 0.5, 1.0, FAR])


@given(comparisons_of_one(), limits(), st.lists(STEPS, min_size=1, max_size=8))
def test_what_is_decided_holds_for_every_value_within_the_limit(
    comparison: Relation, limit: Limit, steps: list[float]
) -> None:
    """Soundness: no value that the limit leaves open says otherwise."""
    decided = truth(comparison, {}, {"x": limit})
    if decided is not None:
        assert {truth(comparison, {}, {"x": inside(limit, each)}) for each in steps} == {decided}


@given(comparisons_of_one(with_share=False), limits())
def test_what_all_values_agree_on_is_decided(comparison: Relation, limit: Limit) -> None:
    """Completeness: figures and tolerances are eighths, so values a sixteenth apart about each of them are enough."""
    eighths = [number / 16 for number in range(1, 16 * 15)]
    agreed = {truth(comparison, {}, {"x": inside(limit, each)}) for each in [*eighths, FAR]}
    decided = truth(comparison, {}, {"x": limit})
    assert decided is (agreed.pop() if len(agreed) == 1 else None)


@given(comparisons_of_one(), limits())
def test_what_grows_with_the_value_is_decided_too(comparison: Relation, limit: Limit) -> None:
    """Below and above are settled by the bound and by what is far off, whatever the tolerance."""
    if comparison.relation == "between":
        return
    near, far = (truth(comparison, {}, {"x": inside(limit, each)}) for each in (2**-30, FAR))
    assert truth(comparison, {}, {"x": limit}) is (near if near == far else None)


@st.composite
def joins(draw: st.DrawFn) -> Relation:
    """Draw a comparison of ``x`` with a share of ``y``."""
    relation = draw(st.sampled_from(["below", "above", "between"]))
    terms = ((draw(st.sampled_from([-1.0, 0.0, 0.5, 1.0, 2.0])), "y"),)
    lower = draw(FIGURES)
    operands = [Operand(constant=lower, terms=terms)]
    if relation == "between":
        operands.append(Operand(constant=lower + 1.0, terms=terms))
    return Relation(quantity="x", relation=relation, operands=tuple(operands), holds=draw(st.booleans()))


@given(joins(), limits(), limits() | FIGURES, st.lists(st.tuples(STEPS, STEPS), min_size=1, max_size=8), st.booleans())
def test_a_join_is_decided_only_where_all_pairs_agree(
    comparison: Relation, one: Limit, other: Limit | float, steps: list[tuple[float, float]], first: bool
) -> None:
    """Each of two limits runs by itself."""
    names = ("x", "y") if first else ("y", "x")
    decided = truth(comparison, {}, dict(zip(names, (one, other), strict=True)))
    if decided is None:
        return
    for near, far in steps:
        second = inside(other, far) if isinstance(other, Limit) else other
        values = dict(zip(names, (inside(one, near), second), strict=True))
        assert truth(comparison, {}, values) is decided


@given(comparisons_of_one(), limits())
def test_a_negation_turns_it_round(comparison: Relation, limit: Limit) -> None:
    """A comparison and its opposite are never both true, and open together."""
    opposite = Relation(
        quantity="x", relation=comparison.relation, operands=comparison.operands, holds=not comparison.holds
    )
    decided = truth(comparison, {}, {"x": limit})
    assert truth(opposite, {}, {"x": limit}) is (None if decided is None else not decided)
    assert truth(All((comparison, opposite)), {}, {"x": limit}) in (False, None)
    assert truth(AnyOf((comparison, opposite)), {}, {"x": limit}) in (True, None)


def test_a_tolerance_as_large_as_the_value_decides_nothing() -> None:
    """With 100 % of tolerance the difference need not grow, so nothing is claimed."""
    compared = Relation(
        quantity="x", relation="above", operands=(Operand(constant=1.0, sign=1, within=((0.0, 1.0, "x"),)),)
    )
    assert truth(compared, {}, {"x": ABOVE_20}) is None


def test_a_quantity_compared_with_itself() -> None:
    """It is never below itself, though nobody knows what it is."""
    itself = Relation(quantity="x", relation="below", operands=(Operand(terms=((1.0, "x"),)),))
    assert truth(itself, {}, {"x": ABOVE_20}) is False


@pytest.mark.parametrize(
    ("limit", "shown"),
    [
        (Limit(2e7, "above"), "above 20 Mohm"),
        (Limit(0.1, "below"), "below 0.1 ohm"),
        (Limit(1e9, "above"), "over range"),
        (Limit(2e9, "above"), "over range"),
        (Limit(1e9, "below"), "below 1 Gohm"),
    ],
)
def test_a_limit_is_shown_in_words(limit: Limit, shown: str) -> None:
    """Beyond all that is plausible it is over range, as the instrument says."""
    assert Quantity(id="coil", title="coil", unit="ohm", plausible=(0.0, 1e9)).shown(limit) == shown


def test_without_plausible_limits_nothing_is_over_range() -> None:
    """The figure is shown whatever it is."""
    assert Quantity(id="x", title="x", unit="V").shown(Limit(math.pi, "above")) == "above 3.142 V"
