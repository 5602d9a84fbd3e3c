"""What an author writes as a condition, and when it is true, false, or cannot be told."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.rule_book.condition_types import Condition
from diagnose.rule_book.conditions import ConditionReader, names_in, truth
from diagnose.rule_book.load import load_folder
from diagnose.rule_book.quantities import Limit
from diagnose.yaml_places import parse_document
from tests.rule_book.lamps import MINIMAL

BOOK = load_folder(MINIMAL)


def condition(text: str) -> Condition:
    """Return the condition that somebody wrote."""
    document = parse_document(text, "x.yaml")
    reader = ConditionReader(document, BOOK.findings, BOOK.quantities, [])
    read = reader.read(document.data, ())
    assert read is not None, reader.problems
    return read


TRUE_FALSE_UNKNOWN: list[tuple[str, dict[str, Any], bool | None]] = [
    ("{voltage: {below: 3 V}}", {"voltage": 2.9}, True),
    ("{voltage: {below: 3 V}}", {"voltage": 3.0}, False),
    ("{voltage: {below: 3 V}}", {}, None),
    ("{voltage: {below: 3000 mV}}", {"voltage": 2.9}, True),
    ("{voltage: {above: 3 V}}", {"voltage": 3.0}, False),
    ("{voltage: {above: 3 V, by-more-than: 0.5 V}}", {"voltage": 3.4}, False),
    ("{voltage: {above: 3 V, by-more-than: 0.5 V}}", {"voltage": 3.6}, True),
    ("{voltage: {below: 3 V, by-more-than: 0.5 V}}", {"voltage": 2.6}, False),
    ("{voltage: {below: 3 V, by-more-than: 10 % of nominal-voltage}}", {"voltage": 1.9, "nominal-voltage": 10.0}, True),
    ("{voltage: {below: 3 V, by-more-than: 10 % of nominal-voltage}}", {"voltage": 1.9}, None),
    ("{voltage: {between: [2 V, 3 V]}}", {"voltage": 2.0}, True),
    ("{voltage: {at-least: 3 V}}", {"voltage": 3.0}, True),
    ("{voltage: {at-least: 3 V}}", {"voltage": 2.999}, False),
    ("{voltage: {at-least: 3 V}}", {"voltage": Limit(3.0, "above")}, True),
    ("{voltage: {at-least: 3 V}}", {"voltage": Limit(2.0, "above")}, None),
    ("{voltage: {at-least: 3 V}}", {"voltage": Limit(3.0, "below")}, False),
    ("{voltage: {at-most: 3 V}}", {"voltage": 3.0}, True),
    ("{voltage: {at-most: 3 V}}", {"voltage": 3.001}, False),
    ("{voltage: {at-most: 3 V}}", {"voltage": Limit(3.0, "above")}, False),
    ("{voltage: {at-most: 30 % of nominal-voltage}}", {"voltage": 3.0, "nominal-voltage": 10.0}, True),
    ("{voltage: {equals: 3 V}}", {"voltage": 3.0}, True),
    ("{voltage: {equals: 3000 mV}}", {"voltage": 3.0001}, False),
    ("{voltage: {equals: nominal-voltage}}", {"voltage": 3.0}, None),
    ("{voltage: {equals: 3 V}}", {"voltage": Limit(3.0, "above")}, False),
    ("{not: {voltage: {at-least: 3 V}}}", {"voltage": 3.0}, False),
    # 85 % of 24 V is 20.4 V, whatever is left of it in the last place
    ("{voltage: {below: 85 % of nominal-voltage}}", {"voltage": 20.4, "nominal-voltage": 24.0}, False),
    ("{voltage: {at-least: 85 % of nominal-voltage}}", {"voltage": 20.4, "nominal-voltage": 24.0}, True),
    ("{voltage: {above: 110 % of nominal-voltage}}", {"voltage": 253.0, "nominal-voltage": 230.0}, False),
    ("{voltage: {between: [3 V, 110 % of nominal-voltage]}}", {"voltage": 253.0, "nominal-voltage": 230.0}, True),
    ("{voltage: {between: [2 V, nominal-voltage]}}", {"voltage": 3.1, "nominal-voltage": 3.0}, False),
    ("{voltage: {near: nominal-voltage, within: 1 V}}", {"voltage": 9.0, "nominal-voltage": 10.0}, True),
    ("{voltage: {near: nominal-voltage, within: 1 V}}", {"voltage": 8.9, "nominal-voltage": 10.0}, False),
    ("{voltage: {differs-from: nominal-voltage, by-more-than: 1 V}}", {"voltage": 8.9, "nominal-voltage": 10.0}, True),
    ("{voltage: {differs-from: nominal-voltage, by-more-than: 1 V}}", {"voltage": 9.1, "nominal-voltage": 10.0}, False),
    # 1 V at the lamp and 10 % of 10 V: together the root of their squares, 1.414 V (JCGM 100:2008, 5.1.2)
    ("{voltage: {near: nominal-voltage, within: tolerance}}", {"voltage": 8.6, "nominal-voltage": 10.0}, True),
    ("{voltage: {near: nominal-voltage, within: tolerance}}", {"voltage": 8.5, "nominal-voltage": 10.0}, False),
    (
        "{voltage: {differs-from: nominal-voltage, by-more-than: tolerance}}",
        {"voltage": 11.5, "nominal-voltage": 10.0},
        True,
    ),
    ("{voltage: {above: nominal-voltage, by-more-than: tolerance}}", {"voltage": 11.4, "nominal-voltage": 10.0}, False),
    ("{voltage: {below: nominal-voltage, by-more-than: tolerance}}", {"voltage": 8.5, "nominal-voltage": 10.0}, True),
    ("{voltage: {below: nominal-voltage, by-more-than: tolerance}}", {"voltage": 8.5}, None),
    ("{place: inside}", {"place": "inside"}, True),
    ("{place: {is: [inside, outside]}}", {"place": "outside"}, True),
    ("{place: {is: inside}}", {"place": "outside"}, False),
    ("{fed-by: battery}", {"fed-by": ("mains", "battery")}, True),
    ("{lamp-dark: present}", {"lamp-dark": True}, True),
    ("{lamp-dark: absent}", {"lamp-dark": True}, False),
    ("{lamp-dark: absent}", {}, None),
    ("{not: {lamp-dark: present}}", {}, None),
    ("{not: {voltage: {below: 3 V}}}", {"voltage": 3.0}, True),
    ("{lamp-dark: present, voltage: {below: 3 V}}", {"lamp-dark": True, "voltage": 5.0}, False),
    ("{all: [{lamp-dark: present}, {voltage: {below: 3 V}}]}", {"voltage": 5.0}, False),
    ("{any: [{lamp-dark: present}, {voltage: {below: 3 V}}]}", {"voltage": 1.0}, True),
    ("{any: [{lamp-dark: present}, {voltage: {below: 3 V}}]}", {"voltage": 5.0}, None),
    ("{not: {any: [{lamp-dark: present}, {voltage: {below: 3 V}}]}}", {"voltage": 1.0}, False),
    ("{not: {lamp-dark: present, voltage: {below: 3 V}}}", {"voltage": 5.0}, True),
    ("{not: {not: {lamp-dark: present}}}", {"lamp-dark": True}, True),
]


@pytest.mark.parametrize(
    ("text", "known", "wanted"), TRUE_FALSE_UNKNOWN, ids=[f"{text} {known}" for text, known, _ in TRUE_FALSE_UNKNOWN]
)
def test_a_condition_is_true_false_or_unknown(text: str, known: dict[str, Any], wanted: bool | None) -> None:
    """What is not known makes a condition neither true nor false, unless the rest decides."""
    findings = {name: value for name, value in known.items() if isinstance(value, bool)}
    assert truth(condition(text), findings, known) is wanted


def test_names_in_a_condition() -> None:
    """A condition names its findings, and all quantities of both sides."""
    read = condition("{any: [{lamp-dark: present}, {voltage: {below: 10 % of nominal-voltage}}, {place: inside}]}")
    assert names_in(read) == (
        frozenset({"lamp-dark"}),
        frozenset({"voltage", "nominal-voltage", "place"}),
    )


_LEAVES = st.sampled_from(["lamp-dark: present", "filament-broken: absent", "voltage: {above: 3 V}", "place: inside"])
_TREES = st.recursive(
    _LEAVES.map(lambda leaf: f"{{{leaf}}}"),
    lambda inner: (
        inner.map(lambda one: f"{{not: {one}}}")
        | st.tuples(st.sampled_from(["all", "any"]), st.lists(inner, min_size=1, max_size=3)).map(
            lambda pair: f"{{{pair[0]}: [{', '.join(pair[1])}]}}"
        )
    ),
    max_leaves=6,
)
_KNOWN = st.fixed_dictionaries(
    {},
    optional={
        "lamp-dark": st.booleans(),
        "filament-broken": st.booleans(),
        "voltage": st.floats(0, 6),
        "place": st.sampled_from(["inside", "outside"]),
    },
)


@given(_TREES, _KNOWN)
def test_not_turns_true_and_false_round_and_leaves_unknown(text: str, known: dict[str, Any]) -> None:
    """Pushing `not` to the leaves keeps its meaning for every condition and whatever is known."""
    findings = {name: value for name, value in known.items() if isinstance(value, bool)}
    plain = truth(condition(text), findings, known)
    turned = truth(condition(f"{{not: {text}}}"), findings, known)
    assert turned is (None if plain is None else not plain)


@given(
    limit=st.floats(0.001, 1e6),
    value=st.floats(0.001, 1e6) | st.sampled_from([0.85, 1.0, 1.1]),
    of_the_limit=st.booleans(),
)
def test_a_figure_lies_below_a_limit_or_is_at_least_as_much(limit: float, value: float, of_the_limit: bool) -> None:
    """Two rules, one for each side, leave no gap and never hold both; so do three, with what lies on it."""
    known = {"voltage": value * limit if of_the_limit else value, "nominal-voltage": limit}
    below, least, most, above, equal = (
        truth(condition(f"{{voltage: {{{word}: nominal-voltage}}}}"), {}, known)
        for word in ("below", "at-least", "at-most", "above", "equals")
    )
    assert below != least
    assert above != most
    assert equal == (least and most)
    assert [below, equal, above].count(True) == 1
