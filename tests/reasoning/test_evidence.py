"""Observations become what is known: later ones count, contradictions are told, remedies change the evidence."""

from __future__ import annotations

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.observations import CheckDone, FindingSeen, Measurement, Observation, RemedyTried, WordEvidence
from diagnose.reasoning.evidence import all_values, cause_factors, gather, missing_inputs, told_fields
from diagnose.rule_book.calculated import with_calculated
from diagnose.rule_book.condition_types import Operand, Relation
from diagnose.rule_book.quantities import Calculation, DataSheet, Limit, Quantity, Value
from diagnose.rule_book.rules import InferenceRule
from diagnose.rule_book.work import Outcome
from tests.reasoning.books import book, cause, check, finding, real_rule_book, remedy, yes_or_no


def seen(name: str, present: bool = True, quote: str = "") -> FindingSeen:
    """Return an observation of a finding."""
    return FindingSeen(finding=name, present=present, quote=quote)


def calculated(name: str, function: str, **inputs: str) -> Quantity:
    """Return a quantity that follows from others."""
    given = {key.replace("_", "-"): source for key, source in inputs.items()}
    return Quantity(id=name, title=name, unit="m3/h", calculate=Calculation(function=function, inputs=given))


BOOK = book(
    finding("dark"),
    finding("warm"),
    finding("cold"),
    finding("worked-on", kind="history"),
    cause("fuse", {"dark": 0.9, "worked-on": 0.5}),
    cause("lamp", {"dark": 0.5, "warm": 0.5}, remedy="lamp-remedy"),
    cause("socket", {"dark": 0.5}, remedy="lamp-remedy"),
    remedy("fuse", works=0.9),
    remedy("lamp-remedy", works=0.8),
    yes_or_no("look", "dark"),
    yes_or_no("touch", "cold"),
    check("both", Outcome(answer="hot", present=("warm",), absent=("cold",)), Outcome(answer="neither")),
    Quantity(id="part", title="part", unit="V"),
    Quantity(id="whole", title="whole", unit="V"),
    Quantity(id="field", title="field", unit="V", where_to_find="the plate"),
    calculated("share", "ratio", part="part", whole="whole"),
    calculated("share-of-share", "ratio", part="share", whole="field"),
    InferenceRule(
        id="share-is-small",
        when=Relation(quantity="share", relation="below", operands=(Operand(constant=0.5),)),
        present=("warm",),
        because="the share is small",
    ),
)


class TestAnswers:
    """Findings that somebody said, or that a check's outcome sets."""

    def test_a_later_answer_replaces_an_earlier_one_and_the_contradiction_is_told(self) -> None:
        """The last word counts, and both are told with what was said first."""
        known = gather(BOOK, (seen("dark", quote="all dark"), seen("dark", False)))
        assert known.answers == {"dark": False}
        assert known.contradicted["dark"] == "first present (said: “all dark”), then absent"

    def test_saying_the_same_twice_is_no_contradiction(self) -> None:
        """Only opposite answers contradict."""
        assert gather(BOOK, (seen("dark"), seen("dark"))).contradicted == {}

    def test_an_outcome_sets_its_findings_and_says_where_they_come_from(self) -> None:
        """Present and absent ones, with the check and its answer as their origin."""
        known = gather(BOOK, (CheckDone(check="both", answer="hot"),))
        assert known.answers == {"warm": True, "cold": False}
        assert known.origin == {"warm": "both → hot", "cold": "both → hot"}
        assert known.checks_done == {"both"}

    def test_an_outcome_may_set_nothing(self) -> None:
        """The check still counts as done."""
        known = gather(BOOK, (CheckDone(check="both", answer="neither"),))
        assert (known.answers, known.checks_done) == ({}, {"both"})

    @pytest.mark.parametrize(
        "strange",
        [
            seen("gone"),
            Measurement(quantity="gone", value=1.0),
            CheckDone(check="gone", answer="yes"),
            CheckDone(check="look", answer="perhaps"),
            RemedyTried(remedy="gone", verdict="cured"),
        ],
        ids=["finding", "quantity", "check", "answer", "remedy"],
    )
    def test_what_the_rule_book_no_longer_has_is_passed_over(self, strange: Observation) -> None:
        """An old case must not break on a changed rule book."""
        known = gather(BOOK, (seen("dark"), strange))
        assert known == gather(BOOK, (seen("dark"),))

    @given(st.data())
    def test_taking_back_the_last_observation_leaves_no_trace(self, data: st.DataObject) -> None:
        """What is known depends on the list alone: any list, gathered again without its last item, forgets it."""
        every: list[Observation] = [
            seen("dark"),
            seen("dark", False),
            seen("worked-on"),
            Measurement(quantity="part", value=1.0),
            Measurement(quantity="part", value=2.0),
            CheckDone(check="both", answer="hot"),
            RemedyTried(remedy="fuse", verdict="not cured"),
            RemedyTried(remedy="lamp-remedy", verdict="partly"),
        ]
        said = data.draw(st.lists(st.sampled_from(every), max_size=6))
        before = gather(BOOK, said)
        gather(BOOK, [*said, data.draw(st.sampled_from(every))])
        assert gather(BOOK, said) == before


class TestRemedies:
    """A remedy that was carried out and proved speaks about its causes."""

    def test_not_cured_leaves_the_chance_that_it_did_not_work(self) -> None:
        """The factor of every cause of the remedy is 1 - works, once for each time that it was tried."""
        once = gather(BOOK, (RemedyTried(remedy="lamp-remedy", verdict="not cured"),))
        assert once.factors == {"lamp": pytest.approx(0.2), "socket": pytest.approx(0.2)}
        twice = gather(BOOK, (RemedyTried(remedy="lamp-remedy", verdict="not cured"),) * 2)
        assert twice.factors["lamp"] == pytest.approx(0.04)
        assert (once.cured, once.remedies_tried) == (False, {"lamp-remedy"})

    def test_where_results_may_be_misread_no_try_is_the_last(self) -> None:
        """A right remedy is taken for a vain one now and then, and the other way round; nothing is ruled out."""
        settings = msgspec.structs.replace(BOOK.settings, result_misread=0.1)
        book = msgspec.structs.replace(BOOK, settings=settings)
        in_vain = gather(book, (RemedyTried(remedy="lamp-remedy", verdict="not cured"),))
        assert in_vain.factors["lamp"] == pytest.approx(1 - 0.8 * 0.9)
        assert gather(book, (RemedyTried(remedy="lamp-remedy", verdict="partly"),)).factors["lamp"] == 0.1

    def test_not_cured_forgets_nothing(self) -> None:
        """All is as it was, so what was seen still stands."""
        known = gather(BOOK, (seen("dark"), RemedyTried(remedy="fuse", verdict="not cured")))
        assert known.answers == {"dark": True}

    @pytest.mark.parametrize("verdict", ["cured", "partly"])
    def test_a_proved_remedy_rules_its_causes_out_and_forgets_what_they_showed(self, verdict: str) -> None:
        """What may have come from the cause is to be looked at again; history stays, and so does the rest."""
        said = (seen("dark"), seen("worked-on"), seen("cold"), CheckDone(check="look", answer="yes"))
        known = gather(BOOK, (*said, RemedyTried(remedy="fuse", verdict=verdict)))
        assert known.factors == {"fuse": 0.0}
        assert known.answers == {"worked-on": True, "cold": True}
        assert known.origin.keys() == known.answers.keys()
        assert known.checks_done == set()
        assert known.cured == (verdict == "cured")

    def test_a_reading_from_which_a_forgotten_finding_followed_is_forgotten_too(self) -> None:
        """Also when a rule looks at what is calculated from it; readings of other things stay."""
        said = (Measurement(quantity="part", value=1.0), Measurement(quantity="whole", value=4.0))
        known = gather(BOOK, (*said, RemedyTried(remedy="lamp-remedy", verdict="partly")))
        assert known.values == {}
        assert gather(BOOK, (*said, RemedyTried(remedy="fuse", verdict="partly"))).values.keys() == {"part", "whole"}

    def test_a_field_of_the_data_sheet_is_not_forgotten(self) -> None:
        """The plate says after the repair what it said before."""
        rule = InferenceRule(
            id="field-is-small",
            when=Relation(quantity="field", relation="below", operands=(Operand(constant=1.0),)),
            present=("dark",),
            because="so it is",
        )
        plate = Quantity(id="field", title="field", unit="V", where_to_find="the plate")
        rule_book = book(finding("dark"), cause("fuse", {"dark": 0.9}), plate, rule)
        known = gather(
            rule_book, (Measurement(quantity="field", value=0.5), RemedyTried(remedy="fuse", verdict="partly"))
        )
        assert known.values == {"field": 0.5}

    def test_an_answer_after_the_cure_opens_the_case_again(self) -> None:
        """Somebody who still sees something is not cured."""
        known = gather(BOOK, (RemedyTried(remedy="fuse", verdict="cured"), seen("dark")))
        assert not known.cured
        assert known.answers == {"dark": True}


class TestCalculated:
    """Quantities that follow from others."""

    def test_calculated_as_soon_as_the_inputs_are_known(self) -> None:
        """Also one that is calculated from a calculated one."""
        values = with_calculated(BOOK, {"part": 1.0, "whole": 4.0, "field": 0.5})
        assert (values["share"], values["share-of-share"]) == (0.25, 0.5)

    def test_nothing_without_every_input(self) -> None:
        """Half of the inputs is as good as none."""
        assert with_calculated(BOOK, {"part": 1.0}) == {"part": 1.0}

    def test_what_was_measured_is_not_replaced(self) -> None:
        """A reading beats a calculation."""
        assert with_calculated(BOOK, {"part": 1.0, "whole": 4.0, "share": 0.9})["share"] == 0.9

    def test_out_of_range_stays_silent(self) -> None:
        """A division by nothing gives no value, and what hangs on it none either."""
        assert with_calculated(BOOK, {"part": 1.0, "whole": 0.0, "field": 1.0}).keys() == {"part", "whole", "field"}

    def test_a_word_where_a_figure_is_wanted_stays_silent(self) -> None:
        """A quantity whose value is a word goes into no calculation."""
        assert "share" not in with_calculated(BOOK, {"part": "much", "whole": 4.0})

    def test_a_reading_beats_the_data_sheet_and_foreign_fields_are_left_out(self) -> None:
        """What was measured counts more than what is on paper."""
        known = gather(BOOK, (Measurement(quantity="field", value=2.0),))
        assert all_values({"field": 1.0, "no-such-field": 3.0}, known, BOOK) == {"field": 2.0}

    def test_what_may_not_be_unknown_is_never_taken_as_something(self) -> None:
        """The display calls for a current only when both range values are known: LRV is not taken as zero."""
        values = {"displayed-flow": 0.01, "upper-range-value": 0.02}
        assert "current-from-display" not in with_calculated(real_rule_book(), values)
        known = with_calculated(real_rule_book(), {**values, "lower-range-value": 0.0})
        assert known["current-from-display"] == pytest.approx(0.012)

    def test_nothing_is_worked_out_from_a_limit(self) -> None:
        """Nor what hangs on it; the limit itself stays, and one that is itself a result is not replaced."""
        given: dict[str, Value] = {"part": Limit(1.0, "above"), "whole": 4.0, "field": 0.5}
        assert with_calculated(BOOK, given) == given
        assert with_calculated(BOOK, {**given, "part": 1.0, "share": Limit(0.2, "above")}).keys() == {*given, "share"}

    def test_an_input_that_may_be_unknown_may_still_not_be_a_limit(self) -> None:
        """A barrier of more than 300 ohm is not the same as none."""
        values: dict[str, Value] = {"receiver-resistance": 250.0, "other-loop-resistance": Limit(300.0, "above")}
        assert "planned-loop-load" not in with_calculated(real_rule_book(), values)

    def test_what_may_be_unknown_is_left_to_the_calculation(self) -> None:
        """A loop without barrier and cable on the data sheet has the resistance of its receiver."""
        assert with_calculated(real_rule_book(), {"receiver-resistance": 250.0})["planned-loop-load"] == 250.0

    def test_what_may_be_unknown_and_follows_counts(self) -> None:
        """20 km of 1.5 mm2 are 484 ohm (IEC 60228: 12.1 ohm/km a core), before the loop's load is worked out."""
        values = {"receiver-resistance": 250.0, "loop-cable-length": 20_000.0, "loop-conductor-area": 1.5e-6}
        worked = with_calculated(real_rule_book(), values)
        assert worked["loop-cable-resistance"] == pytest.approx(484.0)
        assert worked["planned-loop-load"] == pytest.approx(734.0)

    def test_what_is_told_in_part_does_not_count_as_none(self) -> None:
        """A cable whose cross-section nobody knows has some resistance: its load is not that of the receiver alone."""
        values = {"receiver-resistance": 250.0, "loop-cable-length": 20_000.0}
        assert "planned-loop-load" not in with_calculated(real_rule_book(), values)
        assert "loop-conductor-area" in missing_inputs(
            real_rule_book(), "planned-loop-load", values, real_rule_book().data_sheet_fields()
        )

    def test_in_whatever_order_quantities_stand(self) -> None:
        """What follows does not hang on the order in which an author wrote it."""
        book = real_rule_book()
        turned = msgspec.structs.replace(book, quantities=dict(reversed(book.quantities.items())))
        values = {
            "receiver-resistance": 250.0,
            "loop-cable-length": 20_000.0,
            "loop-conductor-area": 1.5e-6,
            "loop-supply-voltage": 24.0,
            "least-terminal-voltage": 12.0,
            "nominal-supply-voltage": 24.0,
        }
        assert with_calculated(turned, values) == with_calculated(book, values)

    def test_a_constant_input_of_the_real_rule_book(self) -> None:
        """Two terminations of 120 ohm are 60 ohm; biased by 560 ohm from 5 V the line idles at 0.2542 V."""
        values = with_calculated(real_rule_book(), {"bus-terminations": 2.0, "bus-bias-resistance": 560.0})
        assert values["expected-bus-resistance"] == pytest.approx(60.0)
        assert values["expected-bus-idle-voltage"] == pytest.approx(0.2542, abs=5e-5)

    def test_missing_inputs_are_fields_of_the_data_sheet_only(self) -> None:
        """Readings are taken, not looked up; a field that is known is not asked for."""
        assert missing_inputs(BOOK, "share-of-share", {}) == ("field",)
        assert missing_inputs(BOOK, "share-of-share", {"field": 1.0}) == ()
        assert missing_inputs(BOOK, "share", {}) == ()
        assert missing_inputs(BOOK, "no-such-quantity", {}) == ()


class TestToldFields:
    """What is told of the meter in passing counts as its data sheet."""

    def test_a_field_that_is_told_is_on_the_sheet(self) -> None:
        """A reading of something else is none, nor is what the rule book does not know."""
        said = [Measurement(quantity=name, value=2.0) for name in ("field", "part", "gone")]
        assert told_fields(BOOK, {}, said) == {"field": 2.0}

    def test_what_is_told_replaces_the_sheet_and_the_last_statement_holds(self) -> None:
        """Whoever stands before the meter knows it better than the paper, and better than a minute ago."""
        said = [Measurement(quantity="field", value=value) for value in (2.0, 3.0)]
        assert told_fields(BOOK, {"field": 1.0, "other": 5.0}, said) == {"field": 3.0, "other": 5.0}

    def test_of_several_values_none_excludes_another(self) -> None:
        """Whoever speaks of the pulse output today still has the loop that was told of yesterday."""
        rule_book = book(
            Quantity(id="output", title="output", choices=("bus", "loop", "pulse"), several=True, where_to_find="plate")
        )
        said = [Measurement(quantity="output", value=value) for value in (("pulse",), ("bus", "pulse"))]
        assert told_fields(rule_book, {}, said) == {"output": ("pulse", "bus")}
        assert told_fields(rule_book, {"output": ("loop",)}, said) == {"output": ("loop", "pulse", "bus")}
        one_word = Measurement(quantity="output", value="loop")
        assert told_fields(rule_book, {}, [*said, one_word]) == {"output": ("pulse", "bus", "loop")}
        known = gather(rule_book, said)
        assert known.values == {"output": ("pulse", "bus")}
        assert all_values({"output": ("loop",)}, known, rule_book) == {"output": ("loop", "pulse", "bus")}

    def test_the_sheet_itself_stays_as_it_was(self) -> None:
        """It is somebody else's."""
        sheet: DataSheet = {"field": 1.0}
        told_fields(BOOK, sheet, [Measurement(quantity="field", value=2.0)])
        assert sheet == {"field": 1.0}


def test_words_of_a_report_multiply_odds_and_a_later_report_replaces_them() -> None:
    """10 dB are a factor of ten; causes that are not named keep theirs, and a remedy tried counts beside."""
    first = WordEvidence(decibans={"fuse": -10.0, "lamp": 3.0})
    second = WordEvidence(decibans={"fuse": 10.0}, words={"fuse": ("wire", "bang")})
    assert cause_factors(gather(BOOK, (first,))) == pytest.approx({"fuse": 0.1, "lamp": 10**0.3})
    assert cause_factors(gather(BOOK, (first, second))) == pytest.approx({"fuse": 10.0})
    tried = RemedyTried(remedy="fuse", verdict="not cured")
    left = gather(BOOK, (tried,)).factors["fuse"]
    assert cause_factors(gather(BOOK, (second, tried)))["fuse"] == pytest.approx(10 * left)


def test_words_of_a_report_survive_the_journal() -> None:
    """They are observations like any other."""
    kept = WordEvidence(decibans={"fuse": 10.0}, words={"fuse": ("wire",)})
    assert msgspec.json.decode(msgspec.json.encode(kept), type=Observation) == kept
