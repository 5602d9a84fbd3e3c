"""Forms of logs: qualities, names of pumps, totals, long exports, and two logs given together."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from diagnose.errors import BadInput
from diagnose.rule_book.patterns import Heading
from diagnose.tables.heading_words import HeadingWords
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


GERMAN = "Datum;Uhrzeit;Durchfluss [m3/h];Status Pumpe;Güte"
US = "Date,Time,Flow (gpm),Totalizer (gal),Pump Status,Status"


def test_german_headings_are_read(tmp_path: Path) -> None:
    """Date and time of day apart, a comma in the figures, the pump by its name, the quality by its word."""
    lines = [f"01.03.2026;00:0{n}:00;5,{n};{'ein' if n % 2 else 'aus'};gut" for n in range(6)]
    log = read(tmp_path, GERMAN + "\n" + "\n".join(lines) + "\n")
    assert log.flow.tolist() == pytest.approx([5, 5.1, 5.2, 5.3, 5.4, 5.5])
    assert log.running is not None
    assert log.running.tolist() == [0, 1, 0, 1, 0, 1]


def test_us_headings_are_read(tmp_path: Path) -> None:
    """The flow before the total; of two columns of states one is the pump's and one the quality."""
    lines = [f"03/21/2026,00:0{n}:00,5.{n},{100 + n},ON,{'Bad' if n == 2 else 'Good'}" for n in range(6)]
    log = read(tmp_path, US + "\n" + "\n".join(lines) + "\n")
    assert (log.unit, np.isnan(log.flow).tolist().index(True)) == ("gpm", 2)
    assert log.running is not None


@pytest.mark.parametrize("head", ["Zeit;Zählerstand [m3]", "Zeitstempel;Verbrauch (m3)", "Zeit;Totalizer [m3]"])
def test_a_total_has_names_in_two_languages(head: str, tmp_path: Path) -> None:
    """Whatever it is called, its differences are the flow."""
    log = read(tmp_path, rows("100", "101", "103", "104", head=head))
    assert log.flow.tolist() == pytest.approx([60, 120, 60])


def test_the_words_of_a_rule_book_are_used(tmp_path: Path) -> None:
    """Another language is a file more, for logs as for pairs."""
    dutch = (
        Heading(id="a", title="-", means=("time",), words=("tijd",)),
        Heading(id="b", title="-", means=("other",), words=("doorzicht",)),
        Heading(id="c", title="-", means=("flow",), words=("debiet",)),
    )
    text = rows("7;5", "7;6", "7;7", head="tijd;doorzicht [m3/h];debiet [m3/h]")
    log = read(tmp_path, text, words=HeadingWords(dutch))
    assert log.flow.tolist() == [5, 6, 7]
    assert log.second is not None


@pytest.mark.parametrize(
    ("head", "options"),
    [
        ("Zeit;FT1;FT2", {"unit": "m3/h"}),
        ("time;FT1 [m3/h];FT2 [m3/h]", {}),
        ("time;Flow (m3/h);FQ 7 (m3/h)", {}),
        ("time;north inlet [m3/h];south inlet [m3/h]", {}),
    ],
)
def test_the_only_two_flows_need_no_names(head: str, options: dict[str, object], tmp_path: Path) -> None:
    """The first is the reading, the second the second meter, and it is said."""
    log = read(tmp_path, rows("5;5.1", "6;6.1", "7;7.1", head=head), **options)
    assert log.second is not None
    assert log.second.tolist() == [5.1, 6.1, 7.1]
    assert "as the second meter" in " ".join(log.warnings)


@pytest.mark.parametrize("other", ["TT1 [degC]", "Sollwert [m3/h]", "set point [m3/h]", "PT1"])
def test_what_is_no_flow_is_no_second_meter(other: str, tmp_path: Path) -> None:
    """A temperature, or what is wanted, is not compared with the flow."""
    log = read(tmp_path, rows("5;5", "6;6", "7;7", head=f"time;FT1 [m3/h];{other}"))
    assert log.second is None
    assert log.flow.tolist() == [5, 6, 7]


def test_of_three_flows_none_is_taken_for_the_second(tmp_path: Path) -> None:
    """Which one it is compared with is for people to say."""
    log = read(tmp_path, rows("5;5;1", "6;6;1", "7;7;1", head="time;FT1 [m3/h];FT2 [m3/h];FT3 [m3/h]"))
    assert log.second is None
    assert "columns not used" in " ".join(log.warnings)
