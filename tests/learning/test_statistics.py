"""What is counted on closed cases, and the page that shows it."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from diagnose.documents.statistics_page import statistics_page
from diagnose.documents.statistics_text import in_words
from diagnose.learning.checks_made import checks_made
from diagnose.learning.closed_cases import ClosedCase
from diagnose.learning.drift import drift
from diagnose.learning.statistics import Statistics, statistics
from diagnose.observations import CheckDone, FindingSeen, RemedyTried
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.load import load_folder
from tests.learning.cases import closed
from tests.rule_book.lamps import MINIMAL

ENGINE = Engine(load_folder(MINIMAL))
DARK = FindingSeen(finding="lamp-dark", present=True)
BROKEN, WHOLE = (CheckDone(check="look-at-bulb", answer=each) for each in ("broken", "whole"))
CURED, IN_VAIN = (RemedyTried(remedy="change-bulb", verdict=each) for each in ("cured", "not cured"))


def blown(number: int, *seen: object, **more: object) -> ClosedCase:
    """Return a case of a blown bulb."""
    return closed(number, "bulb-blown", observations=(DARK, *seen), **more)


def told() -> Statistics:
    """Return the statistics of five cases of two meters, one of them in vain."""
    missing = closed(4, "supply-missing", observations=(DARK, WHOLE, IN_VAIN), minutes=50.0, meter="L-2")
    cases = [
        blown(1, BROKEN, CURED, minutes=10.0, meter="l-1"),
        blown(2, BROKEN, CURED, minutes=20.0, meter="L-1"),
        blown(3, BROKEN, IN_VAIN, CURED, minutes=30.0, meter="L-2"),
        missing,
        closed(5, observations=(DARK,), meter="<b>L-3</b>"),
    ]
    return statistics(ENGINE, cases)


class TestCounting:
    """What is counted."""

    def test_the_commonest_cause_comes_first(self) -> None:
        """With its share, that of all down to it, and the middle of its minutes."""
        first, second = told().causes
        assert (first.id, first.cases, first.share, first.minutes) == ("bulb-blown", 3, 0.75, 20.0)
        assert (second.id, second.down_to_here) == ("supply-missing", 1.0)
        assert [each.id for each in told().areas] == ["lamp", "feed"]

    def test_what_came_back_on_the_same_meter(self) -> None:
        """With its days; by pairs, beside chance. A tag is the same in small letters."""
        (back,) = told().repeats
        assert (back.meter, back.cause, back.days) == ("L-1", "bulb-blown", ("2026-01-02", "2026-01-03"))
        again = told().coming_back
        assert again is not None
        # two pairs of one meter, one of them alike; of four pairs of different meters two are
        assert (again.pairs, again.same, again.by_chance, again.times) == (2, 1, 1.0, 1.0)

    def test_minutes_and_the_first_remedy(self) -> None:
        """Of four cases with a remedy tried two were right at once."""
        assert told().minutes
        assert told().minutes.middle == 25.0
        right = told().first_time_right
        assert right
        assert (right.hits, right.of) == (2, 4)

    def test_checks_bring_what_they_make_the_cause_more_probable_by(self) -> None:
        """In doublings; too seldom made, nothing is said of what it earned."""
        (look,) = told().checks
        assert (look.check, look.made, look.minutes) == ("look-at-bulb", 4, 2.0)
        assert look.brought > 0
        assert 0 < look.expected <= 1
        assert look.earned is True
        (alone,) = checks_made(ENGINE, [blown(1, BROKEN)])
        assert alone.earned is None

    def test_an_answer_that_leads_away_brings_less_than_nothing(self) -> None:
        """A broken filament where the supply was missing."""
        (look,) = checks_made(ENGINE, [closed(1, "supply-missing", observations=(DARK, BROKEN))])
        assert look.brought < 0

    def test_our_probabilities_are_those_before_the_cure(self) -> None:
        """Of the first cause of each case, and of every one that was named."""
        first, every = told().calibration
        assert first.forecasts == 4
        assert every.forecasts >= 4
        assert first.brier < 0.25

    def test_nothing_closed_yet(self) -> None:
        """Nothing breaks, and nothing is divided by nothing."""
        nothing = statistics(ENGINE, [])
        assert (nothing.cases, nothing.causes, nothing.minutes, nothing.coming_back) == (0, (), None, None)
        assert "0 closed cases" in in_words(nothing)
        _, *sections = in_words(nothing).split("\n\n")
        assert len(sections) == 7
        assert all(len(each.splitlines()) == 2 for each in sections), "none is a bare heading or an empty table"
        assert in_words(nothing).count("  none yet") == 5

    def test_checks_made_too_seldom_have_no_table_above_them(self) -> None:
        """But are counted."""
        text = in_words(statistics(ENGINE, [blown(1, BROKEN)]))
        assert "  1 made too seldom to tell" in text
        assert "bits/min" not in text

    def test_nothing_closed_yet_on_the_page(self) -> None:
        """As in words."""
        nothing = statistics(ENGINE, [])
        assert "<h1>" in statistics_page(nothing, datetime(2026, 12, 1, tzinfo=UTC))


class TestThePage:
    """What stands on the page."""

    PAGE = statistics_page(told(), datetime(2026, 12, 1, tzinfo=UTC))

    def test_what_comes_from_cases_is_escaped(self) -> None:
        """A tag is text, whatever it looks like."""
        page = statistics_page(
            statistics(ENGINE, [blown(n, BROKEN, meter="<script>alert(1)</script>") for n in range(3)]),
            datetime(2026, 12, 1, tzinfo=UTC),
        )
        assert "<script" not in page
        assert "&lt;script&gt;" in page

    def test_pictures_say_what_they_show(self) -> None:
        """And nothing is fetched from anywhere."""
        assert self.PAGE.count("<svg") == self.PAGE.count('role="img" aria-label="') == 4
        assert "http" not in self.PAGE
        assert "src=" not in self.PAGE

    def test_text_and_page_tell_the_same(self) -> None:
        """Word for word where it is a sentence."""
        text = in_words(told())
        for part in ("Brier score", "reliability", "Bulb blown"):
            assert part in text
            assert part in self.PAGE


class TestDrift:
    """What has changed since a day."""

    def test_what_has_risen_and_fallen(self) -> None:
        """From one in twenty to half."""
        early = [
            closed(n, "bulb-blown" if n else "supply-missing", closed_on=date(2025, 1, 1), marks=(f"e{n}", f"e{n}"))
            for n in range(20)
        ]
        late = [closed(n, "bulb-blown" if n % 2 else "supply-missing") for n in range(20)]
        rows = {each.cause: each for each in drift([*early, *late], date(2026, 1, 1))}
        assert (rows["supply-missing"].found_before, rows["supply-missing"].found_since) == (1, 10)
        assert rows["supply-missing"].risen > 0.95
        assert rows["bulb-blown"].risen < 0.05
        assert all(each.told for each in rows.values())

    def test_without_cases_before_nothing_is_told(self) -> None:
        """Nobody knows how it was."""
        (row,) = drift([closed(1, "bulb-blown")], date(2026, 1, 1))
        assert row.risen == pytest.approx(0.5)
        assert not row.told
