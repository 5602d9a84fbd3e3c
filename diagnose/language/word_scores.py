"""How like a report is to what the rule book says of each cause, by whatever measure, and what that is worth.

Single words and meaning are read from the same report: where it talks of anything but its cause, both are off the point
at once. So what they say is added up first, and only then held against that; two measures never say more than that the
report is about one cause. (A product of experts, Hinton 2002, within a mixture.)
"""

from __future__ import annotations

import msgspec
import numpy as np
import numpy.typing as npt

from diagnose.observations import WordEvidence
from diagnose.rule_book.book import RuleBook

LEAST_DECIBANS = 0.5
"""From here up the words and the text that a cause gains by are told as its reasons."""


class Weighing(msgspec.Struct, frozen=True, eq=False):
    """The causes that words can speak for, their shares among complaints, and that of reports off the point."""

    causes: tuple[str, ...]
    shares: npt.NDArray[np.float64]
    off_the_point: float

    @classmethod
    def of(cls, rule_book: RuleBook, causes: tuple[str, ...]) -> Weighing:
        """Return how words are weighed by a rule book."""
        frequencies = np.array([rule_book.causes[name].frequency for name in causes])
        return cls(causes, frequencies / frequencies.sum(), rule_book.settings.wording_off_the_point)

    def decibans(self, scores: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """Return what log odds of each cause are worth: normalised over the causes' shares, and with a floor.

        A report may not talk about its cause at all, so nothing that it lacks ever rules a cause out.
        """
        largest = scores.max()  # taken out beforehand, so that no score is too large for the exponential
        likely = np.exp(scores - largest - np.log(self.shares @ np.exp(scores - largest)))
        return np.asarray(10 * np.log10(self.off_the_point + (1 - self.off_the_point) * likely))


class WordScores(msgspec.Struct, frozen=True, kw_only=True):
    """Log odds of each cause by one measure of likeness or several, and the words and texts that they come from."""

    weighing: Weighing
    scores: tuple[float, ...]
    words: dict[str, tuple[str, ...]] = {}
    like: dict[str, str] = {}
    report: str = ""

    def evidence(self) -> WordEvidence:
        """Return the evidence that these scores amount to."""
        decibans = np.round(self.weighing.decibans(np.array(self.scores)), 1)
        return WordEvidence(
            decibans={name: float(each) for name, each in zip(self.weighing.causes, decibans, strict=True)},
            words=self.words,
            like=self.like,
            report=self.report,
        )


def taken_together(words: WordScores | None, meaning: WordScores | None) -> WordScores | None:
    """Return what the words and the meaning of one report say of each cause."""
    if words is None or meaning is None:
        return words or meaning
    scores = tuple(one + other for one, other in zip(words.scores, meaning.scores, strict=True))
    return msgspec.structs.replace(words, scores=scores, like=meaning.like)
