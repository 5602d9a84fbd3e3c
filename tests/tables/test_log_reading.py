"""Logs as people send them: every form of time, decimals and disorder is read, or refused with the reason."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.errors import BadInput, DiagnoseError
from diagnose.tables.log_reading import Log, Options, read_log

HEAD = "time;flow [m3/h]\n"


def read(tmp_path: Path, text: str | bytes, **options: str) -> Log:
    """Return the log that this file holds."""
    path = tmp_path / "log.csv"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return read_log(path, Options(**options))  # type: ignore[arg-type]


def every_ten_minutes(hours: tuple[int, ...], day: str) -> str:
    """Return lines for these hours of a day, in order."""
    return "".join(f"{day} {hour:02}:{minute:02};{hour}\n" for hour in hours for minute in range(0, 60, 10))


def every_minute(*minutes: int) -> str:
    """Return lines for these minutes of an hour, in this order."""
    return "".join(f"2026-03-01 00:{minute:02};{minute}\n" for minute in minutes)


READ = [
    ("comma", HEAD + "2026-03-01 00:00;1,5\n2026-03-01 00:01;1,6\n", [0.0, 60.0], [1.5, 1.6]),
    ("point, tabs", "time\tflow [m3/h]\n2026-03-01 00:00\t1250.5\n2026-03-01 00:01\t1251\n", [0, 60], [1250.5, 1251]),
    ("thousands", HEAD + "2026-03-01 00:00;1.250,5\n2026-03-01 00:01;1.251,5\n", [0, 60], [1250.5, 1251.5]),
    ("zone", "time,flow m3/h\n2026-03-01T00:00:00Z,1\n2026-03-01T02:00:00+01:00,2\n", [0, 3600], [1, 2]),
    ("epoch", "time,flow m3/h\n1772409600,1\n1772409660,2\n", [0, 60], [1, 2]),
    ("elapsed", "t [s];q [l/s]\n0;1,5\n1;1,6\n", [0, 1], [1.5, 1.6]),
    (
        "date and time apart",
        "Date,Time,Flow (GPM)\n03/13/2026,11:00 PM,120\n03/13/2026,11:01 PM,121\n",
        [0, 60],
        [120, 121],
    ),
    ("day first", HEAD + "13.02.2026 10:00;1,5\n13.02.2026 10:01;1,6\n", [0, 60], [1.5, 1.6]),
    (
        "columns the other way round",
        "flow [m3/h],time\n3.5,2026-03-01 00:00\n3.6,2026-03-01 00:01\n",
        [0, 60],
        [3.5, 3.6],
    ),
    ("typographic minus", HEAD + "2026-03-01 00:00;−1,5\n2026-03-01 00:01;-1,6\n", [0, 60], [-1.5, -1.6]),
    ("no heading", "2026-03-01 00:00;1,5 m3/h\n2026-03-01 00:01;1,6 m3/h\n", [0, 60], [1.5, 1.6]),
]


@pytest.mark.parametrize(("text", "times", "flows"), [each[1:] for each in READ], ids=[each[0] for each in READ])
def test_any_common_form_is_read(text: str, times: list[float], flows: list[float], tmp_path: Path) -> None:
    """Times since the first line in seconds, readings as they were meant."""
    log = read(tmp_path, text)
    assert (log.times - log.times[0]).tolist() == times
    assert log.flow.tolist() == flows


def test_utf16_is_read(tmp_path: Path) -> None:
    """Spreadsheets save so."""
    assert read(tmp_path, (HEAD + "2026-03-01 00:00;1,5\n").encode("utf-16")).flow.tolist() == [1.5]


def test_what_stands_beside_the_readings_is_read(tmp_path: Path) -> None:
    """Loop current, a pump in words, a second meter in another unit."""
    log = read(
        tmp_path,
        "time;flow [m3/h];loop [mA];pump;second meter [l/s]\n"
        "2026-03-01 00:00;36;12;on;10\n2026-03-01 00:01;0;4;off;0\n2026-03-01 00:02;18;8;;5\n",
    )
    assert log.current is not None
    assert log.running is not None
    assert log.second is not None
    assert log.current.tolist() == [12, 4, 8]
    assert log.running[:2].tolist() == [1, 0]
    assert np.isnan(log.running[2])
    assert log.second == pytest.approx([36, 0, 18])


REFUSED = [
    ("", "has no readings"),
    (HEAD, "has no readings"),
    (bytes(range(256)) * 50, "has no readings"),
    ("time,flow\n2026-03-02 00:00,3.5\n2026-03-02 00:01,3.6\n", "has no unit; give --unit"),
    (HEAD + "2026-03-01 00:00;1,250\n2026-03-01 00:01;1,260\n", "give --decimal comma or --decimal point"),
    (HEAD + "2026-03-01 00:00;bad\n2026-03-01 00:01;bad\n", "none of the readings is a number"),
    ("flow [m3/h];level [m]\n1,5;2,5\n1,6;2,6\n", "has no time column"),
    (HEAD + "31.02.2026 00:00;5\n", "no time stamp in the log can be read"),
    (b"\x89PNG\r\n\x1a\n" + bytes(range(250)) * 20, "has no readings|no delimiter"),
    (b"PK\x03\x04" + b"\0" * 4000, "has no readings"),
    (HEAD + "2026-03-01 00:00;1\n2026-03-01 00:01;" + "5" * 9_000_000, "line of more than 4 MB"),
]


@pytest.mark.parametrize(("text", "told"), REFUSED)
def test_what_cannot_be_read_is_refused_with_the_reason(text: str | bytes, told: str, tmp_path: Path) -> None:
    """Nothing is guessed: no unit, no times, decimals that may be thousands."""
    with pytest.raises(DiagnoseError, match=told):
        read(tmp_path, text)


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    """With its name."""
    with pytest.raises(BadInput, match=r"nothere\.csv cannot be read"):
        read_log(tmp_path / "nothere.csv")


@pytest.mark.parametrize(
    ("text", "told", "count"),
    [
        (every_ten_minutes((0, 1, 2, 2, 3), "2026-10-25"), "end of summer time", 30),
        (every_ten_minutes((0, 1, 3, 4), "2026-03-29"), "beginning of summer time", 24),
        (every_minute(0, 1, 2, 4, 3, *range(5, 20)), "one line out of order", 20),
        (every_minute(*range(9), *range(8, 20)), "one duplicate time stamp", 20),
        ("2026-03-01 00:00;1\n2026-03-01 00:01;NaN\n2026-03-01 00:02;--\n", "2 readings missing", 3),
        ("2026-03-01 00:00;1\n2026-03-01 00:01;-1e308\n2026-03-01 00:02;2\n", "one reading missing (`-1e308` 1)", 3),
        ("2026-03-01 00:00;1\n2026-03-01 00:01;20.5−9\n2026-03-01 00:02;2\n", "one reading missing (`20.5−9` 1)", 3),
        ("2026-03-01 00:00;1\n2026-03-01 00:01;2 m−3\n2026-03-01 00:02;2\n", "one reading missing (`2 m−3` 1)", 3),
        ("01/02/2026 10:00;1\n02/02/2026 10:00;2\n03/02/2026 10:00;2\n", "day/month or month/day", 3),
        (every_minute(*range(20)) + "2026-03-01 00:21;1;2;3\n", "a different number of columns", 20),
    ],
)
def test_what_is_put_right_is_told(text: str, told: str, count: int, tmp_path: Path) -> None:
    """Summer time, disorder, doubles, holes and dates that may be read two ways: read on, and said; times only rise."""
    log = read(tmp_path, HEAD + text)
    assert told in " | ".join(log.warnings)
    assert len(log.times) == count
    assert bool(np.all(np.diff(log.times) > 0))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("2026-03-02 00:00;1\n02.03.2026 00:01;2\n2026-03-02T00:02:00;3\n", ""),
        ("2026-03-02 00:00;1\n1772409660;2\n00:02;3\n2026-03-02 00:03;4\n", "several kinds"),
        (
            "\x0b\x0b2026-03-02 00:00;1\n2026-03-02 00:01;2\n2026-03-02 00:02;3\n",
            "one line without a readable time stamp",
        ),
        ("2026-03-02 00:00;1\n9026-03-02 00:01;2\n2026-03-02 00:02;3\n", "one line without a readable time stamp"),
    ],
)
def test_forms_may_be_mixed(text: str, told: str, tmp_path: Path) -> None:
    """What is a date in any form is read; what is another kind of clock is told."""
    log = read(tmp_path, HEAD + text)
    assert told in " | ".join(log.warnings)
    assert len(log.times) >= 2


def test_marks_that_a_terminal_acts_on_are_never_shown(tmp_path: Path) -> None:
    """Whoever wrote the log."""
    log = read(tmp_path, "time;flow [m3/h];\x1b[2Jother\n2026-03-01 00:00;\x1b[31mbad;1\n2026-03-01 00:01;5;1\n")
    assert "\x1b" not in " ".join(log.warnings)
    assert "[31mbad" in " ".join(log.warnings)


@pytest.mark.parametrize(("unit", "value"), [("mA", 12.0), ("A", 0.012), ("V", None), ("%", None)])
def test_a_loop_current_is_one(unit: str, value: float | None, tmp_path: Path) -> None:
    """In milliamps whatever the heading says; a voltage or a share is left out, and said."""
    lines = "".join(f"2026-03-01 00:0{n};5;{value or 3}\n" for n in range(4))
    log = read(tmp_path, f"time;flow [m3/h];loop signal [{unit}]\n{lines}")
    if value is None:
        assert log.current is None
        assert "is not a current" in " ".join(log.warnings)
    else:
        assert log.current is not None
        assert log.current.tolist() == pytest.approx([12.0] * 4)


def test_a_month_may_be_said_to_stand_first(tmp_path: Path) -> None:
    """The option decides what nothing in the log tells."""
    text = HEAD + "01/02/2026 10:00;1\n01/03/2026 10:00;2\n"
    assert np.diff(read(tmp_path, text, order="mdy").times).tolist() == [86400.0]
    assert np.diff(read(tmp_path, text, order="dmy").times).tolist() == [28 * 86400.0]


@settings(max_examples=40, deadline=None)
@given(
    steps=st.lists(st.integers(1, 4000), min_size=2, max_size=30),
    values=st.data(),
    mark=st.sampled_from(".,"),
    form=st.sampled_from(["%Y-%m-%d %H:%M:%S", "%d.%m.%Y %H:%M:%S", "%Y-%m-%dT%H:%M:%SZ"]),
)
def test_what_is_written_is_read_back(
    steps: list[int], values: st.DataObject, mark: str, form: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Any times and readings, in any of these forms, come back as they were."""
    numbers = values.draw(st.lists(st.integers(-99999, 99999), min_size=len(steps), max_size=len(steps)))
    moments = np.cumsum(steps)
    start = datetime(2026, 1, 14, tzinfo=UTC)
    lines = [
        f"{start + timedelta(seconds=int(at)):{form}};{number / 100:.2f}".replace(".", mark)
        if mark == "," and "." not in form
        else f"{start + timedelta(seconds=int(at)):{form}};" + f"{number / 100:.2f}".replace(".", mark)
        for at, number in zip(moments, numbers, strict=True)
    ]
    log = read(tmp_path_factory.mktemp("log"), HEAD + "\n".join(lines) + "\n")
    assert (log.times - log.times[0]).tolist() == (moments - moments[0]).tolist()
    assert log.flow == pytest.approx(np.array(numbers) / 100)


def test_a_long_export_may_begin_with_the_tag(tmp_path: Path) -> None:
    """Tag, time, value, quality: bad is no reading."""
    rows = [f"FT1,2026-03-01 00:{n:02},{50 + n % 3},{'Bad' if n == 7 else 'Good'}" for n in range(60)]
    path = tmp_path / "long.csv"
    path.write_text("\n".join(["tag,time,value,quality", *rows]) + "\n", encoding="utf-8")
    log = read_log(path, Options(unit="m3/h"))
    assert int(np.isfinite(log.flow).sum()) == 59
