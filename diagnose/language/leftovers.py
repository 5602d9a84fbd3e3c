"""What a sentence says beyond what was understood of it, so that nothing vanishes without a word.

Every run of words that no mention covers is listed, unless it is mere grammar (``and it is``), a courtesy, or a single
word beside one that was understood (``the *poor* display is dark``).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.language.english import around_figures, mail
from diagnose.language.results import Mention, shortened
from diagnose.language.sentences import Sentence

_LONGEST = 300
_GRAMMAR = frozenset({"break", "comma", "link", "stop"})
_CONTENT = {"word": 1.0, "figure": 1.0, "light": 0.5, "not": 0.5}
"""What the words of each kind say of their own."""

_BESIDE = 2
"""So many words of content are worth listing beside others in the same clause that were understood."""


def left_over(text: str, sentence: Sentence, mentions: Sequence[Mention]) -> Iterator[range]:
    """Yield the runs of tokens of a sentence that no mention covers; the whole sentence if there is none."""
    spans = [span for each in mentions if each.statement or each.doubt or each.person for span in _spans(each)]
    covered = {at for first, last in spans for at in range(first, last + 1)}
    if not covered:
        every = range(len(sentence.tokens))
        if _says_something(text[sentence.start : sentence.end], _content(sentence, every), 1):
            yield every
        return
    for run in _runs(sentence, covered):
        if _says_something(_as_written(text, sentence, run), _content(sentence, run), _least(sentence, run, covered)):
            yield run


def quoted_run(text: str, sentence: Sentence, run: range) -> str:
    """Return the words of a run of tokens as they are listed; those of a whole sentence with its marks."""
    whole = len(run) == len(sentence.tokens)
    return shortened(text[sentence.start : sentence.end] if whole else _as_written(text, sentence, run), _LONGEST)


def _as_written(text: str, sentence: Sentence, run: range) -> str:
    return text[sentence.tokens[run[0]].start : sentence.tokens[run[-1]].end]


def _spans(mention: Mention) -> Iterator[tuple[int, int]]:
    yield mention.first, mention.last
    yield from mention.names


def _says_something(part: str, content: float, least: int) -> bool:
    return content >= least and not mail.TAG.fullmatch(part.strip(" .:,-"))


def _runs(sentence: Sentence, covered: set[int]) -> Iterator[range]:
    """Yield the runs of tokens that are not covered, in their order, without mere grammar at their ends."""
    start = 0
    for at in range(len(sentence.tokens) + 1):
        if at == len(sentence.tokens) or at in covered or _is_end(sentence, at, covered):
            run = _trimmed(sentence, range(start, at), covered)
            if run:
                yield run
            start = at + 1


def _is_end(sentence: Sentence, at: int, covered: set[int]) -> bool:
    """Check whether a run ends here; clauses of which nothing was understood stay together, commas and all."""
    kind = sentence.tokens[at].kind
    if kind != "comma":
        return kind == "break"
    beside = (near for near in (at - 1, at + 1) if 0 <= near < len(sentence.tokens))
    return any(covered.intersection(sentence.clause(near)) for near in beside)


def _trimmed(sentence: Sentence, run: range, covered: set[int]) -> range:
    """Leave out marks and links at both ends, and little words that belong to what was understood beside them."""
    while run and sentence.tokens[run[0]].kind in _kinds_left_out(run[0] - 1, covered):
        run = run[1:]
    while run and sentence.tokens[run[-1]].kind in _kinds_left_out(run[-1] + 1, covered):
        run = run[:-1]
    return run


def _kinds_left_out(beside: int, covered: set[int]) -> frozenset[str]:
    return _GRAMMAR if beside in covered else _GRAMMAR - {"stop"}


def _content(sentence: Sentence, run: range) -> float:
    """Count the words that say something of their own; a courtesy, or that an instrument *shows* a figure, does not."""
    tokens = (sentence.tokens[at] for at in run)
    return sum(
        _CONTENT.get(each.kind, 0.0)
        for each in tokens
        if each.stem not in around_figures.READING_STEMS and each.text not in mail.COURTESIES
    )


def _least(sentence: Sentence, run: range, covered: set[int]) -> int:
    """Return how many words of content make a run worth listing: one in a clause of its own, else a few."""
    clauses = (*sentence.clause(run[0]), *sentence.clause(run[-1]))
    return _BESIDE if covered.intersection(clauses) else 1
