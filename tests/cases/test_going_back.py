"""Going back takes answers back and nothing else, any number of times, in memory and on disk."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

import msgspec
from hypothesis import given, settings

from diagnose.cases.administration import Administration
from diagnose.cases.events import (
    Acknowledgement,
    Case,
    CompetenceSaid,
    Event,
    Note,
    PlantChanged,
    Resumed,
    TextRead,
    Undo,
)
from diagnose.cases.journal import Journal
from diagnose.cases.standing import Standing, standing_of
from diagnose.observations import CheckDone
from tests.cases.any_events import (
    ANSWERS,
    DARK,
    EMPTY,
    SHEET,
    SHOCK,
    TURNS,
    WHOLE,
    after_turns,
    back,
    case_of,
    counts,
    folded,
)


class TestGoingBack:
    """Taking back appends an event; nothing is lost that somebody said or read."""

    def test_an_undone_turn_takes_all_of_its_events_with_it(self) -> None:
        """One answer may be several events; going back takes back the answer."""
        standing = folded(DARK, (PlantChanged(state="supply", value="isolated"), WHOLE), Undo(turn=2))
        assert (standing.state.plant, standing.observations, standing.last_turn) == ({}, (DARK,), 1)

    def test_acknowledgements_and_notes_survive(self) -> None:
        """What was shown and what somebody wrote down stays, even in a turn that was taken back."""
        standing = folded(SHOCK, (WHOLE, Note(text="bulb is warm")), Undo(turn=2), Undo(turn=1))
        assert (standing.notes, standing.read_before) == (("bulb is warm",), {"shock"})
        assert standing.observations == ()

    def test_it_passes_over_notes_acknowledgements_and_words_that_said_nothing(self) -> None:
        """The last answer is the last turn that answered something."""
        assert folded(DARK, Note(text="x"), SHOCK, TextRead(text="Good morning.")).last_turn == 1

    def test_any_number_of_times(self) -> None:
        """Back and back again ends at the beginning, and there it stays."""
        case = case_of(DARK, CompetenceSaid(competence="skilled"), WHOLE)
        seen = []
        for _ in range(5):
            seen.append(standing_of(case).last_turn)
            case = back(case)
        assert seen == [3, 2, 1, 0, 0]
        assert standing_of(case) == EMPTY

    def test_an_answer_given_anew_counts(self) -> None:
        """Going back is for answering otherwise."""
        dull = CheckDone(check="look-at-bulb", answer="broken")
        standing = folded(DARK, WHOLE, Undo(turn=2), dull)
        assert standing.observations == (DARK, dull)
        assert standing_of(back(case_of(DARK, WHOLE, Undo(turn=2), dull))).observations == (DARK,)


def but_for_what_survives(standing: Standing) -> Standing:
    """Return a standing without what going back leaves, the number of turns, and the time by the clock.

    That is: notes, what was read and is disturbed, and what was written down about the case as such.
    """
    told = replace(
        standing,
        notes=(),
        kept=Administration(),
        read_before=frozenset(),
        read_as_possible=frozenset(),
        heeded=frozenset(),
    )
    ended = tuple(replace(each, at="") for each in standing.ended)
    return replace(told, disturbed=(), left_disturbed=frozenset(), begun=None, last_turn=0, ended=ended)


@given(TURNS)
def test_the_same_events_amount_to_the_same(turns: list[list[Event] | str]) -> None:
    """Folded twice, or read again from a journal's lines, and neither fold changes the case."""
    case = after_turns(turns)
    once = standing_of(case)
    assert standing_of(case) == once
    again = msgspec.json.decode(msgspec.json.encode(case), type=Case)
    assert (again, standing_of(again)) == (case, once)


@given(TURNS)
def test_undoing_every_turn_leaves_the_empty_case_and_what_survives(turns: list[list[Event] | str]) -> None:
    """Notes, cautions read and words that said nothing are left, and nobody has heeded anything."""
    case = after_turns(turns)
    answered = standing_of(case).last_turn > 0
    while standing_of(case).last_turn:
        case = back(case)
    left = replace(standing_of(case), disturbed=(), left_disturbed=frozenset(), begun=None)
    events = [entry.event for entry in case.entries]
    idle = [turn for turn in turns if isinstance(turn, list) and not counts(turn)]
    assert left == replace(
        EMPTY,
        notes=tuple(event.text for event in events if isinstance(event, Note)),
        read_before=left.read_before,
        read_as_possible=left.read_as_possible,
        texts=tuple(event for turn in idle for event in turn if isinstance(event, TextRead)),
        heeded=frozenset() if answered else left.heeded,
        kept=left.kept,
    )


@given(TURNS, ANSWERS.filter(counts))
def test_taking_back_the_last_answer_restores_what_was(turns: list[list[Event] | str], last: list[Event]) -> None:
    """All that a prompt is made from, exactly, whatever came before; only what survives of the answer is added."""
    case = after_turns(turns)
    before, answered = standing_of(case), case.after(*last)
    assert standing_of(answered).last_turn == answered.entries[-1].turn
    after = standing_of(back(answered))
    assert but_for_what_survives(after) == but_for_what_survives(before)
    assert after.last_turn == before.last_turn
    assert after.notes == before.notes + tuple(event.text for event in last if isinstance(event, Note))
    read = {event.caution for event in last if isinstance(event, Acknowledgement)}
    assert after.read_before <= before.read_before | read
    if not any(isinstance(event, Resumed | CompetenceSaid) for event in last):  # somebody else may be there then
        assert after.read_before == before.read_before | read
    assert after.heeded == frozenset()


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
                last = standing_of(Case(data_sheet=SHEET, entries=tuple(journal.entries))).last_turn
                if isinstance(turn, list):
                    journal.add(journal.new_turn(), *turn)
                    stack.append(turn)
                elif last:
                    journal.add(journal.new_turn(), Undo(turn=last))
                    stack.pop(max(n for n, events in enumerate(stack) if counts(events)))
                in_memory = standing_of(Case(data_sheet=SHEET, entries=tuple(journal.entries)))
                plain = standing_of(case_of(*(tuple(events) for events in stack)))
                assert but_for_what_survives(in_memory) == but_for_what_survives(plain)
            in_memory = standing_of(Case(data_sheet=SHEET, entries=tuple(journal.entries)))
        with Journal.resume(Path(folder), "case") as again:
            assert standing_of(Case(data_sheet=again.head.data_sheet, entries=tuple(again.entries))) == in_memory
