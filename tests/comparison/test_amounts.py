"""What a rule book holds of open amounts, as figures and in words."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest

from diagnose.comparison.amounts import Scale, area, held_as, in_words
from diagnose.comparison.mechanism import Scene
from diagnose.comparison.mechanisms import mechanisms_of
from diagnose.comparison.parameters import AnyParameter, DiscreteParameter, Parameter
from diagnose.comparison.ranking import Pairs, rank
from diagnose.rule_book.patterns import AmountsTogether, Spread
from tests.reasoning.books import real_rule_book

FLOW = Scale("flow", 0.02, "the largest flow", "m3/h")
LISTS = {"ranges": (1.0, 2.0, 5.0)}


def held(spread: Spread, scale: Scale = FLOW) -> AnyParameter:
    """Return the prior of an amount."""
    return held_as(spread, "amount", "flow", in_words([spread], scale), scale, LISTS)


def quantiles(spread: Spread, scale: Scale = FLOW) -> list[float]:
    """Return the lower quartile, the median and the upper quartile of a continuous amount."""
    found = held(spread, scale)
    assert isinstance(found, Parameter)
    return [float(each) for each in found.quantile(np.array([0.25, 0.5, 0.75]))]


def test_between_is_a_share_of_the_largest_flow() -> None:
    """Evenly between both, or evenly between their logarithms."""
    assert quantiles(Spread(between=(0.1, 0.5))) == pytest.approx([0.004, 0.006, 0.008])
    assert quantiles(Spread(between=(0.01, 1.0), by_factor=True))[1] == pytest.approx(0.002)


def test_a_velocity_counts_where_the_bore_is_known() -> None:
    """Half of all that is off is off by less than ln 2 of what is usual (Laplace)."""
    zero = Spread(around=0.0, usually_off=0.015, as_velocity=0.005)
    assert quantiles(zero)[2] == pytest.approx(np.log(2) * 0.015 * 0.02)
    known = Scale("flow", 0.02, "the largest flow", "m3/h", bore=0.1)
    assert quantiles(zero, known)[2] == pytest.approx(np.log(2) * 0.005 * area(0.1))
    assert in_words([zero], known) == "around 0, usually 5 mm/s"


def test_what_is_gained_seldom_is_mostly_lost() -> None:
    """A third of the times above, so the median is below."""
    current = Scale("current", 1.0)
    lower, median, upper = quantiles(Spread(around=0.0, usually_off=4e-4, gained=0.33), current)
    assert lower < median < 0 < upper


def test_listed_figures_have_their_weights() -> None:
    """Ratios within their limits once each; neighbours by how far apart they are."""
    plain = Scale("ratio", 1.0)
    ratios = held(Spread(ratios_of="ranges", between=(0.4, 2.5)), plain)
    assert isinstance(ratios, DiscreteParameter)
    assert ratios.values == (0.4, 0.5, 2.0, 2.5)
    near = held(Spread(neighbours_of="ranges", steps=2), plain)
    assert isinstance(near, DiscreteParameter)
    assert dict(zip(near.values, near.probabilities, strict=True))[5.0] == pytest.approx(0.5 / 5)


def test_figures_are_in_the_unit_of_the_readings() -> None:
    """Of any power of ten within the limits: the largest flow is 72 m³/h; where there is none, the limits stand."""
    found = held(Spread(figures_of="ranges", between=(0.05, 1.1)))
    assert isinstance(found, DiscreteParameter)
    assert [3600 * each for each in found.values] == pytest.approx([5.0, 10.0, 20.0, 50.0])
    none = held(Spread(figures_of="ranges", between=(0.98, 1.1)))
    assert isinstance(none, DiscreteParameter)
    assert none.values == pytest.approx((0.0196, 0.022))
    assert in_words([Spread(figures_of="ranges", between=(0.05, 1.1))], FLOW) == (
        "a figure of ranges, times any power of ten"
    )


def test_words_say_all_that_is_held() -> None:
    """What is usual comes first, what is seldom after it."""
    near, far = (Spread(around=1.0, usually_off=each, by_factor=True) for each in (0.04, 0.2))
    plain = Scale("ratio", 1.0)
    assert in_words([near, far], plain) == "around 1, usually 4 % off, sometimes 20 % off"
    assert in_words([Spread(between=(0.005, 0.6), by_factor=True)], FLOW) == (
        "log-uniform from 0.5 to 60 % of the largest flow"
    )


def test_amounts_are_those_of_the_mechanism_not_of_its_curve() -> None:
    """Two mechanisms of one curve with other amounts account for the same readings differently."""
    book = real_rule_book()
    zero = book.mechanisms["zero-offset"]
    small = AmountsTogether(share=1.0, amounts={"zero": Spread(around=0.0, usually_off=1e-4)})
    both = {"zero-offset": zero, "tiny": msgspec.structs.replace(zero, id="tiny", either=(small,))}
    flows = np.array([0.005, 0.01, 0.02])
    found = rank(
        Pairs(flows, flows + 5e-4, u_indicated=1e-5 + 0 * flows),
        Scene(top=0.02, unit="m3/h"),
        mechanisms_of(both, book.settings.comparisons),
        lambda _: {},
    )
    evidence = {each.mechanism.id: each.log_evidence for each in found}
    assert evidence["zero-offset"] > evidence["tiny"] + 5
