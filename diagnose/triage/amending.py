"""What the agent knows better than the reader of reports: statements struck out, findings and readings added."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.errors import WrongUse
from diagnose.language.results import Statement
from diagnose.observations import FindingSeen, Measurement, Observation
from diagnose.place import did_you_mean
from diagnose.reading import Report
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.quantities import Quantity, Value
from diagnose.rule_book.readings import read_reading

BY_AGENT = "added by the agent"
_PRESENT = {"present": True, "yes": True, "absent": False, "no": False}


def without(report: Report, struck: Sequence[int]) -> Report:
    """Return a report without the statements of these numbers, counted from 1 as they are listed.

    Raises WrongUse for a number that is not there.
    """
    understood = report.understanding.understood
    for number in struck:
        if not 1 <= number <= len(understood):
            there = f"there are {len(understood)}" if understood else "there are none"
            raise WrongUse(f"no statement {number} was understood: {there}, numbered from 1 as under Understood")
    kept = tuple(each for number, each in enumerate(understood, 1) if number not in struck)
    return report.with_understood(kept)


def without_like(report: Report, misread: Sequence[Statement]) -> Report:
    """Return a report without the statements that say what was misread elsewhere, in whatever words."""
    if not misread:
        return report
    gone = {each.says for each in misread}
    return report.with_understood(each for each in report.understanding.understood if each.says not in gone)


def added(rule_book: RuleBook, texts: Sequence[str]) -> tuple[Observation, ...]:
    """Return what the agent adds: ``display-dark``, ``fuse-open=absent``, ``loop-current=3.6 mA``.

    Raises WrongUse for a name that the rule book does not have, UnitError for what is no reading of its quantity.
    """
    return tuple(_added(rule_book, text) for text in texts)


def _added(rule_book: RuleBook, text: str) -> Observation:
    name, equals, said = (part.strip() for part in text.partition("="))
    if name in rule_book.findings:
        if equals and said.casefold() not in _PRESENT:
            raise WrongUse(f"`{text}`: a finding is present or absent; write `{name}` or `{name}=absent`")
        return FindingSeen(finding=name, present=_PRESENT.get(said.casefold(), True), quote=BY_AGENT)
    quantity = rule_book.quantities.get(name)
    if quantity is None:
        known = (*rule_book.findings, *rule_book.quantities)
        hint = did_you_mean(name, known, "`diagnose rules ids findings` lists the findings, `… quantities` the rest")
        raise WrongUse(f"no finding or quantity is called `{name}`: {hint}")
    if not said:
        raise WrongUse(f"`{text}`: write what it is, for example `{name}={_example(quantity)}`")
    return Measurement(quantity=name, value=_value(quantity, said), quote=BY_AGENT)


def _example(quantity: Quantity) -> str:
    return quantity.choices[0] if quantity.choices else f"3 {quantity.unit}".strip()


def _value(quantity: Quantity, said: str) -> Value:
    if not quantity.choices:
        return read_reading(said, quantity)
    if said not in quantity.choices:
        hint = did_you_mean(said, quantity.choices, f"it is one of: {', '.join(quantity.choices)}")
        raise WrongUse(f"{quantity.title} is never `{said}`: {hint}")
    return (said,) if quantity.several else said


def statements(rule_book: RuleBook, observations: Sequence[Observation]) -> tuple[Statement, ...]:
    """Return what was added as statements, to be shown with those that were understood."""
    told = []
    for each in observations:
        if isinstance(each, FindingSeen):
            told.append(Statement(quote=each.quote, finding=each.finding, present=each.present))
        elif isinstance(each, Measurement):
            value = ", ".join(each.value) if isinstance(each.value, tuple) else each.value
            unit = rule_book.quantities[each.quantity].unit
            told.append(Statement(quote=each.quote, quantity=each.quantity, value=value, unit=unit))
    return tuple(told)
