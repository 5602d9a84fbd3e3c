"""The judge of whole cases sees by itself how the plant stands, who is there, what was heeded, and what stays open."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from diagnose.authoring.case_watch import judge
from diagnose.cases import events
from diagnose.cases.events import Case
from diagnose.observations import FindingSeen, Measurement, RemedyTried
from diagnose.protocol.prompts import HandOverPrompt, Prompt, ProofPrompt, PutBackPrompt, QuestionPrompt, StepsPrompt
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.proposal import Proposal, proposal_for
from diagnose.rule_book.faults import KeepAway
from diagnose.rule_book.work import Disturbance, Step
from tests.authoring.invented import lamp
from tests.reasoning.books import finding

BOOK = lamp(
    finding("gas-smelt", kind="symptom", keep_away=KeepAway(do=("Get out.",), who="whoever runs the plant")),
    finding("smoke", kind="symptom", keep_away=KeepAway(do=("Get out.",), who="an electrician", changes=("supply",))),
    finding("sparks", kind="symptom", keep_away=KeepAway(do=("Out.",), who="one", afterwards=("look-at-bulb",))),
)
SKILLED = events.CompetenceSaid(competence="skilled")
HEEDED = events.Acknowledgement(caution="shock", step="bulb")
ISOLATED = events.PlantChanged(state="supply", value="isolated")


def case(*happened: Any, **sheet: str) -> Case:
    """Return a case in which each event is a turn of its own."""
    made = Case(data_sheet=dict(sheet))
    for each in happened:
        made = made.after(each)
    return made


def step(made: Case, standing: dict[str, str] | None = None, **changed: Any) -> Prompt:
    """Return the prompt that shows the remedy of the bulb, planned from where the plant starts."""
    stands = {"supply": "live", "cover": "closed", **(standing or {})}
    proposal = proposal_for(Dangers(BOOK, made.data_sheet), "remedy", BOOK.remedies["bulb"], stands, "")
    return StepsPrompt(proposal=_with(proposal, changed))


def _with(proposal: Proposal, changed: dict[str, Any]) -> Proposal:
    return Proposal(**{name: getattr(proposal, name) for name in proposal.__struct_fields__} | changed)


def kinds(made: Case, prompt: Prompt) -> set[str]:
    """Return the kinds of what the judge finds wrong."""
    return {each.kind for each in judge(BOOK, made, prompt)}


class TestSteps:
    """What is shown to be done."""

    def test_nothing_wrong(self) -> None:
        """A skilled person, the supply isolated on the way."""
        made = case(SKILLED)
        assert kinds(made, step(made)) == set()

    def test_an_unsaid_competence_is_an_ordinary_one(self) -> None:
        """Isolating takes an instructed person."""
        assert kinds(case(), step(case())) == {"beyond competence"}

    def test_who_was_taken_back_is_not_there(self) -> None:
        """Going back counts."""
        made = case(SKILLED, events.Undo(turn=1))
        assert kinds(made, step(made)) == {"beyond competence"}

    def test_where_the_plant_stands_is_read_from_the_events(self) -> None:
        """Planned from live, though it was isolated already."""
        made = case(SKILLED, ISOLATED)
        assert "out of state" in kinds(made, step(made))
        assert kinds(made, step(made, {"supply": "isolated"})) == set()

    @pytest.mark.parametrize("over", [events.Undo(turn=2), events.SetAside(step="x", why="skipped")])
    def test_a_caution_that_was_read_holds_for_the_case(self, over: Any) -> None:
        """Whatever was taken back or left out since."""
        made = case(SKILLED, HEEDED, over)
        assert kinds(made, step(made, cautions=(("shock", ()),))) == set()

    def test_whoever_comes_after_a_shift_has_read_nothing(self) -> None:
        """It may be somebody else."""
        made = case(SKILLED, HEEDED, events.Resumed())
        assert kinds(made, step(made, cautions=(("shock", ()),))) == {"before its caution"}

    def test_somebody_abler_has_read_nothing_either(self) -> None:
        """Nobody becomes more able in the middle of a case."""
        made = case(events.CompetenceSaid(competence="ordinary"), HEEDED, SKILLED)
        assert kinds(made, step(made, cautions=(("shock", ()),))) == {"before its caution"}

    def test_what_nobody_knows_of_the_meter_may_hold(self) -> None:
        """Cover open, and nobody knows about gas: its caution is due; where gas is denied it is not."""
        made = case(SKILLED)
        look = BOOK.checks["look-at-bulb"]
        proposal = proposal_for(Dangers(BOOK, {}), "check", look, {"supply": "live", "cover": "closed"}, "")
        prompt = QuestionPrompt(about="check", text="?", proposal=_with(proposal, {"cautions": ()}))
        assert kinds(made, prompt) == {"before its caution"}
        told = case(SKILLED, Measurement(quantity="gas", value="no"))
        assert kinds(told, prompt) == set()

    def test_nothing_is_done_in_spite_of_a_hazard(self) -> None:
        """Told, over, and told again: it counts as often as it is told."""
        told, over = FindingSeen(finding="gas-smelt", present=True), events.Cleared(finding="gas-smelt")
        for happened, wrong in (((told,), True), ((told, over), False), ((told, over, told), True)):
            made = case(SKILLED, *happened)
            assert ("in spite of a hazard" in kinds(made, step(made))) == wrong

    def test_nothing_is_done_while_nobody_knows_how_the_plant_stands(self) -> None:
        """What a hazard had switched off is unknown until its value is said; a mere confirmation says nothing."""
        told, over = FindingSeen(finding="smoke", present=True), events.Cleared(finding="smoke")
        live = events.PlantChanged(state="supply", value="live")
        for happened, wrong in (
            ((told, over), True),
            ((live, told, over), True),
            ((told, over, events.PlantConfirmed()), True),
            ((told, over, live), False),
            ((told, events.Cleared(finding="smoke", misread=True)), False),
        ):
            made = case(SKILLED, *happened)
            assert ("in spite of a hazard" in kinds(made, step(made))) == wrong

    def test_what_a_hazard_asks_for_comes_first_and_may_come_again(self) -> None:
        """Left out, it may be proposed once more; nothing else comes before it was made or left out."""
        over = (FindingSeen(finding="sparks", present=True), events.Cleared(finding="sparks"))
        aside = events.SetAside(step="look-at-bulb", why="skipped")
        assert "in spite of a hazard" in kinds(case(SKILLED, *over), step(case(SKILLED, *over)))
        look = BOOK.checks["look-at-bulb"]
        proposal = proposal_for(Dangers(BOOK, {}), "check", look, {"supply": "live", "cover": "closed"}, "")
        for happened in (over, (*over, aside)):
            prompt = QuestionPrompt(about="check", text="?", proposal=proposal)
            assert "in spite of a hazard" not in kinds(case(SKILLED, *happened), prompt)

    def test_nothing_is_put_to_somebody_who_avoids_it(self) -> None:
        """Until somebody else answers, or all is to be offered again; less competence is the same person."""
        avoids = events.DangerAvoided(caution="spark")
        look = BOOK.checks["look-at-bulb"]
        proposal = proposal_for(Dangers(BOOK, {}), "check", look, {"supply": "live", "cover": "closed"}, "")
        prompt = QuestionPrompt(about="check", text="?", proposal=proposal)
        read = events.Acknowledgement(caution="spark", step="look-at-bulb")
        less, other = events.CompetenceSaid(competence="instructed"), SKILLED
        for happened, wrong in (
            ((avoids,), True),
            ((avoids, other), False),
            ((avoids, events.WentOn()), False),
        ):
            assert kinds(case(SKILLED, *happened, read), prompt) == ({"forbidden"} if wrong else set()), happened
        assert "forbidden" in kinds(case(SKILLED, avoids, less, read), prompt)

    def test_nothing_is_switched_on_that_something_left_off_holds(self) -> None:
        """As long as the feed is unscrewed the supply stays isolated; put back, it need not."""
        off = Disturbance(
            id="feed-off", title="feed off", steps=("Put it back.",), minutes=1.0, holds={"supply": ("isolated",)}
        )
        book = msgspec.structs.replace(BOOK, disturbances={"feed-off": off})
        disturbed = events.Disturbed(step="bulb", what=("feed-off",))
        for happened, changes, wrong in (
            ((disturbed,), (("supply", "live"),), True),
            ((disturbed,), (), False),
            ((disturbed, events.Restored(what=("feed-off",))), (("supply", "live"),), False),
        ):
            made = case(SKILLED, ISOLATED, *happened)
            proposal = proposal_for(
                Dangers(BOOK, {}), "check", BOOK.checks["ask"], {"supply": "isolated", "cover": "closed"}, ""
            )
            prompt = QuestionPrompt(about="check", text="?", proposal=_with(proposal, {"changes": changes}))
            texts = [each.text for each in judge(book, made, prompt) if "not put back" in each.text]
            assert bool(texts) == wrong, happened

    def test_a_proof_is_made_in_its_state(self) -> None:
        """Not with the cover as the remedy left it."""
        made = case(SKILLED)
        look = BOOK.checks["look-at-bulb"]
        proposal = proposal_for(Dangers(BOOK, {}), "check", look, {"supply": "live", "cover": "closed"}, "")
        prompt = ProofPrompt(remedy="bulb", proposal=_with(proposal, {"changes": (("supply", "isolated"),)}))
        assert "out of state" in kinds(made, prompt)

    def test_putting_back_is_a_step(self) -> None:
        """For who may do it."""
        made = case(ISOLATED)
        home = Step(id="put-back", title="", steps=(), minutes=0.0, needs={"supply": ("live",), "cover": ("closed",)})
        stands = {"supply": "isolated", "cover": "closed"}
        prompt = PutBackPrompt(proposal=proposal_for(Dangers(BOOK, {}), "done", home, stands, ""))
        assert kinds(made, prompt) == {"beyond competence"}


class TestEndings:
    """What whoever takes over must be told."""

    def ending(self, **named: Any) -> Prompt:
        """Return a hand-over that names some things."""
        over = Proposal(kind="escalate", id="", title="", minutes=0, saves_minutes=0, because="", competence="skilled")
        return HandOverPrompt(ending="hand-over", proposal=over, **named)

    def test_a_state_that_is_not_put_back(self) -> None:
        """It is named, or left open."""
        made = case(ISOLATED)
        assert kinds(made, self.ending()) == {"left open"}
        assert kinds(made, self.ending(left=(("supply", "live"),))) == set()

    def test_a_remedy_without_its_proof(self) -> None:
        """Likewise, until it is proved one way or the other."""
        done = events.RemedyDone(remedy="bulb")
        assert kinds(case(done), self.ending()) == {"left open"}
        assert kinds(case(done), self.ending(not_proved=("bulb",))) == set()
        assert kinds(case(done, RemedyTried(remedy="bulb", verdict="cured")), self.ending()) == set()
