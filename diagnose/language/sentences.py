"""Splits a report into tokenized sentences, leaving out e-mail headers, greetings and signatures."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from diagnose.language.english import grammar, mail
from diagnose.language.tokens import Token, Vocabulary, stem, tokenize

_ADDRESS = re.compile(r"\b(?:https?://|www\.)\S+|(?<![\w.+-])[\w.+-]{1,64}@[\w-]{1,64}\.[\w.-]{1,200}")
_END = re.compile(r"(?<![.!?;])[.!?;]++(?=[\s\"')\]]|$)|(?<=[a-z]{3})[.!?;](?=[A-Za-z]{2})")
_LAST_WORD = re.compile(r"(\S+)$")
_LONGEST_SENTENCE = 120
_SIGNATURE_LINES = 7
_NAME_LINES = 4
_SIGNATURE_WORDS = 7
_WRAPPED_LINE = 40


@dataclass(frozen=True)
class Sentence:
    """The tokens of one sentence; ``boilerplate`` marks greetings and signatures, which are never listed."""

    tokens: tuple[Token, ...]
    start: int
    end: int
    question: bool = False
    boilerplate: bool = False

    def clause(self, at: int, soft: bool = True) -> range:
        """Return the positions of the clause around a token; a soft clause also ends at a comma."""
        return (self._soft_clauses if soft else self._hard_clauses)[at]

    @cached_property
    def _soft_clauses(self) -> list[range]:
        return self._clause_of_each(("break", "comma"))

    @cached_property
    def _hard_clauses(self) -> list[range]:
        return self._clause_of_each(("break",))

    def _clause_of_each(self, ends: tuple[str, ...]) -> list[range]:
        marks = [at for at, token in enumerate(self.tokens) if token.kind in ends]
        clauses: list[range] = []
        for start, end in zip([-1, *marks], [*marks, len(self.tokens)], strict=True):
            clauses += [range(start + 1, end)] * (end - start - 1)
            if end < len(self.tokens):
                clauses.append(range(end, end + 1))
        return clauses

    def clauses(self) -> Iterator[range]:
        """Yield the clauses, without splitting at commas."""
        at = 0
        while at < len(self.tokens):
            if self.tokens[at].kind == "break":
                at += 1
                continue
            clause = self.clause(at, soft=False)
            yield clause
            at = clause[-1] + 1


@dataclass(frozen=True)
class _TextBlock:
    start: int
    end: int
    boilerplate: bool


def mask_addresses(text: str) -> str:
    """Blank out web and e-mail addresses, leaving every other character in place.

    >>> mask_addresses("see www.example.org now")
    'see                 now'
    """
    return _ADDRESS.sub(lambda match: " " * len(match[0]), text)


def sentences(
    text: str, vocabulary: Vocabulary, figures: Sequence[tuple[int, int]] = (), own_tag: str = ""
) -> list[Sentence]:
    """Return the sentences of a cleaned and masked text; tokens inside ``figures`` get the kind ``figure``.

    ``own_tag`` is read as *meter*: ``FT-12 is dark`` says what *the meter is dark* says.
    """
    found: list[Sentence] = []
    names = [(each.start(), each.end()) for each in re.finditer(rf"\b{re.escape(own_tag)}\b", text)] if own_tag else []
    spans = iter(figures)
    figure = next(spans, None)
    for block in _blocks(text):
        for start, end, question in _sentence_spans(text, block):
            tokens = []
            for token in tokenize(text, vocabulary, start, end):
                while figure is not None and figure[1] <= token.start:
                    figure = next(spans, None)
                inside = figure is not None and figure[0] <= token.start
                tokens.append(token._replace(kind="figure") if inside else token)
            tokens = _with_names(tokens, names)
            found.extend(_sentences(tokens, start, end, question, block.boilerplate))
    return found


def _with_names(tokens: list[Token], names: Sequence[tuple[int, int]]) -> list[Token]:
    """Return tokens in which those of a name are one that says *meter*."""
    result: list[Token] = []
    for token in tokens:
        name = next((each for each in names if each[0] <= token.start < each[1]), None)
        if name is None:
            result.append(token)
        elif token.start == name[0]:
            result.append(Token("meter", stem("meter"), "word", *name))
    return result


def _sentences(tokens: list[Token], start: int, end: int, question: bool, boilerplate: bool) -> Iterator[Sentence]:
    if len(tokens) <= _LONGEST_SENTENCE:
        if tokens:
            yield Sentence(tuple(tokens), start, end, question, boilerplate)
        return
    for first in range(0, len(tokens), _LONGEST_SENTENCE):
        part = tokens[first : first + _LONGEST_SENTENCE]
        yield Sentence(tuple(part), part[0].start, part[-1].end, question, boilerplate)


def _blocks(text: str) -> Iterator[_TextBlock]:
    """Yield the lines, with wrapped ones joined, without headers, labels and greetings."""
    waiting: _TextBlock | None = None
    signature = 0
    at = 0
    for line in text.split("\n"):
        start, end = at, at + len(line)
        at = end + 1
        if mail.HEADER.fullmatch(line):
            signature = 0
            continue
        start += _prefix_length(line)
        signature = _signature(text[start:end], signature)
        if signature < 0:
            continue
        boilerplate = signature > 0 or bool(mail.GREETING.fullmatch(text[start:end]))
        block = _TextBlock(start, end, boilerplate)
        if waiting and waiting.boilerplate == boilerplate and _is_continuation(text, waiting, block):
            waiting = _TextBlock(waiting.start, end, boilerplate)
            continue
        if waiting:
            yield waiting
        waiting = block
    if waiting:
        yield waiting


def _prefix_length(line: str) -> int:
    """Return the length of the label and greeting at the start of a line."""
    label = mail.LABEL.match(line)
    at = label.end() if label else 0
    greeting = mail.GREETING.match(line, at)
    if greeting and greeting["end"] and len(greeting["name"].split()) < 4 and greeting.end() < len(line):
        at = greeting.end()
    return at


def _signature(line: str, before: int) -> int:
    """Return how many signature lines may follow, including this one; negative if they are left out.

    A report may go on after *thanks*, but hardly after *regards*.
    """
    if mail.CLOSING.fullmatch(line):
        return -_SIGNATURE_LINES
    if mail.THANKS.fullmatch(line):
        return _NAME_LINES
    if not line:
        return before
    if len(line.split()) > _SIGNATURE_WORDS:
        return 0
    return before - 1 if before > 0 else min(before + 1, 0)


def _is_continuation(text: str, above: _TextBlock, below: _TextBlock) -> bool:
    first = text[below.start : below.start + 1]
    line_above = text[above.start : above.end].rpartition("\n")[2]
    closed = line_above[-1:] in ".;:!?"
    if line_above[-1:] in ("=", ",") and below.start - above.end <= 2:
        return True
    return first.islower() and not closed and len(line_above) >= _WRAPPED_LINE and below.start - above.end <= 2


def _sentence_spans(text: str, block: _TextBlock) -> Iterator[tuple[int, int, bool]]:
    start = block.start
    for match in _END.finditer(text, block.start, block.end):
        if _is_abbreviation(text, start, match):
            continue
        yield start, match.end(), "?" in match[0]
        start = match.end()
    if start < block.end:
        yield start, block.end, False


def _is_abbreviation(text: str, start: int, match: re.Match[str]) -> bool:
    if match[0] != ".":
        return False
    last = _LAST_WORD.search(text, max(start, match.start() - 12), match.start())
    following = text[match.end() : match.end() + 2].strip()
    if last is None or following.isupper():
        return False
    word = last[1].lower().strip("(")
    if word in grammar.NUMBER_SIGNS:  # `no. 7` is a number, `no. it is dark` an answer
        return following[:1].isdigit()
    return word in grammar.ABBREVIATIONS
