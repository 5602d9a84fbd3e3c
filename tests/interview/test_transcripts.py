"""Whole interviews about a desk lamp: every line that is printed, at 80 columns without colour.

A transcript holds what is typed behind each prompt, so it is its own input.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.interview.running import run

TRANSCRIPTS = sorted((Path(__file__).parent / "transcripts").glob("*.txt"))
PROMPT = re.compile(r"^(?:> |will you\? > )(.*)$", re.MULTILINE)


def typed_in(transcript: str) -> list[str]:
    """Return what is typed in a transcript; the last prompt met the end of input."""
    typed: list[str] = PROMPT.findall(transcript)
    return typed[:-1] if typed and not typed[-1] else typed


@pytest.mark.parametrize("path", TRANSCRIPTS, ids=[path.stem for path in TRANSCRIPTS])
def test_the_interview_goes_as_written(path: Path, tmp_path: Path) -> None:
    """Typing what the transcript shows gives the transcript."""
    wanted = path.read_text(encoding="utf-8")
    _, printed = run(typed_in(wanted), tmp_path)
    assert printed.replace(str(tmp_path), "CASES") == wanted


def test_there_are_transcripts() -> None:
    """The folder of transcripts is not empty, so that the test above tests something."""
    assert len(TRANSCRIPTS) >= 8
