"""Reversible and cheap remedies come before draining ones: what does for now, and what remains to be planned."""

from __future__ import annotations

import pytest

from diagnose.cases.events import Case, CompetenceSaid, SetAside
from diagnose.documents.text import make_console, write
from diagnose.interview.endings import hand_over
from diagnose.observations import CheckDone, FindingSeen, Observation, RemedyTried, State
from diagnose.protocol.machine import prompt_in
from diagnose.protocol.prompts import HandOverPrompt, QuestionPrompt
from diagnose.protocol.put_off import put_off
from diagnose.protocol.replies import NoOtherFault
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.reasoning.diagnosis import diagnose
from diagnose.reasoning.proposals import Proposals
from diagnose.rule_book.quantities import DataSheet
from tests.engines import real_engine

ENGINE = real_engine()
BOOK = ENGINE.rule_book
BIG = {each.id for each in BOOK.remedies.values() if BOOK.settings.big_remedies.has(each)}
WITH = {each.id: each.interim for each in BOOK.remedies.values() if each.interim}

NONE = {
    "signal-core-broken": "reconnecting the core is as quick as a cable laid in the open",
    "air-slugs-after-start": "the air comes in again at the next stop",
    "backlight-failed": "a torch shows the figures, and the light is still out",
    "barrier-leaks": "nobody bridges a barrier",
    "both-ends-feed-loop": "taking one of the two feeds off is the remedy itself",
    "bus-lines-short-circuited": "splitting the line until the short is off is the remedy itself",
    "bus-without-common": "a conductor joined for now is the conductor that is missing",
    "cable-too-long": "no setting takes away the length",
    "cabinet-flooded": "nothing that was under water is switched on before it was dried and tested",
    "coil-circuit-shorted": "the driver is destroyed by going on",
    "coil-insulation-failed": "it is inside the sensor",
    "coil-open": "it is inside the sensor",
    "display-faded-by-sun": "the module stays faded",
    "display-module-failed": "a borrowed module is the remedy itself",
    "earth-leakage-in-meter": "nobody bridges what trips",
    "electrode-corroded": "it is inside the sensor, and may leak",
    "electrode-leaking": "liquid in the sensor: it comes out",
    "electrode-material-unsuited": "damping hides what eats the electrodes",
    "excitation-faulty": "a board that failed is replaced",
    "gas-forms-at-electrodes": "damping hides what eats the electrodes",
    "input-amplifier-failed": "a board that failed is replaced",
    "inputs-share-a-common": "wiring the inputs apart is the remedy itself",
    "isolator-faulty": "an isolator borrowed from the shelf is the remedy itself",
    "line-frozen": "it stays frozen until it is thawed",
    "liner-collapsed": "it is inside the sensor, and moves on",
    "liner-damaged": "liquid gets behind the liner",
    "liner-worn": "a factor hides a liner that goes on wearing",
    "liquid-too-hot-for-liner": "what the heat did to the liner stays",
    "loop-earthed-twice": "taking one earth off is the remedy itself",
    "loop-shorted": "taking the short off is the remedy itself",
    "magnetic-field-near": "no setting shields the coils",
    "magnetic-particles": "the error follows the solids, no factor holds",
    "memory-corrupted": "writing the settings back is the remedy itself",
    "other-device-blocks-bus": "taking the device off is the remedy itself",
    "power-board-failed": "a board that failed is replaced",
    "power-board-shorted": "a board that failed is replaced",
    "protective-device-unsuited": "nobody bridges what protects people",
    "second-phase-not-conductive": "no setting makes the second liquid conduct",
    "stray-current-through-meter": "the cable round the meter is the remedy itself",
    "sulphide-corrosion": "a contact scraped bright is black again in weeks",
    "surge-damage": "boards that failed are replaced",
    "unlike-metals-at-electrodes": "a strap closes the circuit of the two metals, and does not open it",
    "wrong-kind-of-supply": "the supply on the nameplate is the remedy itself",
}
"""Big remedies for which nothing does for now, and why."""


def test_every_big_remedy_names_what_does_for_now_or_is_listed_as_having_nothing() -> None:
    """None is invented, and none is forgotten."""
    assert NONE.keys() | (BIG & WITH.keys()) == BIG
    assert not NONE.keys() & WITH.keys()


@pytest.mark.parametrize("name", sorted(set(WITH.values())))
def test_what_does_for_now_opens_and_drains_nothing(name: str) -> None:
    """It is quicker than all that it puts off."""
    interim = BOOK.remedies[name]
    assert not {"line-opened", "line-drained", "heavy-lift"} & set(interim.meets)
    assert "drained" not in interim.needs.get("line", ())
    assert interim.works < BOOK.settings.remedy_works
    assert all(interim.minutes < each.minutes for each in BOOK.lasting(name))


def proposals(sheet: DataSheet, *observations: Observation, state: State | None = None) -> Proposals:
    """Return what is proposed to a skilled person."""
    return diagnose(ENGINE, sheet, observations, state or State(competence="skilled")).proposals


def shown(cause: str) -> tuple[Observation, ...]:
    """Return all that a cause usually shows."""
    strengths = BOOK.causes[cause].shows
    told = sorted(strengths, key=lambda name: -strengths[name])[:6]
    return tuple(FindingSeen(finding=name, present=True) for name in told)


PUT_OFF = [each.id for each in BOOK.causes.values() if BOOK.remedies[each.remedy].interim]


@pytest.mark.parametrize("name", PUT_OFF)
def test_the_interim_comes_before_the_lasting_remedy(name: str) -> None:
    """Wherever the lasting one is offered at all and the other is in place on this meter."""
    cause = BOOK.causes[name]
    sheet: DataSheet = {field: words[0] for field, words in cause.applies.items()}
    interim = BOOK.remedies[BOOK.remedies[cause.remedy].interim]
    offered = [each.id for each in proposals(sheet, *shown(name)).remedies]
    assert interim.id in offered
    assert cause.remedy in offered
    assert offered.index(interim.id) < offered.index(cause.remedy)


COATED = (
    FindingSeen(finding="reads-low", present=True),
    FindingSeen(finding="came-slowly", present=True),
    FindingSeen(finding="electrode-resistance-high", present=True),
    CheckDone(check="look-at-electrodes", answer="covered with something that does not conduct"),
)


class TestWhatComesFirst:
    """Flushing before the sensor comes out."""

    def test_the_interim_is_the_next_step_and_says_what_lasts(self) -> None:
        """With the shutdown at which it is due."""
        step = proposals({}, *COATED).next
        assert (step.kind, step.id) == ("remedy", "flush-in-place")
        assert "at the next shutdown: “Clean the electrodes”" in step.because

    def test_it_is_not_done_on_words_alone(self) -> None:
        """A factor or a filter hides many a cause: first a look or a reading speaks for this one."""
        for cause in ("straight-run-too-short", "electrodes-coated", "drive-interference", "supply-dips"):
            assert proposals({}, *shown(cause)).next.kind == "check", cause

    def test_where_it_did_not_help_the_lasting_remedy_is_next(self) -> None:
        """And it is not offered a second time."""
        in_vain = RemedyTried(remedy="flush-in-place", verdict="not cured")
        found = proposals({}, *COATED, in_vain)
        assert "flush-in-place" not in [each.id for each in found.remedies]
        assert found.remedies[0].id == "electrodes-coated"

    def test_where_the_line_stands_drained_anyway_the_lasting_remedy_comes_at_once(self) -> None:
        """Nobody fills a line to flush a sensor that can come out now."""
        opened = State(competence="skilled", plant={"line": "drained", "supply": "isolated"})
        offered = [each.id for each in proposals({}, *COATED, state=opened).remedies]
        assert offered[0] == "electrodes-coated"
        assert "flush-in-place" not in offered


class TestWhatDoesForNowHurtsNobody:
    """It is quick because little is done, not because something is left out."""

    @pytest.mark.parametrize(
        "name",
        [
            *("bond-for-now", "arrester-out-for-now", "use-a-spare-channel", "feed-from-another-circuit"),
            *("spare-core-for-the-supply", "supply-cable-for-now", "pump-the-pit-dry", "tighten-the-joint-relieved"),
            *("feed-the-loop-for-now", "take-a-device-out-of-the-loop", "prop-the-pipe-for-now"),
        ],
    )
    def test_earths_supplies_and_pressure_are_for_skilled_persons(self, name: str) -> None:
        """Whoever only knows the plant leaves them alone."""
        assert BOOK.remedies[name].competence == "skilled"

    @pytest.mark.parametrize(
        "name",
        [
            *("bond-for-now", "pump-the-pit-dry", "feed-from-another-circuit", "arrester-out-for-now"),
            *("cover-against-the-cold", "shade-for-now", "supply-cable-for-now", "feed-the-loop-for-now"),
            "take-a-device-out-of-the-loop",
        ],
    )
    def test_not_where_there_may_be_an_explosive_atmosphere(self, name: str) -> None:
        """Leads, pumps and plastic sheets make sparks."""
        assert BOOK.remedies[name].not_when["hazardous-area"] == ("yes",)

    @pytest.mark.parametrize(
        ("name", "duties"),
        [
            *((each, {"protection", "dosing", "custody"}) for each in ("damp-more", "correct-by-a-factor")),
            *((each, {"protection", "dosing"}) for each in ("filter-at-the-receiver", "filter-at-the-counter")),
            *(
                (each, {"protection"})
                for each in ("restart-the-bus-master", "slow-the-bus-down", "poll-slower-for-now")
            ),
            *((each, {"protection"}) for each in ("use-a-spare-channel", "feed-the-loop-for-now")),
            ("take-a-device-out-of-the-loop", {"protection"}),
        ],
    )
    def test_a_signal_that_protects_or_doses_is_not_doctored(self, name: str, duties: set[str]) -> None:
        """A filter delays the trip, a factor doses on a guess."""
        assert duties <= set(BOOK.remedies[name].not_when["signal-duty"])
        assert "loop-in-manual" in BOOK.remedies[name].disturbs or "count" in BOOK.remedies[name].proved_by

    @pytest.mark.parametrize(
        ("name", "said"),
        [
            ("bond-for-now", "each to protective earth"),
            ("bond-for-now", "Never undo a terminal that holds a conductor"),
            ("bridge-round-the-meter", "each pipe and the meter body to protective earth"),
            ("prop-the-pipe-for-now", "With the line at rest and locked"),
            ("pump-the-pit-dry", "Leave it off until a skilled person"),
            ("feed-from-another-circuit", "Old feed off at the board"),
            ("feed-from-another-circuit", "label at both switches: fed from"),
            (
                "feed-from-another-circuit",
                "isolate and lock off the circuit that you connect to as well as the old one",
            ),
            ("feed-from-another-circuit", "must protect the meter's cable"),
            ("spare-core-for-the-supply", "never of a signal or control cable"),
            ("spare-core-for-the-supply", "Never use the green-yellow core as a phase"),
            ("spare-core-for-the-supply", "then discharge it"),
            ("supply-cable-for-now", "Test its insulation with both ends off, discharge it"),
            ("supply-cable-for-now", "The board is treated as live too"),
            ("bond-for-now", "Not before pipe and meter body were measured to protective earth with the meter running"),
            ("feed-the-loop-for-now", "Take the failed feed off first"),
            ("feed-the-loop-for-now", "more than 30 V d.c.: stop, connect nothing"),
            ("take-a-device-out-of-the-loop", "prove it dead at the device"),
            ("pump-the-pit-dry", "gas detector"),
            ("arrester-out-for-now", "outdoors, at any season"),
            ("use-another-output", "Close up, switch on"),
            ("use-a-spare-channel", "written permit"),
            ("use-a-spare-counter-input", "Any a.c., or more than 30 V d.c.: stop, close, fetch a skilled person"),
            ("throttle-behind-meter", "Not with a displacement pump"),
            ("tighten-the-joint-relieved", "A blocked gauge shows zero too"),
            ("blow-the-strainer-down", "gas detector on you"),
            ("blow-the-strainer-down", "face shield"),
        ],
    )
    def test_what_keeps_people_whole_is_said(self, name: str, said: str) -> None:
        """In the step itself, for this job."""
        assert said in " ".join(BOOK.remedies[name].steps)

    @pytest.mark.parametrize(
        ("name", "begins"),
        [("shut-by-hand-at-standstill", "Displacement pump"), ("spare-core-for-the-supply", "Cable crushed or wet")],
    )
    def test_what_must_be_left_out_is_said_before_anything_else(self, name: str, begins: str) -> None:
        """A hand valve behind a displacement pump bursts the line; a wet cable kills over every core."""
        assert BOOK.remedies[name].steps[0].startswith(begins)

    @pytest.mark.parametrize("name", ["use-another-output", "use-a-spare-pulse-output"])
    def test_an_output_is_set_before_anything_hangs_on_it(self, name: str) -> None:
        """One that is off or has another use upsets the receiver."""
        told = " ".join(BOOK.remedies[name].steps).lower()
        assert told.index("switch the output on in the settings") < told.index("only then")

    def test_the_prop_is_set_at_rest_and_the_pit_stays_off(self) -> None:
        """The states say it, not only the words."""
        prop, pit = BOOK.remedies["prop-the-pipe-for-now"], BOOK.remedies["pump-the-pit-dry"]
        assert prop.needs["line"] == ("stopped full",)
        assert {"process-stopped", "automatic-start"} <= set(prop.meets)
        assert "supply" not in pit.leaves
        assert pit.needs["supply"] == ("isolated",)

    @pytest.mark.parametrize("name", ["bond-for-now", "feed-from-another-circuit", "arrester-out-for-now"])
    def test_conductors_are_handled_with_the_supply_isolated(self, name: str) -> None:
        """And proved dead, where the cover is open."""
        assert BOOK.remedies[name].needs["supply"] == ("isolated",)

    @pytest.mark.parametrize("cause", ["liner-worn", "electrode-material-unsuited"])
    def test_what_goes_on_getting_worse_is_not_hidden(self, cause: str) -> None:
        """A factor or a filter would make it look right."""
        assert BOOK.remedies[BOOK.causes[cause].remedy].interim == ""


def case(*more: object) -> Case:
    """Return the case of coated electrodes, with events after it."""
    made = Case(name="coated").after(*COATED).after(CompetenceSaid(competence="skilled"))
    for event in more:
        made = made.after(event)  # type: ignore[arg-type]
    return made


FLUSHED = RemedyTried(remedy="flush-in-place", verdict="cured")


class TestTheEnd:
    """The complaint is gone, and the work is not over."""

    def ended(self, made: Case) -> tuple[HandOverPrompt, str]:
        """Answer that nothing else is wrong; return the ending and what it shows."""
        prompt = prompt_in(Situation(ENGINE, made))
        assert isinstance(prompt, QuestionPrompt)
        assert prompt.about == "other fault"
        made = made.after(*respond(ENGINE, made, prompt, NoOtherFault()).events)
        ending = prompt_in(Situation(ENGINE, made))
        assert isinstance(ending, HandOverPrompt)
        console = make_console(file=None, width=200)
        with console.capture() as capture:
            write(console, hand_over(Situation(ENGINE, made), ending))
        return ending, capture.get()

    def test_what_remains_is_told_with_the_proof(self) -> None:
        """Before anybody says that all is well."""
        prompt = prompt_in(Situation(ENGINE, case(FLUSHED)))
        assert isinstance(prompt, QuestionPrompt)
        assert "to be planned for the next shutdown: “Clean the electrodes”" in prompt.text

    def test_the_ending_names_the_lasting_remedy(self) -> None:
        """With who, how long and what for."""
        ending, text = self.ended(case(FLUSHED))
        assert ending.put_off == ("electrodes-coated",)
        assert "Cured for now, and proved: Flush or clean the meter in place" in text
        assert "REMAINS TO BE PLANNED, at the next shutdown: Clean the electrodes" in text
        assert "skilled person" in text

    def test_once_it_was_carried_out_nothing_remains(self) -> None:
        """In the same case, after the complaint came back."""
        back = FindingSeen(finding="reads-low", present=True)
        lasting = RemedyTried(remedy="electrodes-coated", verdict="cured")
        ending, text = self.ended(case(FLUSHED, back, lasting))
        assert ending.put_off == ()
        assert "REMAINS TO BE PLANNED" not in text

    def test_what_could_not_be_proved_puts_off_as_well(self) -> None:
        """Whoever takes over is told of both."""
        made = case(SetAside(step="flush-in-place", why="not proved"))
        assert put_off(Situation(ENGINE, made)) == ("electrodes-coated",)

    def test_what_did_not_help_puts_off_nothing(self) -> None:
        """There the lasting remedy is the next step, not a plan."""
        made = case(RemedyTried(remedy="flush-in-place", verdict="not cured"))
        assert put_off(Situation(ENGINE, made)) == ()
