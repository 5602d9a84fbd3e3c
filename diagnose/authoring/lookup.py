"""One entry of the rule book in words, with everything that refers to it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import msgspec

from diagnose.authoring.conditions_written import condition_written
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.condition_types import Condition
from diagnose.rule_book.quantities import Quantity
from diagnose.terms import ANY_UNIT
from diagnose.units import show

PARTS = (
    "causes",
    "findings",
    "checks",
    "remedies",
    "inference",
    "quantities",
    "cautions",
    "states",
    "disturbances",
    "safeguards",
    "reviews",
    "contradictions",
    "mechanisms",
    "signs",
    "headings",
    "units",
    "areas",
    "sources",
)

ONE_OF = {part: part.removesuffix("s") for part in PARTS} | {
    "inference": "rule",
    "quantities": "quantity",
    "remedies": "remedy",
}
"""Part → what one of its entries is called."""

_SI = frozenset({"si_factor", "si_offset"})
_FIGURES = frozenset({"plausible", "written_values", "above", "at_least", "at_most"})
"""Fields of a quantity that no author writes, and those with figures in its unit."""

_OF_PEOPLE = frozenset(
    {"id", "title", "words", "phrases", "subject", "not-with", "sounds-like", "denied-by", "written"}
)
_OF_PROGRAM = frozenset({"model", "detector", "means", "choice-words", "choices", "shares", "unit", "kind", "column"})
"""Fields whose words name no entry: what people say, and what is called so in the program or by its own quantity."""


def described(rule_book: RuleBook, name: str) -> tuple[str, list[str]]:
    """Return every entry called ``name`` in words (empty when there is none), and all names there are."""
    known: list[str] = []
    found: list[str] = []
    for part in PARTS:
        items: Mapping[str, msgspec.Struct] = getattr(rule_book, part)
        known += items
        if name in items:
            found.append("\n".join([f"{part}: {name}", *_fields(items[name], rule_book)]))
    if found:
        found.append("\n".join(["used by:", *(f"  {line}" for line in _uses(rule_book, name))]))
    return "\n\n".join(found), known


def _fields(item: msgspec.Struct, rule_book: RuleBook) -> Iterator[str]:
    for field in msgspec.structs.fields(item):
        value = getattr(item, field.name)
        if value in ("", (), {}, None) or field.name in _SI:
            continue
        plain = _as_written(item, field.name, value, rule_book)
        if isinstance(plain, dict):
            yield f"  {field.encode_name}:"
            yield from (f"    {key}: {_in_line(each)}" for key, each in plain.items())
        elif isinstance(plain, list | tuple):
            yield f"  {field.encode_name}:"
            yield from (f"    - {_in_line(each)}" for each in plain)
        else:
            yield f"  {field.encode_name}: {str(plain).strip()}"


def _as_written(item: msgspec.Struct, field: str, value: Any, rule_book: RuleBook) -> Any:
    """Return a field as an author writes it: conditions in words, figures of a quantity in its unit."""
    if isinstance(value, Condition):
        return condition_written(value, rule_book.quantities)
    if isinstance(item, Quantity) and field in _FIGURES and item.unit != ANY_UNIT:
        return [item.shown(each) for each in value] if isinstance(value, tuple) else item.shown(value)
    if isinstance(item, Quantity) and field == "tolerance":
        return show(value, item.unit, item.si_factor)
    return msgspec.to_builtins(value)


def _in_line(plain: Any) -> str:
    """Return a value in one line, as an author would write it."""
    if isinstance(plain, dict):
        return ", ".join(
            f"{key}: {_in_line(each)}" for key, each in plain.items() if each not in ("", (), [], {}, None)
        )
    if isinstance(plain, list | tuple):
        return ", ".join(map(_in_line, plain))
    return str(plain)


def _uses(rule_book: RuleBook, name: str) -> list[str]:
    """Return one line for every entry that names this one, with the fields that do; of a source, how many there are."""
    found = {part: list(_naming(getattr(rule_book, part), name)) for part in PARTS}
    if name in rule_book.sources:
        settings = rule_book.settings
        of_settings = ["the status signals of all causes"] if name == settings.signals_source else []
        of_settings += ["how often a cause comes back"] if name == settings.comes_back.source else []
        return of_settings + [f"{len(lines)} of the {part}" for part, lines in found.items() if lines] or ["nothing"]
    return [f"{ONE_OF[part]} {line}" for part, lines in found.items() for line in lines] or ["nothing"]


def _naming(entries: Mapping[str, msgspec.Struct], name: str) -> Iterator[str]:
    for id, item in entries.items():
        plain = msgspec.to_builtins(item)
        fields = [key for key, value in plain.items() if key not in _OF_PEOPLE | _OF_PROGRAM and _names(value, name)]
        if not fields:
            continue
        strength = plain.get("shows", {}).get(name) if isinstance(plain.get("shows"), dict) else None
        how_often = f" {strength:g}" if isinstance(strength, float) else ""
        yield f"{id}: {', '.join(f'{key}{how_often}' if key == 'shows' else key for key in fields)}"


def _names(value: Any, name: str) -> bool:
    if isinstance(value, dict):
        return name in value or any(_names(each, name) for each in value.values())
    if isinstance(value, list | tuple):
        return any(_names(each, name) for each in value)
    return bool(value == name)
