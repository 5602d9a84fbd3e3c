"""What is worked out once for a rule book, and what is remembered of the meters that were met."""

from __future__ import annotations

import msgspec
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.observations import FindingSeen, Measurement, Observation, State
from diagnose.reasoning.costs import Costs
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.diagnosis import diagnose, remembered
from diagnose.reasoning.engine import KEPT, Engine
from diagnose.reasoning.posterior import build_network
from diagnose.rule_book.competence import COMPETENCES
from diagnose.rule_book.condition_types import All, Condition, FindingIs, Operand, Relation
from diagnose.rule_book.plant import as_it_can_stand
from diagnose.rule_book.quantities import Calculation, DataSheet, Quantity
from diagnose.rule_book.rules import InferenceRule
from diagnose.rule_book.work import Outcome
from tests.engines import real_engine
from tests.reasoning.books import book, cause, check, finding, remedy, state, yes_or_no


def below(quantity: str, figure: float) -> Relation:
    """Return the condition that a quantity is below a figure."""
    return Relation(quantity=quantity, relation="below", operands=(Operand(constant=figure),))


def rule(name: str, when: Condition, present: str) -> InferenceRule:
    """Return a rule that concludes one finding."""
    return InferenceRule(id=name, when=when, present=(present,), because=f"because of {name}", source="judgement")


def small_engine() -> Engine:
    """Return the engine of a lamp: one field, two readings, a rule on findings, one on the field, two on readings."""
    return Engine(
        book(
            *(finding(name) for name in ("dark", "no-light", "outside-lamp", "voltage-missing", "hum")),
            cause("fuse", {"dark": 0.9, "voltage-missing": 0.9}, applies={"place": ("outside",)}),
            cause("bulb", {"dark": 0.9}),
            state("supply", 1, "live", "isolated"),
            remedy("fuse", needs={"supply": ("isolated",)}, competence="skilled"),
            Quantity(
                id="place", title="place", choices=("inside", "outside"), where_to_find="look", on_data_sheet=True
            ),
            Quantity(id="nominal", title="nominal voltage", unit="V", where_to_find="plate", on_data_sheet=True),
            Quantity(id="voltage", title="voltage", unit="V"),
            Quantity(
                id="share",
                title="share of the voltage",
                calculate=Calculation(function="ratio", inputs={"part": "voltage", "whole": "nominal"}),
            ),
            yes_or_no("look", "dark"),
            check("measure", measures="voltage"),
            rule("dark", FindingIs("dark", True), "no-light"),
            rule("place", Relation(quantity="place", relation="one of", choices=("outside",)), "outside-lamp"),
            rule("low", below("share", 0.1), "voltage-missing"),
            rule("hums", All((FindingIs("dark", True), below("voltage", 100.0))), "hum"),
        )
    )


class TestWorkedOutOnce:
    """What follows from the rule book alone."""

    def test_the_same_object_comes_back(self) -> None:
        """Rules are compiled once, and so is everything else that hangs on the rule book alone."""
        engine = real_engine()
        assert engine.inference is engine.inference
        assert engine.inference_without_readings is engine.inference_without_readings
        assert engine.lexicon is engine.lexicon
        assert engine.outcomes is engine.outcomes
        assert engine.concluded is engine.concluded

    def test_two_engines_share_nothing(self) -> None:
        """What one has met, another of the same rule book has not."""
        one, other = Engine(small_engine().rule_book), Engine(small_engine().rule_book)
        assert one.inference is not other.inference
        remembered(one, {}, (), State())
        assert (len(one.diagnoses), len(other.diagnoses)) == (1, 0)

    def test_an_outcome_that_sets_nothing_is_no_outcome_for_planning(self) -> None:
        """An answer like "cannot tell" would else seem as probable as all others together."""
        look = check(
            "look", Outcome(answer="yes", present=("f",)), Outcome(answer="no", absent=("f",)), Outcome(answer="?")
        )
        engine = Engine(book(finding("f"), cause("c", {"f": 0.9}), look))
        assert engine.outcomes["look"] == ({"f": True}, {"f": False})

    def test_a_reading_has_an_outcome_for_each_finding_that_rules_conclude_from_it_and_one_for_none(self) -> None:
        """Also by way of what is calculated from it."""
        engine = small_engine()
        assert engine.concluded["voltage"] == ("hum", "voltage-missing")
        assert engine.concluded["nominal"] == ("voltage-missing",)
        assert engine.outcomes["measure"] == (
            {"hum": False, "voltage-missing": False},
            {"hum": True, "voltage-missing": False},
            {"hum": False, "voltage-missing": True},
        )


class TestConsequences:
    """What follows where nothing is measured."""

    def test_from_findings_and_the_data_sheet(self) -> None:
        """A rule that needs a reading stays silent; what was seen stays as it was."""
        found = small_engine().consequences({"dark": True, "hum": False}, {"place": "outside"})
        assert found.findings == {"dark": True, "hum": False, "no-light": True, "outside-lamp": True}

    def test_what_no_rule_looks_at_stays(self) -> None:
        """It only goes past the rules."""
        assert small_engine().consequences({"voltage-missing": True}, {}).findings == {"voltage-missing": True}

    def test_as_all_rules_say_on_the_real_rule_book(self) -> None:
        """Each finding by itself, on a meter of which something is known: what the whole inference concludes."""
        engine = real_engine()
        sheet: DataSheet = {"pipe": "bare metal", "drive-near": "yes", "position": "high point"}
        for name in list(engine.rule_book.findings)[::4]:
            for present in (True, False):
                whole = engine.inference.run({name: present}, sheet).findings
                assert engine.consequences({name: present}, sheet).findings == whole


SHARING = Engine(real_engine().rule_book)


class TestMeters:
    """Networks and costs are remembered by what is known of the meter."""

    def test_a_network_is_remembered_by_the_values_of_the_data_sheet(self) -> None:
        """An equal sheet gets the same network, another sheet its own, and each is the one that is built for it."""
        engine = small_engine()
        outside = engine.network({"place": "outside"})
        assert engine.network({"place": "outside"}) is outside
        assert engine.network({"place": "inside"}).causes == ("bulb",)
        assert outside.causes == build_network(engine.rule_book, {"place": "outside"}).causes == ("bulb", "fuse")

    def test_a_sheet_that_is_changed_afterwards_does_not_change_what_is_remembered(self) -> None:
        """The engine keeps the values, not the sheet."""
        engine = small_engine()
        sheet: DataSheet = {"place": "outside"}
        network = engine.network(sheet)
        sheet["place"] = "inside"
        assert engine.network(sheet) is not network
        assert engine.network({"place": "outside"}) is network

    def test_meters_share_what_hangs_on_nothing_in_which_they_differ(self) -> None:
        """Where no step hangs on the place, nor any cause on a figure, costs and network are the same."""
        engine = small_engine()
        assert engine.costs({"place": "outside"}, State()) is engine.costs({"place": "inside"}, State())
        assert engine.network({"nominal": 1.0}) is engine.network({"nominal": 2.0}) is engine.network({})

    @settings(max_examples=25, deadline=None)
    @given(data=st.data())
    def test_what_meters_share_is_what_is_worked_out_for_each(self, data: st.DataObject) -> None:
        """On the real rule book, whatever else was met before: minutes, ways and what is allowed of every step."""
        book = SHARING.rule_book
        fields = data.draw(st.lists(st.sampled_from(sorted(book.fields_of_steps())), max_size=3, unique=True))
        sheet: DataSheet = {
            name: (data.draw(st.sampled_from(book.quantities[name].choices)),)
            for name in fields
            if book.quantities[name].choices
        }
        unknown = tuple(data.draw(st.lists(st.sampled_from(sorted(book.forbidding_fields())), max_size=2)))
        state = State(competence=data.draw(st.sampled_from(COMPETENCES)), not_known=unknown)
        shared, own = SHARING.costs(sheet, state), Costs(Dangers(book, sheet, unknown), state)
        standing = {name: data.draw(st.sampled_from(each.values)) for name, each in book.states.items()}
        standing = as_it_can_stand(book.states, standing)
        for step in [*book.checks.values(), *book.remedies.values()]:
            one, other = shared.of(step, shared.number(standing)), own.of(step, own.number(standing))
            assert (one.minutes, one.allowed, one.exposes) == (other.minutes, other.allowed, other.exposes), step.id

    def test_costs_belong_to_a_meter_and_a_person_and_not_to_how_the_plant_stands(self) -> None:
        """Competence and tools count; what is set aside or switched does not."""
        engine = small_engine()
        costs = engine.costs({}, State(competence="skilled"))
        standing = State(competence="skilled", plant={"supply": "isolated"}, set_aside=("look",))
        assert engine.costs({}, standing) is costs
        assert engine.costs({}, State(competence="ordinary")) is not costs
        assert engine.costs({}, State(competence="skilled", missing_tools=("ladder",))) is not costs
        assert isinstance(costs, Costs)

    def test_no_more_than_so_many_are_kept(self) -> None:
        """A day at the helpdesk does not fill the memory, and what was forgotten is built again alike."""
        engine = small_engine()
        first_sheet: DataSheet = {"place": "outside"}
        first = engine.network(first_sheet)
        for number in range(3 * KEPT):
            engine.network({"place": f"place {number}"})
            engine.costs({}, State(competence="skilled", missing_tools=(f"tool {number}",)))
            remembered(engine, {"nominal": float(number)}, (), State())
        assert engine._networks.cache_info().currsize == engine._costs.cache_info().currsize == KEPT
        assert len(engine.diagnoses) <= KEPT
        again = engine.network(first_sheet)
        assert again is not first
        assert (again.causes, again.priors.tolist()) == (first.causes, first.priors.tolist())


SMALL = small_engine()
OBSERVED: list[Observation] = [
    FindingSeen(finding="dark", present=True),
    FindingSeen(finding="dark", present=False),
    Measurement(quantity="voltage", value=1.0),
    Measurement(quantity="place", value="inside"),
]
ARGUMENTS = st.tuples(
    st.dictionaries(st.just("place"), st.sampled_from(["inside", "outside"])),
    st.lists(st.sampled_from(OBSERVED), max_size=3).map(tuple),
    st.builds(
        State,
        competence=st.sampled_from(COMPETENCES),
        plant=st.dictionaries(st.just("supply"), st.sampled_from(["live", "isolated"])),
        set_aside=st.sampled_from([(), ("look",)]),
    ),
)


class TestRemembered:
    """A diagnosis that was just made is not made again."""

    @given(st.lists(ARGUMENTS, min_size=1, max_size=12))
    @settings(max_examples=60, deadline=None)
    def test_it_is_the_diagnosis(self, asked: list[tuple]) -> None:
        """Whatever was asked before, in any order and again: what a fresh engine says."""
        for arguments in asked:
            assert remembered(SMALL, *arguments) == diagnose(Engine(SMALL.rule_book), *arguments)

    def test_the_same_question_gets_the_same_object(self) -> None:
        """Asked with equal arguments, whoever made them."""
        engine = small_engine()
        first = remembered(engine, {"place": "outside"}, (OBSERVED[0],), State(plant={"supply": "live"}))
        seen = msgspec.structs.replace(OBSERVED[0])
        assert remembered(engine, {"place": "outside"}, (seen,), State(plant={"supply": "live"})) is first

    def test_a_sheet_that_is_changed_afterwards_gets_its_own_diagnosis(self) -> None:
        """A form that is filled in step by step may hand over the same sheet again and again."""
        engine = small_engine()
        sheet: DataSheet = {"place": "outside"}
        remembered(engine, sheet, (), State())
        sheet["place"] = "inside"
        assert remembered(engine, sheet, (), State()) == diagnose(engine, {"place": "inside"}, (), State())
        assert remembered(engine, {"place": "outside"}, (), State()).probability("fuse") > 0
