"""Which complaints a text is nearest to by its single words, where no phrase of any was found in it.

Nearness is only an order in which to ask: nothing is concluded from it. The score is Okapi BM25, as for the words of
causes (:mod:`diagnose.language.wording`), over title and phrases of each complaint.
"""

from __future__ import annotations

from collections import Counter

import numpy as np

from diagnose.language.tokens import Vocabulary
from diagnose.language.wording import stems_of, weighted, words_of_finding
from diagnose.rule_book.book import RuleBook

LEAST_SHARE = 0.35
"""A complaint is near whose score is at least this share of the best (estimate)."""


class ComplaintWords:
    """The words that people use of each complaint."""

    def __init__(self, rule_book: RuleBook, vocabulary: Vocabulary) -> None:
        self._vocabulary = vocabulary
        self.findings = tuple(each.id for each in rule_book.findings.values() if each.complaint)
        bags = [words_of_finding(rule_book, name, vocabulary) for name in self.findings]
        stems, self._weights = weighted(bags)
        self._column = {stem: number for number, stem in enumerate(stems)}

    def nearest(self, text: str, most: int) -> tuple[str, ...]:
        """Return at most so many complaints that share telling words with a text, the nearest first."""
        stems = Counter(stem for stem in stems_of(text, self._vocabulary) if stem in self._column)
        if not stems:
            return ()
        scores = self._weights[:, [self._column[stem] for stem in stems]].sum(axis=1)
        least = LEAST_SHARE * scores.max()
        order = np.argsort(-scores, kind="stable")[:most]
        return tuple(self.findings[at] for at in order if scores[at] > 0 and scores[at] >= least)
