"""The rule book as this room needs it: phrases, subjects and words of quantities, indexed. Made once per rule book."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import NamedTuple

from diagnose.language import english
from diagnose.language.phrases import PhraseIndex
from diagnose.language.wording import CauseWords
from diagnose.language.words import Vocabulary, tokens
from diagnose.rule_book.types import Quantity, RuleBook
from diagnose.units import spelling, unit_info


class Claim(NamedTuple):
    """What a phrase says of a finding."""

    finding: str
    present: bool


class Choice(NamedTuple):
    """A word for the value of a quantity."""

    quantity: str
    value: str


class Lexicon:
    """Indexes over a rule book; whatever has to do with dimensions waits until a text has a figure."""

    def __init__(self, rule_book: RuleBook) -> None:
        self.rule_book = rule_book
        self.findings = rule_book.findings
        self.quantities = rule_book.quantities
        self.measurable = {
            name: item for name, item in rule_book.quantities.items() if not item.choices and item.calculate is None
        }
        chosen = {name: item for name, item in rule_book.quantities.items() if item.choices}
        self.vocabulary = Vocabulary(_all_words(rule_book), rule_book.settings.same_words)
        self.claims = PhraseIndex.of(_claims(rule_book), self.vocabulary, tight=lambda claim: not claim.present)
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
            (choice, Choice(item.id, choice)) for item in chosen.values() if item.words for choice in item.choices
        )
        self.choices = PhraseIndex.of(choices, self.vocabulary)
        self.choice_words = PhraseIndex.of(_choice_words(chosen.values()), self.vocabulary, tight=lambda _: True)
        self.lower_ends = {item.lower_end_of: item.id for item in self.quantities.values() if item.lower_end_of}
        self.named_ranges = {
            choice.replace(" ", "").lower() for item in self.quantities.values() for choice in item.choices
        }
        self._alike: dict[str, tuple[Quantity, ...]] = {}
        self._common: dict[str, frozenset[str]] = {}

    @cached_property
    def cause_words(self) -> CauseWords | None:
        """The words of each cause, for a rule book in which the wording of a report counts."""
        return CauseWords(self.rule_book, self.vocabulary) if self.rule_book.settings.wording_weight else None

    def alike(self, unit: str) -> tuple[Quantity, ...]:
        """Return the quantities that can be written with ``unit``: those of its dimension.

        Numbers without a dimension are too unlike for that (``10 %`` is no count), so there the units must agree.
        """
        spelt = spelling(unit)
        if spelt not in self._alike:
            dimension = unit_info(unit).dimension
            self._alike[spelt] = tuple(
                item
                for item in self.measurable.values()
                if item.unit
                and (spelling(item.unit) == spelt or dimension != "dimensionless")
                and unit_info(item.unit).dimension == dimension
            )
        return self._alike[spelt]

    def says_little(self, quantity: Quantity, stems: tuple[str, ...]) -> bool:
        """Tell whether words of a quantity are as good as said of another of its dimension as well.

        So are verbs like *shows*, and words that stand in the title or among the words of another one.
        """
        return all(stem in english.TELLING or stem in self._stems_of_others(quantity) for stem in stems)

    def _stems_of_others(self, quantity: Quantity) -> frozenset[str]:
        if quantity.id not in self._common:
            others = (item for item in self.alike(quantity.unit) if item.id != quantity.id)
            text = " ".join(" ".join((item.title, *item.words)) for item in others)
            self._common[quantity.id] = frozenset(word.stem for word in tokens(text.lower(), self.vocabulary))
        return self._common[quantity.id]


def _claims(rule_book: RuleBook) -> Iterator[tuple[str, Claim]]:
    for finding in rule_book.findings.values():
        for phrase in finding.phrases:
            yield phrase, Claim(finding.id, True)
        for phrase in finding.denied_by:
            yield phrase, Claim(finding.id, False)


def _choice_words(chosen: Iterable[Quantity]) -> Iterator[tuple[str, Choice]]:
    for quantity in chosen:
        for value, phrases in quantity.choice_words.items():
            for phrase in phrases:
                yield phrase, Choice(quantity.id, value)


def _all_words(rule_book: RuleBook) -> Iterator[str]:
    for finding in rule_book.findings.values():
        yield from (*finding.phrases, *finding.denied_by, *finding.subject)
    for quantity in rule_book.quantities.values():
        yield from quantity.words
        if quantity.words:
            yield from quantity.choices
        for phrases in quantity.choice_words.values():
            yield from phrases
