"""How often causes come, learned: where all meters are alike exactly the Dirichlet posterior."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from diagnose.learning.learned_frequencies import LearnedFrequency, learned_frequencies
from diagnose.learning.prior import LEAST_CASES, MOST_CASES, fitting_cases
from diagnose.reasoning.frequencies import frequency_on, parts_on
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.faults import FrequencyWhere
from diagnose.rule_book.quantities import Quantity
from tests.learning.cases import causes_of, closed, plain_book
from tests.reasoning.books import book, cause, finding

FREQUENCIES = st.lists(st.sampled_from([0.1, 0.3, 1.0, 3.0, 8.0]), min_size=2, max_size=6)
COUNTS = st.lists(st.integers(0, 12), min_size=6, max_size=6)
PRIOR = st.sampled_from([1.0, 20.0, 200.0])

FED = Quantity(id="fed-by", title="supply", choices=("mains", "battery"), shares={"mains": 0.75, "battery": 0.25})
FLAT = cause(
    "flat", {"f": 0.5}, frequency=1.0, frequency_where=(FrequencyWhere(where={"fed-by": ("battery",)}, frequency=6.0),)
)
FUSE = cause("fuse", {"f": 0.5}, frequency=3.0, applies={"fed-by": ("mains",)})
BOOK = book(finding("f"), FED, FLAT, FUSE, cause("dark", {"f": 0.5}, frequency=2.0))


def by_name(learned: tuple[LearnedFrequency, ...]) -> dict[tuple[str, int], LearnedFrequency]:
    """Return figures by cause and row."""
    return {(each.cause, each.row): each for each in learned}


@given(FREQUENCIES, COUNTS, PRIOR)
def test_alike_meters_give_the_dirichlet_posterior(frequencies: list[float], counts: list[int], prior: float) -> None:
    """Mean, and the interval of each share, as scipy has them."""
    counts = counts[: len(frequencies)]
    learned, _ = learned_frequencies(plain_book(frequencies), causes_of(counts), prior)
    shapes = prior * np.array(frequencies) / sum(frequencies) + counts
    means = stats.dirichlet.mean(shapes)
    for each, shape, mean in zip(learned, shapes, means, strict=True):
        assert each.after == pytest.approx(mean)
        assert each.frequency_after / sum(one.frequency_after for one in learned) == pytest.approx(mean)
        limits = stats.beta.ppf([0.025, 0.975], shape, shapes.sum() - shape)
        assert each.interval_after == pytest.approx(tuple(limits), rel=1e-6, abs=1e-12)


@given(FREQUENCIES, COUNTS, PRIOR)
def test_a_figure_lies_between_what_was_believed_and_counted(
    frequencies: list[float], counts: list[int], prior: float
) -> None:
    """Never beyond either."""
    counts = counts[: len(frequencies)]
    total = sum(counts)
    for each, count in zip(
        learned_frequencies(plain_book(frequencies), causes_of(counts), prior)[0], counts, strict=True
    ):
        counted = count / total if total else each.before
        assert min(each.before, counted) - 1e-9 <= each.after <= max(each.before, counted) + 1e-9


@given(st.lists(st.sampled_from(["flat", "fuse", "dark", ""]), max_size=12), st.randoms(use_true_random=False))
def test_the_order_of_cases_does_not_matter(names: list[str], luck: Random) -> None:
    """Nor on which meters of a mixed lot they were."""
    cases = [
        closed(number, name, data_sheet={"fed-by": luck.choice(["mains", "battery"])} if luck.random() < 0.7 else {})
        for number, name in enumerate(names)
    ]
    shuffled = luck.sample(cases, len(cases))
    one, other = (learned_frequencies(BOOK, each, 20.0)[0] for each in (cases, shuffled))
    for left, right in zip(one, other, strict=True):
        assert left.frequency_after == pytest.approx(right.frequency_after)


def test_no_cases_change_nothing() -> None:
    """The rule book stays as it is."""
    for each in learned_frequencies(BOOK, [], 200.0)[0]:
        assert each.frequency_after == pytest.approx(each.frequency_before)
        assert each.after == pytest.approx(each.before)


def test_a_case_in_vain_takes_nothing_from_one_cause_more_than_from_another() -> None:
    """It is one more in which none was found: shares fall, their ratios stay."""
    learned, _ = learned_frequencies(plain_book([1.0, 3.0]), [closed(number) for number in range(50)], 20.0)
    assert learned[1].frequency_after / learned[0].frequency_after == pytest.approx(3.0)
    assert learned[0].of == 50
    assert learned[0].after < learned[0].before


def test_a_case_counts_for_the_figure_that_holds_on_its_meter() -> None:
    """A flat battery teaches nothing of meters on the mains, nor these of a battery."""
    cases = [closed(number, "flat", data_sheet={"fed-by": "battery"}) for number in range(20)]
    learned = by_name(learned_frequencies(BOOK, cases, 20.0)[0])
    assert learned["flat", 1].found == 20
    assert learned["flat", 0].found == learned["flat", 0].of == 0
    assert learned["fuse", 0].of == 0
    assert learned["flat", 1].after > learned["flat", 1].before


def test_where_the_data_sheet_does_not_tell_a_case_counts_for_each_figure_in_part() -> None:
    """As much as it is likely to be the one that held: 0.75 × 1 beside 0.25 × 6."""
    learned = by_name(learned_frequencies(BOOK, [closed(1, "flat")], 1e6)[0])
    assert learned["flat", 0].found == pytest.approx(0.75 / 2.25, abs=1e-3)
    assert learned["flat", 1].found == pytest.approx(1.5 / 2.25, abs=1e-3)


def test_a_fault_that_few_meters_can_have_is_not_held_against_the_others() -> None:
    """A hundred cases on batteries say nothing of how often fuses blow."""
    cases = [closed(number, "dark", data_sheet={"fed-by": "battery"}) for number in range(100)]
    learned = by_name(learned_frequencies(BOOK, cases, 50.0)[0])
    assert learned["fuse", 0].after == pytest.approx(learned["fuse", 0].before)


def test_the_truth_is_found_where_there_are_many_cases() -> None:
    """From a mixed lot of meters whose frequencies are not ours; three causes, two of them for some meters only."""
    truth = {("flat", 0): 4.0, ("flat", 1): 2.0, ("fuse", 0): 1.0, ("dark", 0): 4.0}
    luck = Random(3)
    cases = []
    for number in range(6000):
        fed = luck.choice(["mains", "battery"])
        shares = {"flat": truth["flat", fed == "battery"], "dark": 4.0, **({"fuse": 1.0} if fed == "mains" else {})}
        name = luck.choices(list(shares), list(shares.values()))[0]
        cases.append(closed(number, name, data_sheet={"fed-by": fed}))
    learned = by_name(learned_frequencies(BOOK, cases, 10.0)[0])
    scale = learned["dark", 0].frequency_after / 4.0
    for key, true in truth.items():
        assert learned[key].frequency_after / scale == pytest.approx(true, rel=0.12)


@given(st.sampled_from([{}, {"fed-by": "mains"}, {"fed-by": "battery"}]))
def test_the_parts_of_a_frequency_add_up_to_it(sheet: dict[str, str]) -> None:
    """Each figure by how much it counts."""
    assert sum(parts_on(BOOK, FLAT, sheet)) == pytest.approx(1.0)
    parts = parts_on(BOOK, FLAT, sheet)
    assert parts[0] * 6.0 + parts[1] * 1.0 == pytest.approx(frequency_on(BOOK, FLAT, sheet))


def test_what_is_not_listed_counts_for_what_stands_for_it() -> None:
    """A rule book has one cause that is none; it learns how often the fault is in no book."""
    unlisted: RuleBook = book(finding("f"), cause("known", {"f": 0.5}), cause("not-listed", {}, shows_others=0.1))
    cases = [closed(number, outcome="not listed", cause="") for number in range(10)]
    learned = by_name(learned_frequencies(unlisted, cases, 10.0)[0])
    assert learned["not-listed", 0].after == pytest.approx((5 + 10) / 20)


def test_the_prior_is_worth_what_fits_the_cases() -> None:
    """Much where they look as the rule book believes, little where they do not, by their probability."""
    believed = [3.0, 1.0, 1.0, 3.0]
    assert learned_frequencies(plain_book(believed), causes_of([300, 100, 100, 300]), None)[1] == MOST_CASES
    assert learned_frequencies(plain_book(believed), causes_of([100, 300, 300, 100]), None)[1] == LEAST_CASES
    assert learned_frequencies(plain_book(believed), [], None)[1] == LEAST_CASES


def test_the_fitting_prior_is_the_most_probable_one_by_scipy() -> None:
    """Of all that are tried, by the Dirichlet-multinomial of scipy."""
    expected, found = np.array([120.0, 60.0, 60.0, 60.0]), np.array([150, 35, 70, 45])
    chosen = fitting_cases(zip(expected, found, strict=True))
    tried = [200.0 * 1.25**number for number in range(20)]
    shares = expected / expected.sum()
    best = max(tried, key=lambda cases: stats.dirichlet_multinomial.logpmf(found, cases * shares, found.sum()))
    assert chosen == pytest.approx(best, rel=0.01)
