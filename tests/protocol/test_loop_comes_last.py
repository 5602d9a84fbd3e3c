"""A loop that was put in manual to isolate is on record, waits for the meter to read again, and goes back last."""

from __future__ import annotations

import random

import pytest

from diagnose.authoring.case_watch import judge
from diagnose.cases.events import Case, CompetenceSaid, Disturbed, PlantChanged, RemedyDone, StepChosen
from diagnose.documents.document import step_document
from diagnose.interview.screens import status
from diagnose.observations import FindingSeen
from diagnose.protocol import replies
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import CautionPrompt, HandOverPrompt, Prompt, PutBackPrompt, QuestionPrompt
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.proposal import proposal_for
from diagnose.rule_book.quantities import DataSheet
from tests.documents.invented import written
from tests.engines import real_engine

ENGINE = real_engine()
BOOK = ENGINE.rule_book
LOOP = "loop-in-manual"
IN_SERVICE = {"supply": "live", "line": "flowing", "enclosure": "closed"}
CONTROLS: DataSheet = {
    "hazardous-area": "no",
    "location": ("building",),
    "liquid": ("water",),
    "signal-duty": ("control",),
    "cathodic-protection": "no",
    "sensor-electronics": "no",
    "behind-cover": "finger-safe mains terminals",
}
"""An invented meter whose signal controls something."""


def begun(**sheet: object) -> Case:
    """Return a case of that meter with a skilled person."""
    seen = FindingSeen(finding="error-indicated", present=True)
    case = Case(name="loop", data_sheet={**CONTROLS, **sheet}).after(seen)  # type: ignore[arg-type]
    return case.after(CompetenceSaid(competence="skilled"))


def said(case: Case, reply: replies.Reply) -> Case:
    """Return the case after a reply."""
    return case.after(*respond(ENGINE, case, prompt_of(ENGINE, case), reply).events)


def heeded(case: Case) -> tuple[Case, Prompt]:
    """Return the case with cautions heeded and forms left blank, and the prompt then on; the judge looks at each."""
    while True:
        prompt = prompt_of(ENGINE, case)
        assert judge(BOOK, case, prompt) == []
        if isinstance(prompt, CautionPrompt):
            case = said(case, replies.Heed())
        elif isinstance(prompt, QuestionPrompt) and prompt.about == "data sheet":
            case = said(case, replies.FieldsFilled(complete=True))
        else:
            return case, prompt


def isolated() -> Case:
    """Return the case after a coil was measured, for which the meter was isolated and opened."""
    case, prompt = heeded(begun().after(StepChosen(step="coil-resistance")))
    assert prompt.proposal.id == "coil-resistance"  # type: ignore[union-attr]
    return said(case, replies.Unknown() if not prompt.options else prompt.options[0].reply)


class TestIsolating:
    """What the way to a step disturbs is held like what the step itself disturbs."""

    def test_the_step_says_so(self) -> None:
        """In the document of a step that isolates first, and not in one that finds the supply off."""
        off = {**IN_SERVICE, "supply": "isolated", "enclosure": "open", "conductors": "proved dead"}
        first = proposal_for(
            Dangers(BOOK, CONTROLS),
            "check",
            BOOK.checks["coil-resistance"],
            {**off, **{"supply": "live", "enclosure": "closed", "conductors": "not proved dead"}},
            "",
        )
        again = proposal_for(Dangers(BOOK, CONTROLS), "check", BOOK.checks["coil-resistance"], off, "")
        assert LOOP in first.disturbs
        assert LOOP not in again.disturbs
        assert LOOP in {each.id for each in step_document(BOOK, first).afterwards}

    def test_not_where_the_signal_is_only_looked_at(self) -> None:
        """There is no loop to put in manual."""
        start = {name: state.initial for name, state in BOOK.states.items()}
        shown = {**CONTROLS, "signal-duty": ("indication only",)}
        step = BOOK.checks["coil-resistance"]
        assert LOOP not in proposal_for(Dangers(BOOK, shown), "check", step, start, "").disturbs

    def test_held_and_on_the_status_line(self) -> None:
        """From the moment that the steps were shown."""
        situation = Situation(ENGINE, isolated())
        assert LOOP in situation.disturbed
        assert "loop in manual" in " ".join(written(status(situation), 2000))

    def test_not_asked_for_while_the_meter_is_off(self) -> None:
        """Nobody puts a loop in automatic on a dead meter; other things go back in between."""
        case, prompt = heeded(isolated())
        while isinstance(prompt, PutBackPrompt):
            assert LOOP not in prompt.disturbed
            case, prompt = heeded(said(case, replies.Done()))
        assert LOOP in Situation(ENGINE, case).disturbed

    def test_last_on_the_way_back(self) -> None:
        """Leads, cover and supply first; at the end of the last prompt the loop."""
        case = isolated().after(Disturbed(step="x", what=("vent-open",)))
        order: list[tuple[str, ...]] = []
        for _ in range(200):
            case, prompt = heeded(case)
            if isinstance(prompt, HandOverPrompt):
                break
            if isinstance(prompt, PutBackPrompt):
                order.append(prompt.disturbed)
                stands = {**prompt.proposal.standing, **dict(prompt.proposal.changes)}
                if LOOP in prompt.disturbed:
                    assert {name: stands[name] for name in IN_SERVICE} == IN_SERVICE
                    assert prompt.disturbed[-1] == LOOP
                    assert set(Situation(ENGINE, case).disturbed) == set(prompt.disturbed)
                case = said(case, replies.Done())
            else:
                case = said(case, replies.Skip())
        assert isinstance(prompt, HandOverPrompt)
        assert prompt.disturbed == ()
        assert any("sensor-leads-off" in each for each in order)

    def test_isolating_to_put_a_lead_back(self) -> None:
        """A meter switched on with a lead off is isolated for it again: the loop in manual again as well."""
        case = begun().after(Disturbed(step="x", what=("sensor-leads-off",)))
        case, prompt = heeded(case)
        assert isinstance(prompt, PutBackPrompt)
        assert ("supply", "isolated") in prompt.proposal.changes
        assert Situation(ENGINE, said(case, replies.Done())).disturbed == (LOOP,)

    def test_a_proof_of_what_stands_otherwise_does_not_wait_for_it(self) -> None:
        """A proof at standstill needs the line shut: the loop stays in manual over it, and is not forgotten."""
        stopped = [
            each
            for each in BOOK.remedies.values()
            if "flowing" not in BOOK.checks[each.proved_by].needs.get("line", ("flowing",))
        ]
        assert stopped
        case = begun().after(Disturbed(step="x", what=(LOOP,)))
        case = case.after(PlantChanged(state="line", value="stopped full"), RemedyDone(remedy=stopped[0].id))
        case, prompt = heeded(case)
        assert not isinstance(prompt, PutBackPrompt)
        assert Situation(ENGINE, case).disturbed == (LOOP,)


@pytest.mark.parametrize("seed", range(3))
def test_never_in_automatic_before_the_meter_reads(seed: int) -> None:
    """However an interview goes: with the loop's own putting back the plant stands in service."""
    chooser = random.Random(seed)
    case = begun()
    for _ in range(60):
        case, prompt = heeded(case)
        if isinstance(prompt, HandOverPrompt):
            break
        if isinstance(prompt, PutBackPrompt) and LOOP in prompt.disturbed:
            stands = {**prompt.proposal.standing, **dict(prompt.proposal.changes)}
            assert {name: stands[name] for name in IN_SERVICE} == IN_SERVICE
        offered = [each.reply for each in prompt.options if not isinstance(each.reply, replies.Untouched)]
        reply = chooser.choice(offered) if offered else replies.Skip()
        case = said(case, reply)
        situation = Situation(ENGINE, case)
        off = situation.plant["supply"] == "isolated"
        assert not off or LOOP in situation.disturbed
