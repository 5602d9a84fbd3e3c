"""What a closed case says: its cause, what was looked at, what was only told."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from diagnose.cases.events import Case, Closed, Event, MeterNamed, Note, Reopened, SheetFilled, TextRead
from diagnose.cases.journal import Journal
from diagnose.learning.closed_cases import as_it_was, closed_case, looked_at, read_closed
from diagnose.learning.counted_once import counted_once
from diagnose.observations import CheckDone, FindingSeen, Measurement, RemedyTried
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.load import load_folder
from tests.rule_book.lamps import MINIMAL

ENGINE = Engine(load_folder(MINIMAL))
DARK = FindingSeen(finding="lamp-dark", present=True)
BLOWN = Closed(outcome="found", cause="bulb-blown", remedy="change-bulb", minutes=4.0)
LOOKED = CheckDone(check="look-at-bulb", answer="broken")
CURED = RemedyTried(remedy="change-bulb", verdict="cured")


def of(*events: Event, name: str = "first", at: str = "2026-05-03T09:00:00+00:00") -> Case:
    """Return a case of these events, each at a turn of its own."""
    case = Case(name=name)
    for event in events:
        case = case.after(event, at=at)
    return case


def test_a_case_says_how_it_was_closed() -> None:
    """Cause, day, meter and minutes."""
    case = closed_case(ENGINE, of(MeterNamed(tag="L-1"), DARK, LOOKED, CURED, BLOWN))
    assert case is not None
    assert (case.cause, case.closed_on, case.meter, case.minutes) == ("bulb-blown", date(2026, 5, 3), "L-1", 4.0)
    assert case.before_the_cure == (DARK, LOOKED)


def test_an_open_case_teaches_nothing() -> None:
    """Nor does one that was opened again."""
    assert closed_case(ENGINE, of(DARK)) is None
    assert closed_case(ENGINE, of(DARK, BLOWN, Reopened(why="dark again"))) is None


def test_a_cause_that_the_rule_book_does_not_know_is_not_listed() -> None:
    """It may have been renamed since."""
    case = closed_case(ENGINE, of(DARK, Closed(outcome="found", cause="moth-in-bulb")))
    assert case is not None
    assert (case.outcome, case.cause) == ("not listed", "")


def test_only_what_somebody_looked_for_teaches_how_often_it_shows() -> None:
    """A complaint was not looked for, and nobody complains of what is not there."""
    case = closed_case(ENGINE, of(DARK, LOOKED, BLOWN))
    assert case is not None
    assert "lamp-dark" not in looked_at(ENGINE, case)
    assert looked_at(ENGINE, case)["filament-broken"] is True


@pytest.mark.parametrize(("heard", "learned"), [(False, True), (True, False)])
def test_a_reading_that_was_taken_teaches_and_one_that_was_told_does_not(heard: bool, learned: bool) -> None:
    """What rules draw from it, likewise."""
    reading = Measurement(quantity="voltage", value=0.0, heard=heard)
    nominal = SheetFilled(field="nominal-voltage", value=230.0)
    case = closed_case(ENGINE, of(nominal, DARK, reading, Closed(outcome="found", cause="supply-missing")))
    assert case is not None
    assert ("voltage-missing" in looked_at(ENGINE, case)) == learned


def test_two_faults_at_once_teach_nothing_of_what_one_shows() -> None:
    """What was seen may come from either."""
    partly = RemedyTried(remedy="change-bulb", verdict="partly")
    case = closed_case(ENGINE, of(DARK, LOOKED, partly, BLOWN))
    assert case is not None
    assert looked_at(ENGINE, case) == {}


def test_what_was_seen_after_the_cure_is_not_of_the_fault() -> None:
    """The bulb is whole again."""
    whole = CheckDone(check="look-at-bulb", answer="whole")
    case = closed_case(ENGINE, of(DARK, LOOKED, CURED, whole, BLOWN))
    assert case is not None
    assert looked_at(ENGINE, case)["filament-broken"] is True


def test_a_case_is_ranked_as_it_was_before_anything_was_put_right() -> None:
    """The blown bulb comes first although it was changed since."""
    case = closed_case(ENGINE, of(DARK, LOOKED, CURED, BLOWN))
    assert case is not None
    assert as_it_was(ENGINE, case).order[0] == "bulb-blown"


def test_a_case_imported_twice_counts_once() -> None:
    """Under another name, with a note added there; on another day, or at another meter, it is another case."""
    first = closed_case(ENGINE, of(DARK, LOOKED, CURED, BLOWN))
    again = closed_case(ENGINE, of(DARK, LOOKED, CURED, Note(text="see there"), BLOWN, name="b"))
    other = closed_case(ENGINE, of(DARK, LOOKED, CURED, BLOWN, name="c", at="2026-06-01T09:00:00+00:00"))
    there = closed_case(ENGINE, of(MeterNamed(tag="L-1"), DARK, LOOKED, CURED, BLOWN, name="d"))
    assert first
    assert again
    assert other
    assert there
    counted = counted_once([first, again, other, there])
    assert {each.name for each in counted.cases} == {"b", "c", "d"}


def test_cases_of_which_nothing_but_the_end_is_known_are_not_alike() -> None:
    """They come from somebody's own table; only of one meter on one day they are."""
    cases = [
        closed_case(ENGINE, of(*tag, TextRead(text="dark"), BLOWN, name=name))
        for name, tag in (("a", ()), ("b", ()), ("c", (MeterNamed(tag="L-1"),)), ("d", (MeterNamed(tag="L-1"),)))
    ]
    assert len(counted_once([each for each in cases if each]).cases) == 3


def test_closed_cases_are_read_from_their_folder(tmp_path: Path) -> None:
    """All, or those of one meter; open ones are passed over, and damaged ones said."""
    for name, events in {
        "open": (DARK,),
        "one": (MeterNamed(tag="L-1"), DARK, LOOKED, BLOWN),
        "two": (MeterNamed(tag="L-2"), DARK, BLOWN),
    }.items():
        with Journal.start(tmp_path, {}, name) as journal:
            journal.add(journal.new_turn(), *events)
    assert [each.name for each in read_closed(ENGINE, tmp_path)[0]] == ["one", "two"]
    assert [each.name for each in read_closed(ENGINE, tmp_path, "l-2")[0]] == ["two"]
    assert read_closed(ENGINE, tmp_path / "nowhere") == ([], [])
