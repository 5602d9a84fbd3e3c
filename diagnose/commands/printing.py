"""How commands print documents; JSON alone on standard output, with every letter that this output can carry."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    import msgspec

    from diagnose.documents.blocks import Block
    from diagnose.documents.diagnosis_types import DiagnosisDocument


def print_json(document: msgspec.Struct) -> None:
    """Print a document as JSON."""
    from diagnose.documents.typed import as_json

    click.echo(as_json(document, ascii_only=not speaks_unicode()))


def print_diagnosis(document: DiagnosisDocument, form: str, marked: bool = False) -> None:
    """Print a diagnosis as ``text``, ``json`` or ``markdown``; with the report ``marked``, part by part, before it."""
    if form == "json":
        print_json(document)
    elif form == "markdown":
        from diagnose.documents.markdown import markdown

        click.echo(markdown(document, marked=marked), nl=False)
    else:
        from diagnose.documents.text import make_console, print_document

        print_document(make_console(), document, marked=marked)


def print_blocks(blocks: Sequence[Block], form: str) -> None:
    """Print blocks as ``text`` or ``markdown``."""
    if form == "markdown":
        from diagnose.documents.markdown import to_markdown

        click.echo(to_markdown(blocks), nl=False)
    else:
        from diagnose.documents.text import make_console, write

        write(make_console(), blocks)


def print_schema(schema: dict[str, Any]) -> None:
    """Print a JSON Schema."""
    click.echo(json.dumps(schema, ensure_ascii=not speaks_unicode(), indent=2))


def speaks_unicode() -> bool:
    """Tell whether standard output can carry every letter; JSON has escapes for those that it cannot."""
    return (getattr(sys.stdout, "encoding", None) or "").lower().replace("-", "") == "utf8"
