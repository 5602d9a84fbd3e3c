"""Sentences of a report, without the noise of e-mail, as words with their places in the text."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from diagnose.language import english
from diagnose.language.words import Vocabulary, Word, tokens

_ADDRESS = re.compile(r"\b(?:https?://|www\.)\S+|(?<![\w.+-])[\w.+-]{1,64}@[\w-]{1,64}\.[\w.-]{1,200}")
_END = re.compile(r"[.!?;]+(?=[\s\"')\]]|$)|(?<=[a-z]{3})[.!?;](?=[A-Za-z]{2})")
_LAST_WORD = re.compile(r"(\S+)$")
_LONGEST_SENTENCE = 120
_SIGNATURE_LINES = 7
_NAME_LINES = 4
_SIGNATURE_WORDS = 7
_WRAPPED_LINE = 40


@dataclass(frozen=True)
class Sentence:
    """Words of one sentence. ``quiet`` ones are greetings and signatures, which nobody wants to see listed."""

    words: tuple[Word, ...]
    start: int
    end: int
    question: bool = False
    quiet: bool = False

    def clause(self, at: int, soft: bool = True) -> range:
        """Return the positions of the clause around a word; soft ones end at a comma as well."""
        return (self._soft_clauses if soft else self._hard_clauses)[at]

    @cached_property
    def _soft_clauses(self) -> list[range]:
        return self._clause_of_each(("break", "comma"))

    @cached_property
    def _hard_clauses(self) -> list[range]:
        return self._clause_of_each(("break",))

    def _clause_of_each(self, ends: tuple[str, ...]) -> list[range]:
        marks = [at for at, word in enumerate(self.words) if word.kind in ends]
        clauses: list[range] = []
        for start, end in zip([-1, *marks], [*marks, len(self.words)], strict=True):
            clauses += [range(start + 1, end)] * (end - start - 1)
            if end < len(self.words):
                clauses.append(range(end, end + 1))
        return clauses

    def clauses(self) -> Iterator[range]:
        """Go through the hard clauses."""
        at = 0
        while at < len(self.words):
            if self.words[at].kind == "break":
                at += 1
                continue
            clause = self.clause(at, soft=False)
            yield clause
            at = clause[-1] + 1


@dataclass(frozen=True)
class _Block:
    start: int
    end: int
    quiet: bool


def masked(text: str) -> str:
    """Return ``text`` with addresses blanked, every character at its place.

    >>> masked("see www.example.org now")
    'see                 now'
    """
    return _ADDRESS.sub(lambda match: " " * len(match[0]), text)


def sentences(text: str, vocabulary: Vocabulary, figures: Sequence[tuple[int, int]] = ()) -> list[Sentence]:
    """Return the sentences of a cleaned and masked text; words inside ``figures`` are marked as such."""
    found: list[Sentence] = []
    spans = iter(figures)
    figure = next(spans, None)
    for block in _blocks(text):
        for start, end, question in _ends(text, block):
            words = []
            for word in tokens(text, vocabulary, start, end):
                while figure is not None and figure[1] <= word.start:
                    figure = next(spans, None)
                inside = figure is not None and figure[0] <= word.start
                words.append(word._replace(kind="figure") if inside else word)
            found.extend(_sentences(words, start, end, question, block.quiet))
    return found


def _sentences(words: list[Word], start: int, end: int, question: bool, quiet: bool) -> Iterator[Sentence]:
    if len(words) <= _LONGEST_SENTENCE:
        if words:
            yield Sentence(tuple(words), start, end, question, quiet)
        return
    for first in range(0, len(words), _LONGEST_SENTENCE):
        part = words[first : first + _LONGEST_SENTENCE]
        yield Sentence(tuple(part), part[0].start, part[-1].end, question, quiet)


def _blocks(text: str) -> Iterator[_Block]:
    """Go through the lines, those joined that were only wrapped, without headers, labels and greetings."""
    waiting: _Block | None = None
    signature = 0
    at = 0
    for line in text.split("\n"):
        start, end = at, at + len(line)
        at = end + 1
        if english.HEADER.fullmatch(line):
            signature = 0
            continue
        start += _cut(line)
        signature = _signature(text[start:end], signature)
        if signature < 0:
            continue
        quiet = signature > 0 or bool(english.GREETING.fullmatch(text[start:end]))
        block = _Block(start, end, quiet)
        if waiting and waiting.quiet == quiet and _wrapped(text, waiting, block):
            waiting = _Block(waiting.start, end, quiet)
            continue
        if waiting:
            yield waiting
        waiting = block
    if waiting:
        yield waiting


def _cut(line: str) -> int:
    """Return how much of a line is label and greeting."""
    label = english.LABEL.match(line)
    at = label.end() if label else 0
    greeting = english.GREETING.match(line, at)
    if greeting and greeting["end"] and len(greeting["name"].split()) < 4 and greeting.end() < len(line):
        at = greeting.end()
    return at


def _signature(line: str, before: int) -> int:
    """Return how many lines of a signature may still come, this one included; below zero if they are left out.

    After *thanks* somebody may go on with the report, after *regards* hardly.
    """
    if english.CLOSING.fullmatch(line):
        return -_SIGNATURE_LINES
    if english.THANKS.fullmatch(line):
        return _NAME_LINES
    if not line:
        return before
    if len(line.split()) > _SIGNATURE_WORDS:
        return 0
    return before - 1 if before > 0 else min(before + 1, 0)


def _wrapped(text: str, above: _Block, below: _Block) -> bool:
    first = text[below.start : below.start + 1]
    line_above = text[above.start : above.end].rpartition("\n")[2]
    closed = line_above[-1:] in ".;:!?"
    if line_above[-1:] in ("=", ",") and below.start - above.end <= 2:
        return True
    return first.islower() and not closed and len(line_above) >= _WRAPPED_LINE and below.start - above.end <= 2


def _ends(text: str, block: _Block) -> Iterator[tuple[int, int, bool]]:
    start = block.start
    for match in _END.finditer(text, block.start, block.end):
        if _abbreviated(text, start, match):
            continue
        yield start, match.end(), "?" in match[0]
        start = match.end()
    if start < block.end:
        yield start, block.end, False


def _abbreviated(text: str, start: int, match: re.Match[str]) -> bool:
    if match[0] != ".":
        return False
    last = _LAST_WORD.search(text, max(start, match.start() - 12), match.start())
    following = text[match.end() : match.end() + 2].strip()
    return (
        bool(last)
        and last is not None
        and last[1].lower().strip("(") in english.ABBREVIATIONS
        and not following.isupper()
    )
