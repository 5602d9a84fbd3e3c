"""A screen of one column, or of forty: nothing is lost."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.commands.running import LAMP, run

REPORT = "the lamp is dark, nothing happens at the switch\n"
READINGS = "reference m3/h;meter m3/h\n10;12.1\n50;52.2\n90;91.8\n"
LOG = "time;flow m3/h\n" + "".join(f"2026-03-01 10:{n // 6:02}:{n % 6}0;{40 + n % 3}\n" for n in range(120))

COMMANDS = {
    "triage": (LAMP, "triage", "report.txt"),
    "calculation": (LAMP, "calc", "loop", "--flow", "37.5m3/h", "--urv", "100m3/h"),
    "comparison": (LAMP, "compare", "readings.csv"),
    "log": (LAMP, "trend", "log.csv"),
}


@pytest.mark.parametrize("name", COMMANDS)
def test_nothing_is_lost(name: str, tmp_path: Path) -> None:
    """The same letters come out, in more lines."""
    for file, text in (("report.txt", REPORT), ("readings.csv", READINGS), ("log.csv", LOG)):
        (tmp_path / file).write_text(text, encoding="utf-8")
    lamp, *command = COMMANDS[name]
    printed = {
        columns: run(*lamp, *command, cwd=tmp_path, COLUMNS=str(columns)).out for columns in (1, 2, 13, 39, 40, 200)
    }
    # In a table the lines of its cells stand beside each other, so that only the letters as such can be compared.
    letters = {columns: "".join(sorted(re.sub(r"\W", "", text))) for columns, text in printed.items()}
    assert len(letters[200]) > 40
    assert set(letters.values()) == {letters[200]}
