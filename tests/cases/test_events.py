"""What the events of a case amount to, and that going back loses nothing."""

from __future__ import annotations

import tempfile
from pathlib import Path

import msgspec
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.cases.events import (
    Acknowledgement,
    CompetenceSaid,
    Entry,
    Event,
    Note,
    NoTool,
    PlantChanged,
    SetAside,
    SheetFilled,
    Standing,
    Undo,
    next_turn,
    standing_of,
)
from diagnose.cases.journal import Journal
from diagnose.observations import CheckDone, FindingSeen, Measurement, RemedyTried, State
from diagnose.rule_book.types import DataSheet, Limit, Value

SHEET: DataSheet = {"nominal-voltage": 230.0}


def folded(*events: Event) -> Standing:
    """Fold events, each a turn of its own."""
    return standing_of([Entry(turn=turn, at="", event=event) for turn, event in enumerate(events, 1)], SHEET)


def test_a_case_begins_with_its_data_sheet_and_nothing_else() -> None:
    """No events are no observations, and an ordinary person until somebody says more."""
    assert folded() == Standing(data_sheet=SHEET, state=State(competence="ordinary"))


def test_events_become_observations_and_state_in_order() -> None:
    """Each kind of event goes where the diagnosis looks for it."""
    standing = folded(
        FindingSeen(finding="lamp-dark", present=True),
        CompetenceSaid(competence="skilled"),
        PlantChanged(state="supply", value="isolated"),
        CheckDone(check="look-at-bulb", answer="whole"),
        SetAside(step="measure-voltage", why="skipped"),
        NoTool(tool="multimeter"),
        SheetFilled(field="place", value="inside"),
        SheetFilled(field="power"),
        PlantChanged(state="supply", value="live"),
        RemedyTried(remedy="change-bulb", verdict="not cured"),
    )
    assert [type(each).__name__ for each in standing.observations] == ["FindingSeen", "CheckDone", "RemedyTried"]
    assert standing.state == State(
        plant={"supply": "live"},
        competence="skilled",
        missing_tools=("multimeter",),
        set_aside=("measure-voltage",),
    )
    assert standing.data_sheet == {**SHEET, "place": "inside"}
    assert standing.asked == {"place", "power"}


def test_an_undone_turn_takes_all_of_its_events_with_it() -> None:
    """One answer may be several events; going back takes back the answer."""
    entries = [
        Entry(turn=1, at="", event=FindingSeen(finding="lamp-dark", present=True)),
        Entry(turn=2, at="", event=PlantChanged(state="supply", value="isolated")),
        Entry(turn=2, at="", event=CheckDone(check="look-at-bulb", answer="whole")),
        Entry(turn=3, at="", event=Undo(turn=2)),
    ]
    standing = standing_of(entries, {})
    assert (standing.state.plant, len(standing.observations), standing.last_turn) == ({}, 1, 1)


def test_acknowledgements_and_notes_survive_going_back() -> None:
    """What was shown and what somebody wrote down stays, even in a turn that was taken back."""
    entries = [
        Entry(turn=1, at="", event=Acknowledgement(caution="shock", step="look-at-bulb")),
        Entry(turn=2, at="", event=CheckDone(check="look-at-bulb", answer="whole")),
        Entry(turn=2, at="", event=Note(text="bulb is warm")),
        Entry(turn=3, at="", event=Undo(turn=2)),
        Entry(turn=4, at="", event=Undo(turn=1)),
    ]
    standing = standing_of(entries, {})
    assert standing.notes == ("bulb is warm",)
    assert [each.caution for each in standing.acknowledged] == ["shock"]
    assert standing.observations == ()


def test_going_back_passes_over_notes_and_acknowledgements() -> None:
    """The last answer is the last turn that answered something."""
    standing = folded(
        FindingSeen(finding="lamp-dark", present=True), Note(text="x"), Acknowledgement(caution="shock", step="y")
    )
    assert standing.last_turn == 1


_NAMES = st.sampled_from(["lamp-dark", "filament-broken", "voltage-missing"])
_TEXT = st.text(max_size=12)
EVENTS: st.SearchStrategy[Event] = st.one_of(
    st.builds(FindingSeen, finding=_NAMES, present=st.booleans(), quote=_TEXT),
    st.builds(Measurement, quantity=_NAMES, value=st.floats(-1e6, 1e6) | _TEXT | st.tuples(_TEXT, _TEXT), quote=_TEXT),
    st.builds(CheckDone, check=_NAMES, answer=_TEXT),
    st.builds(RemedyTried, remedy=_NAMES, verdict=st.sampled_from(["cured", "partly", "not cured"])),
    st.builds(PlantChanged, state=st.just("supply"), value=st.sampled_from(["live", "isolated"])),
    st.builds(SetAside, step=_NAMES, why=st.sampled_from(["unknown", "skipped", "not done"])),
    st.builds(NoTool, tool=_TEXT),
    st.builds(CompetenceSaid, competence=st.sampled_from(["ordinary", "instructed", "skilled"])),
    st.builds(SheetFilled, field=_NAMES, value=st.none() | st.floats(-1e6, 1e6) | _TEXT),
    st.builds(Acknowledgement, caution=_NAMES, step=_NAMES),
    st.builds(Note, text=_TEXT),
)
TURNS = st.lists(st.lists(EVENTS, min_size=1, max_size=3) | st.just("back"), max_size=12)


def inputs(standing: Standing) -> tuple[object, ...]:
    """Return all that a diagnosis is made from, and what has been asked."""
    return standing.observations, standing.state, standing.data_sheet, standing.asked, standing.competence_said


def counts(events: list[Event]) -> bool:
    """Tell whether a turn answered something that can be taken back."""
    return any(not isinstance(event, Acknowledgement | Note) for event in events)


@settings(deadline=None, max_examples=60)
@given(TURNS)
def test_replay_from_disk_equals_folding_in_memory(turns: list[list[Event] | str]) -> None:
    """For any answers and any going back: the journal read again amounts to what memory held at every moment.

    Memory is a plain stack here: going back drops the latest turn that answered something.
    """
    stack: list[list[Event]] = []
    with tempfile.TemporaryDirectory() as folder:
        with Journal.start(Path(folder), SHEET, "case") as journal:
            for turn in turns:
                before = standing_of(journal.entries, SHEET)
                if isinstance(turn, list):
                    journal.add(journal.new_turn(), *turn)
                    stack.append(turn)
                elif before.last_turn:
                    journal.add(journal.new_turn(), Undo(turn=before.last_turn))
                    stack.pop(max(n for n, events in enumerate(stack) if counts(events)))
                assert inputs(standing_of(journal.entries, SHEET)) == inputs(
                    standing_of([Entry(turn=n, at="", event=e) for n, es in enumerate(stack, 1) for e in es], SHEET)
                )
            in_memory = standing_of(journal.entries, SHEET)
        with Journal.resume(Path(folder), "case") as again:
            assert standing_of(again.entries, again.head.data_sheet) == in_memory


@given(TURNS, st.lists(EVENTS, min_size=1, max_size=3).filter(counts))
def test_taking_back_the_last_answer_restores_what_the_diagnosis_was_made_from(
    turns: list[list[Event] | str], last: list[Event]
) -> None:
    """Exactly, whatever came before; only notes and acknowledgements of the answer remain."""
    entries: list[Entry] = []
    for turn in turns:
        latest = standing_of(entries, SHEET).last_turn
        events = turn if isinstance(turn, list) else [Undo(turn=latest)] if latest else []
        entries += [Entry(turn=next_turn(entries), at="", event=event) for event in events]
    before = standing_of(entries, SHEET)

    number = next_turn(entries)
    entries += [Entry(turn=number, at="", event=event) for event in last]
    assert standing_of(entries, SHEET).last_turn == number
    entries.append(Entry(turn=next_turn(entries), at="", event=Undo(turn=number)))

    after = standing_of(entries, SHEET)
    assert inputs(after) == inputs(before)
    assert after.last_turn == before.last_turn
    assert after.notes == before.notes + tuple(event.text for event in last if isinstance(event, Note))
    assert len(after.acknowledged) == len(before.acknowledged) + sum(isinstance(e, Acknowledgement) for e in last)


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
