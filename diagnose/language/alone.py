"""Cries: words that affirm a finding only where nothing else is said (``fire!``, ``help, it burns``).

Beside other words they may mean anything (``fire main``, ``the lamp burns green``). An answer or a figure before them
is no such word (``yes and it tickles``, ``12 mA, it burns``), and after a comma ``it`` is enough to begin one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from diagnose.language.english import experiencer, grammar, speculation
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.tokens import Token, Vocabulary, tokenize
from diagnose.rule_book.faults import Finding

_CONTENT = ("word", "not", "figure")
_IT = frozenset({"it", "its", "it's"})


class Cry(NamedTuple):
    """The words of a cry, as they are written, the finding that they affirm, and whether it must be called out."""

    finding: str
    words: frozenset[str]
    called_out: bool


def cries_of(findings: Iterable[Finding], vocabulary: Vocabulary) -> tuple[Cry, ...]:
    """Return the cries of all findings; one that has no word is none."""
    found = (
        Cry(item.id, _texts(said.rstrip("!"), vocabulary), said.endswith("!"))
        for item in findings
        for said in item.said_alone
    )
    return tuple(each for each in found if each.words)


def _texts(said: str, vocabulary: Vocabulary) -> frozenset[str]:
    return frozenset(token.text for token in tokenize(said.lower(), vocabulary))


def cries(text: str, sentence: Sentence, known: Sequence[Cry]) -> Iterator[Match[str]]:
    """Yield the cries that make up a sentence, what follows an answer in it, or a clause that is called out."""
    called_out = text[sentence.start : sentence.end].rstrip().endswith("!")
    for place in (range(len(sentence.tokens)), *_stretches(sentence, called_out)):
        said = [sentence.tokens[at] for at in place]
        texts = {token.text for token in said}
        content = {token.text for token in said if token.kind in _CONTENT or token.text in grammar.PARTICLES}
        for each in known:
            all_that_is_said = each.words <= texts and content <= each.words | experiencer.CALLS
            if all_that_is_said and (called_out or not each.called_out):
                at = tuple(at for at in place if sentence.tokens[at].text in each.words)
                yield Match(each.finding, at, 0)
                return


def _stretches(sentence: Sentence, called_out: bool) -> Iterator[range]:
    """Yield the parts of a sentence that may be a cry by themselves."""
    tokens = sentence.tokens
    answered = next((at for at, token in enumerate(tokens) if not _answers(token, at)), len(tokens))
    if answered:
        yield range(answered, len(tokens))
    at = 0
    while at < len(tokens):
        clause = sentence.clause(at)
        if called_out or (at > 0 and tokens[at].text in _IT) or (0 < at <= answered):
            yield clause
        at = clause.stop


def _answers(token: Token, at: int) -> bool:
    """Check for a word of an answer: one that answers by itself, a figure, or a letter that stands first."""
    if token.kind in ("comma", "break", "link", "figure") or token.text in speculation.ANSWERS:
        return True
    return token.text[0].isdigit() or (at == 0 and len(token.text) == 1)
