"""How like the words of a report are to what the rule book says of each cause.

Phrases find what somebody foresaw; people say it in other words every day. So the words of a report are also weighed
one by one against all that the rule book says of a cause: its title and explanation, what people say who met it, its
remedy, and the titles and phrases of the findings that it shows. The measure is Okapi BM25 with its usual constants
(Robertson & Zaragoza 2009, doi:10.1561/1500000019; constants from memory). ``wording-weight`` of the rule book makes
weight of evidence of it.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from math import log

import numpy as np
import numpy.typing as npt

from diagnose.language.sentences import Sentence
from diagnose.language.words import Vocabulary, Word, tokens
from diagnose.observations import WordEvidence
from diagnose.rule_book.types import Cause, RuleBook

_SATURATION, _LENGTH_COUNTS = 1.2, 0.75
_TITLE, _TEXT, _REMEDY_STEP, _PHRASES = 3.0, 1.0, 0.5, 3
"""How often a word counts: in a cause's title, its explanation, a step of its remedy, and at most in phrases."""

_MOST_REPEATED = 2
_MOST_OF_A_WORD = 2.0
"""No single word multiplies odds by more than about seven (log odds)."""

_FEW, _LONG = 8, 64
"""How many different words are few, and from how many on each further one adds less."""

_MOST_TOLD, _LEAST_TOLD, _LEAST_REASON = 3, 0.1, 0.5
"""How many words are told, the log odds below which one is not, and the decibans below which none is."""


class CauseWords:
    """The words that the rule book uses of each cause, as weights [causes × stems]."""

    def __init__(self, rule_book: RuleBook, vocabulary: Vocabulary) -> None:
        causes = [cause for cause in rule_book.causes.values() if not cause.shows_others]
        self.weight = rule_book.settings.wording_weight
        self.off_the_point = rule_book.settings.wording_off_the_point
        self.causes = [cause.id for cause in causes]
        self.shares = np.array([cause.frequency for cause in causes]) / sum(cause.frequency for cause in causes)
        shown_by = Counter(name for cause in causes for name in cause.shows)
        of_finding = {name: _words_of_finding(rule_book, name, vocabulary) for name in shown_by}
        telling = {name: log(len(causes) / count) / log(len(causes)) for name, count in shown_by.items()}
        bags = [_bag(rule_book, cause, of_finding, telling, vocabulary) for cause in causes]
        self.column = {stem: number for number, stem in enumerate(sorted({stem for bag in bags for stem in bag}))}
        counts = np.zeros((len(bags), len(self.column)))
        for row, bag in enumerate(bags):
            for stem, count in bag.items():
                counts[row, self.column[stem]] = count
        self.weights = _okapi(counts)

    def weigh(self, words: Sequence[Word], report: str = "") -> WordEvidence | None:
        """Return what the words of a report say of each cause; None when the rule book uses none of them."""
        counts = Counter(word.stem for word in words if word.stem in self.column)
        if not counts:
            return None
        columns = [self.column[stem] for stem in counts]
        repeated = np.minimum(list(counts.values()), _MOST_REPEATED)
        parts = self.weight * self.weights[:, columns] * repeated
        # By a word, and by all of them, the causes together become neither more nor less probable.
        parts = np.clip(parts - np.log(self.shares @ np.exp(parts)), -_MOST_OF_A_WORD, _MOST_OF_A_WORD)
        # Few words may be chance; the longer a report, the more of its words come from the same few thoughts.
        parts *= len(counts) / (len(counts) + _FEW) / np.sqrt(1 + len(counts) / _LONG)
        scores = parts.sum(axis=1)
        # A report may be about something else than its cause; so no lack of words ever rules a cause out.
        ratios = self.off_the_point + (1 - self.off_the_point) * np.exp(scores) / (self.shares @ np.exp(scores))
        decibans = np.round(10 * np.log10(ratios), 1)
        written = {word.stem: word.text for word in reversed(words)}
        named = [written[stem] for stem in counts]
        reasons = {
            name: _telling(parts[row], named) for row, name in enumerate(self.causes) if decibans[row] >= _LEAST_REASON
        }
        return WordEvidence(
            decibans={name: float(value) for name, value in zip(self.causes, decibans, strict=True)},
            words={name: words for name, words in reasons.items() if words},
            report=report,
        )


def words_of(sentences: Iterable[Sentence]) -> list[Word]:
    """Return the words that say what a report is about; greetings and signatures say nothing."""
    return [word for sentence in sentences if not sentence.quiet for word in sentence.words if _counts(word)]


def _counts(word: Word) -> bool:
    return word.kind == "word" and word.text[0].isalpha()


def _telling(parts: npt.NDArray[np.float64], named: Sequence[str]) -> tuple[str, ...]:
    """Return the words that speak most for a cause."""
    order = np.argsort(-parts, kind="stable")[:_MOST_TOLD]
    return tuple(named[at] for at in order if parts[at] > _LEAST_TOLD)


def _okapi(counts: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    used = (counts > 0).sum(axis=0)
    rarity = np.log((len(counts) + 1) / (used + 0.5))
    lengths = counts.sum(axis=1, keepdims=True)
    norm = _SATURATION * (1 - _LENGTH_COUNTS + _LENGTH_COUNTS * lengths / lengths.mean())
    return np.asarray(counts * (_SATURATION + 1) / (counts + norm) * rarity)


def _bag(
    rule_book: RuleBook,
    cause: Cause,
    of_finding: dict[str, Counter[str]],
    telling: dict[str, float],
    vocabulary: Vocabulary,
) -> dict[str, float]:
    """Return how much each stem belongs to a cause; a finding that many causes show lends little."""
    bag: defaultdict[str, float] = defaultdict(float)
    remedy = rule_book.remedies[cause.remedy]
    texts = [(cause.title, _TITLE), (cause.explanation, _TEXT), (cause.follow_up, _TEXT), (remedy.title, _TEXT)]
    texts += [(text, _TEXT) for text in cause.described_as]
    for text, weight in [*texts, *((step, _REMEDY_STEP) for step in remedy.steps)]:
        for stem in _stems(text, vocabulary):
            bag[stem] += weight
    for name, strength in cause.shows.items():
        for stem, count in of_finding[name].items():
            bag[stem] += strength * telling[name] * count
    return bag


def _words_of_finding(rule_book: RuleBook, name: str, vocabulary: Vocabulary) -> Counter[str]:
    finding = rule_book.findings[name]
    of_phrases = Counter(stem for phrase in finding.phrases for stem in _stems(phrase, vocabulary))
    return Counter(_stems(finding.title, vocabulary)) + Counter(
        {stem: min(count, _PHRASES) for stem, count in of_phrases.items()}
    )


def _stems(text: str, vocabulary: Vocabulary) -> list[str]:
    return [word.stem for word in tokens(text.lower(), vocabulary) if _counts(word)]
