"""Answers that the rule book does not know: told, left in the journal, and not counted."""

from __future__ import annotations

import msgspec

from diagnose.cases.events import (
    Case,
    Cleared,
    Disturbed,
    MeterNamed,
    Note,
    PlantChanged,
    ReadingTaken,
    RemedyDone,
    SheetFilled,
)
from diagnose.cases.fitting import fitting, misfits
from diagnose.observations import CheckDone, FindingSeen, Measurement, RemedyTried
from diagnose.rule_book.cache import digest_of
from tests.engines import real_engine

BOOK = real_engine().rule_book
OUTCOME = BOOK.checks["read-the-error"].outcomes[0]

HOLDS = (
    FindingSeen(finding="display-dark", present=True),
    CheckDone(check="read-the-error", answer=OUTCOME.answer),
    Measurement(quantity="loop-current", value=0.012),
    PlantChanged(state="supply", value="isolated"),
    SheetFilled(field="build", value="remote"),
    SheetFilled(field="output"),
    Disturbed(step="x", what=("sensor-leads-off",)),
    Note(text="anything"),
)
GONE = (
    (FindingSeen(finding="display-darc", present=True, quote="no light"), "no finding `display-darc` (“no light”)"),
    (CheckDone(check="read-the-eror", answer="yes"), "no check `read-the-eror`, answered “yes”; did you mean"),
    (CheckDone(check="read-the-error", answer="it sings"), "has no answer “it sings”"),
    (
        Measurement(quantity="loop-curent", value=0.012),
        "no quantity `loop-curent` (0.012); did you mean `loop-current`",
    ),
    (ReadingTaken(step="x", quantity="loop-curent"), "no quantity `loop-curent`"),
    (RemedyTried(remedy="pray", verdict="cured"), "no remedy `pray` (cured)"),
    (RemedyDone(remedy="pray"), "no remedy `pray` (carried out)"),
    (PlantChanged(state="suply", value="isolated"), "no state of the plant `suply` (isolated); did you mean `supply`?"),
    (PlantChanged(state="supply", value="purple"), "supply cannot be “purple”"),
    (SheetFilled(field="build", value="remot"), "cannot be “remot”; did you mean `remote`?"),
    (SheetFilled(field="colour", value="red"), "no field of the data sheet `colour` (red)"),
    (Disturbed(step="x", what=("leads-off",)), "no thing to put back `leads-off`"),
    (Measurement(quantity="loop-current", value="abc"), "is a figure, and not “abc”"),
    (Measurement(quantity="signal-duty", value=1e3), "is a word, and not “1000.0”"),
    (SheetFilled(field="nominal-diameter", value="zz"), "is a figure, and not “zz”"),
    (Cleared(finding="fire"), "no finding `fire` (a hazard that was said to be over)"),
)


def test_what_the_rule_book_knows_holds() -> None:
    """Nothing is told, nothing left out."""
    case = Case(data_sheet={"build": "remote"}).after(*HOLDS)
    assert misfits(BOOK, case) == ()
    assert fitting(BOOK, case) == case


def test_each_answer_that_does_not_hold_is_told_with_its_line() -> None:
    """What it was, and what may be meant."""
    case = Case(data_sheet={"bild": "remote"})
    for event, _ in GONE:
        case = case.after(*HOLDS[:1], event)
    told = misfits(BOOK, case)
    assert told[0].line == 1
    assert "no field of the data sheet `bild` (remote)" in told[0].text
    assert [each.line for each in told[1:]] == [2 * number + 1 for number in range(1, len(GONE) + 1)]
    for each, (_, text) in zip(told[1:], GONE, strict=True):
        assert text in each.text
    left = fitting(BOOK, case)
    assert {entry.event for entry in left.entries} == {HOLDS[0]}
    assert misfits(BOOK, left) == ()


def test_a_rule_book_is_known_by_its_content() -> None:
    """Not by where it came from; a cause less is another book."""
    again = msgspec.structs.replace(BOOK)
    fewer = msgspec.structs.replace(BOOK, causes=dict(list(BOOK.causes.items())[1:]))
    assert digest_of(again) == digest_of(BOOK) != digest_of(fewer)


def test_of_a_named_meter_the_tag_stays() -> None:
    """And what its data sheet says, but for fields that the rule book does not have."""
    case = Case().after(MeterNamed(tag="FT-1", data_sheet={"build": "remote", "colour": "red"}))
    assert ["`colour`" in each.text for each in misfits(BOOK, case)] == [True]
    (entry,) = fitting(BOOK, case).entries
    assert entry.event == MeterNamed(tag="FT-1", data_sheet={"build": "remote"})
