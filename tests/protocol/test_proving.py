"""A proof goes by its reading where the rules can judge it; where they cannot, the person is asked plainly."""

from __future__ import annotations

import pytest

from diagnose.cases.events import Case, CompetenceSaid, ReadingTaken, RemedyDone
from diagnose.observations import FindingSeen, RemedyTried
from diagnose.protocol import replies
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import CautionPrompt, ProofPrompt, PutBackPrompt, QuestionPrompt, ReadingPrompt
from diagnose.protocol.responding import respond
from diagnose.protocol.typed import reply_to
from diagnose.rule_book.quantities import DataSheet
from diagnose.units import to_si
from tests.engines import real_engine

ENGINE = real_engine()
BOOK = ENGINE.rule_book
REMEDY = min(each.id for each in BOOK.remedies.values() if each.proved_by == "zero-check")
FLOW = "flow-at-standstill"


def _si(shown: str) -> float:
    return to_si(float(shown.split()[0]), "m3/h", "m3/h")


def proof(shown: str | None, **limits: str) -> tuple[Case, ProofPrompt]:
    """Return the question after a zero check that showed this flow, with the limits that are known."""
    sheet: DataSheet = {name.replace("_", "-"): _si(value) for name, value in limits.items()}
    case = Case(name="zero", data_sheet=sheet).after(FindingSeen(finding="reading-erratic", present=True))
    case = case.after(CompetenceSaid(competence="skilled")).after(RemedyDone(remedy=REMEDY))
    value = None if shown is None else _si(shown)
    for _ in range(20):
        prompt = prompt_of(ENGINE, case)
        if isinstance(prompt, ProofPrompt):
            return case, prompt
        reply: replies.Reply = replies.Done()
        if isinstance(prompt, CautionPrompt):
            reply = replies.Heed()
        elif isinstance(prompt, QuestionPrompt):
            reply = replies.FieldsFilled(complete=True)
        elif not isinstance(prompt, PutBackPrompt):
            case = case.after(ReadingTaken(step="zero-check", quantity=FLOW, value=value))
            continue
        case = case.after(*respond(ENGINE, case, prompt, reply).events)
    raise AssertionError("no proof")


@pytest.mark.parametrize(
    ("typed", "reading"),
    [("10 10.0; 20 20.1 m3/h", "good"), ("10 10.0; 20 25 m3/h", "not good")],
    ids=["they agree", "one is apart"],
)
def test_pairs_prove_as_a_reading_does(typed: str, reading: str) -> None:
    """The pair that is furthest apart counts, and both of its readings are taken."""
    remedy = min(each.id for each in BOOK.remedies.values() if each.proved_by == "control-system-reading")
    sheet: DataSheet = {"upper-range-value": _si("100 m3/h")}
    case = Case(name="pairs", data_sheet=sheet).after(FindingSeen(finding="control-system-disagrees", present=True))
    case = case.after(CompetenceSaid(competence="skilled")).after(RemedyDone(remedy=remedy))
    for _ in range(20):
        prompt = prompt_of(ENGINE, case)
        reply: object = replies.FieldsFilled(complete=True)
        if isinstance(prompt, ProofPrompt):
            assert prompt.reading == reading
            return
        if isinstance(prompt, CautionPrompt):
            reply = replies.Heed()
        elif isinstance(prompt, PutBackPrompt):
            reply = replies.Done()
        elif isinstance(prompt, ReadingPrompt):
            reply = reply_to(ENGINE, {}, prompt, typed)
            assert isinstance(reply, replies.Analysed)
        case = case.after(*respond(ENGINE, case, prompt, reply).events)  # type: ignore[arg-type]
    raise AssertionError("no proof")


def verdicts(prompt: ProofPrompt) -> list[str]:
    """Return the verdicts on offer; the last answer is that nobody can say."""
    assert isinstance(prompt.options[-1].reply, replies.NotDone)
    return [each.reply.verdict for each in prompt.options if isinstance(each.reply, replies.Verdict)]


def test_a_limit_that_nobody_knows() -> None:
    """Fifty cubic metres an hour at the zero check: asked whether that is good, with what was read."""
    _, prompt = proof("50 m3/h")
    assert prompt.reading == "open"
    assert "50 m3/h" in prompt.text
    assert [each.text for each in prompt.options] == [
        "the reading is good, and the complaint is gone",
        "the reading is good, but something is still wrong",
        "the reading is not good",
        "nobody here can say whether it is good: it stays unproved",
    ]


@pytest.mark.parametrize(
    ("shown", "limits"),
    [("50 m3/h", {"zero_stability": "0.1 m3/h"}), ("50 m3/h", {"upper_range_value": "100 m3/h"})],
    ids=["beyond the data sheet", "beyond anything"],
)
def test_a_reading_that_is_not_good(shown: str, limits: dict[str, str]) -> None:
    """It is not cured, whatever anybody says; the case goes on."""
    case, prompt = proof(shown, **limits)
    assert prompt.reading == "not good"
    assert verdicts(prompt) == ["partly", "not cured"]
    turn = respond(ENGINE, case, prompt, replies.Verdict(verdict="cured"))
    assert turn.events == ()
    assert "says otherwise" in turn.remarks[0].text
    turn = respond(ENGINE, case, prompt, replies.Verdict(verdict="not cured"))
    assert [each.verdict for each in turn.events if isinstance(each, RemedyTried)] == ["not cured"]


def test_a_reading_that_is_good() -> None:
    """Then only the complaint is asked about."""
    _, prompt = proof("0.05 m3/h", zero_stability="0.1 m3/h")
    assert (prompt.reading, prompt.text) == ("good", "Did it cure the fault?")
    assert verdicts(prompt) == ["cured", "partly", "not cured"]


def test_a_reading_that_was_not_taken() -> None:
    """It is said that it is missing."""
    _, prompt = proof(None)
    assert prompt.reading == "not taken"
    assert prompt.text.startswith("The reading could not be taken.")
