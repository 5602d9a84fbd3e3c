"""An installation judged from its data sheet alone, before anything is wrong."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

import msgspec

from diagnose.reasoning.engine import Engine, rules_by_plan
from diagnose.reasoning.evidence import missing_inputs
from diagnose.reasoning.inference import Conclusions
from diagnose.reasoning.steps import applies
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.calculated import with_calculated
from diagnose.rule_book.conditions import names_in
from diagnose.rule_book.quantities import DataSheet, Quantity, Value
from diagnose.rule_book.rules import InferenceRule, Review

Judgement = Literal["wrong", "doubtful", "cannot tell", "fine"]

JUDGEMENTS: tuple[Judgement, ...] = ("wrong", "doubtful", "cannot tell", "fine")
"""Gravest first."""


class Point(msgspec.Struct, frozen=True, kw_only=True):
    """One point of a review: the judgement, the figures (title, as people read it), reasons and what is missing.

    ``reasons`` are pairs of what a rule says and its source; ``missing`` are data-sheet fields.
    """

    id: str
    title: str
    judgement: Judgement
    figures: tuple[tuple[str, str], ...]
    reasons: tuple[tuple[str, str], ...]
    missing: tuple[str, ...]
    advice: str


def review(engine: Engine, data_sheet: DataSheet) -> tuple[Point, ...]:
    """Return every point that concerns this meter, gravest first. Pure."""
    rule_book = engine.rule_book
    values = with_calculated(rule_book, data_sheet)
    inferred = engine.inference.run({}, values)
    points = [
        _point(rule_book, each, values, inferred)
        for each in rule_book.reviews.values()
        if applies(each.applies, data_sheet)
    ]
    return tuple(sorted(points, key=lambda point: JUDGEMENTS.index(point.judgement)))


def _point(rule_book: RuleBook, item: Review, values: dict[str, Value], inferred: Conclusions) -> Point:
    judgement, findings = _judged(item, inferred)
    rules = [rule_book.inference[rule] for name in findings for rule in inferred.because.get(name, ())]
    reasons = [(rule.because, rule_book.sources[rule.source].citation) for rule in rules]
    return Point(
        id=item.id,
        title=item.title,
        judgement=judgement,
        figures=_figures(rule_book, item, values),
        reasons=tuple(dict.fromkeys(reasons)),
        missing=_missing(rule_book, item, values, inferred) if judgement == "cannot tell" else (),
        advice=item.advice if judgement in ("wrong", "doubtful") else "",
    )


def _figures(rule_book: RuleBook, item: Review, values: dict[str, Value]) -> tuple[tuple[str, str], ...]:
    """Return what a point shows, and what stood in for something else where that was worked out."""
    found: dict[str, str] = {}
    for name in item.shows:
        quantity = rule_book.quantities[name]
        if name not in values:
            continue
        found[quantity.title] = quantity.shown(values[name])
        for taken, meant in _stood_in(quantity, values):
            title = f"{rule_book.quantities[taken].title}, taken for the {rule_book.quantities[meant].title}"
            found[title] = rule_book.quantities[taken].shown(values[taken])
    return tuple(found.items())


def _stood_in(quantity: Quantity, values: dict[str, Value]) -> Iterable[tuple[str, str]]:
    """Return what a quantity was worked out from in place of what was meant."""
    calculate = quantity.calculate
    if calculate is None:
        return
    for name in calculate.or_else:
        taken, meant = calculate.source(name, values), calculate.inputs[name]
        if taken != meant:
            yield taken, meant


def _judged(item: Review, inferred: Conclusions) -> tuple[Judgement, Iterable[str]]:
    """Return the judgement and the findings that it rests on."""
    grades: tuple[tuple[Judgement, tuple[str, ...]], ...] = (("wrong", item.wrong), ("doubtful", item.doubtful))
    for judgement, names in grades:
        present = [name for name in names if inferred.findings.get(name)]
        if present:
            return judgement, present
    judged_by = (*item.wrong, *item.doubtful)
    if all(inferred.findings.get(name) is False for name in judged_by):
        return "fine", judged_by
    return "cannot tell", ()


def _missing(rule_book: RuleBook, item: Review, values: dict[str, Value], inferred: Conclusions) -> tuple[str, ...]:
    """Return the unknown fields that would settle an open point: for each finding what the nearest rule lacks."""
    fields = rule_book.data_sheet_fields()
    rules = [rule_book.inference[name] for name in sorted(rules_by_plan(rule_book))]
    wanted: set[str] = set()
    for finding in (*item.wrong, *item.doubtful):
        if finding in inferred.findings:
            continue
        lacking = [
            _lacks(rule_book, rule, values, fields) for rule in rules if finding in (*rule.present, *rule.absent)
        ]
        wanted |= min(filter(None, lacking), key=len, default=set())
    return tuple(name for name in fields if name in wanted)


def _lacks(rule_book: RuleBook, rule: InferenceRule, values: dict[str, Value], fields: dict[str, Quantity]) -> set[str]:
    """Return the data-sheet fields that a rule still needs."""
    names = names_in(rule.when)[1]
    return {field for name in names for field in missing_inputs(rule_book, name, values, fields)}
