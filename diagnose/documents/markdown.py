"""Blocks as Markdown, for a ticket or a mail. Pasted text cannot become markup."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import singledispatch
from typing import Any

from diagnose.documents import parts
from diagnose.documents.blocks import (
    Block,
    Bullets,
    Choice,
    Gap,
    Heading,
    Item,
    Line,
    Numbered,
    Ranking,
    Span,
    Spans,
    Typing,
    percent,
)
from diagnose.documents.diagnosis_types import DiagnosisDocument
from diagnose.documents.page import diagnosis_page

_SPECIAL = re.compile(r"([\\`*_{}\[\]<>()#+\-!|~&])")
_NUMBER_FIRST = re.compile(r"^(\d+)([.)])")
_BOLD = ("head", "moved", "danger", "warning", "caution", "notice")


def markdown(document: DiagnosisDocument, least: float = parts.LEAST, marked: bool = False) -> str:
    """Return a diagnosis as Markdown."""
    return f"# Diagnosis\n\n{to_markdown(diagnosis_page(document, least, marked))}"


def to_markdown(blocks: Iterable[Block]) -> str:
    """Return blocks as Markdown."""
    chunks = ("\n".join(_lines(block)) for block in blocks)
    return "\n\n".join(filter(None, chunks)) + "\n"


def escaped(text: str) -> str:
    """Return text in which nothing is Markdown or HTML.

    >>> escaped("[red]<b>*x*")
    '\\\\[red\\\\]\\\\<b\\\\>\\\\*x\\\\*'
    >>> escaped("1. not a list")
    '1\\\\. not a list'
    """
    return _NUMBER_FIRST.sub(r"\1\\\2", _SPECIAL.sub(r"\\\1", re.sub(r"\s+", " ", text)))


@singledispatch
def _lines(block: Any) -> Iterator[str]:
    raise TypeError(f"no Markdown for a {type(block).__name__}")


@_lines.register
def _(block: Heading) -> Iterator[str]:
    yield f"## {escaped(block.text)}"


@_lines.register
def _(block: Gap) -> Iterator[str]:
    yield ""


@_lines.register
def _(block: Line) -> Iterator[str]:
    yield _text(block.spans)


@_lines.register
def _(block: Choice) -> Iterator[str]:
    yield f"- **{escaped(block.key)}** {escaped(block.text)}"


@_lines.register
def _(block: Typing) -> Iterator[str]:
    yield _text(block.spans)


@_lines.register
def _(block: Bullets) -> Iterator[str]:
    for each in block.items:
        yield from _entry("- ", _text(each.spans), each.below)


@_lines.register
def _(block: Numbered) -> Iterator[str]:
    for number, each in enumerate(block.items, 1):
        yield from _entry(f"{number}. ", _text(each.spans), each.below)


@_lines.register
def _(block: Ranking) -> Iterator[str]:
    for number, each in enumerate(block.places, 1):
        text = f"**{escaped(percent(each.share))}** {_text(each.spans)}"
        yield from _entry(f"{number}. " if block.numbered else "- ", text, each.below)


def _entry(mark: str, text: str, below: Iterable[Block]) -> Iterator[str]:
    yield f"{mark}{text}"
    for block in below:
        # A paragraph below an entry becomes an entry of its own, so that the list stays tight.
        listed = Bullets((Item(block.spans),)) if isinstance(block, Line) else block
        yield from (" " * len(mark) + each for each in _lines(listed))


def _text(pieces: Spans) -> str:
    return re.sub(r" {2,}", " ", "".join(map(_piece, pieces))).strip()


def _piece(piece: Span) -> str:
    inner = piece.text.strip()
    if piece.style == "quiet" and piece.text.startswith("  ") and inner:  # what a terminal sets off by shades
        return f" — {escaped(inner)}"
    if piece.style not in _BOLD or not inner:
        return escaped(piece.text)
    before, after = (" " if edge.isspace() else "" for edge in (piece.text[0], piece.text[-1]))
    return f"{before}**{escaped(inner)}**{after}"
