"""*Back* says in words what it took back, whatever that was."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given

from diagnose.cases.events import (
    Cleared,
    CompetenceClaimed,
    CompetenceSaid,
    DangerAvoided,
    DangerMentioned,
    Disturbed,
    Event,
    FaultRemains,
    LeftAsIs,
    NoComplaint,
    NoDanger,
    Note,
    NothingElse,
    NoTool,
    OthersWanted,
    PlantChanged,
    PlantConfirmed,
    ReadingTaken,
    RemedyDone,
    Restored,
    SetAside,
    SheetAsked,
    SheetFilled,
    StaysDisturbed,
    StepChosen,
    StepDeclined,
    StepMeasured,
    TextRead,
    Undo,
    WentOn,
)
from diagnose.cases.standing import KEPT
from diagnose.observations import CheckDone, Compared, FindingSeen, Measurement, RemedyTried, WordEvidence
from diagnose.protocol import replies
from diagnose.protocol.situation import Situation
from diagnose.protocol.taken_back import taken_back
from diagnose.rule_book.quantities import Limit
from tests.cases.any_events import ANSWERS, counts
from tests.engines import real_engine
from tests.protocol.test_putting_back import looked
from tests.protocol.test_turns import ENGINE, Talk

BOOK = real_engine().rule_book

SAID: list[tuple[Event, str]] = [
    (FindingSeen(finding="display-dark", present=True), "display is dark – yes"),
    (FindingSeen(finding="display-dark", present=False), "display is dark – no"),
    (Measurement(quantity="loop-current", value=0.012), "current in the loop – 12 mA"),
    (
        Measurement(quantity="coil-resistance", value=Limit(2e7, "above")),
        "resistance of the coil circuit – above 20 Mohm",
    ),
    (Measurement(quantity="output", value=("pulse", "RS-485")), "outputs that are used – pulse, RS-485"),
    (CheckDone(check="tap-and-wiggle", answer="no"), "– no"),
    (RemedyTried(remedy="fuse-blown", verdict="not cured"), "– not cured"),
    (WordEvidence(decibans={}), "the words of the report"),
    (Compared(with_what="reference", between=("reference",), decibans={}), "readings that were compared"),
    (Compared(with_what="reference", between=("reference",), decibans={}, quote="4 pairs"), "4 pairs"),
    (TextRead(text="stuck\nat 4 mA"), "“stuck at 4 mA”"),
    (PlantChanged(state="supply", value="isolated"), "Supply – isolated"),
    (SetAside(step="loop-current", why="skipped"), "– skipped"),
    (SetAside(step="loop-current", why="not done"), "– could not be done"),
    (StepDeclined(step="loop-current", why="no tool"), "– no tool for it"),
    (NoTool(tool="multimeter"), "multimeter – not here"),
    (
        DangerAvoided(caution="working-at-height"),
        f"{BOOK.cautions['working-at-height'].title} – nothing with this danger",
    ),
    (DangerMentioned(quote="it smells", findings=("gas-smelt",)), "“it smells”"),
    (NoDanger(), "nobody is in danger"),
    (PlantConfirmed(), "how the plant stands"),
    (CompetenceClaimed(quote="I am an electrician", competence="skilled"), "I am an electrician"),
    (CompetenceSaid(competence="instructed"), "an instructed person is answering"),
    (SheetFilled(field="bore", value=0.1), "inner diameter of the meter – 100 mm"),
    (SheetFilled(field="bore"), "inner diameter of the meter – not known"),
    (
        SheetAsked(fields=("bore", "build")),
        "inner diameter of the meter – left blank; how the meter is built – left blank",
    ),
    (NoComplaint(), "nobody can say what is wrong"),
    (OthersWanted(), "another step is wanted"),
    (StepChosen(), "chosen: the step that is proposed"),
    (StepChosen(step="loop-current"), f"chosen: {BOOK.checks['loop-current'].title}"),
    (ReadingTaken(step="loop-current", quantity="loop-current", value=0.004), "current in the loop – 4 mA"),
    (ReadingTaken(step="loop-current", quantity="loop-current"), "current in the loop – could not be read"),
    (StepMeasured(step="loop-current"), f"{BOOK.checks['loop-current'].title} – measured"),
    (RemedyDone(remedy="fuse-blown"), "– done"),
    (FaultRemains(), "something else is still wrong"),
    (NothingElse(), "nothing else is wrong"),
    (LeftAsIs(), "the plant stays as it is"),
    (Restored(what=("loop-in-manual", "fuse-out")), "loop in manual, fuse out – put back"),
    (StaysDisturbed(what=("fuse-out",)), "fuse out – left as it is"),
    (WentOn(), "going on all the same"),
    (Cleared(finding="display-dark"), "display is dark – it is over"),
]


@pytest.mark.parametrize(("event", "words"), SAID, ids=lambda each: each if isinstance(each, str) else "")
def test_each_kind_of_event_is_said_in_words(event: Event, words: str) -> None:
    """By its title, never by its id, with what was answered."""
    said = taken_back(BOOK, [event])
    assert said.startswith("Taken back: ")
    assert words in said


def test_no_kind_of_event_is_without_words() -> None:
    """But those that going back passes over."""
    kinds = {kind for kind in get_args(Event) if kind not in get_args(KEPT)} | {TextRead}
    assert {type(event) for event, _ in SAID} == kinds - {Undo}


@given(ANSWERS)
def test_any_answer_is_said_in_one_sentence(events: list[Event]) -> None:
    """Also one that speaks of what the rule book does not have."""
    if counts(events):
        assert taken_back(BOOK, events).removeprefix("Taken back: ").strip(" .;")


def test_an_answer_is_told_with_all_that_it_changed_and_nothing_that_stays() -> None:
    """What follows anyway is not said besides; a note and a lead that is off were not taken back."""
    answer = [PlantChanged(state="enclosure", value="open"), StepMeasured(step="loop-current")]
    events = [*answer, Note(text="stays"), Disturbed(step="loop-current", what=("fuse-out",))]
    assert taken_back(BOOK, events) == "Taken back: Enclosure – open."


def test_going_back_tells_what_was_taken_back() -> None:
    """Each time the answer before; and that nothing is left in the end."""
    talk = looked()
    talk.say(replies.Done())
    told = []
    while Situation(ENGINE, talk.case).standing.last_turn:
        told.append(talk.say(replies.Back()).remarks[0].text)
    assert told[0].startswith("Taken back: bulb out of its socket – put back")
    assert told[1].startswith("Taken back: ")
    assert "black" in told[1]
    assert told[-1] == "Taken back: lamp is dark – yes."
    assert talk.say(replies.Back()).remarks[0].text == "There is nothing to take back."


def test_a_talk_in_words_is_told_by_its_findings() -> None:
    """What was understood of them says more than the words."""
    talk = Talk("dark")
    talk.say(replies.Words(text="the lamp flickers"))
    assert talk.say(replies.Back()).remarks[0].text == "Taken back: lamp flickers – yes."
