"""What a comparison says in the end: verdict, findings, what would tell mechanisms apart, doubts, advice."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.analyses.answering import compare_with
from diagnose.comparison.agreement import Limits
from diagnose.comparison.comparing import Comparison, Question, compare, in_figures, in_short, observations
from diagnose.documents.comparison import comparison_document
from diagnose.observations import Compared, FindingSeen, State
from diagnose.reasoning.diagnosis import diagnose
from diagnose.tables.readings import Readings
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
from tests.engines import real_engine
from tests.reasoning.books import real_rule_book

WORKED = compared(WORKED_REFERENCE, WORKED_INDICATED, bore=100.0)
AT_SYSTEM = {"upper": 100.0, "read_at": "control-system", "against": "display"}
CUT_OFF = [0.0 if each < 30 else each for each in FLOWS]
AT_DISPLAY = {"read_at": "display"}
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
        for factor, decision in ((1.0, "fail"), (3.0, "cannot tell")):
            each = [factor * 0.25] * 3
            given_ = readings([100.0, 100.0, 100.0], [100.8] * 3, [factor * 0.2] * 3, each)
            found = compare_with(real_engine(), {}, given_, Question(limits=Limits(limit=0.001)))
            assert found.agreement.decision == decision

    @pytest.mark.parametrize(
        ("deviation", "accuracy_class", "temperature", "verdict"),
        [
            (0.015, "2", 293.15, "pass"),
            (0.025, "2", 293.15, "fail"),
            (0.025, "2", 323.15, "pass"),
            (0.015, "1", 293.15, "fail"),
            (0.0201, "2", 293.15, "cannot tell"),
        ],
    )
    def test_limits_of_oiml_r_49(self, deviation: float, accuracy_class: str, temperature: float, verdict: str) -> None:
        """Fact sheet 8.13 and 8.14: ±2 % (3 % above 30 °C) for class 2, ±1 % for class 1; near a limit nobody knows."""
        shown = [each * (1 + deviation) for each in FLOWS]
        given_ = readings(FLOWS, shown, u_reference=[0.001 * each for each in FLOWS])
        limits = Limits(accuracy_class=accuracy_class, water_temperature=temperature)
        assert compare_with(real_engine(), {}, given_, Question(limits=limits)).agreement.decision == verdict

    def test_zones_of_oiml_r_49(self) -> None:
        """8.15: Q3 100, R 160 → Q1 0.625, Q2 1.0: 5 % between both, none below, 2 % above."""
        given_ = readings([0.5, 0.8, 50.0], [0.5, 0.83, 50.1], u_reference=[0.0005, 0.0008, 0.05])
        limits = Limits(accuracy_class="2", permanent_flow=100 * HOUR, flow_ratio=160.0)
        found = compare_with(real_engine(), {}, given_, Question(limits=limits)).agreement
        assert [each.limit for each in found.points] == [None, 0.05, 0.02]
        assert [each.conformity for each in found.points] == ["", "within", "within"]


def causes_of(found: Comparison, first: int = 6) -> list[str]:
    """Return the likeliest causes where nothing but a comparison is known."""
    seen = observations(found, real_engine().rule_book)
    return [each.id for each in diagnose(real_engine(), {}, seen, State()).causes[:first]]


class TestOneModel:
    """What readings look like and what causes it are told by one model."""

    @pytest.mark.parametrize(
        ("shown", "asked", "curve", "cause"),
        [
            (times(1.25), AT_SYSTEM, "factor", "receiver-range-differs"),
            (times(4.40287), AT_SYSTEM, "factor", "receiver-unit-wrong"),
            (times(10.0), AT_SYSTEM, "factor", "receiver-number-format-wrong"),
            ([each + 3 for each in FLOWS], AT_SYSTEM, "constant", "loop-leaks-through-moisture"),
            ([20 + 0.8 * each for each in FLOWS], AT_SYSTEM, "upper-end", "receiver-reads-zero-twenty"),
            ([1.25 * each - 25 for each in FLOWS], AT_SYSTEM, "upper-end", "output-set-to-zero-twenty"),
            ([10 * each**0.5 for each in FLOWS], AT_SYSTEM, "square-root", "square-root-left-on"),
            ([0.5 * each - 12.5 for each in FLOWS], AT_SYSTEM, "current", "receivers-in-parallel"),
            ([min(each, 70.0) for each in FLOWS], AT_SYSTEM, "limited", "load-too-high"),
            ([42.0 for _ in FLOWS], AT_SYSTEM, "flat", "output-held-or-simulated"),
            (times(0.5), AT_COUNTER, "factor", "pulse-value-mismatched"),
            ([each if each < 50 else 0.7 * each for each in FLOWS], AT_COUNTER, "pulse-loss", "pulse-rate-too-high"),
            (times(4.40287), AT_DISPLAY, "factor", "flow-unit-set-wrong"),
            ([-each for each in FLOWS], AT_DISPLAY, "reversed", "installed-against-arrow"),
            ([42.0 for _ in FLOWS], AT_DISPLAY, "flat", "transmitter-hung"),
            ([0.0 for _ in FLOWS], AT_DISPLAY, "flat", "coil-open"),
            (
                [0.0 if each < 30 else each for each in FLOWS],
                AT_DISPLAY,
                "low-flow-cut-off",
                "low-flow-cut-off-too-high",
            ),
            ([each + 3 for each in FLOWS], AT_DISPLAY, "constant", "no-equipotential-bonding"),
        ],
    )
    def test_the_first_curve_and_the_first_causes_agree(
        self, shown: list[float], asked: dict[str, object], curve: str, cause: str
    ) -> None:
        """The curve that comes first is the one that was drawn, and a usual cause of it is among the first."""
        found = compared(FLOWS, scattered(shown, 0.002), **asked)
        assert found.groups[0].curve == curve
        assert cause in causes_of(found)

    def test_mechanisms_of_a_diagnosis_are_those_of_the_comparison(self) -> None:
        """Where nothing else is known, both say the same to the last digit."""
        found = compared(FLOWS, times(1.37), **AT_SYSTEM)
        seen = observations(found, real_engine().rule_book)
        known = diagnose(real_engine(), {}, seen, State()).mechanisms["control-system"]
        ranked = {each.mechanism.id: each.probability for group in found.groups for each in group.members}
        assert {name: known[name] for name in ranked} == pytest.approx(ranked, rel=1e-6)
        assert math.fsum(known.values()) == pytest.approx(1.0)

    def test_what_was_seen_beside_the_readings_counts(self) -> None:
        """A pipe seen partly full makes a partly filled pipe of what might be any factor."""
        found = compared(FLOWS, times(1.2), **AT_DISPLAY)
        seen = observations(found, real_engine().rule_book)
        half_full = FindingSeen(finding="pipe-not-full", present=True)
        alone = diagnose(real_engine(), {}, seen, State())
        both = diagnose(real_engine(), {}, (*seen, half_full), State())
        assert alone.mechanisms["reference"]["part-filling"] < 0.5
        assert both.mechanisms["reference"]["part-filling"] > 0.9
        assert both.causes[0].id == "pipe-partly-full"

    def test_nothing_counts_twice(self) -> None:
        """Whoever says beside the readings what the readings show, changes nothing."""
        found = compared(FLOWS, times(0.9), **AT_DISPLAY)
        seen = observations(found, real_engine().rule_book)
        said = FindingSeen(finding="reads-low", present=True, quote="it reads low")
        once = diagnose(real_engine(), {}, seen, State())
        twice = diagnose(real_engine(), {}, (said, *seen), State())
        assert [each.id for each in twice.causes] == [each.id for each in once.causes]
        assert [each.probability for each in twice.causes] == pytest.approx([each.probability for each in once.causes])

    @settings(max_examples=12, deadline=None)
    @given(st.floats(0.3, 3.0), st.floats(-15, 15), st.sampled_from([AT_SYSTEM, AT_COUNTER, AT_DISPLAY, {}]))
    def test_the_verdict_and_what_comes_first_never_contradict(
        self, factor: float, shift: float, asked: dict[str, object]
    ) -> None:
        """What disagrees has a difference first; what agrees has none first."""
        found = compared(FLOWS, scattered([shift + factor * each for each in FLOWS], 0.003), **asked)
        first = found.groups[0].curve
        assert not (found.agreement.verdict == "disagrees" and first == "no-difference")
        assert not (found.agreement.verdict == "agrees" and first != "no-difference")


class TestDoubtfulReadings:
    """What is wrong with the readings is not held against the meter."""

    @staticmethod
    def stated(shown: list[float], limit: float | None = None) -> Comparison:
        """Return a comparison in which both are stated to be good to 0.05 m3/h (k = 2)."""
        each = [0.025] * len(shown)
        flows = [10.0, 25.0, 50.0, 75.0, 95.0]
        question = Question(read_at="display", limits=Limits(limit=limit))
        return compare_with(real_engine(), {}, readings(flows, shown, each, each), question)

    @pytest.mark.parametrize("limit", [None, 0.01])
    def test_more_scatter_than_stated_is_an_answer_of_its_own(self, limit: float | None) -> None:
        """Neither agreement nor a curve nor a failure follows from uncertainties that do not hold."""
        found = self.stated([9.88, 24.53, 49.39, 80.14, 98.64], limit)
        assert found.agreement.verdict == "cannot tell"
        assert "scatter more than you state" in found.agreement.because
        assert found.agreement.decision in ("", "cannot tell")
        assert not {"difference-small", "disagrees-with-reference"} & (present(found) | absent(found))

    def test_whole_numbers_are_no_better_than_their_digits(self) -> None:
        """1, 2 and 3 that agree prove nothing about 1 %."""
        resolved = {"resolution_reference": (HOUR,) * 3, "resolution_indicated": (HOUR,) * 3}
        given_ = replace(readings([1.0, 2.0, 3.0], [1.0, 2.0, 3.0]), **resolved)
        found = compare_with(real_engine(), {}, given_, Question(limits=Limits(limit=0.01)))
        assert found.agreement.decision == "cannot tell"
        assert found.agreement.verdict == "cannot tell"

    def test_one_slip_of_the_pen_is_no_fault(self) -> None:
        """59 for 95 among figures that agree: no counter loses pulses for that."""
        given_ = readings([10.0, 25.0, 50.0, 75.0, 95.0], [9.94, 25.02, 50.05, 74.97, 59.0])
        steps = (0.01 * HOUR,) * 5
        found = compare_with(
            real_engine(), {}, replace(given_, resolution_reference=steps, resolution_indicated=steps), Question()
        )
        assert found.groups[0].curve == "no-difference"
        assert "pulse-count-wrong" not in present(found)

    def test_one_low_point_of_many_high_ones_is_no_direction(self) -> None:
        """Ten per cent high up to an end at 80: it does not read low."""
        flows = [5.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 98.0]
        found = compared(flows, [min(1.1 * each, 80.0) for each in flows], **AT_DISPLAY)
        assert "reads-low" not in present(found)

    def test_who_squares_is_not_who_takes_the_root(self) -> None:
        """A signal that is squared does not send anybody to a root that is taken too often."""
        found = compared(FLOWS, [each**2 / 100 for each in FLOWS], **AT_SYSTEM)
        assert found.groups[0].curve == "squared"
        assert "square-root-left-on" not in causes_of(found, 3)


RANKED = tuple(diagnose(real_engine(), {}, observations(WORKED, real_rule_book()), State()).causes)


class TestFindings:
    """What can be read off the figures."""

    def test_worked_example(self) -> None:
        """Zero and gain at once: it reads high at every flow."""
        assert {"disagrees-with-reference", "reads-high"} <= present(WORKED)

    @pytest.mark.parametrize(
        ("shown", "finding"),
        [
            ([-each for each in FLOWS], "flow-negative"),
            ([0.0 for _ in FLOWS], "zero-while-flowing"),
            (times(0.95), "reads-low"),
            (times(1.05), "reads-high"),
        ],
    )
    def test_what_pairs_show(self, shown: list[float], finding: str) -> None:
        """Direction and sign stand in the figures."""
        found = present(compared(FLOWS, scattered(shown, 0.002), **AT_DISPLAY))
        assert {finding, "disagrees-with-reference"} <= found

    def test_a_fault_behind_the_display_does_not_accuse_the_meter(self) -> None:
        """A square root in a comparison with a reference is the control system's: the display was not compared."""
        found = compared(FLOWS, [10 * each**0.5 for each in FLOWS], upper=100.0)
        assert not {"disagrees-with-reference", "reads-high"} & present(found)
        assert "square-root-left-on" in causes_of(found, 1)

    def test_no_difference_gives_no_cause(self) -> None:
        """What they do not exclude is said in its place; a difference has causes."""
        found = compared(FLOWS, scattered(FLOWS, 0.003))
        assert found.no_cause.startswith("these readings give no cause to look for a fault; they would not show")
        assert compared(FLOWS, times(1.05)).no_cause == ""
        assert comparison_document(found, real_rule_book(), RANKED).causes == ()
        assert comparison_document(compared(FLOWS, times(1.05)), real_rule_book(), RANKED).causes

    def test_root_and_zero_twenty_at_once(self) -> None:
        """A channel left as its orifice needed it: both settings are named, and both causes come first."""
        shown = [100 * (0.2 + 0.008 * each) ** 0.5 for each in FLOWS]
        found = compared(FLOWS, scattered(shown, 0.003), upper=100.0)
        assert found.groups[0].curve == "square-root-of-zero-twenty"
        assert found.groups[0].probability > 0.97
        assert set(causes_of(found, 2)) == {"square-root-left-on", "receiver-reads-zero-twenty"}

    def test_nothing_shown_at_any_flow(self) -> None:
        """No unit is so small that it would show nothing: what predicts next to nothing has no advantage."""
        found = compared([10.0, 20.0, 40.0], [0.0, 0.0, 0.0])
        assert found.groups[0].members[0].mechanism.id == "no-signal"

    @pytest.mark.parametrize("step", [327.68, 655.36])
    def test_a_number_that_wraps(self, step: float) -> None:
        """The flow at which it does is found: 16 bits with two decimals end at 327.67."""
        flows = [50.0, 100.0, 150.0, 200.0, 250.0, 300.0, 350.0, 400.0]
        shown = [*scattered(flows[:6], 0.002), *(each - step for each in flows[6:])]
        found = compared(flows, shown, **AT_SYSTEM)
        first = found.groups[0].members[0]
        assert first.mechanism.id == "number-wraps"
        assert found.groups[0].probability > 0.97
        assert causes_of(found, 1) == ["receiver-number-overflows"]

    def test_a_16_bit_total_among_volumes(self) -> None:
        """Loads beyond 65 536 litres start again from zero in the control system; nothing else is wrong."""
        loads = [12000.0, 30000.0, 52000.0, 64000.0, 71000.0, 90000.0]
        litres = [tuple(each / 1000 for each in side) for side in (loads, [each % 65536 for each in loads])]
        found = compare_with(
            real_engine(), {}, Readings(*litres, unit="l", kind="volume"), Question(read_at="control-system")
        )
        assert found.groups[0].members[0].mechanism.id == "number-wraps"
        assert found.groups[0].probability > 0.97
        assert found.agreement.verdict == "disagrees"

    @pytest.mark.parametrize("busy", [0.1, 0.4])
    def test_a_counter_that_is_blind_after_each_pulse(self, busy: float) -> None:
        """It loses a share that grows with the flow from the first pulse on, n/(1 + n τ)."""
        found = compared(FLOWS, scattered([r / (1 + busy * r / 95.0) for r in FLOWS], 0.001), **AT_COUNTER)
        assert found.groups[0].curve == "dead-time"
        assert found.groups[0].probability > 0.9
        assert "pulse-rate-too-high" in causes_of(found, 2)

    def test_a_gravity_line_is_no_cut_off(self) -> None:
        """Nothing below half the depth, far too much just above it, right where the pipe is full."""
        flows = [10.0, 20.0, 30.0, 45.0, 60.0, 75.0, 90.0, 110.0]
        found = compared(flows, [0.0, 0.0, 0.0, 81.5, 87.7, 92.5, 90.1, 111.0], **AT_DISPLAY)
        assert found.groups[0].curve == "gravity-line"
        assert found.groups[0].probability > 0.97

    def test_nothing_shown_at_low_flow_may_be_a_pipe_that_empties(self) -> None:
        """Readings cannot tell it from a cut-off: both are named, by how common each is."""
        found = compared(FLOWS, scattered(CUT_OFF, 0.002), **AT_DISPLAY)
        ids = {each.mechanism.id: each.probability for each in found.groups[0].members}
        assert ids.keys() == {"low-flow-cut-off", "runs-dry-at-low-flow"}
        assert min(ids.values()) > 0.1

    def test_a_jump_in_the_middle_is_no_certain_pulse_loss(self) -> None:
        """Low by 5 % above some flow, read nobody says where: the book does not know it for certain."""
        shown = [r * (0.95 if r > 60 else 1.0) for r in (15.0, 30.0, 45.0, 62.0, 80.0, 100.0)]
        found = compared([15.0, 30.0, 45.0, 62.0, 80.0, 100.0], scattered(shown, 0.002))
        assert found.groups[0].probability < 0.97
        assert "any-smooth-curve" in [each.curve for each in found.groups[:2]]

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
        findings = [each for each in seen if isinstance(each, FindingSeen)]
        assert {each.finding for each in findings if each.present} == present(WORKED)
        (weighed,) = [each for each in seen if isinstance(each, Compared)]
        assert weighed.with_what == "reference"
        assert max(weighed.decibans.values()) == 0.0
        assert set(weighed.says) == {each.finding for each in findings}

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
        found = compare((), readings(FLOWS, times(1.05)), Question(), lambda _: {})
        assert found.agreement.verdict == "disagrees"
        assert found.groups == ()
        assert present(found) == {"disagrees-with-reference", "reads-high"}

    def test_in_short(self) -> None:
        """Verdict, figures, and the reading that would tell; how probable what is, the diagnosis says."""
        verdict, figures, *_ = in_short(WORKED)
        assert verdict.startswith("disagrees: ")
        assert figures == "comparison of 5 pairs: zero +0.21 m3/h, gain 1.020"
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
        assert compared(FLOWS, [10 * each**0.5 for each in FLOWS], **AT_SYSTEM).separations == ()


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
        assert len(found.agreement.points) == 8
        assert warned(found, "without reading 1, “no difference beyond the scatter” would come first")

    def test_the_one_reading_that_a_curve_hangs_on_is_named(self) -> None:
        """Four exact to the digit, the fifth 8 % low: a slip, or the meter ends there; one more reading tells."""
        flows = [10.0, 30.0, 50.0, 80.0, 100.0]
        steps = (0.1 * HOUR,) * len(flows)
        given_ = readings(flows, [*flows[:-1], 92.0])
        found = compare_with(
            real_engine(), {}, replace(given_, resolution_reference=steps, resolution_indicated=steps), Question()
        )
        assert found.groups[0].curve != "no-difference"
        assert found.agreement.verdict == "cannot tell"
        assert found.agreement.because.startswith("all agree but reading 5: it alone went wrong (")
        assert found.agreement.because.endswith("repeat it before you judge")

    def test_one_far_off_is_one_note_and_no_agreement(self) -> None:
        """One reading of eleven by 20 % low: the others agree, it is to be repeated, and nothing is accused."""
        flows = [5.0, 14.0, 23.0, 32.0, 41.0, 50.0, 59.0, 68.0, 77.0, 86.0, 95.0]
        for at in (3, 6, 10):
            shown = [round(each, 2) for each in scattered(flows, 0.003)]
            shown[at] = 0.8 * flows[at]
            steps = (0.01 * HOUR,) * len(flows)
            given_ = replace(readings(flows, shown), resolution_reference=steps, resolution_indicated=steps)
            found = compare_with(real_engine(), {}, given_, Question())
            assert found.agreement.verdict == "cannot tell"
            assert f"all agree but reading {at + 1}" in found.agreement.because
            assert sum("off the line" in each for each in found.warnings) == 1
            assert found.groups[0].curve == "no-difference"
            assert sum(each.probability for each in found.groups if each.curve.endswith("pulse-loss")) < 0.05
            assert "these readings give no cause to look for a fault" in found.no_cause
            assert found.advice == (f"change nothing; repeat reading {at + 1} at the same flow",)
            others = [each.uncertainty for each in found.agreement.points if each.uncertainty is not None]
            assert min(others) < 0.02

    def test_where_most_are_far_off_none_is_apart(self) -> None:
        """Stated far too small, every reading is off the line: that is no note for each of them."""
        flows = [10.0, 25.0, 40.0, 55.0, 70.0, 85.0, 95.0]
        given_ = readings(flows, scattered(flows, 0.03), [0.001] * 7, [0.001] * 7)
        found = compare_with(real_engine(), {}, given_, Question())
        assert sum("off the line" in each for each in found.warnings) <= 1
        assert found.fit
        assert found.fit.outliers == ()

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
        found = compared(FLOWS, [10 * each**0.5 for each in FLOWS], **AT_SYSTEM)
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
