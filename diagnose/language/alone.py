"""Cries: words that affirm a finding only where a sentence says nothing else (``fire!``, ``help, it burns``).

Beside other words they may mean anything (``fire main``, ``the lamp burns green``).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from diagnose.language import english
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.tokens import Token
from diagnose.rule_book.faults import Finding

_CONTENT = ("word", "not", "figure")


class Cry(NamedTuple):
    """The words of a cry, as they are written, the finding that they affirm, and whether it must be called out."""

    finding: str
    words: frozenset[str]
    called_out: bool


def cries_of(findings: Iterable[Finding]) -> tuple[Cry, ...]:
    """Return the cries of all findings."""
    return tuple(
        Cry(item.id, frozenset(said.lower().rstrip("!").split()), said.endswith("!"))
        for item in findings
        for said in item.said_alone
    )


def cries(text: str, sentence: Sentence, known: Sequence[Cry]) -> Iterator[Match[str]]:
    """Yield the cries that make up a sentence, or a clause of one that ends with an exclamation mark."""
    called_out = text[sentence.start : sentence.end].rstrip().endswith("!")
    for place in (range(len(sentence.tokens)), *(_clauses(sentence) if called_out else ())):
        said = [sentence.tokens[at] for at in place]
        for each in known:
            if (called_out or not each.called_out) and _is_all_that_is_said(said, each.words):
                at = tuple(at for at in place if sentence.tokens[at].text in each.words)
                yield Match(each.finding, at, 0)
                return


def _clauses(sentence: Sentence) -> Iterator[range]:
    at = 0
    while at < len(sentence.tokens):
        clause = sentence.clause(at)
        yield clause
        at = clause.stop


def _is_all_that_is_said(said: Sequence[Token], words: frozenset[str]) -> bool:
    texts = {token.text for token in said}
    content = {token.text for token in said if token.kind in _CONTENT or token.text in english.PARTICLES}
    return words <= texts and content <= words | english.CALLS
