"""What a hazard has changed at the plant is unknown until somebody says it by its value."""

from __future__ import annotations

import pytest

from diagnose.authoring.case_watch import judge
from diagnose.cases.events import Case, Cleared, CompetenceSaid, PlantChanged, StepBegun
from diagnose.interview.kept import kept_document
from diagnose.observations import FindingSeen
from diagnose.protocol import replies
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import CautionPrompt, HandOverPrompt, Prompt, QuestionPrompt, StopPrompt
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.protocol.typed import Unclear, reply_to
from tests.engines import real_engine

ENGINE = real_engine()
BOOK = ENGINE.rule_book
HAZARDS = sorted(each.id for each in BOOK.findings.values() if each.keep_away)
SWITCHED = [name for name in HAZARDS if "supply" in getattr(BOOK.findings[name].keep_away, "changes", ())]
FIELDS = {
    "hazardous-area": "no",
    "location": ("building",),
    "behind-cover": "extra-low voltage only",
    "signal-duty": ("control",),
}


class Talk:
    """A case with the prompt that waits; the judge looks at each."""

    def __init__(self, *hazards: str, competence: str = "") -> None:
        self.case = Case(name="doubt", data_sheet=dict(FIELDS))
        self.case = self.case.after(FindingSeen(finding="display-dark", present=True))
        if competence:
            self.case = self.case.after(CompetenceSaid(competence=competence))  # type: ignore[arg-type]
        for name in hazards:
            self.case = self.case.after(FindingSeen(finding=name, present=True))

    @property
    def prompt(self) -> Prompt:
        """What is put to the person."""
        prompt = prompt_of(ENGINE, self.case)
        assert judge(BOOK, self.case, prompt) == []
        return prompt

    @property
    def situation(self) -> Situation:
        """How the case stands."""
        return Situation(ENGINE, self.case)

    def say(self, reply: replies.Reply) -> tuple[str, ...]:
        """Reply; return what is remarked."""
        turn = respond(ENGINE, self.case, self.prompt, reply)
        self.case = self.case.after(*turn.events)
        return tuple(each.text for each in turn.remarks)

    def type(self, text: str) -> tuple[str, ...]:
        """Type something; return the help where it is no reply."""
        meant = reply_to(ENGINE, self.case.data_sheet, self.prompt, text)
        if isinstance(meant, Unclear):
            return (meant.help,)
        return self.say(meant)  # type: ignore[arg-type]

    def over(self) -> None:
        """Say of each hazard that it is over."""
        while isinstance(self.prompt, StopPrompt):
            self.say(replies.HazardOver(findings=self.prompt.findings[:1]))


def values_on_offer(prompt: Prompt) -> list[str]:
    """Return the values of a state that can be chosen."""
    return [each.reply.value for each in prompt.options if isinstance(each.reply, replies.PlantSaid)]


class TestAskedByValue:
    """Neither live nor isolated is taken for granted."""

    @pytest.mark.parametrize("hazard", SWITCHED)
    def test_after_every_hazard_that_has_it_switched_off(self, hazard: str) -> None:
        """Its values are the options, and nothing that only confirms what was supposed."""
        talk = Talk(hazard, competence="skilled")
        talk.over()
        assert isinstance(talk.prompt, QuestionPrompt)
        assert talk.prompt.about == "plant"
        assert values_on_offer(talk.prompt) == ["live", "switched off", "isolated"]
        assert not any(isinstance(each.reply, replies.PlantAsShown) for each in talk.prompt.options)

    def test_the_instructions_of_a_hazard_say_what_is_in_doubt(self) -> None:
        """Whoever is told to have the supply switched off, or the line shut in, has it asked for afterwards."""
        for name in HAZARDS:
            away = BOOK.findings[name].keep_away
            assert away
            done = " ".join(away.do).lower()
            if "supply switched off" in done or "supply is off" in done:
                assert "supply" in away.changes, name
            if "shut in" in done or "stop the pump" in done:
                assert "line" in away.changes, name

    @pytest.mark.parametrize(
        "reply", [replies.PlantAsShown(), replies.PlantAsBegun(), replies.Skip(), replies.Unknown()]
    )
    def test_nothing_passes_it_over(self, reply: replies.Reply) -> None:
        """The same question stays, with a word; and no document names a step meanwhile."""
        talk = Talk("burning-now", competence="skilled")
        talk.over()
        before = talk.prompt
        assert talk.say(reply)
        assert talk.prompt == before
        document = kept_document(talk.situation)
        assert document.next.title == "Find out how the plant stands"
        assert {each.state: each.stands for each in document.left if each.state == "supply"}

    def test_what_was_said_before_the_hazard_does_not_count(self) -> None:
        """Isolated then, and still a shock: it is asked anew, and nothing counts as proved dead."""
        talk = Talk(competence="skilled")
        for state, value in (("supply", "isolated"), ("enclosure", "open"), ("conductors", "proved dead")):
            talk.case = talk.case.after(PlantChanged(state=state, value=value))
        talk.case = talk.case.after(FindingSeen(finding="tingle-felt", present=True))
        talk.over()
        assert talk.situation.states_in_doubt == ("supply",)
        talk.say(replies.PlantSaid(state="supply", value="isolated"))
        assert talk.situation.plant["conductors"] == "not proved dead"

    def test_a_step_that_the_hazard_broke_off_proves_nothing_dead(self) -> None:
        """The cover may be open as that step has it; dead it is only once it was proved after the hazard."""
        talk = Talk(competence="skilled")
        changes = (("supply", "isolated"), ("enclosure", "open"), ("conductors", "proved dead"))
        talk.case = talk.case.after(StepBegun(step="supply-insulation", changes=changes))
        talk.case = talk.case.after(FindingSeen(finding="tingle-felt", present=True))
        talk.over()
        talk.say(replies.PlantSaid(state="supply", value="isolated"))
        talk.say(replies.PlantAsBegun())
        assert talk.situation.plant["enclosure"] == "open"
        assert talk.situation.plant["conductors"] == "not proved dead"

    def test_back_asks_again(self) -> None:
        """The value that was taken back is unknown again."""
        talk = Talk("burning-now", competence="skilled")
        talk.over()
        asked = talk.prompt
        talk.say(replies.PlantSaid(state="supply", value="isolated"))
        talk.say(replies.Back())
        assert talk.prompt == asked
        talk.say(replies.Back())
        assert isinstance(talk.prompt, StopPrompt)

    def test_a_second_hazard_makes_it_unknown_again(self) -> None:
        """What was said after the first is no answer after the second."""
        talk = Talk("burning-now", competence="skilled")
        talk.over()
        talk.say(replies.PlantSaid(state="supply", value="isolated"))
        talk.say(replies.Observed(observations=(FindingSeen(finding="tingle-felt", present=True),)))
        talk.over()
        assert talk.situation.states_in_doubt == ("supply",)


class TestSwitchedOffByOthers:
    """Off at the board is neither live nor isolated."""

    @pytest.mark.parametrize("competence", ["ordinary", "instructed"])
    def test_nobody_without_the_skill_says_more(self, competence: str) -> None:
        """They can say that it is off; then nothing that wants it live, isolated or open is put to them."""
        talk = Talk("burning-now", competence=competence)
        talk.over()
        assert values_on_offer(talk.prompt) == ["live", "switched off"]
        assert talk.say(replies.PlantSaid(state="supply", value="isolated"))
        assert talk.situation.states_in_doubt == ("supply",)
        talk.say(replies.PlantSaid(state="supply", value="switched off"))
        talk.say(replies.PlantAsShown())
        proposals = talk.situation.diagnosis.proposals
        for each in (*proposals.checks, *proposals.remedies):
            assert not any(state == "supply" for state, _ in each.changes), each.id
        prompt = talk.prompt
        assert isinstance(prompt, HandOverPrompt)
        assert prompt.proposal.title.startswith("Fetch a skilled person for: ")
        assert ("supply", "live") in prompt.left

    def test_who_may_say_more_can_be_there(self) -> None:
        """Whoever does not find what is so among the values is told who says it."""
        talk = Talk("liquid-sprays-out", competence="ordinary")
        talk.over()
        assert values_on_offer(talk.prompt) == ["flowing"]
        who = [each.reply.competence for each in talk.prompt.options if isinstance(each.reply, replies.CompetenceReply)]
        assert who == ["instructed", "skilled"]
        talk.say(replies.CompetenceReply(competence="skilled"))
        assert values_on_offer(talk.prompt) == ["flowing", "stopped full", "drained"]

    def test_the_skilled_person_isolates_it_before_anything_is_opened(self) -> None:
        """From switched off it is a way of its own: every feed, locks, notice, then proved dead."""
        talk = Talk("burning-now", competence="skilled")
        talk.over()
        talk.say(replies.PlantSaid(state="supply", value="switched off"))
        talk.say(replies.PlantAsShown())
        while not isinstance(talk.prompt, CautionPrompt):
            talk.say(replies.FieldsFilled(complete=True))
        proposal = talk.prompt.proposal
        assert proposal.id == "look-at-the-damage"
        assert [state for state, _ in proposal.changes] == ["supply", "enclosure", "conductors"]
        assert "isolate-and-prove-dead" in dict(proposal.cautions)

    def test_behind_an_open_cover_it_counts_as_live(self) -> None:
        """Whatever a caution says of a live supply behind an open cover it says of one that is only switched off."""
        for caution in BOOK.cautions.values():
            items = [
                *caution.comes_up,
                *caution.forbids,
                *(i for some in caution.least_competence.values() for i in some),
            ]
            for item in items:
                if "live" in item.get("supply", ()) and "enclosure" in item:
                    assert "switched off" in item["supply"], caution.id


class TestInWords:
    """The question is answered in words as well."""

    @pytest.mark.parametrize(
        ("text", "value"),
        [
            ("it was switched off at the board and stays off", "switched off"),
            ("the supply is off", "switched off"),
            ("the breaker is off", "switched off"),
            ("switched off", "switched off"),
            ("the power is back on", "live"),
            ("on", "live"),
        ],
    )
    def test_one_value_told_plainly_is_the_answer(self, text: str, value: str) -> None:
        """And it says nothing else: no power cut is read from it."""
        talk = Talk("burning-now")
        talk.over()
        told = len(talk.situation.standing.observations)
        talk.type(text)
        assert talk.situation.plant["supply"] == value
        assert talk.situation.states_in_doubt == ()
        assert len(talk.situation.standing.observations) == told

    @pytest.mark.parametrize(
        "text",
        [
            "the supply is not off",
            "if the supply is off it is safe",
            "should the supply be off?",
            "it was switched off at the board but is back on",
            "I think the power is off",
            "no idea at all",
            "power was cut by the electrician",
            "the supply is locked off",  # true, perhaps, but not for this person to say
        ],
    )
    def test_anything_else_is_no_answer(self, text: str) -> None:
        """The question stays, with a word; what was done for the hazard is no sign of the fault either."""
        talk = Talk("burning-now")
        talk.over()
        told = talk.situation.standing.observations
        assert talk.type(text)
        assert talk.situation.standing.observations == told
        assert talk.situation.states_in_doubt == ("supply",)

    def test_a_danger_beside_the_answer_comes_first(self) -> None:
        """The supply is off, and somebody got another shock: a stop, not an answer."""
        talk = Talk("burning-now")
        talk.over()
        talk.type("the supply is off, but I got a shock from the pipe")
        assert isinstance(talk.prompt, StopPrompt)


class TestWhichOneIsOver:
    """Several hazards: each is said to be over, or misread, by itself."""

    @pytest.mark.parametrize(
        "text", ["over", "it's over", "both over", "all of it is over", "misread", "mis", "u", "s", ""]
    )
    def test_no_name_clears_nothing(self, text: str) -> None:
        """It is asked which; the stop stays for both."""
        talk = Talk("burning-now", "tingle-felt")
        remarks = talk.type(text) if text not in ("u", "s") else talk.say(replies.Skip())
        assert isinstance(talk.prompt, StopPrompt)
        assert len(talk.prompt.findings) == 2
        assert not talk.situation.ended_hazards
        if text:
            assert remarks

    def test_the_question_names_the_numbers(self) -> None:
        """So that one of them can be typed."""
        assert Talk("burning-now", "tingle-felt").type("over") == ("which of them? Type 1 or 2",)
        assert Talk("burning-now", "tingle-felt").type("misread") == ("which of them? Type 3 or 4",)

    def test_what_was_misread_is_no_evidence_either(self) -> None:
        """And the other one stays."""
        talk = Talk("burning-now", "tingle-felt")
        talk.type("3")
        assert isinstance(talk.prompt, StopPrompt)
        assert len(talk.prompt.findings) == 1
        (gone,) = talk.situation.ended_hazards
        assert talk.situation.diagnosis.findings[gone.finding] is False

    def test_only_what_was_told_can_be_over(self) -> None:
        """A hazard that nobody reported is not cleared beforehand."""
        talk = Talk("burning-now")
        assert talk.say(replies.HazardOver(findings=("gas-smelt",)))
        assert not any(isinstance(each.event, Cleared) for each in talk.case.entries)


class TestDamage:
    """What the look after a hazard found is made good before anything is switched on."""

    def looked(self, answer: int, insulation: float = 2e8) -> Talk:
        """Return a case in which the damage was looked at, with this answer, and the insulation was measured."""
        talk = Talk("burning-now", competence="skilled")
        talk.over()
        talk.say(replies.PlantSaid(state="supply", value="switched off"))
        talk.say(replies.PlantAsShown())
        done: set[str] = set()
        for _ in range(12):
            prompt = talk.prompt
            if isinstance(prompt, CautionPrompt):
                talk.say(replies.Heed())
            elif isinstance(prompt, QuestionPrompt) and prompt.about == "data sheet":
                talk.say(replies.FieldsFilled(complete=True))
            elif getattr(prompt, "proposal", None) is not None and prompt.proposal.id == "look-at-the-damage":  # type: ignore[union-attr]
                talk.say(prompt.options[answer].reply)
                done.add("look")
            elif getattr(prompt, "quantity", "") == "supply-insulation":
                talk.say(replies.Figure(value=insulation))
                return talk
        pytest.fail(f"no insulation test: {done}")

    @pytest.mark.parametrize("answer", [1, 2, 3])
    def test_it_holds_the_supply_off_until_it_is_made_good(self, answer: int) -> None:
        """Left as it is, nothing that switches on is done, and whoever takes over is told."""
        talk = self.looked(answer)
        assert "damage-not-mended" in talk.situation.disturbed
        for _ in range(40):
            prompt = talk.prompt
            if isinstance(prompt, HandOverPrompt):
                break
            proposal = getattr(prompt, "proposal", None)
            if proposal is not None and getattr(prompt, "disturbed", ()) == ():
                ends = {**proposal.standing, **dict(proposal.changes), **dict(proposal.leaves)}
                assert ends["supply"] != "live" or isinstance(prompt, CautionPrompt)
            talk.say(replies.FieldsFilled(complete=True) if getattr(prompt, "fields", ()) else replies.Skip())
        else:
            pytest.fail("no hand-over")
        assert "damage-not-mended" in prompt.disturbed

    def test_so_does_a_bad_insulation(self) -> None:
        """Nothing was seen, but it is not fit to be switched on."""
        assert "damage-not-mended" in self.looked(0, insulation=5e4).situation.disturbed

    def test_nothing_found_holds_nothing(self) -> None:
        """Then the insulation alone decides."""
        assert "damage-not-mended" not in self.looked(0).situation.disturbed
