"""Bytes, endings and cases that nobody meant."""

from __future__ import annotations

import io
import os
import random
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.cases.events import Case, ReadingTaken, RemedyDone, SheetFilled, StepChosen, StepDeclined
from diagnose.documents.text import make_console, write
from diagnose.interview import screens
from diagnose.observations import CheckDone, FindingSeen, Measurement, RemedyTried
from diagnose.protocol.machine import prompt_in, prompt_of
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from tests.engines import real_engine
from tests.interview.running import LAMP, run
from tests.protocol.lamps import lamp_book_engine
from tests.protocol.walking import any_reply


@given(data=st.data())
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
def test_a_case_goes_on_under_another_rule_book(data: st.DataObject) -> None:
    """Steps, findings, fields and states that the book does not have any more are passed over; a prompt comes."""
    case = Case(name="moved")
    engine = lamp_book_engine()
    for _ in range(data.draw(st.integers(1, 12))):
        prompt = prompt_of(engine, case)
        case = case.after(*respond(engine, case, prompt, data.draw(any_reply(engine, prompt))).events)
    other = Situation(real_engine(), case)
    prompt = prompt_in(other)
    shown = screens.screen(other, prompt, {})
    paper = io.StringIO()
    write(make_console(file=paper, width=80), [*shown.above, *shown.below])
    assert paper.getvalue().strip()


def test_a_case_whose_last_prompt_is_gone() -> None:
    """A step chosen, a remedy to prove, a reading under way, of a book that was rewritten since."""
    engine = lamp_book_engine()
    for event in (
        StepChosen(step="gone"),
        RemedyDone(remedy="gone"),
        ReadingTaken(step="gone", quantity="gone", value=3.0),
        StepDeclined(step="gone", why="no tool"),
        SheetFilled(field="gone", value="nothing"),
        CheckDone(check="gone", answer="nothing"),
        RemedyTried(remedy="gone", verdict="cured"),
        Measurement(quantity="gone", value=3.0),
    ):
        case = Case().after(FindingSeen(finding="dark", present=True)).after(event)
        situation = Situation(engine, case)
        prompt = prompt_in(situation)
        shown = screens.screen(situation, prompt, {})
        assert shown.below


BYTES = [
    b"\xff\xfe\x00\x01\n",
    b"\x00" * 50 + b"\n",
    b"\x1b[2J\x1b]0;title\x07\n",
    "\u202eflickers\u2066\n".encode(),
    b"\xc3\x28\n",
    b"%s %n {0} $(reboot) `id` ; rm -rf ~\n",
    b"A" * 1_000_000 + b"\n",
    b"9" * 5_000 + b"\n",
]


@pytest.mark.parametrize("raw", BYTES, ids=range(len(BYTES)))
def test_any_bytes_at_every_prompt(raw: bytes, tmp_path: Path) -> None:
    """At each prompt of an interview: no traceback, no lost prompt, nothing sent to the terminal raw."""
    answers = [b"no light\n", b"3\n", b"o\n", b"3\n", b"1 dry; 2 230 V\n", b"y\n", b"3 V\n", b"1\n", b"1\n", b"1\n"]
    typed = b"".join(raw + answer for answer in answers)
    env = {**os.environ, "DIAGNOSE_CASES": str(tmp_path / "cases"), "DIAGNOSE_CACHE": str(tmp_path / "cache")}
    command = [sys.executable, "-m", "diagnose", "--rules", str(LAMP), "interview", "--name", "bytes"]
    done = subprocess.run(command, input=typed, capture_output=True, env=env, check=False, timeout=300)
    assert b"Traceback" not in done.stderr
    assert done.returncode in (0, 130)
    assert b"\x1b" not in done.stdout
    assert b"Have the supply put right" in done.stdout


@pytest.mark.parametrize("command", ["interview", "data-sheet new sheet.yaml"])
def test_closed_standard_input(command: str, tmp_path: Path) -> None:
    """Told in one line."""
    env = {**os.environ, "DIAGNOSE_CASES": str(tmp_path / "cases"), "DIAGNOSE_CACHE": str(tmp_path / "cache")}
    program = f'"{sys.executable}" -m diagnose --rules "{LAMP}" {command} <&-'
    done = subprocess.run(["bash", "-c", program], capture_output=True, env=env, check=False, cwd=tmp_path)
    assert done.returncode == 2
    assert b"there is no input to read answers from" in done.stderr


def test_closed_standard_output(tmp_path: Path) -> None:
    """No interview is begun in which nobody would see a question."""
    env = {**os.environ, "DIAGNOSE_CASES": str(tmp_path / "cases"), "DIAGNOSE_CACHE": str(tmp_path / "cache")}
    program = f'"{sys.executable}" -m diagnose --rules "{LAMP}" interview >&-'
    done = subprocess.run(
        ["bash", "-c", program], stdin=subprocess.DEVNULL, stderr=subprocess.PIPE, env=env, check=False
    )
    assert done.returncode == 2
    assert b"there is no output to put questions on" in done.stderr
    assert not (tmp_path / "cases").exists()


@pytest.mark.parametrize("cut", range(0, 12))
def test_the_end_of_input_at_every_prompt(cut: int, tmp_path: Path) -> None:
    """Everything is kept, and resuming shows the prompt that was on."""
    answers = ["no light", "3", "o", "3", "1 dry; 2 230 V", "y", "3 V", "1", "1", "1", "1"]
    status, printed = run(answers[:cut], tmp_path)
    assert status == (0 if cut >= len(answers) else 130)
    assert "Go on with: diagnose interview --resume example" in printed
    _, again = run([], tmp_path, resume=True)
    ending = printed[: printed.rindex("> ")].rsplit("-" * 78, 1)[1]
    head = next(line for line in ending.splitlines() if line.strip() and "case example" not in line)
    assert head.split("  up")[0].split("  down")[0].strip() in again


def test_random_lines_never_end_an_interview(tmp_path: Path) -> None:
    """A cat on the keyboard: the interview asks on."""
    chance = random.Random(4)
    letters = "abcdefghijklmnopqrstuvwxyz0123456789 ,;.:-+<>?!'\"\\/()[]{}%$#@~^&*=|äß²\t"
    lines = ["".join(chance.choices(letters, k=chance.randint(0, 30))) for _ in range(120)]
    status, printed = run([line for line in lines if line.strip() not in ("l", "leave")], tmp_path)
    assert status in (0, 130)
    assert "Saved as case example" in printed
