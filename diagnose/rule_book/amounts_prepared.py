"""Figures of the open amounts of mechanisms, as an author writes them, to plain numbers (SI, or shares of a whole)."""

from __future__ import annotations

from typing import Any

from diagnose.errors import UnitError
from diagnose.place import Problem
from diagnose.rule_book.analysis_names import MODELS, AmountKind
from diagnose.units import read_measurement, to_si
from diagnose.yaml_places import Document, KeyPath

_FIGURES = ("around", "usually-off", "usually", "at-most")
_SEVERAL = ("between", "one-of")
_WRITE: dict[AmountKind, str] = {
    "ratio": "`1.25`, or `3 %`",
    "share": "`3 %`",
    "flow": "`2 %` (of the largest flow)",
    "range": "`110 %` (of the range)",
    "current": "`0.4 mA`",
}


def prepared_amounts(data: dict[str, Any], document: Document, path: KeyPath) -> tuple[dict[str, Any], list[Problem]]:
    """Return a mechanism with the figures of its amounts as numbers, or problems."""
    model = data.get("model")
    kinds = MODELS.get(model, {}) if isinstance(model, str) else {}
    problems: list[Problem] = []
    result = dict(data)
    if "amounts" in data:
        result["amounts"] = _amounts(data["amounts"], kinds, document, (*path, "amounts"), problems)
    if isinstance(data.get("either"), list):
        result["either"] = [
            {**each, "amounts": _amounts(each["amounts"], kinds, document, (*path, "either", n, "amounts"), problems)}
            if isinstance(each, dict) and "amounts" in each
            else each
            for n, each in enumerate(data["either"])
        ]
    return result, problems


def _amounts(raw: Any, kinds: Any, document: Document, path: KeyPath, problems: list[Problem]) -> Any:
    if not isinstance(raw, dict):
        return raw
    return {
        name: _spread(spread, kinds.get(name, "ratio"), document, (*path, name), problems)
        if isinstance(spread, dict)
        else spread
        for name, spread in raw.items()
    }


def _spread(
    raw: dict[str, Any], kind: AmountKind, document: Document, path: KeyPath, problems: list[Problem]
) -> dict[str, Any]:
    read = dict(raw)
    for key in (each for each in _FIGURES if each in raw):
        read[key] = _figure(raw[key], kind, document, (*path, key), problems)
    for key in (each for each in _SEVERAL if isinstance(raw.get(each), list)):
        read[key] = [_figure(each, kind, document, (*path, key, n), problems) for n, each in enumerate(raw[key])]
    if "as-velocity" in raw:
        read["as-velocity"] = _in_si(raw["as-velocity"], "m/s", "`5 mm/s`", document, (*path, "as-velocity"), problems)
    if "gained" in raw:
        read["gained"] = _figure(raw["gained"], "share", document, (*path, "gained"), problems)
    return read


def _figure(raw: Any, kind: AmountKind, document: Document, path: KeyPath, problems: list[Problem]) -> float:
    if kind == "current":
        return _in_si(raw, "A", _WRITE[kind], document, path, problems)
    measured = read_measurement(str(raw))
    plain = measured is not None and not measured.unit and (kind in ("ratio", "share") or not measured.number)
    if measured is None or not (plain or measured.unit == "%"):
        text = f"`{raw}` is not a figure of this amount"
        problems.append(document.problem(path, "bad-figure", text, f"write for example {_WRITE[kind]}"))
        return 0.5
    return measured.number / 100 if measured.unit == "%" else measured.number


def _in_si(raw: Any, unit: str, write: str, document: Document, path: KeyPath, problems: list[Problem]) -> float:
    measured = read_measurement(str(raw))
    try:
        if measured is None or (measured.number and not measured.unit):
            raise UnitError(f"`{raw}` is not a figure with a unit")
        return to_si(measured.number, measured.unit or unit, unit)
    except UnitError as error:
        problems.append(document.problem(path, "unit", str(error), f"write for example {write}"))
        return 0.5
