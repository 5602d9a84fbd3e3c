"""What a step opens, lifts or bridges is put back: asked for in time, said on the screen, never forgotten."""

from __future__ import annotations

import pytest

from diagnose.cases.events import Case, CompetenceSaid, Disturbed, PlantChanged, RemedyDone
from diagnose.documents.text import make_console, write
from diagnose.interview import screens
from diagnose.protocol import replies
from diagnose.protocol.prompts import CautionPrompt, HandOverPrompt, ProofPrompt, PutBackPrompt, StepsPrompt
from diagnose.protocol.situation import Situation
from tests.engines import real_engine
from tests.protocol.test_turns import ENGINE, Talk

LOOK = "look-at-bulb"


def looked(*findings: str) -> Talk:
    """Return a talk in which the bulb was just looked at and found black."""
    talk = Talk(*findings or ("dark",))
    talk.say(replies.OtherSteps())
    talk.say(replies.Choose(step=LOOK))
    talk.say(replies.Outcome(answer="black"))
    return talk


def printed(talk: Talk) -> str:
    """Return the screen that is on."""
    situation = Situation(ENGINE, talk.case)
    console = make_console(file=None, width=200)
    with console.capture() as capture:
        shown = screens.screen(situation, talk.prompt, None)
        write(console, [*shown.above, *shown.below])
    return capture.get()


class TestAfterAStep:
    """At once, and in one prompt."""

    def test_what_was_answered_is_put_back_before_the_next_step(self) -> None:
        """It is on the status line until then."""
        talk = looked()
        assert isinstance(talk.prompt, PutBackPrompt)
        assert talk.prompt.disturbed == ("bulb-out",)
        assert "Still to put back: bulb out of its socket" in printed(talk)
        talk.say(replies.Done())
        assert isinstance(talk.prompt, StepsPrompt)
        assert "Still to put back" not in printed(talk)

    def test_a_step_left_half_way_may_have_begun(self) -> None:
        """Skipped, left for another one, or by going back: whoever never began says so, and nothing changes."""
        for reply in (replies.Skip(), replies.OtherSteps(), replies.Back()):
            talk = Talk("dark")
            talk.say(replies.OtherSteps())
            talk.say(replies.Choose(step=LOOK))
            talk.say(reply)
            assert Situation(ENGINE, talk.case).disturbed == ("bulb-out",), reply
        talk.say(replies.Choose(step="bulb-burnt"))
        plant = Situation(ENGINE, talk.case).plant
        assert isinstance(talk.prompt, PutBackPrompt)
        talk.say(replies.Untouched())
        assert Situation(ENGINE, talk.case).disturbed == ()
        assert Situation(ENGINE, talk.case).plant == plant

    def test_a_step_declined_was_not_begun(self) -> None:
        """Whoever lacks the tool or the leave has not opened anything."""
        talk = Talk("dark")
        talk.say(replies.OtherSteps())
        talk.say(replies.Choose(step=LOOK))
        talk.say(replies.Decline(why="may not"))
        assert Situation(ENGINE, talk.case).disturbed == ()

    def test_what_the_next_step_needs_so_is_left(self) -> None:
        """Nobody screws in what is screwed out again a minute later."""
        talk = looked()
        talk.say(replies.OtherSteps())
        talk.say(replies.Choose(step=LOOK))
        assert not isinstance(talk.prompt, PutBackPrompt)


class TestBeforeAProof:
    """A proof is made of a whole meter."""

    def test_it_waits_for_what_is_disturbed(self) -> None:
        """Even for what was left as it was before the remedy."""
        talk = looked()
        talk.say(replies.NotDone())
        assert isinstance(talk.prompt, StepsPrompt)
        talk.say(replies.Done())
        assert isinstance(talk.prompt, PutBackPrompt)
        talk.say(replies.Done())
        assert isinstance(talk.prompt, ProofPrompt)

    def test_it_is_not_made_where_that_stays_as_it_is(self) -> None:
        """The remedy stays unproved, and that is told."""
        talk = looked()
        talk.say(replies.NotDone())
        talk.say(replies.Done())
        turn = talk.say(replies.NotDone())
        assert "unproved" in turn.remarks[0].text
        assert Situation(ENGINE, talk.case).standing.not_proved == ("bulb-burnt",)

    def test_a_bus_is_proved_on_a_meter_with_supply(self) -> None:
        """The check asks only the master; as a proof it wants the meter closed and switched on, with the cautions."""
        engine = real_engine()
        talk = Talk("bus-silent", engine=engine)
        opened = (PlantChanged(state="enclosure", value="open"), PlantChanged(state="supply", value="isolated"))
        talk.case = talk.case.after(*opened, RemedyDone(remedy="bus-interface-failed"))
        assert engine.rule_book.checks["bus-who-answers"].needs == {}
        talk.say(replies.FieldsFilled(complete=True))
        assert isinstance(talk.prompt, CautionPrompt)
        assert talk.prompt.before == "proof"
        assert talk.prompt.proposal.changes == (("enclosure", "closed"), ("supply", "live"))
        assert "re-energising" in dict(talk.prompt.proposal.cautions)


class TestProofsAtDeadConductors:
    """A proof that wants the supply off and the cover open is made at conductors that were proved dead."""

    @pytest.mark.parametrize("check", ["new-fuse-holds", "trip-with-meter-disconnected"])
    def test_dead_is_proved_on_the_way(self, check: str) -> None:
        """From a meter in service, and from one that was just switched on again."""
        engine = real_engine()
        remedy = next(each for each in engine.rule_book.remedies.values() if each.proved_by == check)
        situation = Situation(engine, Case(name="proof"))
        assert ("conductors", "proved dead") in situation.proof(remedy).changes


class TestAtTheEnd:
    """Nobody leaves without having been asked, and whoever takes over is told."""

    def test_it_is_put_back_together_with_the_plant(self) -> None:
        """One prompt: the bulb first, then the plug."""
        talk = Talk("dark")
        opened = (PlantChanged(state="plug", value="out"), Disturbed(step=LOOK, what=("bulb-out",)))
        talk.case = talk.case.after(*opened).after(CompetenceSaid(competence="ordinary"))
        while not isinstance(talk.prompt, PutBackPrompt) or talk.prompt.proposal.id != "put-back":
            talk.say(replies.Skip())
        screen = printed(talk)
        assert screen.index("Screw the bulb in") < screen.index("Put the plug in")
        talk.say(replies.Done())
        assert isinstance(talk.prompt, HandOverPrompt)
        assert (talk.prompt.disturbed, talk.prompt.left) == ((), ())

    def test_a_hand_over_names_what_is_left(self) -> None:
        """With how to put it back."""
        talk = looked()
        while not isinstance(talk.prompt, HandOverPrompt):
            talk.say(replies.Skip())
        assert talk.prompt.disturbed == ("bulb-out",)
        assert "NOT PUT BACK: bulb out of its socket: Screw the bulb in." in printed(talk)
