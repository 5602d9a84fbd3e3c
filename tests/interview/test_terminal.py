"""The command in a real terminal of 80 by 24: typing, Ctrl-C, resuming, and the end."""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

import pexpect
import pytest

from tests.interview.running import LAMP

PROMPT = "> $"


@pytest.fixture
def terminal(tmp_path: Path):  # type: ignore[no-untyped-def]
    """Return a function that starts an interview about the lamp in a pseudo-terminal."""
    env = {**os.environ, "DIAGNOSE_CASES": str(tmp_path / "cases"), "DIAGNOSE_CACHE": str(tmp_path / "cache")}
    env |= {"TERM": "xterm-256color", "NO_COLOR": "1"}
    started = []

    def start(*options: str) -> pexpect.spawn:
        arguments = ["-m", "diagnose", "--rules", str(LAMP), "interview", *options]
        child = pexpect.spawn(
            sys.executable,
            arguments,
            env=env,
            dimensions=(24, 80),
            encoding="utf-8",
            timeout=60,
            # What a shell starts in the background ignores Ctrl-C, and so does all that it starts.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
        )
        started.append(child)
        return child

    yield start
    for child in started:
        child.close(force=True)


def test_from_complaint_to_cure(terminal) -> None:  # type: ignore[no-untyped-def]
    """A whole interview, typed: complaint, competence, remedy, proof."""
    child = terminal("--name", "typed")
    for wanted, answer in [
        ("What is wrong", "no light"),
        ("What may you do", "1"),
        ("Change the bulb", "1"),
        ("Did it cure", "1"),
        ("anything still wrong", "1"),
        ("Cured and proved: Change the bulb", "l"),
    ]:
        child.expect(wanted)
        child.expect(PROMPT)
        child.sendline(answer)
    child.expect("Saved as case typed")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0


def test_ctrl_c_saves_and_leaves_with_130(terminal) -> None:  # type: ignore[no-untyped-def]
    """Ctrl-C in the middle says how to go on; resumed, nothing is asked twice."""
    child = terminal("--name", "cut")
    child.expect(PROMPT)
    child.sendline("no light")
    child.expect("What may you do")
    child.expect(PROMPT)
    child.sendintr()
    child.expect("Go on with: diagnose interview --resume cut")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 130
    again = terminal("--resume", "cut")
    again.expect("What may you do")


def test_end_of_input_saves_and_leaves_with_130(terminal) -> None:  # type: ignore[no-untyped-def]
    """Ctrl-D does the same."""
    child = terminal("--name", "ended")
    child.expect(PROMPT)
    child.sendeof()
    child.expect("Saved as case ended")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 130


def test_a_case_is_open_once(terminal) -> None:  # type: ignore[no-untyped-def]
    """A second interview on the same case is refused with the reason."""
    first = terminal("--name", "shared")
    first.expect(PROMPT)
    second = terminal("--resume", "shared")
    second.expect("open in another interview")
    second.expect(pexpect.EOF)
    second.close()
    assert second.exitstatus == 1
