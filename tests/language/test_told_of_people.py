"""What others have changed already, and who somebody says they are, in words of their own."""

from __future__ import annotations

import pytest

from diagnose.cases.events import Case, CompetenceClaimed, CompetenceSaid, Disturbed
from diagnose.commands.helpdesk import triage_document
from diagnose.language.understanding import understand
from diagnose.observations import FindingSeen
from diagnose.protocol import replies
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import HandOverPrompt, PutBackPrompt, QuestionPrompt, StopPrompt
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.protocol.telling import read_words
from diagnose.rule_book.competence import Competence
from diagnose.triage.report import triage
from tests.engines import real_engine

ENGINE = real_engine()


class TestChangedAlready:
    """It is put back at the end, or named at the hand-over, like what a step of the case has changed."""

    @pytest.mark.parametrize(
        ("text", "what"),
        [
            ("the operator has put the controller in manual already; display is dark", "loop-in-manual"),
            ("loop is in manual, reading jumps", "loop-in-manual"),
            ("Reading jumps. The loop was put in manual by the night shift.", "loop-in-manual"),
            ("we have switched it to manual, display dark", "loop-in-manual"),
            ("dosing is in manual since this morning and the display is dark", "loop-in-manual"),
            ("low flow trip is bypassed, reads low", "trip-overridden"),
            ("the interlock has been bypassed by the shift, reads low", "trip-overridden"),
            ("the interlock is overridden, display dark", "trip-overridden"),
            ("I took the coil leads off the terminals to measure them: 120 ohm", "sensor-leads-off"),
            ("we have disconnected the electrode cores, reads zero", "sensor-leads-off"),
            ("reads zero. The sensor cable is still off.", "sensor-leads-off"),
            ("signal cable disconnected for the check, reads zero", "sensor-leads-off"),
            ("the loop wires are not back on, display dark", "loop-cores-off"),
            ("I lifted the pulse wires, the counter stands still", "pulse-cores-off"),
            ("reads low, and the PE wire is still disconnected", "protective-earth-off"),
        ],
    )
    def test_told_it_is_kept(self, text: str, what: str) -> None:
        """As an event that going back does not undo, and asked whether that is right."""
        turn = read_words(Situation(ENGINE, Case()), text)
        assert Disturbed(step="", what=(what,)) in turn.events
        assert any("to be put back at the end" in each.text for each in turn.remarks)
        assert Situation(ENGINE, Case().after(*turn.events)).disturbed == (what,)

    @pytest.mark.parametrize(
        "text",
        [
            "loop is not in manual",
            "loop was in manual, is back in auto",
            "should I put the loop in manual?",
            "put the loop in manual before you start",
            "we can put the loop in manual if needed",
            "controller hunts, in manual it is calm",
            "steady in manual, swings in auto",
            "I have read the controller manual",
            "manual valve upstream is shut",
            "no trip is bypassed",
            "interlock tripped last night",
            "trip was bridged, the bridge has been removed",
            "I took the coil leads off to measure them and put them back on",
            "shall I take the coil leads off?",
            "when I disconnected the sensor cable the error came",
            "the coil leads are back on",
            "the loop wires are not disconnected",
            "if I take the loop wires off it reads 4 mA",
        ],
    )
    def test_what_is_not_so_or_put_back_is_not_kept(self, text: str) -> None:
        """Nor what is only asked, ordered, or said of what happens in manual."""
        assert understand(text, ENGINE.lexicon).disturbed == ()

    def test_told_before_the_first_step_it_is_asked_for_at_the_end(self) -> None:
        """The hand-over does not come before it was asked; left as it is, the hand-over names it."""
        case = Case(name="manual", data_sheet={"hazardous-area": "no", "location": ("building",)})
        for text in ("the operator has put the controller in manual already", "display is dark"):
            case = case.after(*read_words(Situation(ENGINE, case), text).events)
        case = case.after(CompetenceSaid(competence="instructed"))
        asked = False
        for _ in range(80):
            prompt = prompt_of(ENGINE, case)
            if isinstance(prompt, HandOverPrompt):
                break
            asked = asked or (isinstance(prompt, PutBackPrompt) and "loop-in-manual" in prompt.disturbed)
            reply: replies.Reply = replies.NotDone() if isinstance(prompt, PutBackPrompt) else replies.Skip()
            case = case.after(*respond(ENGINE, case, prompt, reply).events)
        assert isinstance(prompt, HandOverPrompt)
        assert asked
        assert "loop-in-manual" in prompt.disturbed

    def test_the_helpdesk_passes_it_on(self) -> None:
        """The document of a report says how it was left."""
        told = triage(ENGINE, "loop is in manual, display is dark", {})
        document = triage_document(ENGINE.rule_book, told)
        assert [each.title for each in document.disturbed] == [ENGINE.rule_book.disturbances["loop-in-manual"].title]

    def test_a_bypass_that_stops_all_work_is_on_record_as_well(self) -> None:
        """Once the stop is over it is still named until somebody says that it was put back."""
        case = Case().after(*read_words(Situation(ENGINE, Case()), "the trip is bridged, reads low").events)
        prompt = prompt_of(ENGINE, case)
        assert isinstance(prompt, StopPrompt)
        case = case.after(*respond(ENGINE, case, prompt, replies.HazardOver(findings=prompt.findings)).events)
        assert Situation(ENGINE, case).disturbed == ("trip-overridden",)


class TestWhoSomebodyIs:
    """Less counts at once, more is asked back."""

    @pytest.mark.parametrize(
        ("text", "competence"),
        [
            ("I'm only the operator, display dark", "ordinary"),
            ("im just the operator", "ordinary"),
            ("I am not an electrician", "ordinary"),
            ("I am not a qualified electrician, the display is dark", "ordinary"),
            ("I’m an electrician’s mate", "instructed"),
            ("I am an apprentice", "instructed"),
            ("I am a qualified electrician", "skilled"),
            ("display dark, I'm the electrician on shift", "skilled"),
        ],
    )
    def test_said_of_oneself(self, text: str, competence: Competence) -> None:
        """And the words say nothing else: nobody has worked on any wiring."""
        turn = read_words(Situation(ENGINE, Case()), text)
        claims = [each for each in turn.events if isinstance(each, CompetenceSaid | CompetenceClaimed)]
        assert [each.competence for each in claims] == [competence]
        assert isinstance(claims[0], CompetenceSaid) == (competence == "ordinary")
        assert not any(isinstance(each, FindingSeen) and "worked" in each.finding for each in turn.events)

    @pytest.mark.parametrize(
        "text",
        [
            "I am waiting for the electrician",
            "the electrician says he is qualified",
            "I was an electrician",
            "if I am the electrician then call me",
            "I am the electrician's boss",
            "am I the electrician?",
            "I am not sure that an electrician was here",
            "an operator called us",
        ],
    )
    def test_of_somebody_else_or_of_another_time(self, text: str) -> None:
        """That says nothing of who is there."""
        assert understand(text, ENGINE.lexicon).persons == ()

    def talk(self, *texts: str, competence: Competence | None = None) -> Case:
        """Return a case with these words said."""
        case = Case(name="who").after(FindingSeen(finding="display-dark", present=True))
        case = case.after(CompetenceSaid(competence=competence)) if competence else case
        for text in texts:
            case = case.after(*respond(ENGINE, case, prompt_of(ENGINE, case), replies.Words(text=text)).events)
        return case

    def test_more_is_asked_back_before_it_counts(self) -> None:
        """With the words; what was chosen counts, and what cannot be said leaves all as it was."""
        case = self.talk("I am a qualified electrician", competence="instructed")
        assert Situation(ENGINE, case).standing.state.competence == "instructed"
        prompt = prompt_of(ENGINE, case)
        assert isinstance(prompt, QuestionPrompt)
        assert prompt.about == "competence"
        assert "“I am a qualified electrician”" in prompt.text
        for reply, now in ((replies.Skip(), "instructed"), (prompt.options[2].reply, "skilled")):
            after = case.after(*respond(ENGINE, case, prompt, reply).events)
            standing = Situation(ENGINE, after).standing
            assert (standing.state.competence, standing.claimed) == (now, "")

    def test_less_counts_at_once_in_the_middle_too(self) -> None:
        """A skilled person went, the operator answers: nothing more is proposed that is not for anybody."""
        case = self.talk("I'm only the operator now", competence="skilled")
        assert Situation(ENGINE, case).standing.state.competence == "ordinary"
        assert not isinstance(prompt_of(ENGINE, case), QuestionPrompt) or prompt_of(ENGINE, case).about != "competence"  # type: ignore[union-attr]

    def test_of_two_claims_the_lesser_counts(self) -> None:
        """Whoever says both may do the lesser for certain."""
        case = self.talk("I am an electrician, but I am not authorised here", competence="skilled")
        assert Situation(ENGINE, case).standing.state.competence == "ordinary"

    def test_a_report_at_the_helpdesk_does_not_say_who_is_sent(self) -> None:
        """The agent says for whom the steps are."""
        told = triage(ENGINE, "I'm only the operator, display is dark", {}, "skilled")
        plain = triage(ENGINE, "display is dark", {}, "skilled")
        offered = [{each.id for each in one.diagnosis.proposals.remedies} for one in (told, plain)]
        assert offered[0] == offered[1]
