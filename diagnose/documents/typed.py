"""What all documents share: frozen, without unknown fields, printed as JSON, described by a JSON Schema."""

from __future__ import annotations

import inspect
import json
from typing import Any

import msgspec

DRAFT = "https://json-schema.org/draft/2020-12/schema"


class Document(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A document, or a part of one."""


class FindingDocument(Document, frozen=True, kw_only=True):
    """A finding that follows from readings, and why."""

    id: str
    title: str
    present: bool
    because: str


def as_json(document: msgspec.Struct, ascii_only: bool = False) -> str:
    """Return a document as indented JSON; ``ascii_only`` writes every other letter as an escape.

    Raises ValueError for a figure that JSON does not know (infinity).
    """
    plain = msgspec.to_builtins(document, str_keys=True)
    return json.dumps(plain, ensure_ascii=ascii_only, indent=2, allow_nan=False)


def schema_of(kind: type[msgspec.Struct], title: str) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a document.

    >>> schema_of(Document, "Nothing at all")["title"]
    'Nothing at all'
    """
    schema = msgspec.json.schema(kind)
    for each in schema["$defs"].values():
        if "description" in each:  # a docstring, with the indents that it has in the code
            each["description"] = inspect.cleandoc(each["description"])
    return {"$schema": DRAFT, "title": title, **schema}
