"""A report from its first word to its last, in parts: what became of each. Every character stands in exactly one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple, TypeAlias

from diagnose.language.results import Kind, Mention, Part, Statement
from diagnose.language.sentences import Sentence
from diagnose.rule_book.quantities import Reading


class SentenceRead(NamedTuple):
    """A sentence with what was understood of it, and the runs of its tokens that were not, or are to be asked about."""

    sentence: Sentence
    mentions: Sequence[Mention]
    not_understood: Sequence[range]
    in_doubt: Sequence[range]


_Label: TypeAlias = tuple[Kind, tuple[str, ...]]
_ASIDE: _Label = ("set aside", ())


def parts(text: str, read: Iterable[SentenceRead], kept: Iterable[Statement]) -> tuple[Part, ...]:
    """Return the parts of a text, in order; put together they are the text. ``kept`` is what was understood of it."""
    said = {each.says for each in kept}
    pieces: list[tuple[int, int, _Label]] = []
    for each in read:
        labels = _labels(each, said)
        pieces += [(token.start, token.end, label) for token, label in zip(each.sentence.tokens, labels, strict=True)]
    return tuple(Part(text[start:end], *label) for start, end, label in _joined(text, pieces))


def _labels(read: SentenceRead, said: set[tuple[str, bool | None, Reading | str | None]]) -> list[_Label]:
    """Return what became of each token; little words go with those before them, at the start with those behind."""
    count = len(read.sentence.tokens)
    labels: list[_Label | None] = [None] * count
    for at in (at for run in read.not_understood for at in run):
        labels[at] = ("not understood", ())
    for at in (at for run in read.in_doubt for at in run):
        labels[at] = ("to clear up", ())
    for mention in read.mentions:
        label = _label(mention, said)
        for at in _places(mention) if label else ():
            labels[at] = _together(labels[at], label or _ASIDE)
    if not any(labels):
        return [_ASIDE] * count
    return list(_filled(labels))


def _label(mention: Mention, said: set[tuple[str, bool | None, Reading | str | None]]) -> _Label | None:
    statement = mention.statement
    if statement is not None:
        of = (statement.finding or statement.quantity,)
        return ("understood" if statement.says in said else "to clear up", of)
    if mention.doubt:
        return ("to clear up", ())
    if mention.person is not None:
        return ("understood", (mention.person.competence,))
    return ("understood", (mention.plant.state,)) if mention.plant else None


def _places(mention: Mention) -> Iterator[int]:
    for first, last in ((mention.first, mention.last), *mention.names):
        yield from range(first, last + 1)


def _together(before: _Label | None, label: _Label) -> _Label:
    """Return the label of a token that two mentions share: what was understood counts before what is in doubt."""
    if before is None or before[0] == "not understood" or (before[0] != label[0] and label[0] == "understood"):
        return label
    if before[0] != label[0]:
        return before
    return (label[0], tuple(dict.fromkeys((*before[1], *label[1]))))


def _filled(labels: Sequence[_Label | None]) -> Iterator[_Label]:
    latest = next(each for each in labels if each)
    for each in labels:
        latest = each or latest
        yield latest


def _joined(text: str, pieces: Sequence[tuple[int, int, _Label]]) -> Iterator[tuple[int, int, _Label]]:
    """Yield the parts from start to end: neighbours that are alike as one, and what lies between as set aside."""
    start, end, label = 0, 0, None
    for first, last, own in [*sorted(pieces), (len(text), len(text), None)]:
        aside = next((at for at in range(end, first) if text[at].isalnum()), None)
        if aside is not None:
            if label not in (None, _ASIDE):
                yield start, aside, label
                start = aside
            label = _ASIDE
        if own is None:
            break
        if label is not None and not any(sign.isalnum() for sign in text[first:last]):
            own = label  # a mark goes with what is before it
        if label is not None and label != own:
            yield start, first, label
            start = first
        label, end = own, max(last, end)
    if start < len(text):
        yield start, len(text), label or _ASIDE
