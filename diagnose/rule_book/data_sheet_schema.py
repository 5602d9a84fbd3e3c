"""JSON Schema of a data sheet, for editors that check and complete YAML."""

from __future__ import annotations

from typing import Any

from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.data_sheet import REMARKS
from diagnose.rule_book.quantities import Quantity


def data_sheet_schema(rule_book: RuleBook) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of data sheets under this rule book.

    It says less than ``diagnose data-sheet review``: units and contradictions are only looked at there.
    """
    fields: dict[str, Any] = {name: {"type": ["string", "boolean"]} for name in REMARKS}
    fields |= {name: _field(quantity) for name, quantity in rule_book.data_sheet_fields().items()}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Data sheet of an electromagnetic flow meter",
        "type": "object",
        "properties": fields,
        "additionalProperties": False,
    }


def _field(quantity: Quantity) -> dict[str, Any]:
    place = f" Found at: {quantity.where_to_find}." if quantity.where_to_find else ""
    said = {"title": quantity.title, "description": f"{quantity.title[:1].upper()}{quantity.title[1:]}.{place}"}
    if quantity.choices:
        words: dict[str, Any] = {"enum": list(quantity.choices)}
        several = [{"type": "array", "items": words, "uniqueItems": True}] if quantity.several else []
        return {**said, "anyOf": [words, *several, {"type": "null"}]}
    if quantity.text:
        return {**said, "type": ["string", "number", "array", "null"]}
    if quantity.plausible:
        said["description"] += f" From {quantity.plausible_range()}."
    if not quantity.unit:
        return {**said, "type": ["number", "string", "null"]}
    said["examples"] = [f"1 {quantity.unit}"]  # type: ignore[assignment]
    return {**said, "type": ["string", "null"], "pattern": r"\d\s*\S"}
