"""From observations in order to what is known now: answers, values, checks done, remedies tried."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from diagnose.observations import CheckDone, Compared, FindingSeen, Measurement, Observation, RemedyTried, WordEvidence
from diagnose.rule_book.book import RuleBook, WayOfReading
from diagnose.rule_book.calculated import told_in_part, with_calculated
from diagnose.rule_book.conditions import names_in, truth
from diagnose.rule_book.patterns import ComparedAt
from diagnose.rule_book.quantities import AND_MORE, DataSheet, Limit, Quantity, Value


@dataclass
class KnownFacts:
    """What the observations amount to.

    ``answers`` are findings said or set by a check's outcome, with where each comes from in ``origin``; ``values``
    are readings, ``told`` those of them that stand only in somebody's words; ``factors`` the effect of remedies on
    their causes; ``worded`` what the words of the report say; ``contradicted`` findings said both ways; ``heard`` those
    known only from words, by the way in which they were read; ``found_at`` by which check a finding was last answered;
    ``not_seen_at`` by which check a finding was looked for in vain; ``compared`` readings beside something else.
    """

    answers: dict[str, bool] = field(default_factory=dict)
    origin: dict[str, str] = field(default_factory=dict)
    values: dict[str, Value] = field(default_factory=dict)
    checks_done: set[str] = field(default_factory=set)
    remedies_tried: set[str] = field(default_factory=set)
    factors: dict[str, float] = field(default_factory=dict)
    worded: WordEvidence | None = None
    told: set[str] = field(default_factory=set)
    contradicted: dict[str, str] = field(default_factory=dict)
    heard: dict[str, WayOfReading] = field(default_factory=dict)
    found_at: dict[str, str] = field(default_factory=dict)
    not_seen_at: dict[str, str] = field(default_factory=dict)
    compared: dict[ComparedAt, Compared] = field(default_factory=dict)
    cured: bool = False


def gather(rule_book: RuleBook, observations: Iterable[Observation], momentary: Container[str] = ()) -> KnownFacts:
    """Fold observations, in order, into what is known; a later answer replaces an earlier one.

    Where the fault comes and goes, what a ``momentary`` check does not see takes back nothing that was reported.
    Observations that name something the rule book does not have (it may have changed since) are passed over.
    """
    observations = tuple(observations)
    known = _fold(rule_book, observations, ())
    if momentary and known.answers.get(rule_book.settings.intermittent):
        return _fold(rule_book, observations, momentary)
    return known


def _fold(rule_book: RuleBook, observations: Iterable[Observation], momentary: Container[str]) -> KnownFacts:
    known = KnownFacts()
    for observation in observations:
        if isinstance(observation, FindingSeen):
            origin = f"said: “{observation.quote}”" if observation.quote else "said"
            _answer(rule_book, known, observation.finding, observation.present, origin, observation.heard)
        elif isinstance(observation, Measurement):
            quantity = rule_book.quantities.get(observation.quantity)
            if quantity is not None:
                (known.told.add if observation.heard else known.told.discard)(quantity.id)
                known.values[quantity.id] = _after(known.values.get(quantity.id), observation.value, quantity)
        elif isinstance(observation, CheckDone):
            _outcome(rule_book, known, observation, momentary)
        elif isinstance(observation, WordEvidence):
            known.worded, known.cured = observation, False
        elif isinstance(observation, Compared):
            known.compared[observation.with_what] = observation
        else:
            _remedy(rule_book, known, observation)
    return known


def elusive(known: KnownFacts, findings: Mapping[str, bool], momentary: Container[str]) -> tuple[str, ...]:
    """Return findings that were looked for in vain by ``momentary`` checks: they may have been gone just then."""
    return tuple(
        name for name, check in known.not_seen_at.items() if findings.get(name) is False and check in momentary
    )


MOST_DECIBANS = 200.0
"""Words never say more: beyond that they would be surer than any measurement."""


def cause_factors(known: KnownFacts) -> dict[str, float]:
    """Return by how much remedies tried and the words of the report multiply the odds of each cause."""
    factors = dict(known.factors)
    for name, decibans in (known.worded.decibans if known.worded else {}).items():
        factors[name] = factors.get(name, 1.0) * 10 ** (max(-MOST_DECIBANS, min(decibans, MOST_DECIBANS)) / 10)
    return factors


def _answer(
    rule_book: RuleBook,
    known: KnownFacts,
    finding: str,
    present: bool,
    origin: str,
    heard: WayOfReading | Literal[""] = "",
) -> None:
    if finding not in rule_book.findings:
        return
    known.heard.pop(finding, None)
    if heard:
        known.heard[finding] = heard
    before = known.answers.get(finding)
    if before is not None and before != present:
        words = {True: "present", False: "absent"}
        known.contradicted[finding] = f"first {words[before]} ({known.origin[finding]}), then {words[present]}"
    known.answers[finding] = present
    known.origin[finding] = origin
    known.found_at.pop(finding, None)
    known.cured = known.cured and not present


def _outcome(rule_book: RuleBook, known: KnownFacts, done: CheckDone, momentary: Container[str]) -> None:
    check = rule_book.checks.get(done.check)
    outcome = next((each for each in check.outcomes if each.answer == done.answer), None) if check else None
    if check is None or outcome is None:
        return
    known.checks_done.add(check.id)
    for present, names in ((True, outcome.present), (False, outcome.absent)):
        for name in names:
            if not present and check.id in momentary and known.answers.get(name):
                continue  # it was there, and is gone just now
            _answer(rule_book, known, name, present, f"{check.title} → {outcome.answer}")
            known.found_at[name] = check.id
            if not present:
                known.not_seen_at[name] = check.id


def _remedy(rule_book: RuleBook, known: KnownFacts, tried: RemedyTried) -> None:
    remedy = rule_book.remedies.get(tried.remedy)
    if remedy is None:
        return
    known.remedies_tried.add(remedy.id)
    causes = rule_book.helped_by(remedy.id)
    misread = rule_book.settings.result_misread
    proved = tried.verdict != "not cured"
    left = misread if proved else 1 - remedy.works * (1 - misread)
    for cause in causes:
        known.factors[cause.id] = known.factors.get(cause.id, 1.0) * left
    if not proved:
        return
    known.cured = tried.verdict == "cured"
    known.compared.clear()  # they were taken before it was put right
    _forget(rule_book, known, {name for cause in causes for name in cause.shows})


def _forget(rule_book: RuleBook, known: KnownFacts, findings: set[str]) -> None:
    """Drop what was seen before a fault was put right and may have come from it; history and circumstances stay."""
    findings = {name for name in findings if not rule_book.findings[name].lasts}
    for name in findings & known.answers.keys():
        del known.answers[name], known.origin[name]
        known.heard.pop(name, None)
    for rule in rule_book.inference.values():
        if findings & {*rule.present, *rule.absent}:
            for quantity in _measured_below(rule_book, names_in(rule.when)[1]):
                known.values.pop(quantity, None)
    known.checks_done -= {
        check.id
        for check in rule_book.checks.values()
        for outcome in check.outcomes
        if findings & {*outcome.present, *outcome.absent}
    }


def _measured_below(rule_book: RuleBook, quantities: Iterable[str]) -> set[str]:
    """Return the measured quantities that these quantities are or are calculated from."""
    found: set[str] = set()
    for name in quantities:
        quantity = rule_book.quantities.get(name)
        if quantity is None or quantity.where_to_find:
            continue
        if quantity.calculate is None:
            found.add(name)
        else:
            found |= _measured_below(rule_book, quantity.calculate.inputs.values())
    return found


def told_fields(rule_book: RuleBook, data_sheet: DataSheet, observations: Iterable[Observation]) -> DataSheet:
    """Return the data sheet with the fields that were mentioned in passing; of two statements the later one holds."""
    fields, told = rule_book.data_sheet_fields(), dict(data_sheet)
    for each in observations:
        if isinstance(each, Measurement) and each.quantity in fields:
            told[each.quantity] = _after(told.get(each.quantity), each.value, fields[each.quantity])
    return completed(rule_book, told)


def completed(rule_book: RuleBook, sheet: DataSheet) -> DataSheet:
    """Return a data sheet with the words that its other fields show: missing in a known list, or for a blank field."""
    fields = rule_book.quantities
    adding = [each for each in rule_book.contradictions.values() if each.adds]
    missing = [each for each in adding if (each.field in sheet) == fields[each.field].several]
    added = {each.field: each.adds for each in missing if truth(each.when, {}, sheet)}
    whole = {**sheet, **{name: _after(sheet.get(name), word, fields[name]) for name, word in added.items()}}
    return {**whole, **overruled(rule_book, whole)}


def overruled(rule_book: RuleBook, sheet: DataSheet) -> DataSheet:
    """Return the fields that another one contradicts, each with the word that counts until that is cleared up."""
    worse = [each for each in rule_book.contradictions.values() if each.overrules]
    return {each.field: each.overrules for each in worse if truth(each.when, {}, sheet)}


def asked_in_place(rule_book: RuleBook, sheet: DataSheet, name: str) -> str:
    """Return the field that is asked for in place of a blank one, for one of its words settles that by itself.

    Whoever knows a supply of 24 V need only say that no contact carries mains. Where there is none, the field itself.
    """
    fields = rule_book.quantities
    for each in rule_book.contradictions.values():
        if not each.adds or each.field != name or fields[name].several:
            continue
        for other in sorted(names_in(each.when)[1] - sheet.keys()):
            words = fields[other].choices if fields[other].where_to_find else ()
            if any(truth(each.when, {}, {**sheet, other: word}) for word in words):
                return other
    return name


def _after(before: Value | None, value: Value, quantity: Quantity) -> Value:
    """Return the last value; where there may be several, all of them, for naming one does not exclude another.

    A word that stands alone gives way to any other.
    """
    if not quantity.several or isinstance(value, float | Limit):
        return value
    told = (*_words_of(before), *_words_of(value))
    words = [word for word in dict.fromkeys(told) if word != AND_MORE and word not in quantity.alone]
    if not words:
        return _words_of(value)
    return (*words, AND_MORE) if quantity.may_be_more else tuple(words)


def _words_of(value: Value | None) -> tuple[str, ...]:
    return () if value is None else tuple(map(str, value)) if isinstance(value, tuple) else (str(value),)


def missing_inputs(
    rule_book: RuleBook, quantity: str, values: Mapping[str, Value], fields: Container[str] | None = None
) -> tuple[str, ...]:
    """Return the data-sheet fields, still unknown, from which a quantity could be calculated.

    Only those in ``fields``, if given; else those that somebody at the meter is asked for.
    """
    item = rule_book.quantities.get(quantity)
    if item is None or quantity in values or item.calculate is None:
        may_be_asked = item is not None and (bool(item.where_to_find) if fields is None else quantity in fields)
        return (quantity,) if may_be_asked and quantity not in values else ()
    found: list[str] = []
    for name, source in item.calculate.inputs.items():
        if name not in item.calculate.may_be_unknown or told_in_part(rule_book, source, values):
            found += [each for each in missing_inputs(rule_book, source, values, fields) if each not in found]
    return tuple(found)


def all_values(data_sheet: DataSheet, known: KnownFacts, rule_book: RuleBook) -> dict[str, Value]:
    """Return data sheet, readings and what can be calculated from both; a reading beats the data sheet."""
    fields = {name: value for name, value in data_sheet.items() if name in rule_book.quantities}
    read = {name: _after(fields.get(name), value, rule_book.quantities[name]) for name, value in known.values.items()}
    return with_calculated(rule_book, {**fields, **read})
