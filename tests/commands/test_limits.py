"""Whatever is handed over without an end is refused, naming the limit, before memory runs out."""

from __future__ import annotations

import resource
import subprocess
import sys
from pathlib import Path

import pytest

from tests.commands.running import LAMP, environment

MOST_MEMORY = 600_000_000
"""Bytes of address space: a program that kept what it reads would be out of them at once."""

_DIAGNOSE = f'"{sys.executable}" -m diagnose {" ".join(LAMP)}'

ENDLESS = [
    ("triage /dev/zero", "the report /dev/zero is longer than 2 MB"),
    ("triage sparse", "the report sparse is longer than 2 MB"),
    ("triage folder", "the report folder cannot be read"),
    ("yes | {} triage -", "the report is longer than 2 MB"),
    ("triage --data-sheet /dev/zero sparse", "the report sparse is longer than 2 MB"),
    ("yes | {} compare -", "the table of readings is longer than 2 MB"),
    ("trend /dev/zero", "the log has a line of more than 4 MB"),
    ("data-sheet review sparse", "the file is longer than 100 kB"),
    ("cases show ./sparse.case", "is longer than 10 MB"),
    ("cases replay /dev/zero", "the file is longer than 1 MB"),
    ("cat /dev/zero | {} interview", "a line of the input has more than 2,000,000 letters"),
]


@pytest.mark.parametrize(("line", "told"), ENDLESS, ids=[line for line, _ in ENDLESS])
def test_what_has_no_end_is_refused_in_bounded_memory(line: str, told: str, tmp_path: Path) -> None:
    """In one line that names the limit, with the status of bad input."""
    for name in ("sparse", "sparse.case"):
        with (tmp_path / name).open("wb") as file:
            file.truncate(5_000_000_000)
    (tmp_path / "folder").mkdir()
    command = line.format(_DIAGNOSE) if "{}" in line else f"{_DIAGNOSE} {line}"
    done = subprocess.run(
        ["bash", "-c", command],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env=environment(OPENBLAS_NUM_THREADS="1"),
        timeout=300,
        check=False,
        preexec_fn=_little_memory,
    )
    assert done.returncode == 1, done.stderr
    assert told in done.stderr
    assert "Traceback" not in done.stderr


def _little_memory() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
