"""Models and the mechanisms of the rule book: each name leads to a curve, and every finding to its figures."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.comparison.mechanism import ModelledMechanism, Scene
from diagnose.comparison.mechanisms import ANY_SMOOTH, BY_NAME, MODELS, mechanisms_of, possible
from diagnose.comparison.parameters import Parameter
from diagnose.rule_book.analysis_names import CURVES, ON_RANGE
from diagnose.rule_book.analysis_names import MODELS as NAMES
from tests.reasoning.books import real_rule_book

USUALLY = 0.8

SCENES = [Scene(top=0.02, unit="m3/h"), Scene(top=0.02, unit="l/s", lower=-0.01, upper=0.03, bore=0.1)]


def test_the_names_of_rules_are_the_models_that_there_are() -> None:
    """Whatever a rule book may name can be reckoned, and nothing else."""
    assert sorted(NAMES) == sorted(BY_NAME)
    assert len(MODELS) == len(BY_NAME)
    assert set(NAMES) >= ON_RANGE


def test_the_amounts_that_rules_may_name_are_those_of_the_curves() -> None:
    """Each amount of a curve has the same name, place and kind in the table by which a rule book is checked."""
    assert {name: list(of.items()) for name, of in NAMES.items()} == {
        each.name: [(amount.key, amount.kind) for amount in each.amounts] for each in MODELS
    }


def every() -> tuple[ModelledMechanism, ...]:
    """Return the mechanisms of the shipped rule book."""
    book = real_rule_book()
    return mechanisms_of(book.mechanisms, book.settings.comparisons)


def test_every_model_is_used_by_the_rule_book() -> None:
    """No curve stands idle."""
    assert {each.model for each in real_rule_book().mechanisms.values()} == set(NAMES)


@pytest.mark.parametrize(
    "mechanism", [each for each in every() if each.model is not ANY_SMOOTH], ids=lambda each: each.id
)
@pytest.mark.parametrize("scene", SCENES, ids=["little known", "all known"])
def test_a_model_predicts_a_row_for_each_set_of_amounts(mechanism: ModelledMechanism, scene: Scene) -> None:
    """Shares of branches and sizes sum to one; predictions are finite at the middle of what is held."""
    flows = np.array([0.0, 0.005, 0.01, 0.02])
    branches = mechanism.branches(scene)
    assert sum(each.share for each in branches) == pytest.approx(1)
    for branch in branches:
        parameters = []
        for each in branch.parameters:
            if isinstance(each, Parameter):
                parameters.append(each.quantile(np.array([[0.2], [0.5], [0.8]])))
                continue
            assert sum(each.probabilities) == pytest.approx(1)
            parameters.append(np.resize(each.values, (3, 1)))
        shown = mechanism.model.predict(flows, tuple(parameters), scene)
        assert shown.shape[1] == 4
        assert np.isfinite(shown).all()


def test_every_issue_has_its_mechanism() -> None:
    """What the trade asks for is there: settings, loop, pipe, pulses, two at once, the reference, none of these."""
    wanted = (
        "zero-offset flow-constant bore unit-mix-up span-mismatch lower-range-value sender-4-20-receiver-0-20 "
        "sender-0-20-receiver-4-20 square-root squared half-current wrong-shunt leakage saturation low-flow-cut-off "
        "part-filling part-filling-at-low-flow gas insulating-deposit conducting-deposit pulse-loss zero-and-factor "
        "square-root-and-span cut-off-and-zero reference-leak reference-time none-of-these no-difference"
    )
    assert set(wanted.split()) <= real_rule_book().mechanisms.keys()


def test_a_place_that_was_not_in_the_way_is_left_out() -> None:
    """Mechanisms are taken by where their causes can show."""
    at_meter = {each.id for each in possible(every(), ("reference",))}
    at_counter = {each.id for each in possible(every(), ("counter",))}
    assert "square-root" not in at_meter
    assert "zero-offset" in at_meter
    assert {"pulse-loss", "pulse-value", "unit-mix-up"} <= at_counter
    assert "gas" not in at_counter
    assert "square-root" in {each.id for each in possible(every(), ("control-system",))}


def test_curves_of_several_mechanisms_have_words() -> None:
    """The curves that a rule book may name are those that models share, and the shipped one has words for each."""
    assert {*CURVES} == {each.curve for each in MODELS} - {"own"}
    assert real_rule_book().settings.comparisons.curves.keys() == {*CURVES}


def test_every_curve_has_a_cause_or_stands_for_none() -> None:
    """Only no difference and another one need no cause of their own."""
    said = real_rule_book().settings.comparisons
    without = {each.id for each in real_rule_book().mechanisms.values() if not each.causes}
    assert without == {said.nothing, said.another}


WITHOUT_A_CURVE = {
    ("control-system", "output-drops-sign"),  # right while liquid flows forward
    ("control-system", "receiver-shows-another-signal"),  # what it shows has nothing to do with the flow
    ("control-system", "word-order-differs"),  # garbled figures
    ("counter", "reverse-pulses-counted"),  # right while liquid flows forward
}
"""Causes that draw no curve of the flow: any other difference."""


def test_a_cause_that_shows_beside_the_reading_has_a_form() -> None:
    """Whoever disagrees with a reference usually, or only in the control system or at the counter, has a mechanism."""
    book = real_rule_book()
    bare = []
    for place, symptom in (
        ("reference", "disagrees-with-reference"),
        ("control-system", "control-system-disagrees"),
        ("counter", "pulse-count-wrong"),
    ):
        named = {name for each in book.mechanisms.values() for name in each.causes.get(place, {})}  # type: ignore[call-overload]
        strong = (each.id for each in book.causes.values() if each.shows.get(symptom, 0.0) >= USUALLY)
        bare += [(place, name) for name in strong if name not in named]
    assert set(bare) == WITHOUT_A_CURVE
