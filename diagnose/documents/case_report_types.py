"""The report of a case as types, ``"format": "case-report/2"``: what is filed once somebody has looked for a fault.

Times are those of the journal (UTC, ISO 8601); "" where nobody kept any. Texts stand as they were typed, but for
letters that are not seen or control a terminal: these are written as escapes.
"""

from __future__ import annotations

from typing import Literal

from diagnose.documents.diagnosis_types import DiagnosisDocument
from diagnose.documents.typed import Document
from diagnose.rule_book.plant import SignalWord

State = Literal["open", "waiting", "cured", "handed over", "closed"]
"""How a case stands."""

StepKind = Literal["told", "check", "reading", "remedy", "proof", "plant", "passed over", "hazard", "person", "case"]
"""What an entry of the timeline is about."""

Kept = Literal["as attached", "missing", "changed"]
"""What became of an attached file since."""


class FieldDocument(Document, frozen=True, kw_only=True):
    """A field of the data sheet, with its value as people read it."""

    id: str
    title: str
    shown: str


class ComplaintDocument(Document, frozen=True, kw_only=True):
    """What somebody reported, in their own words: ``understood`` are findings and readings in it."""

    at: str
    text: str
    understood: tuple[str, ...]
    not_understood: tuple[str, ...]


class ReadingDocument(Document, frozen=True, kw_only=True):
    """A reading as people read it, what was ``expected`` if all is well ("" where the rules do not say).

    ``verdicts`` is what the rules say of it, ``wrong`` whether one of them finds something; ``value`` is in SI units,
    or a word, None where it could not be taken or only one side of it is known.
    """

    quantity: str
    title: str
    value: float | str | None
    shown: str
    expected: str
    verdicts: tuple[str, ...]
    wrong: bool


class EntryDocument(Document, frozen=True, kw_only=True):
    """One thing that happened: what it was, what came of it, and whether it was ``taken_back`` later.

    ``expected`` are the answers that a check gives where all is well, ``means`` what its answer says.
    """

    number: int
    at: str
    kind: StepKind
    title: str
    result: str
    expected: str
    means: tuple[str, ...]
    wrong: bool
    readings: tuple[ReadingDocument, ...]
    taken_back: bool


class RankedDocument(Document, frozen=True, kw_only=True):
    """How a cause stood after each of the moments of a ranking."""

    id: str
    title: str
    probabilities: tuple[float, ...]


class RankingDocument(Document, frozen=True, kw_only=True):
    """How the ranking moved: ``after`` gives the number of the entry of the timeline behind each moment.

    ``anew`` are the moments (counted from 0) before which something was mended, so that the rest was ranked anew.
    """

    after: tuple[int, ...]
    anew: tuple[int, ...]
    causes: tuple[RankedDocument, ...]


class MechanismShare(Document, frozen=True, kw_only=True):
    """A way in which compared readings come to differ, with its probability."""

    id: str
    title: str
    probability: float


class ComparedDocument(Document, frozen=True, kw_only=True):
    """Readings that were compared: with what, their figures in short, and what they look like."""

    at: str
    with_what: str
    figures: str
    mechanisms: tuple[MechanismShare, ...]


class CautionRead(Document, frozen=True, kw_only=True):
    """A caution that was acknowledged: when, before what, and by a person of which competence ("" where unknown).

    ``unless`` are fields of the data sheet that nobody knew then and that could have ruled it out; ``again``: it was
    acknowledged before in this case.
    """

    at: str
    signal: SignalWord
    title: str
    short: str
    before: str
    by: str
    unless: tuple[str, ...]
    again: bool


class PlantChange(Document, frozen=True, kw_only=True):
    """A state of the plant was brought from one value to another (isolated, proved dead, live again)."""

    at: str
    title: str
    before: str
    to: str
    at_step: str
    by: str


class DisturbedDocument(Document, frozen=True, kw_only=True):
    """What a step left otherwise than it was, and when it was put back ("" while it is not)."""

    id: str
    title: str
    at: str
    by_step: str
    restored: str


class RemedyDocument(Document, frozen=True, kw_only=True):
    """A remedy with its verdict, the check that proves it, and when."""

    at: str
    remedy: str
    proof: str
    verdict: Literal["cured", "partly", "not cured", "not proved"]


class ClosedDocument(Document, frozen=True, kw_only=True):
    """With what a case was closed, as somebody wrote it down; what nobody said is "" or null.

    ``rank`` is the place of the cause in the ranking then, 0 where nobody knows.
    """

    at: str
    by: str
    outcome: Literal["found", "not found", "not listed"]
    cause: str
    remedy: str
    proof: str
    reading: str
    minutes: float | None
    parts: tuple[str, ...]
    rank: int
    probability: float | None


class RuledOutDocument(Document, frozen=True, kw_only=True):
    """A cause that was likely once and is not any more: how likely, and what speaks against it."""

    id: str
    title: str
    once: float
    now: float
    by: tuple[str, ...]


class AttachmentDocument(Document, frozen=True, kw_only=True):
    """A file that belongs to the case: its name then and where it is kept, its SHA-256, and what became of it.

    ``picture`` is the media type of one that can be shown in a page ("" for others and large ones), ``figures`` says
    what was analysed here ("" where it is no table of that).
    """

    at: str
    name: str
    kept_as: str
    sha256: str
    size: int
    note: str
    by: str
    kept: Kept
    picture: str
    figures: Literal["", "pairs", "log"]


class CaseReportDocument(Document, frozen=True, kw_only=True, tag_field="format", tag="case-report/2"):
    """A case from its first word to how it stands.

    ``made`` is when the report was, ``rule_book`` the fingerprint of the rule book that it goes by, ``left_out`` what
    of the journal this rule book does not know. ``found_before`` is what was found on the meter before, ``now`` the
    diagnosis as it stands: what is disturbed, what remains to be done, and the next step. ``still_wrong``: after a cure
    somebody said that something else is wrong, and has not said what. ``follow_up`` is what to do so that it does not
    come back.
    """

    case: str
    made: str
    rule_book: str
    state: State
    begun: str
    last: str
    meter: str
    found_before: str
    data_sheet: tuple[FieldDocument, ...]
    not_known: tuple[str, ...]
    complaint: tuple[ComplaintDocument, ...]
    timeline: tuple[EntryDocument, ...]
    ranking: RankingDocument
    compared: tuple[ComparedDocument, ...]
    cautions: tuple[CautionRead, ...]
    plant: tuple[PlantChange, ...]
    disturbed: tuple[DisturbedDocument, ...]
    remedies: tuple[RemedyDocument, ...]
    cured: tuple[str, ...]
    still_wrong: bool
    closed: ClosedDocument | None
    reopened: tuple[str, ...]
    ruled_out: tuple[RuledOutDocument, ...]
    follow_up: tuple[str, ...]
    attachments: tuple[AttachmentDocument, ...]
    sources: tuple[str, ...]
    left_out: tuple[str, ...]
    now: DiagnosisDocument
