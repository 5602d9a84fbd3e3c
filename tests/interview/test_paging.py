"""Pages: nothing is swallowed, nothing that is asked about scrolls out of sight."""

from __future__ import annotations

import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.documents.blocks import line
from diagnose.documents.text import make_console
from diagnose.interview.paging import MORE, Pager
from diagnose.interview.terminal import Terminal


def pages(above: int, below: int, height: int, typed: str = "", person: bool = True) -> tuple[str, list[list[str]]]:
    """Return what was typed ahead, and the lines of each page, for so many lines above and below."""
    output = io.StringIO()
    console = make_console(file=output, width=60, height=height, color_system=None)
    terminal = Terminal(console, io.StringIO(typed or "\n" * 100), person)
    upper = [line(f"above {number}", indent=0) for number in range(above)]
    lower = [line(f"below {number}", indent=0) for number in range(below)]
    ahead = Pager(terminal).show(upper, lower)
    return ahead, [page.splitlines() for page in output.getvalue().split(MORE)]


@given(above=st.integers(0, 60), below=st.integers(1, 60), height=st.integers(3, 40))
@settings(max_examples=150, deadline=None)
def test_every_line_is_shown_once_and_fits(above: int, below: int, height: int) -> None:
    """All lines in order, none longer on the screen than it is high, the question's line left free on the last."""
    _, shown = pages(above, below, height)
    assert [each for page in shown for each in page] == [f"above {n}" for n in range(above)] + [
        f"below {n}" for n in range(below)
    ]
    room = max(5, height - 1)
    assert all(len(page) <= room for page in shown)
    assert len(shown[-1]) <= room - 1


@given(above=st.integers(0, 60), below=st.integers(1, 60), height=st.integers(8, 40))
@settings(max_examples=100, deadline=None)
def test_what_belongs_to_the_question_stays_in_sight(above: int, below: int, height: int) -> None:
    """What fits on one page with the question stands on it, whole."""
    _, shown = pages(above, below, height)
    if below <= height - 2:
        assert [each for each in shown[-1] if each.startswith("below")] == [f"below {n}" for n in range(below)]


@given(above=st.integers(0, 3), below=st.integers(40, 60), height=st.integers(10, 24))
@settings(max_examples=60, deadline=None)
def test_what_comes_first_is_seen_at_once(above: int, below: int, height: int) -> None:
    """A stop too long for one page begins on the first, which is filled, and does not wait for Enter."""
    _, shown = pages(above, below, height)
    assert len(shown[0]) == height - 1
    assert "below 0" in shown[0]


def test_a_pipe_gets_everything_at_once() -> None:
    """No page ends where nobody looks."""
    _, shown = pages(100, 100, 24, person=False)
    assert len(shown) == 1


@pytest.mark.parametrize("typed", ["2", "it flickers", "b"])
def test_what_is_typed_in_place_of_enter_is_an_answer(typed: str) -> None:
    """It is kept, and the rest is shown all the same."""
    ahead, shown = pages(60, 10, 24, typed=f"{typed}\n")
    assert ahead == typed
    assert sum(map(len, shown)) == 70
