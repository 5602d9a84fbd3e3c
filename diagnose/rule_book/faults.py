"""What goes wrong with a meter: what is found of it, and the causes behind that."""

from __future__ import annotations

from typing import Literal

import msgspec

from diagnose.entry import Entry

StatusSignal = Literal["failure", "function check", "out of specification", "maintenance required", "good"]
"""Status signals of NAMUR NE 107."""


class KeepAway(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """What to do at once where a finding means danger, in order, and who must come before anybody goes near again.

    ``afterwards`` are checks that come before any other step once it is over. ``changes`` are states of the plant that
    ``do`` has changed, or somebody may have: once it is over, nobody knows how they stand before it was said by value.
    """

    do: tuple[str, ...]
    who: str
    afterwards: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()


class Finding(Entry, frozen=True, kw_only=True):
    """A proposition about the meter that is present, absent or unknown.

    A *symptom* is what people see go wrong, a *result* what a check finds, *history* how it came about, a
    *circumstance* how the meter is built or used, which is nobody's fault. One with ``keep_away`` stops
    all work while it is present.
    ``phrases`` affirm it in a report, ``denied_by`` say that it is not so; ``sounds_like`` share words with its phrases
    and mean something else (a *smoke detector*), and say neither. ``together`` are groups of words, one word of each of
    which affirms it when they stand in one clause, in any order: for what people say in too many ways for phrases.
    ``not_with`` are circumstances under which its words say nothing amiss (zero *with the pump off*).
    ``word_for_word`` are phrases in which the small words count (*acid on me*). ``said_alone`` are words that affirm it
    only where a sentence says nothing else (*it tickles*); with an exclamation mark (*gas!*) only where it is cried.
    ``may_tell`` are words that may tell of it, enough to ask back: for what puts somebody in danger.
    ``part_of_danger`` is one that only a rule makes a danger, together with something else (a cover open and live, in
    an explosive atmosphere): it is heard as a danger is, also where it is only intended or asked about.
    ``with_states`` are states of the plant that say it where one text tells all of them (the cover is off, power on).
    ``holds_off`` is what then counts as not yet made good where a check finds it that comes first after a hazard.
    ``leak`` is the probability that a meter with none of the listed causes shows it. Findings with the same
    ``alternatives`` word exclude each other. ``complaint`` marks what somebody may come with.
    """

    title: str
    kind: Literal["symptom", "history", "result", "circumstance"] = "result"
    question: str = ""
    minutes: float | None = None
    phrases: tuple[str, ...] = ()
    denied_by: tuple[str, ...] = ()
    sounds_like: tuple[str, ...] = ()
    not_with: tuple[str, ...] = ()
    together: tuple[tuple[tuple[str, ...], ...], ...] = ()
    said_alone: tuple[str, ...] = ()
    word_for_word: tuple[str, ...] = ()
    may_tell: tuple[str, ...] = ()
    subject: tuple[str, ...] = ()
    alternatives: str = ""
    complaint: Literal["", "common", "other"] = ""
    leak: float = 0.01
    applies: dict[str, tuple[str, ...]] = {}
    keep_away: KeepAway | None = None
    holds_off: tuple[str, ...] = ()
    part_of_danger: bool = False
    with_states: dict[str, str] = {}

    @property
    def heard_as_danger(self) -> bool:
        """Whether who intends it, or asks about it, has told it as well."""
        return self.keep_away is not None or self.part_of_danger

    @property
    def says_what_is_wrong(self) -> bool:
        """Whether the finding, where it is present, is a complaint; history and circumstances are none."""
        return self.kind in ("symptom", "result")

    @property
    def lasts(self) -> bool:
        """Whether it stays after the fault was put right."""
        return self.kind in ("history", "circumstance")


class FrequencyWhere(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """How often a cause comes where the data sheet says so: a word, or one of several, of each field."""

    where: dict[str, tuple[str, ...]]
    frequency: float


class Cause(Entry, frozen=True, kw_only=True):
    """A failure cause, what it shows and how often, and what puts it right.

    ``frequency`` holds where no row of ``frequency_where`` does; the first that does counts. ``signal_because`` says
    why the status signal is this one: what is left of the measured value while the cause lasts.

    ``described_as`` are things that people say who have met it; only the words in them count (``wording_weight``).
    """

    title: str
    area: str
    explanation: str
    frequency: float
    shows: dict[str, float]
    remedy: str
    signal: StatusSignal
    signal_because: str = ""
    frequency_where: tuple[FrequencyWhere, ...] = ()
    applies: dict[str, tuple[str, ...]] = {}
    looks_like: tuple[str, ...] = ()
    follow_up: str = ""
    described_as: tuple[str, ...] = ()
    shows_others: float = 0.0
