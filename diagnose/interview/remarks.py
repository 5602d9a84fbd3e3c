"""What is said back at once, as blocks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from diagnose.documents import parts
from diagnose.documents.blocks import Block, Bullets, Span, item, line
from diagnose.documents.document import analysis_document, statement_document
from diagnose.protocol.turn import Remark
from diagnose.rule_book.book import RuleBook

HEADS = {
    "not understood": "not understood: ",
    "means": "That means: ",
    "taken": "taken as  ",
    "doubt": "? ",
    "help": "? ",
}


def remarks(rule_book: RuleBook, said: Iterable[Remark], buttons: bool = False) -> list[Block]:
    """Return what was understood, what was not, and what it means, for a page with ``buttons`` or a terminal."""
    return [block for each in said for block in _remark(rule_book, each, buttons)]


def _remark(rule_book: RuleBook, remark: Remark, buttons: bool) -> Iterator[Block]:
    if remark.statement is not None:
        yield Bullets((parts.statement(statement_document(rule_book, remark.statement)),))
    elif remark.analysis is not None:
        yield from parts.analysis(analysis_document(rule_book, remark.analysis))
    elif remark.kind == "not understood":
        yield Bullets((item(Span("not understood: ", "warning-text"), f"“{remark.text}”", mark=Span("")),))
    else:
        text = remark.buttons if buttons and remark.buttons else remark.text
        yield line(f"{HEADS.get(remark.kind, '')}{text}")
