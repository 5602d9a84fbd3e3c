"""What rows of readings can show (mechanisms in comparisons, signs in logs), and how people head their columns."""

from __future__ import annotations

from typing import Literal

import msgspec

from diagnose.entry import Entry

ComparedAt = Literal["reference", "control-system", "counter"]
"""What a meter is compared with: a reference against its display, or its display against what a receiver shows."""


class Spread(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """How large an open amount of a curve may be, before any reading was looked at.

    One of: ``between`` two figures; ``usually_off`` by so much from what it is ``around`` (``gained``: the share of the
    times above it; ``as_velocity``: that, where the bore is known); ``usually`` so much and ``at_most`` that;
    ``one_of`` several with their ``weights``; ``ratios_of`` the figures of a list ``between`` two limits;
    ``figures_of`` a list in the unit of the readings, times any power of ten, ``between`` two limits;
    ``neighbours_of`` one in a list, up to some ``steps`` apart; units that are ``mixed_up`` with their weights (all
    others count one), those with the unit of the readings ``own_unit`` times as much. ``by_factor``: as likely a factor
    above as below. ``said`` is told to people as well.
    """

    between: tuple[float, ...] = ()
    by_factor: bool = False
    around: float | None = None
    usually_off: float | None = None
    gained: float | None = None
    as_velocity: float | None = None
    usually: float | None = None
    at_most: float | None = None
    one_of: tuple[float, ...] = ()
    weights: tuple[float, ...] = ()
    ratios_of: str = ""
    figures_of: str = ""
    neighbours_of: str = ""
    steps: int = 1
    mixed_up: dict[str, float] = {}
    own_unit: float = 1.0
    said: str = ""


class AmountsTogether(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """Amounts that go together in this share of the times."""

    share: float
    amounts: dict[str, Spread]


class Mechanism(Entry, frozen=True, kw_only=True):
    """One way in which pairs of readings come to differ: a physical model, and what is known of it in the trade.

    ``model`` names the curve (:mod:`diagnose.comparison.mechanisms`). ``causes`` are those that bring it about, by
    where they show, each with the share of the times in which it takes this form, where it makes a difference at all.
    ``look`` tells it from others with the same curve, ``remedy`` puts it right at its source. ``amounts`` says how
    large the open amounts of the curve may be; where that differs from time to time, ``either`` says how often which.
    """

    title: str
    model: str
    look: str
    remedy: str
    causes: dict[ComparedAt, dict[str, float]] = {}
    amounts: dict[str, Spread] = {}
    either: tuple[AmountsTogether, ...] = ()


class Comparisons(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """What readings that were compared say of causes, beside the mechanisms themselves.

    ``nothing`` is the mechanism that stands for no difference, ``another`` for one that no other describes, ``several``
    for two faults at once, with their shares. A comparison speaks of the findings under ``speak_of``, so that these do
    not count beside it. ``mistaken`` is how likely readings tell of something else than was thought, ``unlisted`` how
    often, at least, they differ in a way that no cause of the book brings about. ``lists`` are figures that amounts of
    several mechanisms go by, ``unknown_upper_range`` is how large an upper range value may be that nobody told, over
    the largest reference flow. ``curves`` say what mechanisms of one curve have in common.
    """

    nothing: str = ""
    another: str = ""
    several: dict[str, float] = {}
    mistaken: float = 0.0
    unlisted: float = 0.0
    speak_of: dict[ComparedAt, tuple[str, ...]] = {}
    lists: dict[str, tuple[float, ...]] = {}
    unknown_upper_range: Spread | None = None
    curves: dict[str, str] = {}


class Sign(Entry, frozen=True, kw_only=True):
    """Something that a log can show: the detector that looks for it, and what it says of the meter.

    ``detector`` names it (:mod:`diagnose.trends.trend`). ``shows`` are findings that are present when it is seen,
    ``denies`` those that are absent when it was looked for with enough readings and not seen. ``means`` says in words
    what people should take from it. ``sensitivity`` is the share of the faults that matter which the detector sees
    (benchmark of false alarms). ``now-and-then`` is how often it must be seen in a log for its findings.
    """

    title: str
    detector: str
    means: str
    sensitivity: float
    now_and_then: int = 1
    shows: tuple[str, ...] = ()
    denies: tuple[str, ...] = ()


HeadingMeaning = Literal[
    "reference",
    "indicated",
    "display",
    "counter",
    "uncertainty",
    "standard-uncertainty",
    "expanded-uncertainty",
    "start",
    "stop",
    "total",
    "as-found",
    "as-left",
    "time",
    "date",
    "duration",
    "temperature",
    "density",
    "summary",
    "not-a-reading",
    "set-point",
    "elapsed",
    "tag",
    "quality",
    "units",
    "volume",
    "current",
    "running",
    "flow",
    "other",
]
"""What a word in the heading of a column may say: of readings (:mod:`diagnose.tables.column_kinds`), or of a log
(:mod:`diagnose.tables.log_headings`)."""


class Heading(Entry, frozen=True, kw_only=True):
    """Words by which people head a column of readings or of a log, in one language, and what they are taken to say.

    Several words side by side are one phrase; `*` in a word is any ending or beginning. A word of one letter is meant
    with its capital or small letter (`U`, `u`), longer ones in any.
    """

    title: str
    means: tuple[HeadingMeaning, ...]
    words: tuple[str, ...]
