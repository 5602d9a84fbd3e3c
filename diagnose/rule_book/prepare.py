"""What an author may write in words, put into numbers before it is decoded.

Strengths, frequencies and leaks from the scales of ``rules/book.yaml``; figures with units into SI; conditions; the
id of a source from its name.
"""

from __future__ import annotations

from typing import Any

from diagnose.errors import UnitError
from diagnose.place import Problem, did_you_mean
from diagnose.rule_book.conditions import ConditionReader
from diagnose.rule_book.decode import name_of
from diagnose.rule_book.types import Settings
from diagnose.rule_book.yaml_places import Document, KeyPath
from diagnose.units import read_measurement, to_si, unit_info

Prepared = tuple[dict[str, Any] | None, list[Problem]]


def prepare(
    part: str,
    data: dict[str, Any],
    document: Document,
    path: KeyPath,
    settings: Settings,
    reader: ConditionReader,
) -> Prepared:
    """Return an entry with words turned into numbers, or problems."""
    data = _with_source_id(data)
    if part == "findings":
        return _scaled(data, {"leak": settings.leaks}, document, path)
    if part == "causes":
        scales = {
            "frequency": settings.frequencies,
            "shows": settings.strengths,
            "shows-others": settings.strengths,
        }
        return _scaled(data, scales, document, path)
    if part == "remedies":
        return _scaled({"works": settings.remedy_works, **data}, {"works": settings.strengths}, document, path)
    if part == "inference":
        return _rule(data, document, path, reader)
    return data, []


def _with_source_id(data: dict[str, Any]) -> dict[str, Any]:
    source = data.get("source")
    if isinstance(source, str):
        return {**data, "source": source.strip().lower().replace(" ", "-")}
    return data


def _scaled(data: dict[str, Any], scales: dict[str, dict[str, float]], document: Document, path: KeyPath) -> Prepared:
    problems: list[Problem] = []
    result = dict(data)
    for key, scale in scales.items():
        value = data.get(key)
        if isinstance(value, dict):
            result[key] = {
                name: _number(word, scale, document, (*path, key, name), problems) for name, word in value.items()
            }
        elif value is not None:
            result[key] = _number(value, scale, document, (*path, key), problems)
    return result, problems


def _number(
    word: Any, scale: dict[str, float], document: Document, path: KeyPath, problems: list[Problem]
) -> float | None:
    if isinstance(word, int | float) and not isinstance(word, bool):
        if word > 0:
            return float(word)
        problems.append(document.problem(path, "bad-figure", f"`{word}` is not above zero", "leave it out instead"))
        return None
    if isinstance(word, str) and word in scale:
        return scale[word]
    listed = ", ".join(scale)
    shown = word if isinstance(word, str) else name_of(word)
    problems.append(
        document.problem(
            path,
            "unknown-word",
            f"`{shown}` is not on the scale",
            did_you_mean(str(word), scale, f"write one of: {listed}"),
        )
    )
    return None


def _rule(data: dict[str, Any], document: Document, path: KeyPath, reader: ConditionReader) -> Prepared:
    before = len(reader.problems)
    problems: list[Problem] = []
    result = {key: value for key, value in data.items() if key not in ("when", "then")}
    if "when" in data:
        condition = reader.read(data["when"], (*path, "when"))
        if condition is not None:
            result["when"] = condition
    then = data.get("then")
    if not isinstance(then, dict) or not then or then.keys() - {"present", "absent"}:
        problems.append(
            document.problem(
                (*path, "then"), "bad-rule", "`then` says what is `present` or `absent`", "then: {present: x}"
            )
        )
    else:
        result |= then
    failed = len(reader.problems) > before
    return (None if failed else result), problems


def prepare_quantity(data: dict[str, Any], document: Document, path: KeyPath) -> Prepared:
    """Return a quantity with its limits in SI and the factors of its unit, or problems."""
    data = _with_source_id(data)
    unit = data.get("unit", "")
    if not isinstance(unit, str):
        return data, []
    try:
        info = unit_info(unit)
    except UnitError as error:
        return None, [document.problem((*path, "unit"), "unit", str(error), "see diagnose/units.py for those known")]
    result = {**data, "si-factor": info.factor, "si-offset": info.offset}
    problems: list[Problem] = []
    limits = data.get("plausible")
    if isinstance(limits, list):
        result["plausible"] = [
            _figure(each, unit, document, (*path, "plausible", number), problems) for number, each in enumerate(limits)
        ]
    if "tolerance" in data:
        span = _figure(data["tolerance"], unit, document, (*path, "tolerance"), problems)
        result["tolerance"] = None if span is None else span - info.offset
    return result, problems


def _figure(raw: Any, unit: str, document: Document, path: KeyPath, problems: list[Problem]) -> float | None:
    measured = read_measurement(str(raw))
    try:
        if measured is None or (unit and not measured.unit):
            raise UnitError(f"`{raw}` is not a figure with a unit")
        return to_si(measured.number, measured.unit, unit)
    except UnitError as error:
        problems.append(document.problem(path, "unit", str(error), f"write for example `1 {unit}`"))
        return None
