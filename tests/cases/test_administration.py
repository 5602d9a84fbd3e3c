"""What is written down about a case as such: its meter, what is attached, how it was left, and with what it closed."""

from __future__ import annotations

from hypothesis import given

from diagnose.cases.events import Attached, Closed, Event, Left, MeterNamed, Note, Reopened, Resumed
from diagnose.cases.fitting import fitting, misfits
from diagnose.cases.standing import standing_of
from tests.cases.any_events import DARK, TURNS, after_turns, back, case_of, folded
from tests.engines import real_engine

BOOK = real_engine().rule_book
FOUND = Closed(outcome="found", cause="bulb-blown", remedy="change-bulb", proof="look-at-bulb", minutes=12.0)


def test_a_closed_case_says_with_what_and_is_open_again_once_it_is_reopened() -> None:
    """The reason stays; closing again holds."""
    closed = folded(DARK, FOUND).kept
    assert (closed.state, closed.closed) == ("closed", FOUND)
    again = folded(DARK, FOUND, Reopened(why="dark again")).kept
    assert (again.state, again.closed, [each.why for each in again.reopened]) == ("open", None, ["dark again"])
    unlisted = Closed(outcome="not listed", words="a bird on the wire")
    assert folded(DARK, FOUND, Reopened(why="dark again"), unlisted).kept.closed == unlisted


def test_a_case_stands_as_it_was_left_until_somebody_goes_on() -> None:
    """A note, or coming back without an answer, changes nothing."""
    left = Left(state="cured", causes=(("bulb-blown", 0.9),))
    assert folded(DARK).kept.state == "open"
    assert folded(DARK, left, Note(text="x"), Resumed()).kept.state == "cured"
    after = folded(DARK, left, DARK).kept
    assert (after.state, after.left) == ("open", left)


def test_a_case_names_its_meter_and_what_is_attached_once() -> None:
    """The last tag counts; the same file under another name is the same file."""
    picture = Attached(name="a.jpg", sha256="0" * 64, size=7)
    same = Attached(name="b.jpg", sha256="0" * 64, size=7, note="the wet box")
    kept = folded(MeterNamed(tag="FT-1"), picture, MeterNamed(tag="FT-2"), same).kept
    assert (kept.meter, kept.attached) == ("FT-2", (same,))


@given(TURNS)
def test_going_back_never_takes_back_that_a_case_was_closed(turns: list[list[Event] | str]) -> None:
    """Only reopening does, and it says why."""
    case = after_turns(turns).after(FOUND)
    for _ in range(3):
        case = back(case)
    assert standing_of(case).kept.closed == FOUND


def test_a_case_closed_with_a_cause_that_the_rule_book_has_no_more_stays_closed() -> None:
    """What is gone is told, and kept in words."""
    gone = case_of(Note(text="x"), Closed(outcome="found", cause="moth-in-lamp", remedy="shoo-moth", proof="listen"))
    assert [each.line for each in misfits(BOOK, gone)] == [1, 3, 3, 3]
    closed = standing_of(fitting(BOOK, gone)).kept.closed
    assert closed == Closed(outcome="not listed", words="moth-in-lamp", remedy_words="shoo-moth", reading="listen")
