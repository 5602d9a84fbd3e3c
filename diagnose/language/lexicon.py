"""Indexes of the phrases, subjects and quantity names of a rule book, built once per rule book."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import NamedTuple

from diagnose.language import english
from diagnose.language.phrases import PhraseIndex
from diagnose.language.tokens import Vocabulary, tokenize
from diagnose.language.wording import CauseWords
from diagnose.rule_book.types import Quantity, RuleBook
from diagnose.units import spelling, unit_info


class Claim(NamedTuple):
    """A finding that a phrase affirms or denies."""

    finding: str
    present: bool


class QuantityValue(NamedTuple):
    """A value that words can give to a quantity."""

    quantity: str
    value: str


class Lexicon:
    """Phrase indexes over a rule book; dimensions are worked out only when a text has figures."""

    def __init__(self, rule_book: RuleBook) -> None:
        self.rule_book = rule_book
        self.findings = rule_book.findings
        self.quantities = rule_book.quantities
        self.measurable = {
            name: item for name, item in rule_book.quantities.items() if not item.choices and item.calculate is None
        }
        chosen = {name: item for name, item in rule_book.quantities.items() if item.choices}
        self.vocabulary = Vocabulary(_all_words(rule_book), rule_book.settings.same_words)
        self.claims = PhraseIndex.of(_claims(rule_book), self.vocabulary, contiguous=lambda claim: not claim.present)
        self.subjects = PhraseIndex.of(
            ((word, word) for word in sorted({each for item in self.findings.values() for each in item.subject})),
            self.vocabulary,
        )
        self.with_subject: dict[str, list[str]] = defaultdict(list)
        for finding in self.findings.values():
            for word in finding.subject:
                self.with_subject[word].append(finding.id)
        words = ((word, item.id) for item in self.quantities.values() for word in item.words)
        self.quantity_words = PhraseIndex.of(words, self.vocabulary)
        choices = (
            (choice, QuantityValue(item.id, choice))
            for item in chosen.values()
            if item.words
            for choice in item.choices
        )
        self.choices = PhraseIndex.of(choices, self.vocabulary)
        self.choice_words = PhraseIndex.of(_choice_words(chosen.values()), self.vocabulary, contiguous=lambda _: True)
        self.lower_ends = {item.lower_end_of: item.id for item in self.quantities.values() if item.lower_end_of}
        self.named_ranges = {
            choice.replace(" ", "").lower() for item in self.quantities.values() for choice in item.choices
        }
        self._commensurable: dict[str, tuple[Quantity, ...]] = {}
        self._common: dict[str, frozenset[str]] = {}

    @cached_property
    def cause_words(self) -> CauseWords | None:
        """The words of each cause, or None if the rule book gives the wording of a report no weight."""
        return CauseWords(self.rule_book, self.vocabulary) if self.rule_book.settings.wording_weight else None

    def commensurable(self, unit: str) -> tuple[Quantity, ...]:
        """Return the quantities that can be given in ``unit``: those of the same dimension.

        Dimensionless quantities differ too much for that (``10 %`` is not a count), so their units must match.
        """
        spelt = spelling(unit)
        if spelt not in self._commensurable:
            dimension = unit_info(unit).dimension
            self._commensurable[spelt] = tuple(
                item
                for item in self.measurable.values()
                if item.unit
                and (spelling(item.unit) == spelt or dimension != "dimensionless")
                and unit_info(item.unit).dimension == dimension
            )
        return self._commensurable[spelt]

    def is_unspecific(self, quantity: Quantity, stems: tuple[str, ...]) -> bool:
        """Check whether words could equally well name another quantity of the same dimension.

        That is true of verbs like *shows*, and of words in the title or name of another such quantity.
        """
        return all(stem in english.READING_STEMS or stem in self._stems_of_others(quantity) for stem in stems)

    def _stems_of_others(self, quantity: Quantity) -> frozenset[str]:
        if quantity.id not in self._common:
            others = (item for item in self.commensurable(quantity.unit) if item.id != quantity.id)
            text = " ".join(" ".join((item.title, *item.words)) for item in others)
            self._common[quantity.id] = frozenset(word.stem for word in tokenize(text.lower(), self.vocabulary))
        return self._common[quantity.id]


def _claims(rule_book: RuleBook) -> Iterator[tuple[str, Claim]]:
    for finding in rule_book.findings.values():
        for phrase in finding.phrases:
            yield phrase, Claim(finding.id, True)
        for phrase in finding.denied_by:
            yield phrase, Claim(finding.id, False)


def _choice_words(chosen: Iterable[Quantity]) -> Iterator[tuple[str, QuantityValue]]:
    for quantity in chosen:
        for value, phrases in quantity.choice_words.items():
            for phrase in phrases:
                yield phrase, QuantityValue(quantity.id, value)


def _all_words(rule_book: RuleBook) -> Iterator[str]:
    for finding in rule_book.findings.values():
        yield from (*finding.phrases, *finding.denied_by, *finding.subject)
    for quantity in rule_book.quantities.values():
        yield from quantity.words
        if quantity.words:
            yield from quantity.choices
        for phrases in quantity.choice_words.values():
            yield from phrases
