"""An installation judged from its data sheet alone, before anything is wrong."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

import msgspec

from diagnose.reasoning.compiled import compiled
from diagnose.reasoning.evidence import missing_inputs, with_calculated
from diagnose.reasoning.inference import Inferred
from diagnose.reasoning.steps import applies
from diagnose.rule_book.conditions import names_in
from diagnose.rule_book.types import DataSheet, Review, RuleBook, Value

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


def review(rule_book: RuleBook, data_sheet: DataSheet) -> tuple[Point, ...]:
    """Return every point that concerns this meter, gravest first. Pure."""
    values = with_calculated(rule_book, data_sheet)
    inferred = compiled(rule_book).inference.run({}, values)
    points = [
        _point(rule_book, each, values, inferred)
        for each in rule_book.reviews.values()
        if applies(each.applies, data_sheet)
    ]
    return tuple(sorted(points, key=lambda point: JUDGEMENTS.index(point.judgement)))


def _point(rule_book: RuleBook, item: Review, values: dict[str, Value], inferred: Inferred) -> Point:
    judgement, findings = _judged(item, inferred)
    rules = [rule_book.inference[rule] for name in findings for rule in inferred.because.get(name, ())]
    reasons = [(rule.because, rule_book.sources[rule.source].citation) for rule in rules]
    return Point(
        id=item.id,
        title=item.title,
        judgement=judgement,
        figures=tuple(
            (rule_book.quantities[name].title, rule_book.quantities[name].shown(values[name]))
            for name in item.shows
            if name in values
        ),
        reasons=tuple(dict.fromkeys(reasons)),
        missing=_missing(rule_book, item, values, inferred) if judgement == "cannot tell" else (),
        advice=item.advice if judgement in ("wrong", "doubtful") else "",
    )


def _judged(item: Review, inferred: Inferred) -> tuple[Judgement, Iterable[str]]:
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


def _missing(rule_book: RuleBook, item: Review, values: dict[str, Value], inferred: Inferred) -> tuple[str, ...]:
    """Return the unknown fields from which the rules behind an open point could be told."""
    open_findings = {name for name in (*item.wrong, *item.doubtful) if name not in inferred.findings}
    fields = rule_book.data_sheet_fields()
    wanted: set[str] = set()
    for rule in rule_book.inference.values():
        if not open_findings & {*rule.present, *rule.absent}:
            continue
        inputs = [missing_inputs(rule_book, name, values, fields) for name in names_in(rule.when)[1]]
        if _from_data_sheet(rule_book, names_in(rule.when)[1], fields) and not names_in(rule.when)[0]:
            wanted |= {name for names in inputs for name in names}
    return tuple(name for name in fields if name in wanted)


def _from_data_sheet(rule_book: RuleBook, quantities: Iterable[str], fields: Iterable[str]) -> bool:
    """Tell whether quantities are fields of the data sheet, or calculated from nothing else."""
    for name in quantities:
        quantity = rule_book.quantities.get(name)
        if name in fields or quantity is None:  # not a quantity: a figure that stands in the rule book
            continue
        if quantity.calculate is None or not _from_data_sheet(rule_book, quantity.calculate.inputs.values(), fields):
            return False
    return True
