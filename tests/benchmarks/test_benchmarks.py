"""The benchmarks run, on sizes too small to say anything about speed."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.reasoning.engine import Engine
from diagnose.triage import report as triaging
from tests.benchmarks import case_list, false_alarms, log_speed, planning, posterior, reading_speed, speed, watch
from tests.protocol.lamps import lamp_book_engine
from tests.reasoning.books import book, cause, finding, real_rule_book, yes_or_no
from tests.trends.faults import FAULTS


class TestBenchmarks:
    """One run of each; nothing here is timed against a limit."""

    def test_planning_is_never_better_than_the_optimum(self) -> None:
        """Ratios to the best possible strategy are at least one."""
        for values in planning.ratios(1).values():
            assert (values >= 1 - 1e-9).all()

    def test_posterior_compares_equal_results(self) -> None:
        """What is timed against each other gives the same probabilities."""
        compared = posterior.compare(present=2, runs=1)
        assert compared.difference < 1e-9
        assert min(compared.ours, compared.library) > 0

    def test_whole_commands_do_what_they_should(self) -> None:
        """They are started as people start them; what shows nothing, or something else, is not timed."""
        assert min(speed.starts(runs=1).values()) > 0

    def test_reports_a_second(self) -> None:
        """The parts make up the whole, and nothing of the clock stays behind."""
        real = triaging.read_report
        engine = Engine(book(finding("a"), cause("one", {"a": 0.9}), yes_or_no("look", "a")))
        taken = speed.reports_a_second(engine, ["the lamp is dark"] * 6)
        assert taken.pop("reports a second") * sum(taken.values()) == pytest.approx(1000)
        assert triaging.read_report is real

    def test_answering(self) -> None:
        """A walk of two answers and a diagnosis of three findings, on an invented rule book."""
        parts = [finding(name) for name in ("a", "b", "c")]
        causes = cause("one", {"a": 0.9}), cause("two", {"b": 0.5, "c": 0.1})
        engine = Engine(book(*parts, *causes, yes_or_no("look", "a")))
        assert speed.answer_to_question(engine, 2) > 0
        assert speed.with_present(engine, 3, 1) > 0

    def test_ten_times_the_rules(self) -> None:
        """Every copy keeps its ties: as many of each as before, times the copies, and no name without its entry."""
        rule_book = real_rule_book()
        large = speed.times(rule_book, 3)
        assert len(large.causes) == 3 * len(rule_book.causes)
        assert np.isclose(sum(each.frequency for each in large.causes.values()), 3 * _shares())
        shown = {name for each in large.causes.values() for name in each.shows}
        assert shown <= large.findings.keys()
        assert {each.remedy for each in large.causes.values()} <= large.remedies.keys()
        assert {each.proved_by for each in large.remedies.values()} <= large.checks.keys()
        assert speed.cached_load(book(finding("a"))) > 0

    def test_lists_of_cases(self) -> None:
        """A line for each way to look for cases; what finds nothing is not timed."""
        assert len(case_list.report(120).splitlines()) == 6

    def test_false_alarms(self) -> None:
        """A line for each healthy plant, and one for each size of each fault."""
        lines = false_alarms.report(1).splitlines()
        assert {line[:20].strip() for line in lines} >= false_alarms.PLANTS.keys()
        assert sum(" %" in line for line in lines) == sum(len(fault.sizes) for fault in FAULTS.values())

    def test_log_speed(self) -> None:
        """A small log is read and analysed in processes of their own."""
        assert "read and analysed by all detectors" in log_speed.report(2000)

    def test_reading_speed(self) -> None:
        """A line for the tickets, a head, and a line for each long text, here of a few hundred characters."""
        lines = reading_speed.report(runs=1, length=400).splitlines()
        assert [line[2:26].strip() for line in lines[2:]] == list(reading_speed.LONG_TEXTS)

    def test_watch(self) -> None:
        """A few hundred random steps about a desk lamp break no rule of safety, and walk the same way again."""
        engine = lamp_book_engine()
        counts = watch.walked(engine, 400, seed=1)
        assert counts.steps >= 400
        assert counts.shown.total() > 50
        assert counts.endings > 0
        assert counts.violations == {}
        assert watch.walked(engine, 400, seed=1) == counts


def _shares() -> float:
    return sum(each.frequency for each in real_rule_book().causes.values())
