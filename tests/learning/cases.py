"""Closed cases for tests, made by hand."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from diagnose.learning.closed_cases import ClosedCase
from tests.reasoning.books import book, cause, finding


def closed(number: int, cause: str = "", **more: Any) -> ClosedCase:
    """Return a case that is like no other: closed with a cause, or in vain without one."""
    given = {
        "name": f"case {number}",
        "closed_on": date(2026, 1, 1 + number % 28),
        "outcome": "found" if cause else "not found",
        "cause": cause,
        "marks": (str(number), str(number)),
    }
    return ClosedCase(**{**given, **more})


def causes_of(counts: Sequence[int]) -> list[ClosedCase]:
    """Return so many cases of each cause of :func:`plain_book`."""
    named = [f"cause-{number}" for number, count in enumerate(counts) for _ in range(count)]
    return [closed(number, name) for number, name in enumerate(named)]


def plain_book(frequencies: Sequence[float]) -> Any:
    """Return a rule book in which every meter can have every cause, and nothing hangs on a data sheet."""
    causes = (cause(f"cause-{number}", {"f": 0.5}, frequency=each) for number, each in enumerate(frequencies))
    return book(finding("f"), *causes)
