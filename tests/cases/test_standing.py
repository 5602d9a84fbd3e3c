"""What the events of a case amount to."""

from __future__ import annotations

from dataclasses import asdict

import pytest

from diagnose.cases.events import (
    Acknowledgement,
    Cleared,
    CompetenceClaimed,
    CompetenceSaid,
    DangerMentioned,
    Disturbed,
    Event,
    FaultRemains,
    LeftAsIs,
    MeterNamed,
    NoComplaint,
    Note,
    NothingElse,
    NoTool,
    OthersWanted,
    PlantChanged,
    ReadingTaken,
    RemedyDone,
    Restored,
    Resumed,
    SetAside,
    SheetAsked,
    SheetFilled,
    StaysDisturbed,
    StepBegun,
    StepChosen,
    StepDeclined,
    StepMeasured,
    TextRead,
    Undo,
    WentOn,
)
from diagnose.cases.standing import Standing
from diagnose.observations import FindingSeen, Measurement, RemedyTried, State, WordEvidence
from tests.cases.any_events import DARK, EMPTY, SHEET, SHOCK, WHOLE, folded

OUT = Disturbed(step="look-at-bulb", what=("bulb-out", "shade-off"))
CURED = RemedyTried(remedy="change-bulb", verdict="cured")
PARTLY = RemedyTried(remedy="change-bulb", verdict="partly")
IN_VAIN = RemedyTried(remedy="change-bulb", verdict="not cured")


class TestEvents:
    """Each kind of event goes where the diagnosis and the next prompt look for it."""

    def test_a_case_begins_with_its_data_sheet_and_nothing_else(self) -> None:
        """No events are no observations, and an ordinary person until somebody says more."""
        assert folded() == EMPTY

    def test_observations_and_state_in_order(self) -> None:
        """What was seen, how the plant stands, what the person has and may do, what is set aside."""
        worded = WordEvidence(decibans={"bulb": 3.0})
        standing = folded(
            (DARK, worded),
            CompetenceSaid(competence="skilled"),
            PlantChanged(state="supply", value="isolated"),
            WHOLE,
            SetAside(step="measure-voltage", why="skipped"),
            NoTool(tool="multimeter"),
            PlantChanged(state="supply", value="live"),
            IN_VAIN,
        )
        assert standing.observations == (DARK, worded, WHOLE, IN_VAIN)
        assert standing.state == State(
            plant={"supply": "live"},
            competence="skilled",
            missing_tools=("multimeter",),
            set_aside=("measure-voltage",),
        )
        assert (standing.competence_said, standing.last_turn) == (True, 8)

    def test_a_field_that_nobody_knows_was_asked_for_and_stays_open(self) -> None:
        """Filled in singly, or asked for together on a screen."""
        standing = folded(
            (SheetFilled(field="place", value="inside"), SheetAsked(fields=("place", "age"))),
            SheetFilled(field="power"),
        )
        assert standing.data_sheet == {**SHEET, "place": "inside"}
        assert standing.asked == {"place", "age", "power"}

    def test_only_whole_screens_of_fields_count_as_screens(self) -> None:
        """A field told in passing is no screen; a screen taken back never was."""
        assert folded(SheetFilled(field="place", value="inside")).sheet_screens == 0
        screens = (SheetAsked(fields=("place", "age")), SheetAsked(fields=("power",)))
        assert folded(*screens).sheet_screens == 2
        assert folded(*screens, Undo(turn=1)).sheet_screens == 1
        assert folded(*screens, Undo(turn=1)).asked == {"power"}

    def test_what_was_told_in_words_is_kept_with_what_was_not_understood(self) -> None:
        """Whoever takes over reads it as it was said."""
        read = TextRead(text="Lamp dark. Cat asleep.", not_understood=("Cat asleep",))
        assert folded((read, DARK), Note(text="it is the old one")).texts == (read,)

    def test_a_hazard_that_is_over_is_named(self) -> None:
        """Whoever may say so said it."""
        assert folded(Cleared(finding="smoke")).cleared == {"smoke"}
        assert folded(Cleared(finding="smoke"), Undo(turn=1)).cleared == frozenset()

    def test_a_hazard_told_again_is_there_again(self) -> None:
        """It was over once; who smells smoke once more is stopped once more."""
        smoke, over = FindingSeen(finding="smoke", present=True), Cleared(finding="smoke")
        assert folded(smoke, over).cleared == {"smoke"}
        assert folded(smoke, over, smoke).cleared == frozenset()
        assert folded(smoke, over, smoke, over).cleared == {"smoke"}


class TestSteps:
    """What is under way, and when it is over."""

    TAKEN = ReadingTaken(step="measure-voltage", quantity="voltage", value=2.0)

    def test_readings_wait_until_their_step_is_over(self) -> None:
        """In the order taken, those that could not be taken among them; they are no observations yet."""
        standing = folded(self.TAKEN, ReadingTaken(step="measure-voltage", quantity="current"))
        assert standing.pending_readings == {"voltage": 2.0, "current": None}
        assert (standing.chosen, standing.observations) == ("measure-voltage", ())

    @pytest.mark.parametrize(
        "end",
        [
            StepMeasured(step="measure-voltage"),
            WHOLE,
            SetAside(step="measure-voltage", why="skipped"),
            NoTool(tool="multimeter"),
            CompetenceSaid(competence="ordinary"),
            RemedyDone(remedy="change-bulb"),
            IN_VAIN,
        ],
        ids=lambda event: type(event).__name__,
    )
    def test_however_a_step_ends_nothing_of_it_is_under_way(self, end: Event) -> None:
        """Its readings, the choice of it, and that others were wanted or it was declined."""
        begun = (OthersWanted(), StepDeclined(step="measure-voltage", why="no tool"), self.TAKEN)
        standing = folded(*begun, end)
        assert (standing.pending_readings, standing.chosen) == ({}, "")
        assert (standing.others_wanted, standing.declined) == (False, None)

    @pytest.mark.parametrize(
        "other",
        [StepChosen(step="look-at-bulb"), ReadingTaken(step="look-at-bulb", quantity="warmth", value=1.0)],
        ids=["chosen", "read at another"],
    )
    def test_readings_of_one_step_are_none_of_another(self, other: Event) -> None:
        """What was read a step ago is read again: only what is read together can be compared."""
        standing = folded(self.TAKEN, other)
        assert standing.chosen == "look-at-bulb"
        assert "voltage" not in standing.pending_readings

    def test_what_is_told_in_passing_ends_no_step(self) -> None:
        """A word about something else, a note, a field of the data sheet."""
        passing = (DARK, Note(text="x"), SheetFilled(field="place", value="inside"))
        assert folded(self.TAKEN, *passing).pending_readings == {"voltage": 2.0}

    def test_a_choice_closes_the_list_of_others(self) -> None:
        """Also that of the proposed step, which has no name."""
        assert folded(OthersWanted()).others_wanted
        assert not folded(OthersWanted(), StepChosen()).others_wanted
        assert folded(OthersWanted(), StepChosen(step="look-at-bulb")).chosen == "look-at-bulb"

    def test_a_remedy_waits_for_its_proof(self) -> None:
        """Until it is proved one way or the other, or stays unproved and is remembered as such."""
        done = RemedyDone(remedy="change-bulb")
        assert folded(done).unproved == "change-bulb"
        assert folded(done, WHOLE).unproved == "change-bulb"
        assert folded(done, CURED).unproved == ""
        other = RemedyTried(remedy="clean-socket", verdict="not cured")
        assert folded(done, other).unproved == "change-bulb"  # what is told of another one proves nothing of this
        left = folded(done, SetAside(step="change-bulb", why="not proved"))
        assert (left.unproved, left.not_proved) == ("", ("change-bulb",))

    def test_answers_are_counted_since_the_last_fault_was_put_right(self) -> None:
        """Checks, readings and remedies in vain count; what was passed over does not; a cure starts anew."""
        measured = (Measurement(quantity="voltage", value=2.0), StepMeasured(step="measure-voltage"))
        answered = (WHOLE, measured, IN_VAIN, SetAside(step="ask", why="answered by readings"))
        assert folded(*answered).answers == 4
        assert folded(*answered, SetAside(step="ask-more", why="unknown"), NoTool(tool="ladder")).answers == 4
        assert folded(*answered, PARTLY, WHOLE).answers == 1
        assert folded(*answered, WentOn()).answers == 0
        passed = folded(*answered, SetAside(step="ask-more", why="unknown"), SetAside(step="look", why="skipped"))
        assert (len(passed.in_vain), passed.passed_over) == (1, 2)

    def test_remedies_in_vain_are_known_until_one_cures_or_somebody_goes_on(self) -> None:
        """Each as often as it was tried."""
        assert folded(IN_VAIN, WHOLE, IN_VAIN).in_vain == (IN_VAIN.remedy, IN_VAIN.remedy)
        for after in (CURED, PARTLY, WentOn()):
            assert folded(IN_VAIN, after).in_vain == ()

    @pytest.mark.parametrize("step", [WHOLE, StepMeasured(step="x"), SetAside(step="x", why="skipped"), IN_VAIN])
    def test_after_a_step_somebody_has_looked(self, step: Event) -> None:
        """Not yet when only the complaint, the data sheet and the person are known."""
        before = (DARK, CompetenceSaid(competence="skilled"), SheetAsked(fields=("place",)), NoTool(tool="ladder"))
        assert not folded(*before).looked
        assert folded(*before, step).looked


class TestEndings:
    """What is said after a remedy and at the end."""

    def test_after_a_cure_something_else_may_be_wrong(self) -> None:
        """Asked for until it is told, then a case like any other."""
        assert folded(PARTLY).fault_remains
        assert folded(CURED, FaultRemains()).fault_remains
        assert not folded(CURED, FaultRemains(), DARK).fault_remains
        assert not folded(PARTLY, CURED).fault_remains

    def test_nothing_else_holds_until_something_is_told(self) -> None:
        """A word or a reading opens the case again."""
        assert folded(CURED, NothingElse()).nothing_else
        assert not folded(CURED, NothingElse(), DARK).nothing_else
        assert not folded(CURED, NothingElse(), Measurement(quantity="voltage", value=2.0)).nothing_else

    def test_a_plant_left_as_it_is_stays_so_until_the_work_goes_on(self) -> None:
        """Then it is to be put back again."""
        assert folded(LeftAsIs()).left_as_is
        assert not folded(LeftAsIs(), WentOn()).left_as_is
        assert not folded(LeftAsIs(), DARK).left_as_is

    def test_no_complaint_holds_until_a_remedy_was_tried(self) -> None:
        """Then it is asked again what is wrong."""
        assert folded(NoComplaint(), DARK).no_complaint
        assert not folded(NoComplaint(), IN_VAIN).no_complaint


class TestGoingOn:
    """At a hand-over the person goes on all the same."""

    ASIDE = tuple(
        SetAside(step=why, why=why)  # type: ignore[arg-type]
        for why in ("unknown", "skipped", "not done", "no tool", "may not", "answered by readings", "not proved")
    )

    def test_steps_come_back_but_not_those_that_readings_answered(self) -> None:
        """Nobody measures again what was measured."""
        assert folded(*self.ASIDE).state.set_aside == tuple(sorted((e.step for e in self.ASIDE), key=self._order))
        assert folded(*self.ASIDE, WentOn()).state.set_aside == ("answered by readings",)

    @staticmethod
    def _order(step: str) -> int:
        return step != "answered by readings"

    def test_tools_are_asked_for_again(self) -> None:
        """Somebody may have fetched them."""
        assert folded(NoTool(tool="ladder"), WentOn(), NoTool(tool="lamp")).state.missing_tools == ("lamp",)

    def test_what_is_set_aside_afterwards_stays_aside(self) -> None:
        """Until the person goes on once more."""
        again = (*self.ASIDE, WentOn(), SetAside(step="skipped", why="skipped"))
        assert folded(*again).state.set_aside == ("answered by readings", "skipped")
        assert folded(*again, WentOn()).state.set_aside == ("answered by readings",)

    def test_going_on_can_be_taken_back(self) -> None:
        """Then the steps are set aside as before."""
        turns = len(self.ASIDE) + 1
        gone_back = folded(*self.ASIDE, WentOn(), Undo(turn=turns))
        assert gone_back.state == folded(*self.ASIDE).state


class TestCautions:
    """What a change brings up is heeded for one step and one time; what was read holds for the case and the reader."""

    def test_heeded_for_the_step_that_is_coming(self) -> None:
        """By caution and step."""
        assert folded(DARK, SHOCK).heeded == {("shock", "look-at-bulb")}

    @pytest.mark.parametrize(
        "end",
        [
            WHOLE,
            StepMeasured(step="look-at-bulb"),
            SetAside(step="look-at-bulb", why="skipped"),
            IN_VAIN,
            RemedyDone(remedy="change-bulb"),
            PlantChanged(state="supply", value="live"),
            LeftAsIs(),
            Undo(turn=1),
        ],
        ids=lambda event: type(event).__name__,
    )
    def test_forgotten_when_a_step_ends_the_plant_changes_or_something_is_taken_back(self, end: Event) -> None:
        """Whoever comes again is warned again, in short, for it is known to have been read."""
        standing = folded(DARK, SHOCK, end)
        assert standing.heeded == frozenset()
        assert standing.read_before == {"shock"}

    def test_a_step_that_goes_on_needs_no_second_warning(self) -> None:
        """Readings at it, notes and words change nothing."""
        going_on = (ReadingTaken(step="look-at-bulb", quantity="warmth", value=1.0), Note(text="x"), DARK)
        assert folded(SHOCK, *going_on).heeded == {("shock", "look-at-bulb")}

    def test_what_was_only_possible_is_told_apart(self) -> None:
        """Until it was read as certain too."""
        perhaps = Acknowledgement(caution="shock", step="x", unless=("place",))
        assert folded(perhaps).read_as_possible == {"shock"}
        assert folded(perhaps, SHOCK).read_as_possible == folded(SHOCK, perhaps).read_as_possible == frozenset()

    @pytest.mark.parametrize(
        "end", [Resumed(), CompetenceSaid(competence="skilled")], ids=lambda event: type(event).__name__
    )
    def test_whoever_comes_later_has_read_nothing(self, end: Event) -> None:
        """After a shift, or when somebody takes over who may do more."""
        standing = folded(CompetenceSaid(competence="instructed"), SHOCK, end)
        assert (standing.heeded, standing.read_before) == (frozenset(), frozenset())

    def test_who_may_do_less_than_was_said_is_the_same_person(self) -> None:
        """Declining all steps of a kind is no change of reader."""
        assert folded(CompetenceSaid(competence="skilled"), SHOCK, CompetenceSaid(competence="ordinary")).read_before


class TestDisturbed:
    """What steps left otherwise than it was."""

    def test_held_until_it_is_put_back(self) -> None:
        """Each by itself."""
        assert folded(DARK, OUT).disturbed == ("bulb-out", "shade-off")
        assert folded(DARK, OUT, Restored(what=("bulb-out",))).disturbed == ("shade-off",)

    def test_taking_the_answer_back_puts_nothing_back(self) -> None:
        """The bulb stays out of its socket, whatever is typed."""
        assert folded(DARK, (WHOLE, OUT), Undo(turn=2)).disturbed == ("bulb-out", "shade-off")

    def test_whoever_takes_back_that_it_was_put_back_is_asked_again(self) -> None:
        """Better asked twice than forgotten."""
        assert folded(DARK, OUT, Restored(what=OUT.what), Undo(turn=3)).disturbed == OUT.what

    def test_what_is_left_for_now_is_held_still(self) -> None:
        """It is asked for again where it is disturbed anew, and after going on at a hand-over."""
        left = StaysDisturbed(what=("bulb-out",))
        assert folded(OUT, left).left_disturbed == {"bulb-out"}
        assert folded(OUT, left).disturbed == OUT.what
        assert folded(OUT, left, OUT).left_disturbed == frozenset()
        assert folded(OUT, left, WentOn()).left_disturbed == frozenset()


def test_every_field_of_a_standing_is_filled_by_some_event() -> None:
    """None stands there idle: a case in which everything happened differs from the empty one in all of them."""
    happened: list[Standing] = [
        folded((DARK, TextRead(text="dark"), Note(text="x")), CompetenceSaid(competence="skilled"), NoComplaint()),
        folded(SheetFilled(field="place", value="inside"), SheetAsked(fields=("age",)), Cleared(finding="smoke")),
        folded(SHOCK, StepDeclined(step="x", why="no tool"), OthersWanted(), NothingElse(), LeftAsIs()),
        folded(SetAside(step="y", why="not proved"), ReadingTaken(step="z", quantity="voltage", value=1.0), SHOCK),
        folded(WHOLE, RemedyDone(remedy="change-bulb"), FaultRemains()),
        folded(IN_VAIN, SetAside(step="x", why="skipped"), ReadingTaken(step="z", quantity="voltage")),
        folded(Acknowledgement(caution="gas", step="x", unless=("place",))),
        folded(StepBegun(step="x", changes=())),
        folded(MeterNamed(tag="L-1")),
        folded(Cleared(finding="smoke"), PlantChanged(state="supply", value="live")),
        folded(CompetenceClaimed(quote="I know lamps", competence="skilled")),
        folded(OUT, StaysDisturbed(what=("bulb-out",)), DangerMentioned(quote="it smells", findings=("smoke",))),
    ]
    empty = asdict(EMPTY)
    idle = [name for name, value in empty.items() if all(asdict(each)[name] == value for each in happened)]
    assert idle == []
