"""The analysis of a log as types, ``"format": "trend/1"``: times as people read them, sizes in the log's unit."""

from __future__ import annotations

import msgspec

from diagnose.documents.typed import Document, FindingDocument


class LogDocument(Document, frozen=True, kw_only=True):
    """Which log it is: its readings, its span, its gaps, and what stands ``beside`` the readings."""

    file: str
    unit: str
    readings: int
    missing: int
    from_: str = msgspec.field(name="from")
    to: str
    usual_step_seconds: float
    gaps: int
    longest_gap_seconds: float
    beside: tuple[str, ...]


class StatisticsDocument(Document, frozen=True, kw_only=True):
    """The readings in figures; ``noise`` is the standard deviation of fast variation, ``resolution`` the least step."""

    mean: float
    standard_deviation: float
    least: float
    lower_quartile: float
    median: float
    upper_quartile: float
    greatest: float
    noise: float
    resolution: float


class TrendMechanism(Document, frozen=True, kw_only=True):
    """A sign that was seen, how probable it is that it is real, and its figures."""

    id: str
    title: str
    probability: float
    parameters: dict[str, float | str | None]


class MarkDocument(Document, frozen=True, kw_only=True):
    """One place of a sign; ``start`` in seconds as in the picture, ``size`` in the unit of its sign."""

    from_: str = msgspec.field(name="from")
    to: str
    start: float
    seconds: float
    size: float | None


class SignDocument(TrendMechanism, frozen=True, kw_only=True):
    """A sign that was looked for: its statistic against its limit, what it means, and the places where it was seen.

    ``untested`` says why a log gives nothing to test; "" otherwise. ``excluded``: not seen, and the log would
    have shown it. ``marks`` are the largest of ``marks_in_all``.
    """

    present: bool
    statistic: str
    value: float | None
    limit: float | None
    because: str
    untested: str
    excluded: bool
    means: str
    unit: str
    marks: tuple[MarkDocument, ...]
    marks_in_all: int


class TickDocument(Document, frozen=True, kw_only=True):
    """A place on the axis of time, in seconds, and its label."""

    at: float
    label: str


class ProfileDocument(Document, frozen=True, kw_only=True):
    """The day of the plant: lowest tenth, middle and highest tenth of each hour over the days; null without readings.

    ``changed`` is the middle from the day ``since`` on if the day is another one from then; ``middle`` that before.
    """

    days: int
    low: tuple[float | None, ...]
    middle: tuple[float | None, ...]
    high: tuple[float | None, ...]
    since: str | None
    changed: tuple[float | None, ...] | None


class SpanDocument(Document, frozen=True, kw_only=True):
    """Lowest, middle and highest reading of even stretches of time; null where a stretch has no readings.

    ``second`` is the middle of the second meter, null if there is none.
    """

    start: float
    end: float
    low: tuple[float | None, ...]
    middle: tuple[float | None, ...]
    high: tuple[float | None, ...]
    second: tuple[float | None, ...] | None
    ticks: tuple[TickDocument, ...]


class TrendDocument(Document, frozen=True, kw_only=True, tag_field="format", tag="trend/1"):
    """All that a log says: signs, the most probable first, and what follows for the diagnosis.

    ``false_alarm_rate`` is the share of clean logs in which one sign is seen all the same.
    """

    log: LogDocument
    statistics: StatisticsDocument
    false_alarm_rate: float
    mechanisms: tuple[TrendMechanism, ...]
    signs: tuple[SignDocument, ...]
    findings: tuple[FindingDocument, ...]
    warnings: tuple[str, ...]
    picture: SpanDocument
    profile: ProfileDocument | None
