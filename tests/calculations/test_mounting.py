"""How a meter sits: liquid earthed, pipe full, electrodes level. Sources: common practice, engineers' handbook 7.6."""

from __future__ import annotations

import math
from itertools import product
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calculations import SUBJECTS
from diagnose.calculations.mounting import (
    earthing_verdict,
    electrode_axis_verdict,
    full_pipe_verdict,
    full_pipe_verdict_by_orientation,
    full_pipe_verdict_by_position,
    needed_earthing,
    strap_verdict,
)
from diagnose.calculations.solving import solve
from diagnose.calculations.terms import TERMS
from diagnose.errors import OutOfRange

WORDS = ("fine", "doubtful", "wrong")


@pytest.mark.parametrize(
    ("pipe", "earthing", "word"),
    [
        # conductive unlined pipe: bond both flanges to the meter; common practice, facts section 2
        ("bare metal", "flanges bonded", "fine"),
        ("bare metal", "rings or earthing electrode", "fine"),
        ("bare metal", "none", "doubtful"),
        # plastic, lined or painted pipe: ring at each side or earthing electrode; common practice, facts section 2
        ("plastic or lined", "rings or earthing electrode", "fine"),
        ("plastic or lined", "flanges bonded", "wrong"),
        ("plastic or lined", "none", "wrong"),
    ],
)
def test_earthing(pipe: str, earthing: str, word: str) -> None:
    """Something that touches the liquid has to be tied to the meter."""
    assert earthing_verdict(pipe, earthing) == word


@pytest.mark.parametrize("pipe", TERMS["pipe"].choices)
def test_earthing_that_is_needed_is_fine(pipe: str) -> None:
    """What one calculation asks for the other accepts."""
    assert earthing_verdict(pipe, needed_earthing(pipe)) == "fine"


def test_metal_pipe_earths_its_liquid_and_a_lined_one_does_not() -> None:
    """Whatever is fitted, a lined pipe is never the better one."""
    for earthing in TERMS["earthing"].choices:
        lined, bare = (WORDS.index(earthing_verdict(pipe, earthing)) for pipe in ("plastic or lined", "bare metal"))
        assert lined >= bare


@pytest.mark.parametrize(("square_millimetres", "word"), [(4.0, "fine"), (16.0, "fine"), (2.5, "doubtful")])
def test_strap(square_millimetres: float, word: str) -> None:
    """Common practice: copper from 4 mm2, facts section 2."""
    assert strap_verdict(square_millimetres * 1e-6) == word


@pytest.mark.parametrize(
    ("position", "orientation", "word"),
    [
        # best vertical, upward; low point or rising leg; not high point, falling leg or free discharge: facts section 2
        ("rising leg", "vertical, upward", "fine"),
        ("low point", "horizontal", "fine"),
        ("low point", "vertical, downward", "doubtful"),
        ("straight horizontal run", "horizontal", "fine"),
        ("high point", "horizontal", "wrong"),
        ("high point", "vertical, upward", "wrong"),
        ("falling leg", "vertical, downward", "wrong"),
        ("before free discharge", "horizontal", "wrong"),
        ("before free discharge", "vertical, downward", "wrong"),
        ("before free discharge", "vertical, upward", "doubtful"),
    ],
)
def test_whether_the_pipe_stays_full(position: str, orientation: str, word: str) -> None:
    """The worse of position and direction; a leg that rises to an overflow is full up to its lip."""
    assert full_pipe_verdict(position, orientation) == word


@pytest.mark.parametrize(
    ("position", "orientation"),
    [
        ("rising leg", "vertical, downward"),
        ("falling leg", "vertical, upward"),
        ("straight horizontal run", "vertical, upward"),
        ("straight horizontal run", "vertical, downward"),
    ],
)
def test_position_and_direction_that_exclude_each_other_are_never_fine(position: str, orientation: str) -> None:
    """One of them is said wrongly, and nobody knows which."""
    assert full_pipe_verdict(position, orientation) in ("doubtful", "wrong")


def test_every_word_alone_and_in_pairs_has_a_verdict() -> None:
    """No choice is without an answer; a pair is no better than its worse half but for a leg before an overflow."""
    for position, orientation in product(TERMS["position"].choices, TERMS["orientation"].choices):
        alone = (full_pipe_verdict_by_position(position), full_pipe_verdict_by_orientation(orientation))
        together = WORDS.index(full_pipe_verdict(position, orientation))
        overflow = (position, orientation) == ("before free discharge", "vertical, upward")
        assert together >= max(map(WORDS.index, alone)) - overflow


@pytest.mark.parametrize(("degrees", "word"), [(0.0, "fine"), (45.0, "fine"), (46.0, "wrong"), (90.0, "wrong")])
def test_electrodes_lie_level_in_a_horizontal_pipe(degrees: float, word: str) -> None:
    """Engineers' handbook 7.6 (level), common practice (45 degrees at most): facts section 2."""
    assert electrode_axis_verdict("horizontal", math.radians(degrees)) == word


@given(st.floats(0.0, math.pi / 2), st.sampled_from(["vertical, upward", "vertical, downward"]))
def test_in_a_vertical_pipe_the_electrodes_may_lie_anyhow(angle: float, orientation: str) -> None:
    """Their axis is level there whichever way the sensor is turned."""
    assert electrode_axis_verdict(orientation, angle) == "fine"


@pytest.mark.parametrize(
    ("function", "inputs"),
    [
        (needed_earthing, ("wood",)),
        (earthing_verdict, ("bare metal", "unknown")),
        (strap_verdict, (0.0,)),
        (full_pipe_verdict, ("roof", "horizontal")),
        (full_pipe_verdict_by_position, ("roof",)),
        (full_pipe_verdict_by_orientation, ("askew",)),
        (electrode_axis_verdict, ("horizontal", -0.1)),
        (electrode_axis_verdict, ("horizontal", 1.6)),
    ],
)
def test_out_of_range_is_refused(function: Any, inputs: tuple[Any, ...]) -> None:
    """A word that is none of the choices, an angle beyond the vertical."""
    with pytest.raises(OutOfRange):
        function(*inputs)


@pytest.mark.parametrize(
    ("given", "word"),
    [
        ({"position": "before free discharge"}, "wrong"),
        ({"orientation": "vertical, upward"}, "fine"),
        ({"position": "before free discharge", "orientation": "vertical, upward"}, "doubtful"),
    ],
)
def test_one_verdict_follows_from_what_is_known(given: dict[str, str], word: str) -> None:
    """Both words outvote either; one alone is better than none."""
    solved = solve(given, SUBJECTS["installation"].calculations)
    assert [(each.calculation.gives, each.result) for each in solved.worked] == [("full-pipe-verdict", word)]
    assert (solved.refused, solved.contradictions) == ((), ())


def test_terms_of_data_sheets_have_their_words() -> None:
    """Data sheets name these; a word that changes here must change there."""
    assert set(TERMS["pipe"].choices) == {"bare metal", "plastic or lined"}
    assert set(TERMS["earthing"].choices) == {"none", "rings or earthing electrode", "flanges bonded"}
    assert set(TERMS["orientation"].choices) == {"vertical, upward", "vertical, downward", "horizontal"}
    assert set(TERMS["position"].choices) == {
        "low point",
        "rising leg",
        "straight horizontal run",
        "high point",
        "falling leg",
        "before free discharge",
    }
