"""Events of a case: each comes back from a journal as it was, and a turn keeps its number."""

from __future__ import annotations

from typing import get_args

import msgspec
from hypothesis import given
from hypothesis import strategies as st

from diagnose.cases.events import Case, Entry, Event, Note, SheetFilled, Undo, next_turn
from diagnose.observations import Measurement
from diagnose.rule_book.quantities import Limit, Value
from tests.cases.any_events import ANSWERS, DARK, EVENTS, SHEET, TURNS, after_turns


@given(EVENTS | st.builds(Undo, turn=st.integers(1, 99)))
def test_every_kind_of_event_comes_back_from_a_journal_as_it_was(event: Event) -> None:
    """As one line of JSON, read again by its kind."""
    entry = Entry(turn=1, at="2026-01-01T00:00:00+00:00", event=event)
    line = msgspec.json.encode(entry)
    assert b"\n" not in line
    assert msgspec.json.decode(line, type=Entry) == entry


def test_every_kind_of_event_has_a_name_of_its_own_in_a_journal() -> None:
    """Two kinds of one name could not be told apart again."""
    kinds = [each.__struct_config__.tag for each in get_args(Event)]
    assert len(set(kinds)) == len(kinds)
    assert all(kinds)


@given(
    st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=10)
    | st.lists(st.text(max_size=5), max_size=3).map(tuple)
    | st.builds(Limit, st.floats(allow_nan=False, allow_infinity=False), st.sampled_from(["above", "below"]))
)
def test_every_kind_of_value_comes_back_from_a_journal_as_it_was(value: Value) -> None:
    """A figure, a word, several words and a limit, measured and on the data sheet."""
    for event in (Measurement(quantity="voltage", value=value), SheetFilled(field="voltage", value=value)):
        entry = Entry(turn=1, at="", event=event)
        assert msgspec.json.decode(msgspec.json.encode(entry), type=Entry) == entry


def test_the_events_of_one_answer_share_a_turn() -> None:
    """And the next answer has the next number, going back included."""
    case = Case(data_sheet=SHEET).after(DARK, Note(text="x")).after(Undo(turn=1), at="later")
    assert [(entry.turn, entry.at) for entry in case.entries] == [(1, ""), (1, ""), (2, "later")]
    assert next_turn(case.entries) == 3
    assert case.data_sheet == SHEET


@given(TURNS, ANSWERS)
def test_a_case_only_grows(turns: list[list[Event] | str], answer: list[Event]) -> None:
    """What was there before an answer is there after it, and the case before it is as it was."""
    case = after_turns(turns)
    before = case.entries
    after = case.after(*answer)
    assert case.entries == before
    assert after.entries[: len(before)] == before
    assert [entry.event for entry in after.entries[len(before) :]] == answer
    assert {entry.turn for entry in after.entries[len(before) :]} == {next_turn(before)}
