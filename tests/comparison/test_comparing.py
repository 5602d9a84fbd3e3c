"""What a comparison says in the end: verdict, findings, what would tell mechanisms apart, doubts, advice."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.comparison.agreement import Limits
from diagnose.comparison.comparing import Comparison, Question, compare, in_figures, in_short, observations
from diagnose.observations import FindingSeen
from tests.comparison.comparisons import (
    FLOWS,
    HOUR,
    WORKED_INDICATED,
    WORKED_REFERENCE,
    absent,
    compared,
    present,
    readings,
    scattered,
)
from tests.reasoning.books import real_rule_book

WORKED = compared(WORKED_REFERENCE, WORKED_INDICATED, bore=100.0)
AT_SYSTEM = {"upper": 100.0, "read_at": "control-system", "against": "display"}
AT_COUNTER = {"upper": 100.0, "read_at": "counter", "against": "display"}


def times(factor: float) -> list[float]:
    """Return what is shown when everything is wrong by a factor."""
    return list(scattered([factor * each for each in FLOWS], 0.002))


class TestVerdict:
    """Agrees, cannot tell, disagrees."""

    def test_with_the_comparisons_own_uncertainty(self) -> None:
        """A difference is judged by the scatter, or by uncertainties that are given."""
        assert compared(FLOWS, scattered(FLOWS, 0.003)).agreement.verdict == "agrees"
        assert compared(FLOWS, times(1.05)).agreement.verdict == "disagrees"
        assert compared(FLOWS, scattered(FLOWS, 0.05)).agreement.verdict == "cannot tell"

    def test_the_same_difference_with_more_and_less_uncertainty(self) -> None:
        """E_n of 8.7: 100.8 against 100 disagrees with U 0.5 and 0.4 (1.249), and not with thrice as much."""
        for factor, verdict in ((1.0, "disagrees"), (3.0, "cannot tell")):
            each = [factor * 0.25] * 3
            given_ = readings([100.0, 100.0, 100.0], [100.8] * 3, [factor * 0.2] * 3, each)
            found = compare(real_rule_book().mechanisms, given_, Question(limits=Limits(limit=0.001)))
            assert found.agreement.verdict == verdict

    @pytest.mark.parametrize(
        ("deviation", "accuracy_class", "temperature", "verdict"),
        [
            (0.015, "2", 293.15, "agrees"),
            (0.025, "2", 293.15, "disagrees"),
            (0.025, "2", 323.15, "agrees"),
            (0.015, "1", 293.15, "disagrees"),
            (0.0201, "2", 293.15, "cannot tell"),
        ],
    )
    def test_limits_of_oiml_r_49(self, deviation: float, accuracy_class: str, temperature: float, verdict: str) -> None:
        """Fact sheet 8.13 and 8.14: ±2 % (3 % above 30 °C) for class 2, ±1 % for class 1; near a limit nobody knows."""
        shown = [each * (1 + deviation) for each in FLOWS]
        given_ = readings(FLOWS, shown, u_reference=[0.001 * each for each in FLOWS])
        limits = Limits(accuracy_class=accuracy_class, water_temperature=temperature)
        assert compare(real_rule_book().mechanisms, given_, Question(limits=limits)).agreement.verdict == verdict

    def test_zones_of_oiml_r_49(self) -> None:
        """8.15: Q3 100, R 160 → Q1 0.625, Q2 1.0: 5 % between both, none below, 2 % above."""
        given_ = readings([0.5, 0.8, 50.0], [0.5, 0.83, 50.1], u_reference=[0.0005, 0.0008, 0.05])
        limits = Limits(accuracy_class="2", permanent_flow=100 * HOUR, flow_ratio=160.0)
        found = compare(real_rule_book().mechanisms, given_, Question(limits=limits)).agreement
        assert [each.limit for each in found.points] == [None, 0.05, 0.02]
        assert [each.conformity for each in found.points] == ["", "within", "within"]


class TestFindings:
    """The probability of a finding is that of all mechanisms together which show it."""

    def test_worked_example(self) -> None:
        """Zero and gain at once: it reads high, and not by the same share at every flow."""
        assert {"disagrees-with-reference", "reads-high", "error-changes-with-flow"} <= present(WORKED)
        assert "ratio-fits-two-units" in absent(WORKED)

    @pytest.mark.parametrize(
        ("shown", "asked", "finding"),
        [
            (times(1.25), AT_SYSTEM, "receiver-off-by-factor"),
            (times(4.40287), AT_SYSTEM, "receiver-off-by-unit-factor"),
            (times(10.0), AT_SYSTEM, "receiver-off-by-ten"),
            ([each + 3 for each in FLOWS], AT_SYSTEM, "receiver-off-by-constant"),
            ([20 + 0.8 * each for each in FLOWS], AT_SYSTEM, "receiver-high-at-zero"),
            ([1.25 * each - 25 for each in FLOWS], AT_SYSTEM, "receiver-low-at-zero"),
            ([10 * each**0.5 for each in FLOWS], AT_SYSTEM, "receiver-bulges"),
            ([0.5 * each - 12.5 for each in FLOWS], AT_SYSTEM, "receiver-gets-half"),
            ([min(each, 70.0) for each in FLOWS], AT_SYSTEM, "current-stops-rising"),
            ([42.0 for _ in FLOWS], AT_SYSTEM, "control-system-stays-put"),
            (times(0.5), AT_COUNTER, "counts-off-by-factor"),
            ([each if each < 50 else 0.7 * each for each in FLOWS], AT_COUNTER, "counts-fall-short-at-high-flow"),
            (times(4.40287), {"read_at": "display"}, "ratio-fits-two-units"),
            ([-each for each in FLOWS], {"read_at": "display"}, "right-amount-wrong-sign"),
            ([-each for each in FLOWS], {"read_at": "display"}, "flow-negative"),
            ([42.0 for _ in FLOWS], {"read_at": "display"}, "value-frozen"),
            ([0.0 for _ in FLOWS], {"read_at": "display"}, "zero-while-flowing"),
            ([0.0 if each < 30 else each for each in FLOWS], {"read_at": "display"}, "only-at-low-flow"),
            (times(0.95), {"read_at": "display"}, "reads-low"),
        ],
    )
    def test_what_pairs_show(self, shown: list[float], asked: dict[str, object], finding: str) -> None:
        """Each fault is told in the words of the rule book, by what the meter was compared with."""
        found = compared(FLOWS, scattered(shown, 0.002), **asked)
        assert finding in present(found)
        symptom = {"control-system": "control-system-disagrees", "counter": "pulse-count-wrong"}
        assert symptom.get(str(asked["read_at"]), "disagrees-with-reference") in present(found)

    def test_a_factor_is_told_though_its_origin_is_not(self) -> None:
        """No mechanism of the factor is sure by itself; together they are."""
        found = compared(FLOWS, times(1.37), **AT_SYSTEM)
        assert "receiver-off-by-factor" in present(found)
        together = sum(each.probability for each in found.groups[0].members)
        told = next(each for each in found.findings if each.finding == "receiver-off-by-factor")
        assert together > 0.8
        assert "probable" in told.because

    def test_what_would_have_shown_is_absent(self) -> None:
        """A sure curve denies the others at the same place."""
        found = compared(FLOWS, [10 * each**0.5 for each in FLOWS], **AT_SYSTEM)
        assert {"receiver-off-by-factor", "receiver-high-at-zero", "receiver-gets-half"} <= absent(found)

    def test_what_was_not_in_the_way_is_not_denied(self) -> None:
        """A zero at the display says nothing of the pulse output or the control system."""
        found = compared(FLOWS, [each + 3 for each in FLOWS])
        assert not {"pulse-count-wrong", "control-system-disagrees", "only-at-high-flow"} & absent(found)

    def test_a_fault_behind_the_display_does_not_accuse_the_meter(self) -> None:
        """A square root in a comparison with a reference is the control system's: the display was not compared."""
        found = compared(FLOWS, [10 * each**0.5 for each in FLOWS], upper=100.0)
        assert "control-system-disagrees" in present(found)
        assert not {"disagrees-with-reference", "reads-high"} & present(found)

    def test_agreement_denies_the_symptom(self) -> None:
        """What agrees does not disagree."""
        assert "disagrees-with-reference" in absent(compared(FLOWS, scattered(FLOWS, 0.002)))
        assert "control-system-disagrees" in absent(compared(FLOWS, scattered(FLOWS, 0.0005), **AT_SYSTEM))

    def test_nothing_is_told_when_nothing_can_be(self) -> None:
        """Scatter that hides everything leaves every finding open."""
        assert compared(FLOWS, scattered(FLOWS, 0.05)).findings == ()

    @pytest.mark.parametrize(("shown", "stands"), [(0.31, True), (0.0, False), (-2.0, True)])
    def test_readings_at_no_flow(self, shown: float, stands: bool) -> None:
        """A flow shown while nothing flows is told, and so is a sound zero."""
        found = compared([0.0, 20.0, 40.0], [shown, 20.0 + shown, 40.0 + shown])
        assert ("reading-at-standstill" in present(found)) is stands
        assert ("reading-at-standstill" in absent(found)) is not stands

    @settings(max_examples=8, deadline=None)
    @given(st.floats(0.2, 5.0), st.floats(-20, 20), st.sampled_from([AT_SYSTEM, AT_COUNTER, {}]))
    def test_a_finding_is_told_once_and_known(self, factor: float, shift: float, asked: dict[str, object]) -> None:
        """No finding is present and absent, and the rule book knows each."""
        found = compared(FLOWS, [shift + factor * each for each in FLOWS], **asked)
        told = [each.finding for each in found.findings]
        assert len(told) == len(set(told))
        assert set(told) <= real_rule_book().findings.keys()


class TestObservations:
    """A comparison as observations of a case."""

    def test_they_carry_the_figures(self) -> None:
        """Each says where it comes from."""
        seen = observations(WORKED, real_rule_book())
        said = "comparison of 5 pairs: zero +0.21 m3/h, gain 1.020"
        assert FindingSeen(finding="reads-high", present=True, quote=said) in seen
        assert {each.quote for each in seen} == {said}
        assert {each.finding for each in seen if each.present} == present(WORKED)

    @pytest.mark.parametrize(
        ("reference", "indicated", "words"),
        [
            ([10.0], [10.5], "comparison of 1 pair: deviation +5 %"),
            ([10.0, 10.0], [10.5, 10.7], "comparison of 2 pairs: deviation +6 %"),
            ([0.0, 0.0], [0.3, 0.5], "comparison of 2 pairs: 0.4 m3/h shown at no flow"),
        ],
    )
    def test_figures_without_a_line(self, reference: list[float], indicated: list[float], words: str) -> None:
        """Where there is no line, deviation or zero are told."""
        assert in_figures(compared(reference, indicated)) == words

    def test_a_rule_book_without_mechanisms_still_has_a_verdict(self) -> None:
        """Without mechanisms the line and the verdict are left."""
        found = compare({}, readings(FLOWS, times(1.05)), Question())
        assert found.agreement.verdict == "disagrees"
        assert found.groups == ()
        assert present(found) == {"disagrees-with-reference", "reads-high"}

    def test_in_short(self) -> None:
        """Verdict, figures, leading mechanism, and the reading that would tell."""
        verdict, figures, first, *_ = in_short(WORKED)
        assert verdict.startswith("disagrees: ")
        assert figures == "comparison of 5 pairs: zero +0.21 m3/h, gain 1.020"
        assert first.endswith("a zero error and a factor error at once")
        assert any("repeat at" in each for each in in_short(WORKED))


class TestSeparating:
    """The measurement that tells the leading mechanisms apart."""

    def test_where_two_differ_most(self) -> None:
        """A zero and a factor that fit the same high flows differ at low flow, where one reading tells."""
        found = compared([80.0, 85.0, 90.0], scattered([81.6, 86.6, 91.6], 0.003), upper=100.0, read_at="display")
        curves = {group.curve for group in found.groups[:2]}
        assert curves == {"factor", "constant"}
        first = found.separations[0]
        assert first.share <= 0.2
        assert first.ratio > 2
        # at the best flow both predictions differ by what the means of both curves say
        assert abs(first.shown_by_one - first.shown_by_other) > 0.5 * HOUR

    def test_nothing_is_to_be_separated_where_one_is_sure(self) -> None:
        """A square root needs no further reading."""
        assert compared(FLOWS, [10 * each**0.5 for each in FLOWS], upper=100.0).separations == ()


def warned(found: Comparison, words: str) -> bool:
    """Tell whether a warning contains these words."""
    return any(words in each for each in found.warnings)


class TestDoubts:
    """What makes a comparison doubtful is told."""

    @pytest.mark.parametrize(
        ("reference", "indicated", "words"),
        [
            ([10.0], [10.5], "one pair cannot tell a zero error from a factor"),
            ([10.0, 50.0], [10.5, 51.2], "a line fits any two points"),
            ([10.0, 10.0, 10.0], [10.5, 10.6, 10.4], "pairs at a single flow cannot tell"),
            ([0.0, 0.0, 0.0], [0.3, 0.31, 0.29], "all readings are at no flow"),
            ([100.0, 100.0, 20.0, 100.0], [110.0, 60.0, 20.0, 30.0], "are the columns swapped"),
            ([33.0, 33.0, 33.0, 33.0], [10.0, 20.0, 30.0, 40.0], "are the columns swapped"),
            ([10.0, 20.0, 30.0], [33.0, 33.0, 33.0], "shows 33 m3/h at every flow"),
            ([10.0, 20.0, 10.0, 30.0], [10.1, 20.1, 10.1, 30.2], "repeated pair: 3 as 1"),
        ],
    )
    def test_is_told(self, reference: list[float], indicated: list[float], words: str) -> None:
        """Too few points, one flow, no flow, swapped columns, a constant column, copies."""
        assert warned(compared(reference, indicated), words)

    def test_an_outlier_is_told_kept_and_what_would_follow_without_it(self) -> None:
        """Nothing is dropped in silence."""
        flows = [10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0]
        found = compared(flows, [12.0, *scattered(flows, 0.003)[1:]])
        assert warned(found, "point 1 (at 10 m3/h)")
        assert len(found.agreement.points) == 8
        assert warned(found, "without the outliers, this would come first instead")

    def test_negative_flows_are_compared_like_others(self) -> None:
        """Both backwards by 4 % more: a factor."""
        found = compared([-each for each in FLOWS], times(-1.04))
        assert found.groups[0].curve == "factor"
        assert found.agreement.verdict == "disagrees"


class TestAdvice:
    """What to do: at the source, not at the symptom."""

    def test_agreement_asks_for_nothing(self) -> None:
        """Nothing is changed where nothing is wrong."""
        assert compared(FLOWS, scattered(FLOWS, 0.003)).advice == ("change nothing",)

    def test_a_sure_mechanism_is_mended_at_its_source(self) -> None:
        """First the look that proves it, then its remedy."""
        found = compared(FLOWS, [10 * each**0.5 for each in FLOWS], upper=100.0)
        known = real_rule_book().mechanisms["square-root"]
        assert found.advice == (f"check: {known.look}", f"once that is confirmed: {known.remedy}")

    def test_origins_of_a_factor_are_told_apart_by_looks(self) -> None:
        """A pure factor has many origins; none is trimmed away."""
        found = compared(FLOWS, times(1.03), read_at="display")
        assert any("flow constant" in each for each in found.advice)
        assert "do not trim zero or flow constant" in found.advice[-1]

    def test_a_new_constant_only_where_that_is_right(self) -> None:
        """8.8: 2 % high → old constant × 0.980392, with its uncertainty, once the origin is known."""
        found = compared(FLOWS, times(1.02), read_at="display", flow_constant=1.5, origin="flow-constant")
        assert found.constant
        assert found.constant.new == pytest.approx(1.5 * 0.980392, rel=1e-3)
        assert 0 < found.constant.uncertainty < 0.01
        assert abs(found.constant.new - 1.5 / 1.02) < found.constant.uncertainty

    @pytest.mark.parametrize(
        ("shown", "origin", "words"),
        [
            (times(1.02), "", "many faults give a factor"),
            (times(1.02), "gas", "the constant is not what is wrong; keep the gas out"),
            ([each + 3 for each in FLOWS], "flow-constant", "not clearly a pure factor"),
            (scattered(FLOWS, 0.002), "flow-constant", "do not show that the meter is off"),
        ],
    )
    def test_a_new_constant_is_refused_with_the_reason(self, shown: list[float], origin: str, words: str) -> None:
        """Unknown origin, another origin, no pure factor, no difference."""
        found = compared(FLOWS, shown, read_at="display", flow_constant=1.5, origin=origin)
        assert found.constant is None
        assert words in found.constant_refused
