"""Forms of logs: qualities, names of pumps, totals, long exports, and two logs given together."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from diagnose.errors import BadInput
from diagnose.tables.log_pair import beside
from diagnose.tables.log_reading import Log, Options, read_log


def read(tmp_path: Path, text: str, name: str = "log.csv", **options: object) -> Log:
    """Return the log that this file holds."""
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return read_log(path, Options(**options))  # type: ignore[arg-type]


def rows(*lines: str, head: str) -> str:
    """Return a log of a line a minute."""
    return head + "\n" + "".join(f"2026-03-01 00:{n:02};{line}\n" for n, line in enumerate(lines))


@pytest.mark.parametrize(
    ("marks", "kept"),
    [
        (("Good", "Bad", "Good", "Uncertain", ""), [1, 0, 1, 0, 1]),
        (("192", "0", "216", "64", "192"), [1, 0, 1, 0, 1]),
        (("Good", "Comm fail", "Good", "Bad [no data]", "Good"), [1, 0, 1, 0, 1]),
    ],
)
def test_what_is_marked_bad_is_no_reading(marks: tuple[str, ...], kept: list[int], tmp_path: Path) -> None:
    """Whatever figure stands there; what was left out is told."""
    log = read(tmp_path, rows(*(f"5.{n};{mark}" for n, mark in enumerate(marks)), head="time;flow [m3/h];quality"))
    assert np.isfinite(log.flow).astype(int).tolist() == kept
    assert "not good by their quality" in " ".join(log.warnings)


@pytest.mark.parametrize("name", ["P1 status", "Pump 2 state", "pump running", "status"])
def test_a_pump_has_many_names(name: str, tmp_path: Path) -> None:
    """Its column of states is one, with words or figures."""
    log = read(tmp_path, rows("5;on", "0;off", "5;on", head=f"time;flow [m3/h];{name}"))
    assert log.running is not None
    assert log.running.tolist() == [1, 0, 1]


def test_a_total_is_read_as_flow(tmp_path: Path) -> None:
    """Differences to the hour; where it rolls over it goes on, where it jumps back there is no flow."""
    text = rows("999990", "999996", "2", "8", "3", "9", head="time;total [m3]")
    log = read(tmp_path, text)
    assert log.unit == "m3/h"
    assert log.flow[:3].tolist() == pytest.approx([360, 360, 360])
    assert np.isnan(log.flow[3])
    assert log.total is not None
    assert (log.total.rolled, len(log.total.back)) == (1, 1)
    assert "rolled over" in " ".join(log.warnings)


def test_a_long_export_is_read_by_its_tags(tmp_path: Path) -> None:
    """Readings, pump and current by the names of the tags; states hold until they change."""
    lines = []
    for minute in range(6):
        at = f"2026-03-01 00:{minute:02}:00"
        lines += [f"FT101.PV;{at};{5 + minute};m3/h;Good", f"II101;{at};{8 + minute};mA;Good"]
    lines += ["P1 status;2026-03-01 00:00:30;1;;Good", "P1 status;2026-03-01 00:03:30;0;;Good"]
    log = read(tmp_path, "tag;time;value;unit;quality\n" + "\n".join(lines) + "\n")
    assert log.flow.tolist() == [5, 6, 7, 8, 9, 10]
    assert log.running is not None
    assert log.running[1:].tolist() == [1, 1, 1, 0, 0]
    assert "`FT101.PV` as the reading" in " ".join(log.warnings)


def test_two_logs_are_aligned_in_time(tmp_path: Path) -> None:
    """In another unit, with another step and start; where the second has nothing, nothing is made up."""
    one = read(tmp_path, rows("36", "36", "36", "36", head="time;flow [m3/h]"))
    other = read(tmp_path, "time;q [l/s]\n2026-03-01 00:00:30;10\n2026-03-01 00:01:30;12\n", "other.csv")
    both = beside(one, other)
    assert both.second is not None
    assert both.second[1] == pytest.approx(39.6)
    assert np.isnan(both.second[3])
    late = read(tmp_path, "time;q [l/s]\n2027-03-01 00:00:30;10\n2027-03-01 00:01:30;12\n", "late.csv")
    with pytest.raises(BadInput, match="share no time"):
        beside(one, late)
