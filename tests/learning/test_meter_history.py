"""What was found on a meter before: told, and counted in a modest way."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.cases.events import Closed, MeterNamed
from diagnose.cases.journal import Journal
from diagnose.learning.meter_history import MeterHistory, at_case, in_words, meter_history
from diagnose.observations import CheckDone, FindingSeen, State
from diagnose.reasoning.diagnosis import diagnose
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.frequencies import come_back
from diagnose.rule_book.book import ComesBack
from diagnose.rule_book.load import load_folder
from tests.benchmarks.learning import with_history
from tests.engines import real_engine
from tests.learning.cases import closed
from tests.learning.simulated import Plant
from tests.reasoning.books import SETTINGS, book, cause, finding
from tests.rule_book.lamps import MINIMAL

DARK = (FindingSeen(finding="dark", present=True),)


def engine_with(times: float) -> Engine:
    """Return an engine of two equally frequent causes of darkness."""
    settings = SETTINGS.__class__(
        **{name: getattr(SETTINGS, name) for name in SETTINGS.__struct_fields__ if name != "comes_back"},
        comes_back=ComesBack(times=times),
    )
    return Engine(book(finding("dark"), cause("bulb", {"dark": 0.9}), cause("fuse", {"dark": 0.9}), settings=settings))


def ratio(engine: Engine) -> float:
    """Return how many times as frequent the bulb is as the fuse, before anything is seen."""
    network = engine.network({})
    bulb, fuse = (float(network.priors[network.causes.index(name)]) for name in ("bulb", "fuse"))
    return bulb / fuse


class TestCounting:
    """How much it counts."""

    @given(st.floats(1.01, 20), st.integers(0, 10), st.integers(0, 10), st.floats(0, 1))
    def test_more_often_found_is_more_frequent(self, times: float, found: int, more: int, share: float) -> None:
        """And where it was not found among many cases, less."""
        of = found + more
        assert come_back(times, found + 1, of + 1, share) >= come_back(times, found, of + 1, share)
        assert come_back(times, 0, of, share) <= 1.0

    @given(st.floats(1, 20))
    def test_found_once_counts_as_the_rule_book_says(self, times: float) -> None:
        """Of a cause that is rare elsewhere."""
        assert come_back(times, 1, 1, 0.0) == pytest.approx(times)

    def test_a_cause_found_here_is_more_frequent_here(self) -> None:
        """By what the rule book says, less what it was to be expected here anyway: (1/2 + 1) / (1/2 + 0) as a ratio."""
        assert ratio(engine_with(3.0)) == pytest.approx(1.0)
        assert ratio(engine_with(3.0).with_history({"bulb": 1})) == pytest.approx(3.0)
        assert ratio(engine_with(1.0).with_history({"bulb": 4})) == pytest.approx(1.0)

    def test_the_engine_of_all_meters_stays_as_it_is(self) -> None:
        """One meter's history is nobody else's."""
        engine = engine_with(3.0)
        diagnose(engine.with_history({"bulb": 2}), {}, DARK, State())
        assert ratio(engine) == pytest.approx(1.0)
        assert ratio(engine.with_history({})) == pytest.approx(1.0)

    def test_causes_that_are_not_in_the_rule_book_any_more_do_not_count(self) -> None:
        """And break nothing."""
        assert ratio(engine_with(3.0).with_history({"gone": 5})) == pytest.approx(1.0)

    def test_the_reason_is_told(self) -> None:
        """Beside what was seen."""
        diagnosis = diagnose(engine_with(3.0).with_history({"bulb": 1}), {}, DARK, State())
        bulb = next(each for each in diagnosis.causes if each.id == "bulb")
        assert "it was found here before" in [each.title for each in bulb.supporting]
        fuse = next(each for each in diagnosis.causes if each.id == "fuse")
        assert not any("before" in each.title for each in (*fuse.supporting, *fuse.opposing))


class TestTelling:
    """What is said of it."""

    BOOK = load_folder(MINIMAL)

    def told(self, *days: date, remedy: str = "change-bulb") -> str:
        """Return what is told of a bulb that was found blown on these days."""
        cases = [
            closed(number, "bulb-blown", closed_on=day, remedy=remedy, meter="L-1") for number, day in enumerate(days)
        ]
        return in_words(self.BOOK, MeterHistory(meter="L-1", cases=tuple(cases)))

    def test_once(self) -> None:
        """With the day and what was done."""
        assert self.told(date(2026, 5, 3)).startswith("Found on L-1 before: Bulb blown on 2026-05-03: ")

    def test_several_times(self) -> None:
        """With the time between first and last."""
        told = self.told(date(2024, 5, 3), date(2026, 5, 3), date(2025, 1, 1), remedy="")
        assert told == "Found on L-1 before: Bulb blown 3 times in 2 years, last on 2026-05-03."

    def test_never(self) -> None:
        """Nothing is said."""
        assert self.told() == ""

    def test_the_case_under_way_is_no_history_of_itself(self, tmp_path: Path) -> None:
        """Nor do other meters count, or cases in vain."""
        seen = CheckDone(check="look-at-bulb", answer="broken")
        blown = Closed(outcome="found", cause="bulb-blown")
        for name, tag, events in (
            ("one", "L-1", (seen, blown)),
            ("this", "L-1", (FindingSeen(finding="lamp-dark", present=True), blown)),
            ("other", "L-2", (seen, blown)),
            ("vain", "L-1", (FindingSeen(finding="lamp-dark", present=False), Closed(outcome="not found"))),
        ):
            with Journal.start(tmp_path, {}, name) as journal:
                journal.add(1, MeterNamed(tag=tag), *events)
        engine = Engine(self.BOOK)
        assert meter_history(engine, tmp_path, "L-1", without="this").found == {"bulb-blown": 1}
        assert meter_history(engine, tmp_path, "").cases == ()

    def test_a_case_is_ranked_by_what_was_known_of_its_meter(self, tmp_path: Path) -> None:
        """All of it while it is open; what was closed on a later day than a closed one does not count."""
        days = {"one": "2026-05-03", "two": "2026-05-04", "three": "2026-05-05"}
        for name, day in days.items():
            with Journal.start(tmp_path, {}, name) as journal:
                journal._clock = lambda day=day: f"{day}T10:00:00+00:00"  # type: ignore[misc]
                journal.add(1, MeterNamed(tag="L-1"), CheckDone(check="look-at-bulb", answer="broken"))
                journal.add(2, Closed(outcome="found", cause="bulb-blown"))
        with Journal.start(tmp_path, {}, "open") as journal:
            journal.add(1, MeterNamed(tag="l-1"))
        found = {
            name: at_case(Engine(self.BOOK), tmp_path, Journal.read(tmp_path, name))[0].found_before
            for name in (*days, "open")
        }
        assert {name: each.get("bulb-blown", 0) for name, each in found.items()} == {
            "one": 0,
            "two": 1,
            "three": 2,
            "open": 3,
        }


def test_it_helps_where_causes_come_back_and_harms_little_where_they_do_not() -> None:
    """On simulated meters of both kinds, by the logarithm of the probability of what it was (in bits)."""
    engine = real_engine()
    gains = {}
    for name, frailty in (("as believed", 0.5), ("no more than anywhere", None)):
        rows = list(with_history(engine, Plant(engine.rule_book, name, frailty, meters=40), cases=8))
        gains[name] = sum(after - before for _, before, _, after in rows) / len(rows)
    assert gains["as believed"] > 0
    assert gains["no more than anywhere"] > -0.07
