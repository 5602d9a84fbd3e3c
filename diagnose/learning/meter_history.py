"""What was found on one meter before."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import msgspec

from diagnose.cases.administration import administration
from diagnose.cases.events import Case
from diagnose.learning.closed_cases import ClosedCase, day_of, read_closed
from diagnose.learning.counted_once import counted_once
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.book import RuleBook

MOST_TOLD = 5
"""So many causes are told, those found last."""


class MeterHistory(msgspec.Struct, frozen=True, kw_only=True):
    """The closed cases of one meter in which a cause was found, in order of time."""

    meter: str
    cases: tuple[ClosedCase, ...] = ()

    @property
    def found(self) -> dict[str, int]:
        """How often each cause was found."""
        return dict(Counter(each.cause for each in self.cases))


def meter_history(engine: Engine, folder: Path, meter: str, without: str = "", until: date = date.max) -> MeterHistory:
    """Return what was found on a meter ``until`` a day; the case under way (``without``) is no part of that.

    Raises BadInput when the folder cannot be read.
    """
    if not meter:
        return MeterHistory(meter="")
    cases, _ = read_closed(engine, folder, meter)
    counted = counted_once(each for each in cases if each.name != without and each.closed_on <= until).cases
    return MeterHistory(meter=meter, cases=tuple(each for each in counted if each.outcome == "found"))


def on_meter(engine: Engine, folder: Path, meter: str, without: str = "", until: date = date.max) -> tuple[Engine, str]:
    """Return the engine for a meter, by its tag, and what was found on it before, in words.

    Raises BadInput when the folder cannot be read.
    """
    history = meter_history(engine, folder, meter, without, until)
    if not history.cases:
        return engine, ""
    return engine.with_history(history.found), in_words(engine.rule_book, history)


def at_case(engine: Engine, folder: Path, case: Case) -> tuple[Engine, str]:
    """Return the engine for the meter of a case, and what was found on it before that, in words.

    What was closed on a later day than a closed case could not be known in it.

    Raises BadInput when the folder cannot be read.
    """
    kept = administration(case.entries)
    until = day_of(kept.closed_at) if kept.closed else date.max
    return on_meter(engine, folder, kept.meter, case.name, until)


def in_words(book: RuleBook, history: MeterHistory) -> str:
    """Return what was found before in one line; nothing where nothing was."""
    if not history.cases:
        return ""
    last: dict[str, list[ClosedCase]] = {}
    for case in sorted(history.cases, key=lambda each: each.closed_on):
        last.setdefault(case.cause, []).append(case)
    latest = sorted(last.values(), key=lambda cases: cases[-1].closed_on, reverse=True)
    told = [_told(book, cases) for cases in latest[:MOST_TOLD]]
    more = f"; {len(latest) - MOST_TOLD} more" if len(latest) > MOST_TOLD else ""
    times = book.settings.comes_back.times
    counts = f" What was found once counts as {times:g} times as frequent here." if times > 1 else ""
    return f"Found on {history.meter} before: {'; '.join(told)}{more}.{counts}"


def _told(book: RuleBook, cases: Sequence[ClosedCase]) -> str:
    """Return what is told of one cause: `Coating 2 times in 14 months, last on 2026-05-03: Clean it`."""
    latest = cases[-1]
    title = book.causes[latest.cause].title
    remedy = book.remedies[latest.remedy].title if latest.remedy in book.remedies else latest.remedy
    done = f": {remedy}" if remedy else ""
    on = "some time ago" if latest.closed_on == date.min else f"on {latest.closed_on}"
    if len(cases) == 1:
        return f"{title} {on}{done}"
    return f"{title} {len(cases)} times{_within(cases[0].closed_on, latest.closed_on)}, last {on}{done}"


def _within(first: date, last: date) -> str:
    months = round((last - first).days / 30.4)
    if first == date.min or months < 1:
        return ""
    return f" in {months} months" if months < 24 else f" in {months // 12} years"
