"""A hazard that is over leaves its trace: who said so and when, and what must be looked at before anything else."""

from __future__ import annotations

import msgspec
import pytest

from diagnose.authoring.case_watch import judge
from diagnose.cases.events import (
    Case,
    Cleared,
    CompetenceSaid,
    Entry,
    PlantChanged,
    PlantConfirmed,
    RemedyDone,
    StepMeasured,
)
from diagnose.documents.markdown import to_markdown
from diagnose.documents.page import diagnosis_page
from diagnose.interview.endings import hand_over
from diagnose.interview.kept import kept_document
from diagnose.observations import CheckDone, FindingSeen
from diagnose.protocol import replies
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import CautionPrompt, HandOverPrompt, Prompt, QuestionPrompt, StopPrompt
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.rule_book.competence import Competence
from tests.documents.invented import written
from tests.engines import real_engine

ENGINE = real_engine()
BOOK = ENGINE.rule_book
SHOCK, TOUCH, EARTH = "tingle-felt", "voltage-liquid-to-earth", "protective-earth-continuity"
DAMAGE, INSULATION = "look-at-the-damage", "supply-insulation"
AT = "2026-03-01T10:15:00+00:00"
ASKING = sorted(each.id for each in BOOK.findings.values() if each.keep_away and each.keep_away.afterwards)


def shocked(hazard: str = SHOCK, competence: Competence = "skilled", misread: bool = False) -> Case:
    """Return a case in which somebody got a shock, and it is over."""
    case = Case(name="shock", data_sheet={"hazardous-area": "no"})
    case = case.after(FindingSeen(finding="reading-erratic", present=True))
    case = case.after(CompetenceSaid(competence=competence)).after(FindingSeen(finding=hazard, present=True))
    stop = prompt_of(ENGINE, case)
    assert isinstance(stop, StopPrompt)
    turn = respond(ENGINE, case, stop, replies.HazardOver(findings=(hazard,), misread=misread))
    case = case.after(*turn.events, at=AT)
    for state, value in (("supply", "live"), ("line", "flowing")):
        if state in Situation(ENGINE, case).states_in_doubt:
            case = case.after(PlantChanged(state=state, value=value))
    return case.after(PlantConfirmed())


def first_after(hazard: str) -> set[str]:
    """Return the checks that come first once a hazard is over."""
    away = BOOK.findings[hazard].keep_away
    return set(away.afterwards) if away else set()


def next_step(case: Case) -> tuple[Case, Prompt]:
    """Return the first prompt that is neither a form nor a caution; the judge looks at each."""
    while True:
        prompt = prompt_of(ENGINE, case)
        assert judge(BOOK, case, prompt) == []
        reply: replies.Reply
        if isinstance(prompt, CautionPrompt):
            reply = replies.Heed()
        elif isinstance(prompt, QuestionPrompt) and prompt.about == "data sheet":
            reply = replies.FieldsFilled(complete=True)
        else:
            return case, prompt
        case = case.after(*respond(ENGINE, case, prompt, reply).events)


class TestTrace:
    """Who said so and when."""

    @pytest.mark.parametrize("misread", [False, True])
    def test_kept_and_shown(self, misread: bool) -> None:
        """In the document, its page, and at a hand-over; a hazard that was told again keeps both."""
        situation = Situation(ENGINE, shocked(misread=misread))
        document = kept_document(situation)
        (ended,) = document.hazards_over
        assert (ended.id, ended.misread, ended.at, ended.said_by) == (SHOCK, misread, AT, "skilled")
        page = to_markdown(diagnosis_page(document))
        ending = HandOverPrompt(ending="hand-over", proposal=situation.proposal)
        for text in (page.replace("\\", ""), " ".join(written(hand_over(situation, ending), 2000))):
            assert BOOK.findings[SHOCK].title in text
            assert "2026-03-01 10:15 UTC" in text
            assert "a skilled person" in text
            assert ("misread" in text) == misread

    def test_nobody_had_said_who_they_are(self) -> None:
        """Then the trace says that, too."""
        case = Case(name="gas").after(FindingSeen(finding="gas-smelt", present=True))
        turn = respond(ENGINE, case, prompt_of(ENGINE, case), replies.HazardOver(findings=("gas-smelt",)))
        (ended,) = kept_document(Situation(ENGINE, case.after(*turn.events))).hazards_over
        assert (ended.said_by, ended.at) == (None, "")

    def test_a_journal_from_before_is_still_read(self) -> None:
        """What was written without the person."""
        line = b'{"turn":1,"at":"","event":{"kind":"cleared","finding":"gas-smelt"}}'
        assert msgspec.json.decode(line, type=Entry).event == Cleared(finding="gas-smelt")


class TestWhatComesFirst:
    """The check that a hazard asks for."""

    def test_some_hazards_ask_for_one(self) -> None:
        """After a shock what people touch and the insulation; after heat, water or bare wires the damage and that."""
        for hazard in (SHOCK, "metalwork-at-voltage"):
            assert first_after(hazard) >= {TOUCH, EARTH, INSULATION}
        for hazard in (
            "burning-now",
            "burnt-smell",
            "housing-too-hot",
            "liquid-in-electronics",
            "live-conductors-bare",
        ):
            assert first_after(hazard) == {DAMAGE, INSULATION}
        assert first_after("water-over-live-meter") == {DAMAGE, INSULATION}
        assert first_after("liquid-sprays-out")

    @pytest.mark.parametrize("hazard", ASKING)
    def test_before_any_other_step(self, hazard: str) -> None:
        """No other step can be chosen either."""
        case, prompt = next_step(shocked(hazard))
        keep_away = BOOK.findings[hazard].keep_away
        assert keep_away
        assert prompt.proposal.id == keep_away.afterwards[0]  # type: ignore[union-attr]
        proposals = Situation(ENGINE, case).diagnosis.proposals
        assert (proposals.checks, proposals.remedies, proposals.before_all) == ((), (), True)

    def test_with_the_area_unknown_nothing_takes_its_place(self) -> None:
        """Nobody measures there, and nobody touches what was not measured; it is said what must be found out."""
        unknown = msgspec.structs.replace(shocked(), data_sheet={})
        _, prompt = next_step(unknown)
        assert isinstance(prompt, HandOverPrompt)
        assert "not known: explosive atmosphere possible" in prompt.proposal.because

    def test_somebody_is_fetched_where_this_person_may_not(self) -> None:
        """Whoever comes gets it first."""
        case, prompt = next_step(shocked(competence="ordinary"))
        assert isinstance(prompt, HandOverPrompt)
        assert prompt.proposal.title.startswith("Fetch a skilled person for: Measure the")
        came = case.after(*respond(ENGINE, case, prompt, replies.CompetenceReply(competence="skilled")).events)
        assert next_step(came)[1].proposal.id == TOUCH  # type: ignore[union-attr]

    def test_before_a_proof(self) -> None:
        """The shock came when a remedy was done: its proof waits."""
        case, prompt = next_step(shocked().after(RemedyDone(remedy="fuse-blown")))
        assert prompt.proposal.id == TOUCH  # type: ignore[union-attr]
        made = [StepMeasured(step=name) for name in (TOUCH, EARTH, INSULATION)]
        after = Situation(ENGINE, case.after(*made))
        assert not after.before_all
        assert after.standing.unproved == "fuse-blown"

    @pytest.mark.parametrize("event", [StepMeasured(step=EARTH), CheckDone(check=EARTH, answer="")])
    def test_once_made_all_else_goes_on(self, event: object) -> None:
        """And nothing says any more that it is missing; one made before the shock does not count.

        The voltage is measured before the first touch, the earth after that.
        """
        before = Case(name="shock").after(event)  # type: ignore[arg-type]
        early = msgspec.structs.replace(shocked(), entries=(*before.entries, *shocked().entries))
        assert Situation(ENGINE, early).first_after_hazards == (TOUCH, EARTH, INSULATION)
        measured = shocked().after(StepMeasured(step=TOUCH), StepMeasured(step=INSULATION))
        assert Situation(ENGINE, measured).first_after_hazards == (EARTH,)
        situation = Situation(ENGINE, measured.after(event))  # type: ignore[arg-type]
        assert situation.first_after_hazards == ()
        assert kept_document(situation).hazards_over[0].to_do == ()
        assert kept_document(Situation(ENGINE, shocked())).hazards_over[0].to_do == (
            BOOK.checks[TOUCH].title,
            BOOK.checks[EARTH].title,
            BOOK.checks[INSULATION].title,
        )

    def test_what_was_misread_asks_for_nothing(self) -> None:
        """Nobody got a shock."""
        assert Situation(ENGINE, shocked(misread=True)).first_after_hazards == ()

    def test_whoever_cannot_fetches_somebody_who_can(self) -> None:
        """Skipped, nothing that would rest on it comes in its place; the trace says that it was not made."""
        case, prompt = next_step(shocked())
        case = case.after(*respond(ENGINE, case, prompt, replies.Skip()).events)
        case, prompt = next_step(case)
        assert isinstance(prompt, HandOverPrompt)
        assert prompt.proposal.title.startswith("Have this done first: Measure the")
        assert kept_document(Situation(ENGINE, case)).hazards_over[0].to_do
        again = case.after(*respond(ENGINE, case, prompt, replies.Back()).events)
        assert next_step(again)[1].proposal.id == TOUCH  # type: ignore[union-attr]


class TestAir:
    """After gas, or somebody who felt unwell in a pit, the air is asked about before anything else."""

    @pytest.mark.parametrize("hazard", ["gas-smelt", "person-unwell"])
    def test_the_air_comes_first(self, hazard: str) -> None:
        """Whoever answers, and whatever the complaint is."""
        assert BOOK.findings[hazard].keep_away.afterwards == ("air-measured",)  # type: ignore[union-attr]

    def test_air_that_was_not_measured_stops_again(self) -> None:
        """Although the hazard was said to be over."""
        case = Case().after(
            FindingSeen(finding="reading-erratic", present=True),
            FindingSeen(finding="gas-smelt", present=True),
            CompetenceSaid(competence="ordinary"),
        )
        case = case.after(Cleared(finding="gas-smelt", competence="ordinary"), PlantConfirmed())
        prompt = prompt_of(ENGINE, case)
        assert isinstance(prompt, QuestionPrompt)
        assert prompt.proposal is not None
        assert prompt.proposal.id == "air-measured"
        answers = {option.text: option.reply for option in prompt.options}
        bad = next(reply for text, reply in answers.items() if text.startswith("not measured"))
        assert isinstance(prompt_of(ENGINE, case.after(*respond(ENGINE, case, prompt, bad).events)), StopPrompt)
        good = next(reply for text, reply in answers.items() if text.startswith("measured just now"))
        after = prompt_of(ENGINE, case.after(*respond(ENGINE, case, prompt, good).events))
        assert not isinstance(after, StopPrompt)
