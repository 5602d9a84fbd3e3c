"""Turns of an interview that technicians ran into, one by one."""

from __future__ import annotations

import msgspec
import pytest

from diagnose.cases.events import Case, CompetenceSaid, Disturbed, PlantChanged, RemedyDone, SetAside, WentOn
from diagnose.observations import CheckDone, FindingSeen, RemedyTried
from diagnose.protocol import replies
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import (
    ComplaintPrompt,
    HandOverPrompt,
    Prompt,
    ProofPrompt,
    QuestionPrompt,
    StepsPrompt,
)
from diagnose.protocol.replies import Reply
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.protocol.turn import Turn
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.engine import Engine
from tests.engines import real_engine
from tests.protocol.lamps import lamp_book_engine

ENGINE = lamp_book_engine()


class Talk:
    """A case that goes on, reply by reply."""

    def __init__(self, *findings: str, engine: Engine = ENGINE, competence: str = "skilled") -> None:
        self.engine = engine
        seen = [FindingSeen(finding=name, present=True) for name in findings]
        self.case = Case(name="talk").after(*seen) if seen else Case(name="talk")
        self.case = self.case.after(CompetenceSaid(competence=competence))  # type: ignore[arg-type]

    @property
    def prompt(self) -> Prompt:
        """The prompt that is on."""
        return prompt_of(self.engine, self.case)

    def say(self, reply: Reply) -> Turn:
        """Give one reply."""
        turn = respond(self.engine, self.case, self.prompt, reply)
        self.case = self.case.after(*turn.events)
        return turn

    def through_remedy(self, verdict: str) -> None:
        """Carry out the remedy that is on, and prove it."""
        assert isinstance(self.prompt, StepsPrompt)
        self.say(replies.Done())
        assert isinstance(self.prompt, ProofPrompt)
        self.say(replies.Verdict(verdict=verdict))


class TestDeclining:
    """*May not* and *no tool* act on one step or on all like it, and are taken back."""

    def test_one_step_alone(self) -> None:
        """Another step for the same person comes."""
        talk = Talk("flickers")
        talk.say(replies.Decline(why="no tool"))
        assert isinstance(talk.prompt, QuestionPrompt)
        assert [option.text for option in talk.prompt.options] == ["only this step", "every step that needs: pliers"]
        talk.say(replies.ThisStepOnly())
        standing = Situation(ENGINE, talk.case).standing
        assert standing.state.set_aside == ("loose-contact",)
        assert standing.state.missing_tools == ()

    def test_all_that_need_the_tool(self) -> None:
        """Until it is taken back."""
        talk = Talk("flickers")
        before = talk.prompt
        talk.say(replies.Decline(why="no tool"))
        talk.say(replies.LackingTool(tool="pliers"))
        assert Situation(ENGINE, talk.case).standing.state.missing_tools == ("pliers",)
        talk.say(replies.Back())
        assert isinstance(talk.prompt, QuestionPrompt)
        talk.say(replies.Back())
        assert talk.prompt == before

    def test_all_with_the_same_danger(self) -> None:
        """Whoever may do a step may still have to stay away from something: then from every step that brings it up."""
        talk = Talk("dark")
        talk.say(replies.Choose(step="look-at-bulb"))
        before = talk.prompt
        talk.say(replies.Decline(why="may not"))
        assert isinstance(talk.prompt, QuestionPrompt)
        avoiding = [each.reply for each in talk.prompt.options if isinstance(each.reply, replies.Avoiding)]
        assert [each.caution for each in avoiding] == ["hot-bulb"]
        talk.say(avoiding[0])
        situation = Situation(ENGINE, talk.case)
        assert situation.standing.state.avoided == ("hot-bulb",)
        offered = situation.diagnosis.proposals
        assert "hot-bulb" not in {name for each in (*offered.checks, *offered.remedies) for name, _ in each.cautions}
        talk.say(replies.Back())
        talk.say(replies.Back())
        assert talk.prompt == before

    def test_all_beyond_what_somebody_may_do(self) -> None:
        """Competence is lowered, and comes back with *back*."""
        talk = Talk("flickers")
        talk.say(replies.Decline(why="may not"))
        assert isinstance(talk.prompt, QuestionPrompt)
        talk.say(talk.prompt.options[1].reply)
        assert Situation(ENGINE, talk.case).standing.state.competence == "ordinary"
        talk.say(replies.Back())
        talk.say(replies.Back())
        assert Situation(ENGINE, talk.case).standing.state.competence == "skilled"


class TestTheEnd:
    """No answer ends a case by itself."""

    def test_a_hand_over_can_be_gone_on_from(self) -> None:
        """What was skipped is offered again."""
        talk = Talk("dark", competence="ordinary")
        for _ in range(5):
            if isinstance(talk.prompt, HandOverPrompt):
                break
            talk.say(replies.Skip())
        assert isinstance(talk.prompt, HandOverPrompt)
        assert talk.prompt.options[0].reply == replies.GoOn()
        talk.say(replies.GoOn())
        talk.say(replies.Untouched())
        assert isinstance(talk.prompt, StepsPrompt)

    def test_words_at_a_hand_over_go_on(self) -> None:
        """A new symptom at the end reopens the case by itself."""
        talk = Talk("dark", competence="ordinary")
        while not isinstance(talk.prompt, HandOverPrompt):
            talk.say(replies.Skip())
        turn = talk.say(replies.Words(text="all lamps dark"))
        assert any(each.statement for each in turn.remarks)
        talk.say(replies.Untouched())  # what is disturbed may have been put back meanwhile, so it is asked again
        assert isinstance(talk.prompt, HandOverPrompt)  # still beyond an ordinary person, but what was told counts
        assert Situation(ENGINE, talk.case).diagnosis.causes[0].id == "no-power"

    def test_a_cure_asks_for_a_second_fault(self) -> None:
        """Told symptoms that the remedy does not account for are named."""
        talk = Talk("dark", "flickers")
        talk.through_remedy("cured")
        prompt = talk.prompt
        assert isinstance(prompt, QuestionPrompt)
        assert prompt.about == "other fault"
        talk.say(replies.OtherFault())
        assert isinstance(talk.prompt, ComplaintPrompt)
        assert talk.prompt.again
        talk.say(replies.Observed(observations=(FindingSeen(finding="dark", present=True),)))
        assert isinstance(talk.prompt, StepsPrompt | QuestionPrompt)

    def test_what_was_told_beside_the_cured_fault_is_not_forgotten(self) -> None:
        """A second thing told in words is asked for again, a symptom or not; a result of a check is not."""
        talk = Talk(engine=real_engine())
        text = "mA output stuck since the loop test, and the counter counts twice"
        talk.say(replies.Words(text=text))
        talk.case = talk.case.after(
            FindingSeen(finding="counts-at-standstill", present=True),
            RemedyTried(remedy="output-held-or-simulated", verdict="cured"),
        )
        still = Situation(talk.engine, talk.case).still_told
        assert "counts-too-many" in still
        assert "counts-at-standstill" not in still

    def test_a_finished_case_resumes_at_its_last_prompt(self) -> None:
        """And what is wrong after all goes on from there."""
        talk = Talk("dark")
        talk.through_remedy("cured")
        talk.say(replies.NoOtherFault())
        assert isinstance(talk.prompt, HandOverPrompt)
        assert talk.prompt.ending == "cured"
        again = Talk()
        again.case = msgspec.structs.replace(talk.case)
        assert again.prompt == talk.prompt
        talk.say(replies.OtherFault())
        assert isinstance(talk.prompt, ComplaintPrompt)

    def test_a_remedy_that_cannot_be_proved_is_told(self) -> None:
        """It is neither cured nor forgotten."""
        talk = Talk("dark")
        talk.say(replies.Done())
        talk.say(replies.NotDone())
        while not isinstance(talk.prompt, HandOverPrompt):
            talk.say(replies.Skip())
        assert talk.prompt.not_proved == ("bulb-burnt",)

    def test_the_plant_is_put_back_or_told(self) -> None:
        """Whoever leaves it as it is has that on the hand-over."""
        talk = Talk("dark")
        talk.say(replies.Done())
        talk.say(replies.NotDone())
        while not isinstance(talk.prompt, HandOverPrompt):
            talk.say(replies.Skip())
        assert talk.prompt.left == (("plug", "in"),)


class TestNothingWrongTold:
    """What is no complaint is no fault to look for."""

    def test_nobody_knows_needs_something_told(self) -> None:
        """With nothing at all there is nothing to go by."""
        talk = Talk()
        assert isinstance(talk.prompt, ComplaintPrompt)
        turn = talk.say(replies.Unknown())
        assert not turn.events
        assert turn.remarks


class TestOutsideTheBook:
    """After many answers without a likely cause the fault is said to be none of this book."""

    def test_it_is_said_and_gone_on_from(self) -> None:
        """With what was found; whoever goes on is not told again at once."""
        engine = real_engine()
        talk = Talk("reading-erratic", engine=engine)
        checks = [each for each in engine.rule_book.checks.values() if any(one.absent for one in each.outcomes)]
        least = engine.rule_book.settings.outside_after_answers
        done = [
            CheckDone(check=each.id, answer=next(one.answer for one in each.outcomes if one.absent)) for each in checks
        ]
        talk.case = talk.case.after(*done[: least + 20])
        prompt = talk.prompt
        assert isinstance(prompt, HandOverPrompt)
        assert prompt.ending == "outside the book"
        assert str(least + 20) in prompt.proposal.because
        turn = talk.say(replies.GoOn())
        assert any(isinstance(event, WentOn) for event in turn.events)
        assert not (isinstance(talk.prompt, HandOverPrompt) and talk.prompt.ending == "outside the book")

    def test_remedies_in_vain_and_unknown_answers_bring_it_sooner(self) -> None:
        """And they are told."""
        engine = real_engine()
        talk = Talk("reading-erratic", engine=engine)
        looks = [each for each in engine.rule_book.checks.values() if any(one.absent for one in each.outcomes)][:12]
        answers = [next(one.answer for one in each.outcomes if one.absent) for each in looks]
        talk.case = talk.case.after(
            *(CheckDone(check=each.id, answer=answer) for each, answer in zip(looks, answers, strict=True)),
            *(
                RemedyTried(remedy=name, verdict="not cured")
                for name in ("straight-run-too-short", "damping-too-short")
            ),
            *(SetAside(step=f"step-{number}", why="unknown") for number in range(10)),
        )
        assert isinstance(talk.prompt, HandOverPrompt)
        because = talk.prompt.proposal.because
        assert "12 answers, 2 remedies in vain and 10 steps that nobody could answer" in because


@pytest.mark.parametrize("words", ["sewage line, mag meter, 2011", "remote version, 4-20 mA output"])
def test_facts_alone_are_no_complaint(words: str) -> None:
    """The question is what is wrong; nothing is ranked."""
    talk = Talk(engine=real_engine())
    talk.say(replies.Words(text=words))
    assert isinstance(talk.prompt, ComplaintPrompt)


class TestFoundByAttack:
    """What somebody who distrusted the program ran into, each mended."""

    def test_going_on_with_nothing_skipped_offers_steps(self) -> None:
        """It is no dead end: the person chooses a step."""
        talk = Talk("dark", competence="ordinary")
        talk.case = talk.case.after(CheckDone(check="ask-others-dark", answer="yes"))
        while not isinstance(talk.prompt, HandOverPrompt):
            talk.say(replies.Done() if isinstance(talk.prompt, StepsPrompt) else replies.NotDone())
        aside = Situation(ENGINE, talk.case).standing.state.set_aside
        talk.say(replies.GoOn())
        if not aside:
            assert isinstance(talk.prompt, QuestionPrompt)
            assert talk.prompt.about == "other steps"

    def test_words_that_name_no_finding_move_nothing_later_on(self) -> None:
        """At a step, what was not understood neither ranks causes nor changes the step."""
        engine = real_engine()
        talk = Talk("control-system-disagrees", engine=engine)
        prompt, before = talk.prompt, Situation(engine, talk.case).diagnosis.causes
        turn = talk.say(replies.Words(text="the PLC scaling sheet in the drawer is brown with coffee"))
        assert not any(each.statement for each in turn.remarks)
        assert isinstance(prompt, QuestionPrompt)
        assert isinstance(talk.prompt, QuestionPrompt)
        assert msgspec.structs.replace(talk.prompt, told=()) == prompt  # the words stand beside the form, no more
        assert Situation(engine, talk.case).diagnosis.causes == before

    def test_taking_back_says_how_the_plant_counts(self) -> None:
        """Whoever has opened or isolated something is told that this no longer counts."""
        talk = Talk("dark")
        talk.say(replies.Done())
        turn = talk.say(replies.Back())
        assert any("p supply isolated" in each.text for each in turn.remarks)

    def test_what_cannot_be_so_is_not_taken_down(self) -> None:
        """Conductors are proved dead only with the supply off and the cover open; whoever says otherwise is told."""
        talk = Talk("display-dark", engine=real_engine())
        dead = replies.PlantSaid(state="conductors", value="proved dead")
        turn = talk.say(dead)
        assert "only with supply isolated, enclosure open" in turn.remarks[0].text
        for state, value in (("supply", "isolated"), ("enclosure", "open")):
            talk.say(replies.PlantSaid(state=state, value=value))
        talk.say(dead)
        assert Situation(talk.engine, talk.case).plant["conductors"] == "proved dead"
        talk.say(replies.PlantSaid(state="enclosure", value="closed"))
        assert Situation(talk.engine, talk.case).plant["conductors"] == "not proved dead"

    def test_somebody_more_able_may_take_over(self) -> None:
        """Their word counts from then on."""
        talk = Talk("dark", competence="ordinary")
        turn = talk.say(replies.CompetenceReply(competence="skilled"))
        assert turn.remarks[0].text == "From here on a skilled person is answering."
        assert Situation(ENGINE, talk.case).standing.state.competence == "skilled"

    @pytest.mark.parametrize("hazard", ["bond-opened", "sensor-leads"])
    @pytest.mark.parametrize(
        ("place", "caution"), [("pit or vault", "confined-space"), ("at height", "working-at-height")]
    )
    def test_work_on_the_sensor_brings_up_where_it_is(self, hazard: str, place: str, caution: str) -> None:
        """A strap or a lead in a pit is work in the pit, a remedy like any other step."""

        book = real_engine().rule_book
        sheet = {"location": place}
        steps = [each for each in book.remedies.values() if hazard in each.meets]
        assert steps
        for step in steps:
            way = Dangers(book, sheet).way(step, {name: state.initial for name, state in book.states.items()})
            assert caution in {each.caution.id for each in Dangers(book, sheet).raised(step, way)}, step.id


class TestFieldsToldInStrangeWords:
    """What was told and not understood stands beside the question that it may answer."""

    def test_the_form_shows_it(self) -> None:
        """And only what may be about its fields."""
        talk = Talk(engine=real_engine())
        text = "flow is negative. It stands somewhere near the roof beams. The hens are restless."
        talk.say(replies.Words(text=text))
        while not getattr(talk.prompt, "fields", ()):
            talk.say(replies.Unknown())
        prompt = talk.prompt
        assert isinstance(prompt, QuestionPrompt)
        assert "location" in prompt.fields
        assert prompt.told == ("It stands somewhere near the roof beams.",)


class TestWhoMay:
    """Steps are shown to nobody who may not do them, not even to prove or to put back."""

    def test_a_proof_beyond_the_person_wants_somebody_else(self) -> None:
        """Its steps are not shown; without anybody it stays unproved and is named at the end."""
        talk = Talk("bus-silent", engine=real_engine(), competence="ordinary")
        opened = (PlantChanged(state="supply", value="isolated"), RemedyDone(remedy="bus-interface-failed"))
        talk.case = talk.case.after(*opened)
        prompt = talk.prompt
        assert isinstance(prompt, QuestionPrompt)
        assert prompt.about == "proof"
        talk.say(replies.NotDone())
        assert Situation(talk.engine, talk.case).standing.not_proved == ("bus-interface-failed",)

    def test_whoever_switches_on_loses_what_was_proved_dead(self) -> None:
        """And it does not come back by switching off again."""
        talk = Talk(engine=real_engine())
        for state, value in [("supply", "isolated"), ("enclosure", "open"), ("conductors", "proved dead")]:
            talk.say(replies.PlantSaid(state=state, value=value))
        assert Situation(talk.engine, talk.case).plant["conductors"] == "proved dead"
        for value in ("live", "isolated"):
            talk.say(replies.PlantSaid(state="supply", value=value))
        assert Situation(talk.engine, talk.case).plant["conductors"] == "not proved dead"


class TestInVain:
    """A remedy that did not cure is not proposed again at once."""

    def test_something_else_comes_first_and_the_proof_is_not_asked_again(self) -> None:
        """Neither the same remedy nor the check that has just proved it."""
        talk = Talk(engine=real_engine())
        talk.say(replies.Words(text="mA output stuck since the loop test"))
        assert isinstance(talk.prompt, StepsPrompt | QuestionPrompt)
        first = Situation(talk.engine, talk.case).proposal
        assert first.kind == "remedy"
        proof = talk.engine.rule_book.remedies[first.id].proved_by
        talk.case = talk.case.after(RemedyTried(remedy=first.id, verdict="not cured"))
        after = Situation(talk.engine, talk.case).proposal
        assert after.id not in (first.id, proof)

    def test_it_comes_once_more_where_nothing_else_is_left(self) -> None:
        """And never a third time, until somebody goes on at the hand-over."""
        talk = Talk("dark")
        for _ in range(2):
            while not isinstance(talk.prompt, StepsPrompt):
                talk.say(replies.Skip())
            done = talk.prompt.proposal.id
            talk.case = talk.case.after(RemedyTried(remedy=done, verdict="not cured"))
        tried = Situation(talk.engine, talk.case).standing.in_vain
        for _ in range(12):
            if isinstance(talk.prompt, HandOverPrompt):
                break
            talk.say(replies.Skip())
            if isinstance(talk.prompt, StepsPrompt):
                assert tried.count(talk.prompt.proposal.id) < 2
        assert isinstance(talk.prompt, HandOverPrompt)


def test_more_unknown_than_answered_says_nothing_of_the_rule_book() -> None:
    """Somebody else is fetched; that the fault is outside the book would not follow."""
    engine = real_engine()
    talk = Talk("reading-erratic", engine=engine)
    talk.case = talk.case.after(*(SetAside(step=f"step-{number}", why="unknown") for number in range(26)))
    assert isinstance(talk.prompt, HandOverPrompt)
    assert talk.prompt.ending == "hand-over"
    assert "26 steps that nobody could answer" in talk.prompt.proposal.because
    assert "too little could be answered" in talk.prompt.proposal.because


def test_words_that_are_asked_about_are_not_called_misunderstood() -> None:
    """Whoever may have told of a danger is asked about it, and not told that nothing was understood."""
    talk = Talk("display-dark", engine=real_engine())
    turn = talk.say(replies.Words(text="it never stops smoking"))
    assert not any(each.kind == "help" for each in turn.remarks)
    assert isinstance(talk.prompt, QuestionPrompt)
    assert talk.prompt.about == "danger"


@pytest.mark.parametrize(("competence", "told"), [("ordinary", True), ("skilled", False)])
def test_a_cover_opened_by_somebody_who_may_not_is_not_passed_over(competence: str, told: bool) -> None:
    """Step back, touch nothing, and fetch somebody."""
    talk = Talk("display-dark", engine=real_engine(), competence=competence)
    turn = talk.say(replies.Words(text="I have opened the cover"))
    assert any("step back, touch nothing there" in each.text for each in turn.remarks) == told


def test_what_is_done_but_once_is_preceded_by_its_history() -> None:
    """A fuse that blew before is not renewed before the reason was looked for; one question settles that."""
    engine = real_engine()
    talk = Talk("display-dark", engine=engine)
    talk.say(replies.Words(text="I took the fuse out and it is blown, 230 V at the terminals"))
    once = {each.id: {*each.once.told_by} for each in engine.rule_book.remedies.values() if each.once}
    asked = set[str]()
    for _ in range(12):
        proposal = Situation(engine, talk.case).proposal
        if proposal.kind != "check" or any(asked & told_by for told_by in once.values()):
            break
        asked |= {name for outcome in engine.outcomes[proposal.id] for name in outcome}
        talk.say(replies.Skip())
    assert proposal.id not in once or asked & once[proposal.id]
    assert any(asked & told_by for told_by in once.values())


@pytest.mark.parametrize(
    ("competence", "supply", "told"),
    [
        ("ordinary", "live", "is for an instructed person: step back"),
        ("instructed", "live", "that is done only with supply isolated"),
        ("instructed", "isolated", ""),
    ],
)
def test_leads_taken_off_by_whoever_may_not_or_live_are_not_passed_over(
    competence: str, supply: str, told: str
) -> None:
    """They are kept as off all the same, to be put back."""
    talk = Talk("value-frozen", engine=real_engine(), competence=competence)
    plant = (PlantChanged(state="supply", value=supply), PlantChanged(state="enclosure", value="open"))
    talk.case = talk.case.after(*plant)
    turn = talk.say(replies.Words(text="I took the coil leads off"))
    assert any(isinstance(each, Disturbed) for each in turn.events)
    said = " ".join(each.text for each in turn.remarks if each.kind == "said")
    assert (told in said) if told else not said
