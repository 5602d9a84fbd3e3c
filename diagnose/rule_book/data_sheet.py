"""A meter's data sheet: one YAML file, a value for each field that is known."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from diagnose.bounded import DATA_SHEET
from diagnose.calculations.entering import area_of_gauge, refuse_thousands
from diagnose.errors import ProblemsFound, UnitError
from diagnose.place import Problem, did_you_mean
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.conditions import truth
from diagnose.rule_book.quantities import DataSheet, Quantity, Value
from diagnose.rule_book.readings import read_limit
from diagnose.units import read_measurement, refuse_unclear, to_si
from diagnose.yaml_places import Document, KeyPath, read_document

REMARKS = ("title", "note", "invented")
"""Fields that are for people only."""


def read_data_sheet(path: Path, rule_book: RuleBook) -> DataSheet:
    """Return the data sheet in ``path`` in SI units.

    Raises ProblemsFound with every problem and its place.
    """
    document = read_document(path, str(path), DATA_SHEET)
    if document.problems:
        raise ProblemsFound(document.problems)
    sheet, problems = data_sheet_from(document.data, document, (), rule_book)
    if problems:
        raise ProblemsFound(problems)
    return sheet


def data_sheet_from(
    data: Any, document: Document, path: KeyPath, rule_book: RuleBook
) -> tuple[DataSheet, list[Problem]]:
    """Return the fields in ``data`` and every problem."""
    if not isinstance(data, dict):
        return {}, [document.problem(path, "wrong-type", "a data sheet is a mapping of fields", "field: value")]
    fields = rule_book.data_sheet_fields()
    sheet: DataSheet = {}
    problems: list[Problem] = []
    for key, raw in data.items():
        if key in REMARKS and not path:
            continue
        if key not in fields:
            text = f"a data sheet has no field `{key}`"
            help = did_you_mean(key, fields, f"the fields are: {', '.join(fields)}")
            problems.append(document.problem((*path, key), "unknown-field", text, help, of_key=True))
            continue
        if raw is None:  # a field left blank is a field that nobody knows
            continue
        try:
            sheet[key] = read_value(fields[key], raw)
        except UnitError as error:
            problems.append(document.problem((*path, key), "bad-value", str(error), _usual(fields[key])))
    return sheet, problems or _contradictions(sheet, document, path, rule_book)


def _contradictions(sheet: DataSheet, document: Document, path: KeyPath, rule_book: RuleBook) -> list[Problem]:
    """Return a problem for every pair of entries that cannot both be right."""
    return [
        document.problem((*path, item.field), "contradiction", f"`{item.field}`: {item.because}", item.help)
        for item in rule_book.contradictions.values()
        if not item.adds and truth(item.when, {}, sheet)
    ]


def read_value(quantity: Quantity, raw: Any) -> Value:
    """Return what somebody wrote as the value of a quantity, in SI units; ``>20 Mohm`` is a limit.

    Raises UnitError when it is not a figure with a fitting unit, not one of the words, or beyond anything plausible.
    """
    if quantity.choices:
        return _words(quantity, raw)
    if quantity.text:
        return ", ".join(map(str, raw)) if isinstance(raw, list) else str(raw)
    area = area_of_gauge(quantity, str(raw))
    if area is not None:
        return area
    limit = read_limit(str(raw), quantity, needs_unit=True)
    if limit is not None:
        return limit
    written = quantity.with_unit(str(raw))[0]
    refuse_unclear(written, quantity.unit)
    refuse_thousands(quantity, written)
    measured = read_measurement(written)
    if measured is None:
        raise UnitError(f"`{raw}` is not a figure, or is ambiguous")
    if quantity.unit and not measured.unit:
        raise UnitError(f"`{raw}` has no unit")
    value = to_si(measured.number, measured.unit, quantity.unit)
    if not quantity.reads_plausible(value):
        raise UnitError(f"`{raw}` is beyond anything plausible for {quantity.title} ({quantity.plausible_range()})")
    return value


def _words(quantity: Quantity, raw: Any) -> Value:
    parts: Iterable[Any] = raw if isinstance(raw, list) else [raw]
    words = tuple(str(part) for part in parts)
    words = tuple(_choice(quantity, word) for word in words)
    if quantity.several:
        return words
    if len(words) != 1:
        raise UnitError(f"`{quantity.id}` has one value, got {len(words)}")
    return words[0]


def _choice(quantity: Quantity, word: str) -> str:
    """Return the choice that somebody wrote, perhaps as people say it (`modbus`, `rs485`).

    Raises UnitError for what is none of them, or may be several.
    """
    if word in quantity.choices:
        return word
    bare = _bare(word)
    called = {name: [name, *quantity.choice_words.get(name, ())] for name in quantity.choices}
    found = [name for name, words in called.items() if bare in map(_bare, words)]
    if len(found) == 1:
        return found[0]
    near = did_you_mean(word, quantity.choices, f"it is one of: {', '.join(quantity.choices)}")
    raise UnitError(f"`{quantity.id}` is never `{word}`; {near}")


def _bare(word: str) -> str:
    """Return a word without case, blanks, dashes and dots: `4...20 mA` and `4-20mA` are the same."""
    return re.sub(r"[\s.…–-]+", "", word.casefold())


def _usual(quantity: Quantity) -> str:
    if quantity.choices:
        return f"one of: {', '.join(quantity.choices)}"
    return f"write for example `{quantity.id}: 1 {quantity.unit}`".rstrip()
