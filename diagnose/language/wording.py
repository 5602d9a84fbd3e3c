"""Word evidence: how well the words of a report match what the rule book says about each cause.

Phrases only find wordings that somebody foresaw, so each word of a report is also scored against everything the rule
book says about a cause: its title and explanation, how people describe it, its remedy, and the titles and phrases of
its findings. The score is Okapi BM25 with its usual constants (Robertson & Zaragoza 2009, doi:10.1561/1500000019;
constants from memory); ``wording-weight`` of the rule book scales it to log odds.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from math import log

import msgspec
import numpy as np
import numpy.typing as npt

from diagnose.language.sentences import Sentence
from diagnose.language.tokens import Token, Vocabulary, tokenize
from diagnose.language.word_scores import LEAST_DECIBANS, Weighing, WordScores
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.faults import Cause

_K1, _B = 1.2, 0.75
_TITLE_WEIGHT, _TEXT_WEIGHT, _STEP_WEIGHT, _MOST_PER_PHRASES = 3.0, 1.0, 0.5, 3
"""Weight of a word in a title, a text and a step of the remedy, and the most that the phrases of a finding count."""

_MOST_REPEATED = 2
_LARGEST_LOG_ODDS = 2.0
"""Bound on the log odds of a single word: a factor of about seven in the odds."""

_FEW_WORDS, _LONG_REPORT = 8, 64
"""Numbers of distinct words: below the first the evidence is discounted, above the second each adds less."""

_MOST_REASONS, _LEAST_LOG_ODDS = 3, 0.1
"""Words shown as reasons: how many at most, and their least log odds."""


class StemWeights(msgspec.Struct, frozen=True):
    """How much each stem belongs to each cause: the entries that are not zero, by row and column (little-endian bytes).

    ``causes`` name the rows, ``stems`` the columns.
    """

    causes: tuple[str, ...]
    stems: tuple[str, ...]
    rows: bytes
    columns: bytes
    values: bytes

    @classmethod
    def of(cls, rule_book: RuleBook, vocabulary: Vocabulary) -> StemWeights:
        """Return the weights of a rule book."""
        causes = [cause for cause in rule_book.causes.values() if not cause.shows_others]
        shown_by = Counter(name for cause in causes for name in cause.shows)
        of_finding = {name: words_of_finding(rule_book, name, vocabulary) for name in shown_by}
        most = log(max(len(causes), 1)) or 1.0  # a rule book with one cause: nothing tells it from others
        telling = {name: log(len(causes) / count) / most for name, count in shown_by.items()}
        bags = [_bag_of_stems(rule_book, cause, of_finding, telling, vocabulary) for cause in causes]
        stems, weights = weighted(bags)
        rows, columns = np.nonzero(weights)
        return cls(
            causes=tuple(cause.id for cause in causes),
            stems=tuple(stems),
            rows=rows.astype("<i4").tobytes(),
            columns=columns.astype("<i4").tobytes(),
            values=weights[rows, columns].astype("<f8").tobytes(),
        )

    def matrix(self) -> npt.NDArray[np.float64]:
        """Return the weights [causes × stems]."""
        dense = np.zeros((len(self.causes), len(self.stems)))
        dense[np.frombuffer(self.rows, "<i4"), np.frombuffer(self.columns, "<i4")] = np.frombuffer(self.values, "<f8")
        return dense


class CauseWords:
    """The words that the rule book uses of each cause, as weights [causes × stems]."""

    def __init__(self, rule_book: RuleBook, weights: StemWeights) -> None:
        self.weight = rule_book.settings.wording_weight
        self.causes = weights.causes
        self.weighing = Weighing.of(rule_book, weights.causes)
        self.column = {stem: number for number, stem in enumerate(weights.stems)}
        self.weights = weights.matrix()

    def weigh(self, words: Sequence[Token], report: str = "") -> WordScores | None:
        """Return what the words of a report say for each cause, or None if the rule book uses none of its words."""
        counts = Counter(word.stem for word in words if word.stem in self.column)
        if not counts:
            return None
        columns = [self.column[stem] for stem in counts]
        repeated = np.minimum(list(counts.values()), _MOST_REPEATED)
        parts = self.weight * self.weights[:, columns] * repeated
        # Normalised over the prior, so that no word favours or disfavours the causes as a whole.
        largest = parts.max(axis=0)  # taken out beforehand, so that no weight is too large for the exponential
        mean = largest + np.log(self.weighing.shares @ np.exp(parts - largest))
        parts = np.clip(parts - mean, -_LARGEST_LOG_ODDS, _LARGEST_LOG_ODDS)
        # A few words may match by chance, and the words of a long report are not independent.
        parts *= len(counts) / (len(counts) + _FEW_WORDS) / np.sqrt(1 + len(counts) / _LONG_REPORT)
        scores = parts.sum(axis=1)
        decibans = self.weighing.decibans(scores)
        written = {word.stem: word.text for word in reversed(words)}
        named = [written[stem] for stem in counts]
        reasons = {
            name: _most_telling(parts[row], named)
            for row, name in enumerate(self.causes)
            if decibans[row] >= LEAST_DECIBANS
        }
        return WordScores(
            weighing=self.weighing,
            scores=tuple(scores.tolist()),
            words={name: words for name, words in reasons.items() if words},
            report=report,
        )


def words_of(sentences: Iterable[Sentence]) -> list[Token]:
    """Return the content words of a report, without greetings and signatures."""
    return [
        word for sentence in sentences if not sentence.boilerplate for word in sentence.tokens if _is_content_word(word)
    ]


def _is_content_word(word: Token) -> bool:
    return word.kind == "word" and word.text[0].isalpha() and len(word.text) > 1


def _most_telling(parts: npt.NDArray[np.float64], named: Sequence[str]) -> tuple[str, ...]:
    """Return the words that contribute most to a cause."""
    order = np.argsort(-parts, kind="stable")[:_MOST_REASONS]
    return tuple(named[at] for at in order if parts[at] > _LEAST_LOG_ODDS)


def weighted(bags: Sequence[Mapping[str, float]]) -> tuple[list[str], npt.NDArray[np.float64]]:
    """Return all stems of some texts [columns], and how much each weighs for each text [rows]."""
    stems = sorted({stem for bag in bags for stem in bag})
    column = {stem: number for number, stem in enumerate(stems)}
    counts = np.zeros((len(bags), len(stems)))
    for row, bag in enumerate(bags):
        for stem, count in bag.items():
            counts[row, column[stem]] = count
    return stems, _bm25(counts) if counts.size else counts


def _bm25(counts: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    document_frequency = (counts > 0).sum(axis=0)
    inverse_document_frequency = np.log((len(counts) + 1) / (document_frequency + 0.5))
    lengths = counts.sum(axis=1, keepdims=True)
    norm = _K1 * (1 - _B + _B * lengths / lengths.mean())
    return np.asarray(counts * (_K1 + 1) / (counts + norm) * inverse_document_frequency)


def _bag_of_stems(
    rule_book: RuleBook,
    cause: Cause,
    of_finding: dict[str, Counter[str]],
    telling: dict[str, float],
    vocabulary: Vocabulary,
) -> dict[str, float]:
    """Return the weighted stem counts of a cause; findings that many causes show contribute little."""
    bag: defaultdict[str, float] = defaultdict(float)
    remedy = rule_book.remedies[cause.remedy]
    texts = [
        (cause.title, _TITLE_WEIGHT),
        (cause.explanation, _TEXT_WEIGHT),
        (cause.follow_up, _TEXT_WEIGHT),
        (remedy.title, _TEXT_WEIGHT),
    ]
    texts += [(text, _TEXT_WEIGHT) for text in cause.described_as]
    for text, weight in [*texts, *((step, _STEP_WEIGHT) for step in remedy.steps)]:
        for stem in stems_of(text, vocabulary):
            bag[stem] += weight
    for name, strength in cause.shows.items():
        for stem, count in of_finding[name].items():
            bag[stem] += strength * telling[name] * count
    return bag


def words_of_finding(rule_book: RuleBook, name: str, vocabulary: Vocabulary) -> Counter[str]:
    """Return how often each stem stands in title and phrases of a finding."""
    finding = rule_book.findings[name]
    of_phrases = Counter(stem for phrase in finding.phrases for stem in stems_of(phrase, vocabulary))
    return Counter(stems_of(finding.title, vocabulary)) + Counter(
        {stem: min(count, _MOST_PER_PHRASES) for stem, count in of_phrases.items()}
    )


def stems_of(text: str, vocabulary: Vocabulary) -> list[str]:
    """Return the stems of the words of a text that say something."""
    return [word.stem for word in tokenize(text.lower(), vocabulary) if _is_content_word(word)]
