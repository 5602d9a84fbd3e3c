"""A report with far too much in it is read in part, and says what was left out."""

from __future__ import annotations

import pytest

from diagnose.bounded import PAIRS, REPORT_METERS, REPORT_ROWS, REPORT_TABLES
from diagnose.commands.helpdesk import triage_document
from diagnose.errors import BadInput
from diagnose.reading import read_report
from diagnose.triage.report import triage
from tests.growth.readers import small_engine
from tests.tables.test_readings import read as read_table_text

HEADING = "reference [m3/h]\tmeter [m3/h]\n"


def test_of_a_table_too_long_the_first_lines_are_compared() -> None:
    """A doubt says how many were left out; the whole table stays marked as readings, not as words."""
    lines = "".join(f"{number}.5\t{number}.7\n" for number in range(REPORT_ROWS + 7))
    report = read_report(small_engine(), f"It reads high.\n{HEADING}{lines}", {})
    assert [each.about for each in report.analyses] == [f"{REPORT_ROWS} pairs of readings, the table in the report"]
    assert "the last 7 lines were left out" in report.understanding.doubts[0]
    assert f"{REPORT_ROWS + 6}.5" not in " ".join(report.understanding.not_understood)


def test_of_too_many_tables_the_first_are_compared() -> None:
    """A doubt says how many there are more."""
    report = read_report(small_engine(), f"{HEADING}10\t12\n50\t52\n\n" * (REPORT_TABLES + 3), {})
    assert len(report.analyses) == REPORT_TABLES
    assert report.understanding.doubts == ("3 more tables of readings in the report were left out",)


def test_of_too_many_meters_the_first_are_diagnosed() -> None:
    """A message says how many were left out."""
    engine = small_engine()
    told = triage(engine, "".join(f"- FT-{100 + each}: no light\n" for each in range(REPORT_METERS + 2)), {})
    assert len(told.meters) == REPORT_METERS
    assert "2 more meters of the report were left out" in triage_document(engine.rule_book, told).messages[-1]


def test_a_table_of_more_pairs_than_anybody_compares_is_refused() -> None:
    """With what to do about it."""
    lines = "".join("10.5\t10.7\n" for _ in range(PAIRS + 1))
    with pytest.raises(BadInput, match=r"10,001 pairs of readings, and 10,000 at most are compared"):
        read_table_text(HEADING + lines)
