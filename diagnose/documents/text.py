"""Blocks on a terminal or as plain text. Authored and pasted text is shown as text, never as markup."""

from __future__ import annotations

from collections.abc import Iterable
from functools import singledispatch
from typing import Any

from rich.console import Console
from rich.containers import Lines
from rich.padding import Padding
from rich.text import Text
from rich.theme import Theme

from diagnose.documents import parts
from diagnose.documents.blocks import (
    Block,
    Bullets,
    Choice,
    Gap,
    Heading,
    Line,
    Numbered,
    Ranking,
    Span,
    Spans,
    Typing,
    percent,
)
from diagnose.documents.diagnosis_types import DiagnosisDocument
from diagnose.documents.letters import shows
from diagnose.documents.page import diagnosis_page

THEME = Theme(
    {
        "head": "bold",
        "quiet": "dim",
        "for": "green",
        "against": "magenta",
        "danger": "bold white on red",
        "warning": "bold black on yellow",
        "caution": "bold yellow",
        "notice": "bold cyan",
        "bar": "cyan",
        "moved": "bold",
        "warning-text": "yellow",
    }
)
"""One theme for all screens; every style has its meaning in words beside it, so nothing is lost without colour."""

BAR_CELLS = 12


NARROWEST = 40
"""Columns. On a narrower screen lines run on as the terminal breaks them; made to fit, they would lose words."""


def make_console(**options: Any) -> Console:
    """Return a console with the theme, without markup, emoji or automatic highlighting."""
    console = Console(theme=THEME, markup=False, emoji=False, highlight=False, **options)
    if console.width < NARROWEST:
        console.width = NARROWEST
    return console


def print_document(
    console: Console, document: DiagnosisDocument, least: float = parts.LEAST, marked: bool = False
) -> None:
    """Print a diagnosis; causes below ``least`` are counted, not listed. ``marked`` adds the report in parts."""
    write(console, diagnosis_page(document, least, marked))


def write(console: Console, blocks: Iterable[Block], indent: int = 0) -> None:
    """Print blocks, all of them ``indent`` letters further in."""
    for block in blocks:
        _write(block, console, indent)


@singledispatch
def _write(block: Any, console: Console, indent: int) -> None:
    raise TypeError(f"no text for a {type(block).__name__}")


@_write.register
def _(block: Heading, console: Console, indent: int) -> None:
    print_head(console, block.text)


@_write.register
def _(block: Gap, console: Console, indent: int) -> None:
    console.print()


@_write.register
def _(block: Line, console: Console, indent: int) -> None:
    print_line(console, styled(block.spans), indent + block.indent, block.hang)


@_write.register
def _(block: Bullets, console: Console, indent: int) -> None:
    bullet = Span("• " if shows(console, "•") else "* ")
    for each in block.items:
        mark = bullet if each.mark is None else each.mark
        hang = len(mark.text) or 2
        print_line(console, styled((mark, *each.spans)), indent + block.indent, hang)
        write(console, each.below, indent + block.indent + hang)


@_write.register
def _(block: Numbered, console: Console, indent: int) -> None:
    for number, each in enumerate(block.items, 1):
        mark = f"{number}. "
        print_line(console, styled((Span(mark), *each.spans)), indent + block.indent, len(mark))
        write(console, each.below, indent + block.indent + len(mark))


@_write.register
def _(block: Ranking, console: Console, indent: int) -> None:
    for number, each in enumerate(block.places, 1):
        start = f"{number:>2}  " if block.numbered else ""
        head = Text.assemble(f"{start}{percent(each.share):>5} ", (bar(each.share, console), "bar"), "  ")
        print_line(console, Text.assemble(head, styled(each.spans)), indent, len(head.plain))
        write(console, each.below, indent + block.below_at)


@_write.register
def _(block: Choice, console: Console, indent: int) -> None:
    key = f"{block.key:>3}" if len(block.key) < 4 else f"  {block.key}"
    print_line(console, styled((Span(key, "head"), Span(f"  {block.text}"))), indent, len(key) + 2)


@_write.register
def _(block: Typing, console: Console, indent: int) -> None:
    print_line(console, styled(block.spans), indent + block.indent, 0)


def styled(pieces: Spans) -> Text:
    """Return spans as text of a terminal."""
    return Text.assemble(*((piece.text, piece.style) for piece in pieces))


def bar(share: float, console: Console, cells: int = BAR_CELLS) -> str:
    """Return a bar of ``cells`` letters for a share between 0 and 1."""
    full, empty = ("█", "·") if shows(console, "█·") else ("#", ".")
    filled = round(max(0.0, min(1.0, share)) * cells)
    if share > 0.005:
        filled = max(1, filled)
    return full * filled + empty * (cells - filled)


def print_head(console: Console, text: str) -> None:
    """Print the head of a part, set off by an empty line."""
    console.print()
    console.print(Text(text, "head"))


def print_line(console: Console, text: Text | str, indent: int = 2, hang: int = 2) -> None:
    """Print one paragraph whose further lines hang further in."""
    content = Text(text) if isinstance(text, str) else text
    width = max(20, console.width - indent)
    lines = content.wrap(console, width)
    if len(lines) > 1 and hang:
        # The first line may be longer than those that hang below it.
        rest = content[len(lines[0].plain) :]
        rest = rest[len(rest.plain) - len(rest.plain.lstrip()) :]
        lines = Lines([lines[0], *rest.wrap(console, max(16, width - hang))])
    for number, part in enumerate(lines):
        part.rstrip()
        console.print(Padding(part, (0, 0, 0, indent + (hang if number else 0)), expand=False))
