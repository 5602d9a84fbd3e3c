"""How often causes show findings, learned: a beta update of what somebody looked for."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from diagnose.learning.learned_strengths import learned_strengths
from diagnose.learning.prior import LEAST_LOOKS, MOST_LOOKS, fitting_looks
from tests.reasoning.books import book, cause, finding

SHARE = st.floats(0.02, 0.98)
LOOKS = st.lists(st.booleans(), min_size=1, max_size=30)


def one_book(strength: float, leak: float = 1e-12) -> object:
    """Return a rule book with one cause that shows one finding."""
    return book(finding("dark", leak=leak), cause("bulb", {"dark": strength}))


@given(SHARE, LOOKS, st.sampled_from([1.0, 10.0, 100.0]))
def test_without_a_leak_it_is_the_beta_posterior(strength: float, looks: list[bool], prior: float) -> None:
    """Mean and limits as scipy has them."""
    ((learned,), _) = learned_strengths(one_book(strength), [("bulb", {"dark": each}) for each in looks], prior)
    a, b = prior * strength + sum(looks), prior * (1 - strength) + len(looks) - sum(looks)
    assert learned.after == pytest.approx(min(max(stats.beta.mean(a, b), 0.001), 0.999))
    limits = stats.beta.ppf([0.025, 0.975], a, b).clip(0.001, 0.999)
    assert learned.interval_after == pytest.approx(tuple(limits), abs=1e-6)


@given(SHARE, LOOKS, st.floats(0.001, 0.3))
def test_it_lies_between_what_was_believed_and_what_was_seen(strength: float, looks: list[bool], leak: float) -> None:
    """What shows for another reason is taken off what was seen."""
    ((learned,), _) = learned_strengths(one_book(strength, leak), [("bulb", {"dark": each}) for each in looks], 10.0)
    seen = 1 - (1 - sum(looks) / len(looks)) / (1 - leak)
    low, high = sorted((strength, min(max(seen, 0.001), 0.999)))
    assert low - 1e-9 <= learned.after <= high + 1e-9


@given(st.permutations([True, True, False, True, False]))
def test_the_order_does_not_matter(looks: list[bool]) -> None:
    """Whatever came first."""
    ((learned,), _) = learned_strengths(one_book(0.3), [("bulb", {"dark": each}) for each in looks], 10.0)
    assert (learned.found, learned.of) == (3, 5)
    assert learned.after == pytest.approx((3 + 3) / 15)


def test_what_a_cause_does_not_show_is_not_learned() -> None:
    """Nor anything of a cause that the rule book does not have."""
    assert learned_strengths(one_book(0.3), [("bulb", {"hum": True}), ("gone", {"dark": True})], 10.0)[0] == ()


def test_the_prior_is_worth_what_fits_the_looks() -> None:
    """Much where what was believed was seen, little where it was not."""
    assert fitting_looks([(0.5, 50, 100), (0.2, 20, 100)]) == MOST_LOOKS
    assert fitting_looks([(0.5, 95, 100), (0.2, 90, 100)]) == LEAST_LOOKS
    assert fitting_looks([]) == LEAST_LOOKS
