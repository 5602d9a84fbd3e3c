"""Nothing that was answered is lost, however the interview ends."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.bounded import LINE_LETTERS, TooLong
from diagnose.cases.journal import Journal
from diagnose.cases.standing import standing_of
from diagnose.interview import terminal
from diagnose.interview.session import Session
from diagnose.protocol.machine import prompt_in
from diagnose.protocol.prompts import CautionPrompt
from tests.interview.running import run
from tests.protocol.lamps import lamp_book_engine

ANSWERS = ["no light", "3", "n the cat was near", "o", "3", "dry", "230 V", "y", "229 V", "1", "1", "1"]


def standing(folder: Path) -> object:
    """Return what the journal of the example case amounts to."""
    with Journal.resume(folder, "example") as journal:
        return standing_of(Session(lamp_book_engine(), journal).case)


@given(cut=st.integers(min_value=0, max_value=len(ANSWERS)))
@settings(max_examples=len(ANSWERS) + 1, deadline=None)
def test_an_interview_cut_anywhere_goes_on_where_it_was(cut: int, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Input that ends after any answer leaves with status 130; resumed, the case stands as it stood.

    An answer that needs several lines (cautions, then a reading) is asked for anew from its first line.
    """
    whole, parts = tmp_path_factory.mktemp("whole"), tmp_path_factory.mktemp("parts")
    run(ANSWERS, whole)
    status, printed = run(ANSWERS[:cut], parts)
    if status == 130:
        assert "Go on with: diagnose interview --resume example" in printed
        before = standing(parts)
        run([], parts, resume=True)
        assert standing(parts) == before
    else:
        assert standing(parts) == standing(whole)


def test_every_answer_is_on_disk_before_the_next_question(tmp_path: Path) -> None:
    """After each further line of input the journal on disk holds what the interview holds."""
    held = []
    for count in range(len(ANSWERS)):
        folder = tmp_path / str(count)
        run(ANSWERS[:count], folder)
        lines = (folder / "example.case").read_text(encoding="utf-8").splitlines()
        events = [json.loads(line)["event"] for line in lines[1:]]
        assert [each["kind"] for each in events].count("left") == bool(
            count
        )  # once the input ends, and then it is last
        held.append([each for each in events if each["kind"] != "left"])
    for fewer, more in pairwise(held):
        assert more[: len(fewer)] == fewer


def test_acknowledgements_are_kept(tmp_path: Path) -> None:
    """A danger is acknowledged before its steps, and the journal says so."""
    run(["no light", "3", "o", "3", "1 dry; 2 230 V", "y", "3 V"], tmp_path)
    lines = [json.loads(line) for line in (tmp_path / "example.case").read_text(encoding="utf-8").splitlines()[1:]]
    kinds = [line["event"]["kind"] for line in lines]
    assert kinds.index("acknowledged") < kinds.index("measured")
    assert lines[kinds.index("acknowledged")]["event"] == {
        "kind": "acknowledged",
        "caution": "live-socket",
        "step": "socket",
    }


@pytest.mark.parametrize(("hours", "asked_again"), [(7, False), (8, True)])
def test_after_a_shift_cautions_are_read_anew(hours: int, asked_again: bool, tmp_path: Path) -> None:
    """Who comes back within a shift goes on where it was; later, whoever is there has the caution before the step."""
    run(["no light", "3", "o", "3", "1 dry; 2 230 V", "y"], tmp_path)
    later = datetime.now(UTC) + timedelta(hours=hours, minutes=1)
    with Journal.resume(tmp_path, "example") as journal:
        journal._clock = lambda: later.isoformat(timespec="seconds")
        session = Session(lamp_book_engine(), journal)
        session.come_back()
        assert isinstance(prompt_in(session.situation()), CautionPrompt) == asked_again


def test_going_back_restores_what_was_before(tmp_path: Path) -> None:
    """Back after an answer gives the standing before it, and the journal still holds both."""
    run(["no light", "3"], tmp_path / "a")
    run(["no light", "3", "o", "1", "yes", "b"], tmp_path / "b")
    one, other = standing(tmp_path / "a"), standing(tmp_path / "b")
    assert (one.observations, one.state, one.data_sheet) == (other.observations, other.state, other.data_sheet)  # type: ignore[attr-defined]
    assert "undone" in (tmp_path / "b" / "example.case").read_text(encoding="utf-8")


def test_a_number_does_not_acknowledge_a_danger(tmp_path: Path) -> None:
    """Only y or yes does: a number typed too early leaves the steps unshown."""
    _, printed = run(["no light", "3", "o", "3", "dry; 230 V", "2", "1"], tmp_path)
    assert printed.count("will you? >") == 3
    assert "Put the tester into the socket." not in printed


@pytest.mark.parametrize(
    ("lines", "told"),
    [(["a" * (LINE_LETTERS + 1)], "more than 2,000,000 letters"), (["?"] * 10, "more than 10 lines")],
    ids=["a line without end", "lines without end"],
)
def test_a_pipe_without_end_is_left_and_the_case_kept(
    lines: list[str], told: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is piped in place of a person may be anything; what was answered before stays."""
    monkeypatch.setattr(terminal, "PIPED_LINES", 10)
    with pytest.raises(TooLong, match=told):
        run(["no light", *lines], tmp_path)
    with Journal.resume(tmp_path, "example") as journal:
        assert journal.entries
