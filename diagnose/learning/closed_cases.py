"""Closed cases as something is learned from them: the cause that was confirmed, what was looked at, what it took."""

from __future__ import annotations

import hashlib
from collections.abc import Container, Iterable, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from diagnose.cases.administration import ADMINISTRATION
from diagnose.cases.events import Acknowledgement, Case, Note, Outcome, Resumed, Undo
from diagnose.cases.fitting import fitting
from diagnose.cases.index import Index
from diagnose.cases.journal import Journal
from diagnose.cases.standing import OBSERVED, standing_of
from diagnose.errors import BadInput
from diagnose.observations import Observation, RemedyTried, WordEvidence
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.evidence import KnownFacts, all_values, gather, told_fields
from diagnose.reasoning.inference import used_by
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.quantities import DataSheet

if TYPE_CHECKING:  # an interview that looks up what a meter had before need not wait for the numerics
    from diagnose.reasoning.diagnosis import Weighed

NOT_OF_THE_FAULT = ADMINISTRATION | Note | Resumed | Acknowledgement
"""Events that say nothing of the fault: two cases that differ in nothing else are alike."""


_CLOSED = (
    "SELECT name FROM cases WHERE state = 'closed' AND (:meter = '' OR lower(meter) = lower(:meter)) ORDER BY name"
)


class ClosedCase(msgspec.Struct, frozen=True, kw_only=True):
    """One closed case.

    ``meter`` is its tag, empty where nobody named it; ``closed_on`` the day. ``cause`` is the one that was found, as
    the person who closed it said, whatever had been proposed; ``remedy`` its id, or words. ``observations`` are all of
    it, in order; ``remedies`` those tried with what came of each. ``marks`` tell copies: by all that stands in it with
    its times, and by what was answered alone.
    """

    name: str
    closed_on: date
    outcome: Outcome
    meter: str = ""
    cause: str = ""
    remedy: str = ""
    minutes: float | None = None
    data_sheet: DataSheet = {}
    observations: tuple[Observation, ...] = ()
    marks: tuple[str, str] = ("", "")

    @property
    def of_meter(self) -> str:
        """What tells its meter from others: a tag is the same in capitals and in small letters."""
        return self.meter.lower()

    @property
    def remedies(self) -> tuple[RemedyTried, ...]:
        """The remedies that were tried, in order."""
        return tuple(each for each in self.observations if isinstance(each, RemedyTried))

    @property
    def before_the_cure(self) -> tuple[Observation, ...]:
        """What was observed before the first remedy that put something right: the fault as it was."""
        found: list[Observation] = []
        for each in self.observations:
            if isinstance(each, RemedyTried) and each.verdict != "not cured":
                break
            found.append(each)
        return tuple(found)

    @property
    def had_two_faults(self) -> bool:
        """Whether a remedy put right a part only: what was seen is then not what one cause shows alone."""
        return any(each.verdict == "partly" for each in self.remedies)


def read_closed(engine: Engine, folder: Path, meter: str = "") -> tuple[list[ClosedCase], list[str]]:
    """Return the closed cases of a folder, of one meter or of all, by name; and what is wrong with those left out.

    Raises BadInput when the folder cannot be read.
    """
    with Index.open(folder) as index:
        rows = index.query(_CLOSED, {"meter": meter})
    names = [row["name"] for row in rows]
    cases: list[ClosedCase] = []
    left_out: list[str] = []
    for name in names:
        try:
            case = closed_case(engine, Journal.read(folder, name))
        except BadInput as error:
            left_out.append(str(error))
            continue
        if case is not None:
            cases.append(case)
    return cases, left_out


def closed_case(engine: Engine, case: Case) -> ClosedCase | None:
    """Return what a case says once it is closed; None while it is open (again)."""
    standing = standing_of(fitting(engine.rule_book, case))
    closed = standing.kept.closed
    if closed is None:
        return None
    book = engine.rule_book
    return ClosedCase(
        name=case.name,
        meter=standing.kept.meter,
        closed_on=day_of(standing.kept.closed_at),
        outcome=closed.outcome,
        cause=closed.cause,
        remedy=closed.remedy or closed.remedy_words,
        minutes=closed.minutes,
        data_sheet=told_fields(book, standing.data_sheet, standing.observations),
        observations=standing.observations,
        marks=_marks(case, standing.kept.meter),
    )


def day_of(at: str) -> date:
    """Return the day of a time of a journal; long ago where nobody can read it."""
    try:
        return datetime.fromisoformat(at).date()
    except ValueError:
        return date.min


def _marks(case: Case, meter: str) -> tuple[str, str]:
    """Return what tells copies; where nothing was answered, a case is like none but one of the same meter and day."""
    undone = {entry.event.turn for entry in case.entries if isinstance(entry.event, Undo)}
    entries = [
        entry
        for entry in case.entries
        if entry.turn not in undone and not isinstance(entry.event, NOT_OF_THE_FAULT | Undo)
    ]
    answers = _digest(case, [entry.event for entry in entries])
    answered = any(isinstance(entry.event, OBSERVED) for entry in entries)
    timed = [(entry.at, entry.event) for entry in entries]
    return _digest(case, timed) if answered else case.name, answers if answered or meter else case.name


def _digest(case: Case, what: Sequence[object]) -> str:
    return hashlib.sha256(msgspec.json.encode((case.data_sheet, what), order="sorted")).hexdigest()


def weighed_words(engine: Engine, observations: Iterable[Observation]) -> tuple[Observation, ...]:
    """Return observations in which the words of a report are weighed; a case keeps the words alone."""
    from diagnose.reading import words_weighed

    return tuple(
        words_weighed(engine, each.report)
        if isinstance(each, WordEvidence) and each.report and not each.decibans
        else each
        for each in observations
    )


def as_it_was(engine: Engine, case: ClosedCase) -> Weighed:
    """Return how probable each cause was before anything was put right, by this rule book."""
    from diagnose.reasoning.diagnosis import weighed

    return weighed(engine, case.data_sheet, weighed_words(engine, case.before_the_cure))


def looked_at(engine: Engine, case: ClosedCase) -> dict[str, bool]:
    """Return the findings that somebody looked for at the meter while the fault was there, present or not.

    What was reported or answered of one's own accord is left out: its absence would hardly have been told, so that
    its presence says little of how often it is there. So is everything where the fault comes and goes, and where there
    were two.
    """
    if case.had_two_faults or case.outcome != "found":
        return {}
    book = engine.rule_book
    known = gather(book, case.before_the_cure, engine.momentary)
    values = all_values(case.data_sheet, known, book)
    inferred = engine.inference.run(known.answers, values)
    if inferred.findings.get(book.settings.intermittent):
        return {}
    looked = {name: known.answers[name] for name in known.found_at if name in known.answers}
    taken = _taken(book, known)
    for name, rules in inferred.because.items():
        used = (used_by(book.inference[rule], inferred.findings, values) for rule in rules)
        if name not in known.answers and any(_was_looked(book, set(each), looked, taken, known.told) for each in used):
            looked[name] = inferred.findings[name]
    return looked


def _taken(book: RuleBook, known: KnownFacts) -> frozenset[str]:
    """Return the quantities that were measured here; one of the data sheet only where a check finds it out."""
    measured = {check.measures for check in book.checks.values()}
    return frozenset(
        name for name in known.values.keys() - known.told if name in measured or not book.quantities[name].of_data_sheet
    )


def _was_looked(
    book: RuleBook, used: set[str], looked: Container[str], taken: frozenset[str], told: Container[str]
) -> bool:
    """Tell whether a rule rests on what was looked at, and on nothing that was only told."""
    findings = used & book.findings.keys()
    sources = set[str]().union(*(_below(book, name) for name in used - findings))
    rests = all(name in looked for name in findings) and not any(name in told for name in sources)
    return rests and bool(findings or sources & taken)


def _below(book: RuleBook, quantity: str) -> set[str]:
    """Return a quantity with those that it is worked out from."""
    item = book.quantities.get(quantity)
    inputs = item.calculate.inputs.values() if item is not None and item.calculate else ()
    return {quantity}.union(*(_below(book, name) for name in inputs))
