"""The timeline of a case: what happened, what came of it, and every reading beside what was expected."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import count, groupby
from operator import attrgetter
from typing import TYPE_CHECKING, NamedTuple

from msgspec.structs import replace

from diagnose.cases.events import (
    Case,
    Cleared,
    Closed,
    CompetenceSaid,
    DangerAvoided,
    DangerMentioned,
    Entry,
    Event,
    NoComplaint,
    NoDanger,
    Note,
    NoTool,
    PlantConfirmed,
    ReadingTaken,
    RemedyDone,
    Reopened,
    Resumed,
    RuleBookChanged,
    SetAside,
    StepDeclined,
    StepMeasured,
    TextRead,
    Undo,
    WentOn,
)
from diagnose.documents.case_report_types import EntryDocument, ReadingDocument, StepKind
from diagnose.documents.expected import expected_of
from diagnose.observations import CheckDone, Compared, FindingSeen, Measurement, RemedyTried
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import a_person
from diagnose.rule_book.quantities import Limit, Value
from diagnose.rule_book.verdicts import fired_by
from diagnose.rule_book.work import Check

if TYPE_CHECKING:  # whoever only shows a hand-over must not wait for the numerics
    from diagnose.reasoning.diagnosis import Diagnosis

MOST_SAID = 3
"""So many things are said of one reading."""

MOST_FINE = 2
"""So many answers are named as those that are given where all is well."""

IN_SHORT = 160
"""Letters of a report in the timeline; it stands in full among what was reported."""

CLOSED = {"found": "cause found", "not found": "no cause found", "not listed": "cause outside the rule book"}


class Moment(NamedTuple):
    """What was known after a turn; turns that were taken back later are left out of it."""

    turn: int
    diagnosis: Diagnosis


def timeline(rule_book: RuleBook, case: Case, moments: Iterable[Moment]) -> dict[int, tuple[EntryDocument, ...]]:
    """Return the entries of the timeline by turn; what was taken back stands there and is marked."""
    undone = {each.event.turn for each in case.entries if isinstance(each.event, Undo)}
    known = {each.turn: each.diagnosis for each in moments}
    found: dict[int, tuple[EntryDocument, ...]] = {}
    now = None
    numbers = count(1)
    pending: list[ReadingTaken] = []
    for turn, grouped in groupby(case.entries, attrgetter("turn")):
        now = known.get(turn, now)
        told = _Turn(rule_book, list(grouped), now, pending)
        made = tuple(replace(each, number=next(numbers), taken_back=turn in undone) for each in told.entries())
        if made:
            found[turn] = made
        pending = told.pending
    return found


class _Turn:
    """One turn: its events, and what was known after it. ``pending`` are readings taken at a step still under way."""

    def __init__(
        self, rule_book: RuleBook, entries: list[Entry], known: Diagnosis | None, pending: list[ReadingTaken]
    ) -> None:
        self.rule_book = rule_book
        self.at = entries[0].at
        self.events = [each.event for each in entries]
        self.findings = known.findings if known else {}
        self.values = known.values if known else {}
        self.pending = [*pending, *(each for each in self.events if isinstance(each, ReadingTaken))]

    def entries(self) -> Iterator[EntryDocument]:
        """Go through what happened, in order."""
        for event in self.events:
            yield from self._words(event)
            yield from self._done(event)
            yield from self._case(event)
        told = [each for each in self.events if isinstance(each, FindingSeen) and not each.heard]
        elsewhere = TextRead | StepMeasured | SetAside | CheckDone | Compared
        if told and not any(isinstance(each, elsewhere) for each in self.events):
            means = [self._finding(each.finding, each.present) for each in told]
            yield self._entry("told", "Answered or reported", "; ".join(means), wrong=self._wrong(told))

    def _entry(
        self,
        kind: StepKind,
        title: str,
        result: str = "",
        *,
        expected: str = "",
        means: Iterable[str] = (),
        wrong: bool = False,
        readings: Iterable[ReadingDocument] = (),
    ) -> EntryDocument:
        return EntryDocument(
            number=0,
            at=self.at,
            kind=kind,
            title=title,
            result=result,
            expected=expected,
            means=tuple(means),
            wrong=wrong,
            readings=tuple(readings),
            taken_back=False,
        )

    # What was said ---------------------------------------------------------------------------------------------

    def _words(self, event: Event) -> Iterator[EntryDocument]:
        if isinstance(event, TextRead):
            heard = [each for each in self.events if isinstance(each, FindingSeen) and each.heard]
            fields = self.rule_book.data_sheet_fields()  # those are told of the meter, and no readings
            figures = [each for each in self.events if isinstance(each, Measurement) and each.quantity not in fields]
            yield self._entry(
                "told",
                "Told in words",
                f"“{_cut(event.text)}”",
                means=[self._finding(each.finding, each.present) for each in heard],
                wrong=self._wrong(heard),
                readings=self._readings({each.quantity: each.value for each in figures}, None),
            )
        elif isinstance(event, Note):
            yield self._entry("told", "Note", f"“{event.text}”")
        elif isinstance(event, NoComplaint):
            yield self._entry("told", "Nobody can say what is wrong")
        elif isinstance(event, CompetenceSaid):
            yield self._entry("person", f"Answers from here on: {a_person(event.competence)}")
        else:
            yield from self._hazards(event)

    def _hazards(self, event: Event) -> Iterator[EntryDocument]:
        if isinstance(event, DangerMentioned):
            could_be = "; ".join(self._finding(name, True) for name in event.findings)
            yield self._entry("hazard", "Words that may tell of a danger", f"“{event.quote}”: {could_be}?", wrong=True)
        elif isinstance(event, NoDanger):
            yield self._entry("hazard", "Nobody is in danger", f"asked about “{event.quote}”" if event.quote else "")
        elif isinstance(event, Cleared):
            said = "misread: it never was there" if event.misread else "said to be over"
            by = f" by {a_person(event.competence)}" if event.competence else ""
            yield self._entry("hazard", self._finding(event.finding, True), f"{said}{by}")

    # What was done ---------------------------------------------------------------------------------------------

    def _done(self, event: Event) -> Iterator[EntryDocument]:
        book = self.rule_book
        if isinstance(event, CheckDone) and event.check in book.checks:
            yield self._check(book.checks[event.check], event.answer)
        elif isinstance(event, StepMeasured):
            yield self._measured(event.step)
        elif isinstance(event, ReadingTaken) and event.value is None:
            yield self._entry("reading", self._title(event.step), f"{self._quantity(event.quantity)}: not taken")
        elif isinstance(event, Compared):
            yield self._compared(event)
        elif isinstance(event, RemedyDone):
            yield self._entry("remedy", self._title(event.remedy), "carried out")
        elif isinstance(event, RemedyTried):
            yield self._proof(event)
        else:
            yield from self._passed_over(event)

    def _passed_over(self, event: Event) -> Iterator[EntryDocument]:
        if isinstance(event, SetAside) and event.why == "answered by readings":
            if not any(isinstance(each, Compared) for each in self.events):  # a log, which is compared with nothing
                quotes = [each.quote for each in self.events if isinstance(each, FindingSeen)]
                yield self._analysed(self._title(event.step), next(iter(quotes), "a log, in which nothing shows"))
        elif isinstance(event, SetAside | StepDeclined):
            yield self._entry("passed over", self._title(event.step), event.why)
        elif isinstance(event, NoTool):
            yield self._entry("passed over", "No such tool here", event.tool)
        elif isinstance(event, DangerAvoided):
            caution = self.rule_book.cautions.get(event.caution)
            title = caution.title if caution else event.caution
            yield self._entry("passed over", "May not be done by whoever is here", title)

    def _check(self, check: Check, answer: str) -> EntryDocument:
        outcome = next((each for each in check.outcomes if each.answer == answer), None)
        fine = [each.answer for each in check.outcomes if each.absent and not each.present and not each.disturbs]
        present = outcome.present if outcome else ()
        return self._entry(
            "check",
            check.title,
            answer,
            expected=" or ".join(fine[:MOST_FINE]),
            means=[outcome.means] if outcome and outcome.means else [self._finding(name, True) for name in present],
            wrong=any(self._is_wrong(name) for name in present),
            readings=self._taken(check.id),
        )

    def _measured(self, step: str) -> EntryDocument:
        taken = {each.quantity: each.value for each in self.events if isinstance(each, Measurement) and not each.heard}
        self.pending = [each for each in self.pending if each.step != step]
        return self._entry(
            "reading", self._title(step), readings=self._readings(taken, self.rule_book.checks.get(step))
        )

    def _compared(self, event: Compared) -> EntryDocument:
        step = next((each.step for each in self.events if isinstance(each, SetAside)), "")
        title = self._title(step) if step else f"Readings compared with the {event.with_what.replace('-', ' ')}"
        return self._analysed(title, event.quote)

    def _analysed(self, title: str, figures: str) -> EntryDocument:
        told = [each for each in self.events if isinstance(each, FindingSeen)]
        return self._entry(
            "reading",
            title,
            figures,
            means=[self._finding(each.finding, each.present) for each in told if each.present],
            wrong=self._wrong(told),
        )

    def _proof(self, event: RemedyTried) -> EntryDocument:
        remedy = self.rule_book.remedies.get(event.remedy)
        proof = remedy.proved_by if remedy else ""
        return self._entry(
            "proof",
            f"Proof of “{self._title(event.remedy)}”: {self._title(proof)}" if proof else self._title(event.remedy),
            event.verdict,
            wrong=event.verdict != "cured",
            readings=self._taken(proof),
        )

    # The case itself -------------------------------------------------------------------------------------------

    def _case(self, event: Event) -> Iterator[EntryDocument]:
        if isinstance(event, Resumed):
            yield self._entry("case", "Taken up again after a shift or more")
        elif isinstance(event, WentOn):
            yield self._entry("case", "Gone on after the hand-over")
        elif isinstance(event, PlantConfirmed):
            yield self._entry("plant", "How the plant stands was said anew")
        elif isinstance(event, RuleBookChanged):
            yield self._entry("case", "Goes by another rule book from here on", event.fingerprint)
        elif isinstance(event, Closed):
            yield self._entry("case", "Case closed", CLOSED[event.outcome])
        elif isinstance(event, Reopened):
            yield self._entry("case", "Case reopened", event.why)

    # Words for all of them -------------------------------------------------------------------------------------

    def _taken(self, step: str) -> tuple[ReadingDocument, ...]:
        """Return the readings taken at a step that an answer ends, and forget them."""
        taken: dict[str, Value] = {}
        for each in self.pending:
            if each.step == step and each.value is not None:
                taken[each.quantity] = each.value
        self.pending = [each for each in self.pending if each.step != step]
        return self._readings(taken, self.rule_book.checks.get(step))

    def _readings(self, taken: Mapping[str, Value], check: Check | None) -> tuple[ReadingDocument, ...]:
        known = {name: value for name, value in taken.items() if name in self.rule_book.quantities}
        return tuple(self._reading(name, value, {**self.values, **known}, check) for name, value in known.items())

    def _reading(self, name: str, value: Value, values: Mapping[str, Value], check: Check | None) -> ReadingDocument:
        quantity = self.rule_book.quantities[name]
        fired = sorted(fired_by(self.rule_book, name, self.findings, values), key=lambda each: not each.present)
        told = ", ".join(value) if isinstance(value, tuple) else value
        return ReadingDocument(
            quantity=name,
            title=quantity.title,
            value=None if isinstance(told, Limit) else told,
            shown=quantity.shown(value),
            expected=expected_of(self.rule_book, check, name, self.findings, values),
            verdicts=tuple(dict.fromkeys(each.because for each in fired))[:MOST_SAID],
            wrong=any(self._is_wrong(present) for each in fired for present in each.present),
        )

    def _finding(self, name: str, present: bool) -> str:
        finding = self.rule_book.findings.get(name)
        return (finding.title if finding else name) + ("" if present else ": no")

    def _is_wrong(self, name: str) -> bool:
        finding = self.rule_book.findings.get(name)
        return bool(finding and finding.says_what_is_wrong)

    def _wrong(self, told: Iterable[FindingSeen]) -> bool:
        return any(each.present and self._is_wrong(each.finding) for each in told)

    def _quantity(self, name: str) -> str:
        quantity = self.rule_book.quantities.get(name)
        return quantity.title if quantity else name

    def _title(self, step: str) -> str:
        known = {**self.rule_book.checks, **self.rule_book.remedies}
        return known[step].title if step in known else step


def _cut(text: str) -> str:
    """Return the beginning of a text on one line.

    >>> _cut("a\\n b"), len(_cut("a" * 500))
    ('a b', 161)
    """
    plain = " ".join(text.split())
    return plain if len(plain) <= IN_SHORT else f"{plain[:IN_SHORT]}…"
