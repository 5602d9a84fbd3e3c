"""The diagnosis document as types: what other programs are promised, ``"format": "diagnosis/4"``.

A field that is ``UNSET`` is left out of the JSON; all others are always there.
"""

from __future__ import annotations

from typing import Literal

from msgspec import UNSET, UnsetType

from diagnose.documents.typed import Document
from diagnose.language.results import About, Kind
from diagnose.rule_book.competence import Competence
from diagnose.rule_book.faults import StatusSignal
from diagnose.rule_book.plant import SignalWord


class HazardDocument(Document, frozen=True, kw_only=True):
    """A hazard that was reported: work stops.

    ``do`` says what comes first, in order, ``who`` must come before anybody goes near again, ``quote`` what was said.
    """

    id: str
    title: str
    do: tuple[str, ...]
    who: str
    quote: str


class EndedHazardDocument(Document, frozen=True, kw_only=True):
    """A hazard that was reported and is said to be over, or to have been misread.

    ``at`` is when that was said (UTC), "" where no clock was kept; ``said_by`` a person of which competence typed it,
    None where nobody had asked yet. ``who`` must have come before, by the rules. ``to_do`` are checks that come before
    any other step and were not made since.
    """

    id: str
    title: str
    misread: bool
    at: str
    said_by: Competence | None
    who: str
    to_do: tuple[str, ...]


class UnclearDangerDocument(Document, frozen=True, kw_only=True):
    """Words that may tell of a danger: ``quote``, and the titles of what it could be."""

    quote: str
    could_be: tuple[str, ...]


class StatementDocument(Document, frozen=True, kw_only=True):
    """One thing understood, with its words: a finding that is there or not, or a quantity with its value.

    For a reading over range ``limit`` says on which side of ``value`` it lies, ``shown`` how people say it.
    """

    quote: str
    finding: str | None
    present: bool | None
    title: str
    quantity: str | UnsetType = UNSET
    value: float | str | UnsetType | None = UNSET
    unit: str | UnsetType = UNSET
    limit: Literal["above", "below"] | UnsetType = UNSET
    shown: str | UnsetType = UNSET


class AnalysedFinding(Document, frozen=True, kw_only=True):
    """A finding that follows from readings or a log."""

    finding: str
    present: bool
    title: str


class AnalysisDocument(Document, frozen=True, kw_only=True):
    """What an analysis of readings or of a log says: what it is about, in words, what is odd, and what follows."""

    about: str
    says: tuple[str, ...]
    warnings: tuple[str, ...]
    findings: tuple[AnalysedFinding, ...]


class ReasonDocument(Document, frozen=True, kw_only=True):
    """What speaks for or against a cause: a finding, or (with none) the words of the report.

    ``decibans`` is its weight of evidence: 10 log10 of the likelihood ratio (Good 1950), above zero for the cause.
    """

    finding: str | None
    title: str
    present: bool
    decibans: float
    origin: str
    source: str


class CauseDocument(Document, frozen=True, kw_only=True):
    """A cause with its probability (0 to 1), its status signal (NAMUR NE 107), and what speaks for and against it."""

    id: str
    title: str
    explanation: str
    area: str
    probability: float
    signal: StatusSignal
    supporting: tuple[ReasonDocument, ...]
    opposing: tuple[ReasonDocument, ...]


class ContradictionDocument(Document, frozen=True, kw_only=True):
    """Statements about one finding that cannot both be right, and what was taken."""

    finding: str
    title: str
    text: str
    counted: Literal["present", "absent", "left out"]


class CautionDocument(Document, frozen=True, kw_only=True):
    """A caution (ISO 3864-2); ``condition`` says what, once known, would rule it out ("unless …"), "" if nothing.

    ``short`` is what to do in a few words.
    """

    signal: SignalWord
    title: str
    hazard: str
    consequence: str
    avoid: tuple[str, ...]
    source: str
    condition: str
    short: str


class ChangeDocument(Document, frozen=True, kw_only=True):
    """A state of the plant to change before a step, and to what."""

    state: str
    title: str
    to: str


class DisturbanceDocument(Document, frozen=True, kw_only=True):
    """Something that stands otherwise than it was (a lead off, a loop in manual), and how it is put back.

    ``needs`` is how the plant must stand for that, ``competence`` who may do it at least.
    """

    id: str
    title: str
    steps: tuple[str, ...]
    minutes: float
    competence: Competence
    needs: dict[str, tuple[str, ...]]


class LeftDocument(Document, frozen=True, kw_only=True):
    """A state of the plant that is not as it was: how it ``stands``, and ``to`` what it is to be brought back.

    Several values: a step was left in the middle, and nobody has said which of them it is.
    """

    state: str
    title: str
    stands: tuple[str, ...]
    to: str


class StepDocument(Document, frozen=True, kw_only=True):
    """A step as it is put to a person.

    ``minutes`` include changes of state; ``saves_minutes`` are those that it is expected to save altogether.
    ``standing`` is the state of the plant before it, ``changes`` what to change first; ``steps`` begin with how.
    ``afterwards`` is what it disturbs, in the order in which that is put back. ``only_if`` says what the data sheet
    must say, and does not yet, before the step may be done at all ("explosive atmosphere possible: no").
    """

    kind: Literal["check", "remedy", "escalate", "done"]
    id: str
    title: str
    minutes: float
    saves_minutes: float
    because: str
    competence: Competence
    tools: tuple[str, ...]
    parts: tuple[str, ...]
    standing: dict[str, str]
    changes: tuple[ChangeDocument, ...]
    cautions: tuple[CautionDocument, ...]
    steps: tuple[str, ...]
    afterwards: tuple[DisturbanceDocument, ...]
    only_if: tuple[str, ...]


class QuestionDocument(Document, frozen=True, kw_only=True):
    """A check that somebody at the meter can answer by looking or remembering, and the answers on offer."""

    check: str
    ask: str
    answers: tuple[str, ...]


class PartDocument(Document, frozen=True, kw_only=True):
    """A part of the report: what became of it, and of which findings and quantities it tells."""

    text: str
    kind: Kind
    of: tuple[str, ...]


class MeterDocument(Document, frozen=True, kw_only=True):
    """One of several meters that a report tells of, and the diagnosis of what it says of it."""

    name: str
    diagnosis: DiagnosisDocument


class DiagnosisDocument(Document, frozen=True, kw_only=True, tag_field="format", tag="diagnosis/4"):
    """A diagnosis: what was understood, causes most probable first, what to ask, the next step and its cautions.

    ``about`` is what the report is about: with anything but a flow meter no cause is ranked (of several meters each has
    a diagnosis in ``meters``, where it can be told which words are about which). ``reading`` is the report from its
    first word to its last. ``stop`` are hazards reported, else empty, ``hazards_over`` those that were said to be over,
    ``unclear_dangers`` words to ask about first. ``to_plan`` are lasting remedies of which only the interim form was
    carried out, ``not_proved`` remedies without a proof. ``disturbed`` is what earlier steps of the case left otherwise
    than it was, in the order in which it is put back, ``left`` the states of the plant to bring back. ``findings`` are
    those known, ``titles`` their titles. ``combination`` is the most probable set of causes, ``unexplained`` symptoms
    that no likely cause shows. ``conflict_bits`` is above zero when the answers fit together worse than chance
    (Jensen), null when they cannot be true together.
    """

    stop: tuple[HazardDocument, ...]
    about: About
    meters: tuple[MeterDocument, ...]
    hazards_over: tuple[EndedHazardDocument, ...]
    unclear_dangers: tuple[UnclearDangerDocument, ...]
    to_plan: tuple[str, ...]
    not_proved: tuple[str, ...]
    notes: tuple[str, ...]
    disturbed: tuple[DisturbanceDocument, ...]
    left: tuple[LeftDocument, ...]
    reading: tuple[PartDocument, ...]
    understood: tuple[StatementDocument, ...]
    not_understood: tuple[str, ...]
    doubts: tuple[str, ...]
    analyses: tuple[AnalysisDocument, ...]
    findings: dict[str, bool]
    titles: dict[str, str]
    causes: tuple[CauseDocument, ...]
    combination: tuple[str, ...]
    unexplained: tuple[str, ...]
    conflict_bits: float | None
    contradictions: tuple[ContradictionDocument, ...]
    messages: tuple[str, ...]
    next: StepDocument
    questions: tuple[QuestionDocument, ...]
    cautions: tuple[CautionDocument, ...]
