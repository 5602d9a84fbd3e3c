"""Indexes of the phrases, subjects and quantity names of a rule book, built once per rule book."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from typing import Any, NamedTuple

import msgspec

from diagnose.language.alone import Cry, cries_of
from diagnose.language.english import around_figures, grammar, negation, word_forms
from diagnose.language.phrases import Packed, PhraseIndex, packed, variants_of
from diagnose.language.together import WordGroups, word_groups
from diagnose.language.tokens import Spellings, Token, Vocabulary, token_kind, tokenize
from diagnose.language.wording import CauseWords, StemWeights
from diagnose.language.written_forms import WrittenForms, written_forms
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import Competence
from diagnose.rule_book.faults import Finding
from diagnose.rule_book.quantities import Quantity
from diagnose.units import spelling, unit_info

_FEW = 4
"""A word that belongs to more fields of the data sheet than these says nothing about any of them."""


class Claim(NamedTuple):
    """A finding that a phrase affirms or denies."""

    finding: str
    present: bool


class QuantityValue(NamedTuple):
    """A value that words can give to a quantity, or to a state of the plant."""

    quantity: str
    value: str


class Tables(msgspec.Struct, frozen=True):
    """All of a lexicon that takes long to work out, as it is kept in the cache."""

    spellings: Spellings
    claims: Packed
    word_for_word: Packed
    sounds_like: Packed
    subjects: Packed
    quantity_words: Packed
    range_words: Packed
    choices: Packed
    choice_words: Packed
    plant_words: Packed
    disturbed_words: Packed
    person_words: Packed
    cause_words: StemWeights | None
    danger_words: Packed
    other_things: Packed
    other_owners: Packed
    without_bodies: Packed
    not_with: Packed
    of_something_else: Packed
    word_groups: tuple[WordGroups, ...]
    cries: tuple[Cry, ...]
    written_forms: WrittenForms

    @classmethod
    def of(cls, rule_book: RuleBook) -> Tables:
        """Return the tables of a rule book."""
        vocabulary = Vocabulary(_all_words(rule_book), rule_book.settings.same_words)
        quantities = rule_book.quantities.values()
        findings = rule_book.findings.values()
        subjects = sorted({each for item in findings for each in item.subject})
        chosen = [item for item in quantities if item.choices]
        exact = ((said, Claim(item.id, True)) for item in findings for said in (*item.word_for_word, *_own_title(item)))
        alike = ((phrase, item.id) for item in findings for phrase in item.sounds_like)
        hints = ((word, item.id) for item in findings for word in item.may_tell)
        excused = ((said, item.id) for item in findings for said in item.not_with)
        elsewhere = ((words, item.id) for item in quantities for words in item.not_with)
        others, owners = rule_book.settings.other_things, rule_book.settings.other_owners
        bodiless = rule_book.settings.without_bodies
        named = ((each, QuantityValue(item.id, each)) for item in chosen if item.words for each in item.choices)

        def table(phrases: Iterable[tuple[str, Any]], **how: Any) -> Packed:
            return packed(variants_of(phrases, vocabulary, **how))

        def as_written(phrases: Iterable[tuple[str, Any]], **how: Any) -> Packed:
            return table(phrases, contiguous=lambda _: True, as_written=True, **how)

        return cls(
            spellings=vocabulary.spellings,
            claims=table(_claims(rule_book), contiguous=lambda claim: not claim.present),
            word_for_word=table(exact, word_for_word=True),
            sounds_like=table(alike, word_for_word=True),
            subjects=table((word, word) for word in subjects),
            quantity_words=table((word, item.id) for item in quantities for word in item.words),
            range_words=table((word, item.id) for item in quantities for word in item.range_words),
            choices=as_written(named, bars_prepositions=True),
            choice_words=as_written(_choice_words(chosen), bars_prepositions=True),
            plant_words=as_written(_plant_words(rule_book)),
            disturbed_words=table(_disturbed_words(rule_book), word_for_word=True),
            person_words=table(_person_words(rule_book), word_for_word=True),
            cause_words=StemWeights.of(rule_book, vocabulary) if rule_book.settings.wording_weight else None,
            danger_words=table(hints),
            not_with=table(excused),
            of_something_else=as_written(elsewhere),
            other_things=table(((each, each) for each in others), word_for_word=True),
            other_owners=table(((each, each) for each in (*others, *owners)), word_for_word=True),
            without_bodies=table(((each, each) for each in bodiless), word_for_word=True),
            word_groups=word_groups(findings, vocabulary),
            cries=cries_of(findings, vocabulary),
            written_forms=written_forms(quantities, vocabulary),
        )


class Lexicon:
    """Phrase indexes over a rule book; dimensions are worked out only when a text has figures."""

    def __init__(self, rule_book: RuleBook, tables: Tables | None = None) -> None:
        tables = tables or Tables.of(rule_book)
        self.rule_book = rule_book
        self.findings = rule_book.findings
        self.quantities = rule_book.quantities
        told = rule_book.told_quantities()
        self.measurable = {name: item for name, item in told.items() if not item.choices and _may_be_told(item)}
        self.vocabulary = Vocabulary((), spellings=tables.spellings)
        self.claims: PhraseIndex[Claim] = PhraseIndex(tables.claims, Claim)
        self.word_for_word: PhraseIndex[Claim] = PhraseIndex(tables.word_for_word, Claim)
        self.sounds_like: PhraseIndex[str] = PhraseIndex(tables.sounds_like, str)
        self.subjects: PhraseIndex[str] = PhraseIndex(tables.subjects, str)
        self.quantity_words: PhraseIndex[str] = PhraseIndex(tables.quantity_words, str)
        self.range_words: PhraseIndex[str] = PhraseIndex(tables.range_words, str)
        self.choices: PhraseIndex[QuantityValue] = PhraseIndex(tables.choices, QuantityValue)
        self.choice_words: PhraseIndex[QuantityValue] = PhraseIndex(tables.choice_words, QuantityValue)
        self.plant_words: PhraseIndex[QuantityValue] = PhraseIndex(tables.plant_words, QuantityValue)
        self.disturbed_words: PhraseIndex[str] = PhraseIndex(tables.disturbed_words, str)
        self.person_words: PhraseIndex[Competence] = PhraseIndex(tables.person_words, Competence)
        self.choice_names = _choice_names(told.values())
        self.word_groups = tables.word_groups
        self.cries = tables.cries
        self.written_forms = tables.written_forms
        self.with_subject: dict[str, list[str]] = defaultdict(list)
        for finding in self.findings.values():
            for word in finding.subject:
                self.with_subject[word].append(finding.id)
        # What a figure of the data sheet is where it was measured (a nominal voltage: that at the terminals).
        self.as_measured: dict[str, list[Quantity]] = {}
        for check in rule_book.checks.values():
            if check.expect and check.measures in self.quantities:
                for name in _stated_for(rule_book, check.expect):
                    self.as_measured.setdefault(name, []).append(self.quantities[check.measures])
        self.lower_ends = {item.lower_end_of: item.id for item in self.quantities.values() if item.lower_end_of}
        self.named_ranges = {choice.replace(" ", "").lower() for item in told.values() for choice in item.choices}
        self.danger_words: PhraseIndex[str] = PhraseIndex(tables.danger_words, str)
        self.other_things: PhraseIndex[str] = PhraseIndex(tables.other_things, str)
        self.other_owners: PhraseIndex[str] = PhraseIndex(tables.other_owners, str)
        self.without_bodies: PhraseIndex[str] = PhraseIndex(tables.without_bodies, str)
        self.not_with: PhraseIndex[str] = PhraseIndex(tables.not_with, str)
        self.of_something_else: PhraseIndex[str] = PhraseIndex(tables.of_something_else, str)
        self.cause_words = CauseWords(rule_book, tables.cause_words) if tables.cause_words else None
        self._commensurable: dict[str, tuple[Quantity, ...]] = {}
        self._common: dict[str, frozenset[str]] = {}

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
        return all(stem in around_figures.READING_STEMS or stem in self._stems_of_others(quantity) for stem in stems)

    def quantity_ends(self, tokens: Sequence[Token]) -> dict[int, str]:
        """Return the quantities named in a sentence by the last token of their names; what is measured comes first."""
        found = self.quantity_words.matches(tokens)
        return {match.last: match.tag for match in sorted(found, key=lambda each: not self._is_of_plan(each.tag))}

    def _is_of_plan(self, name: str) -> bool:
        return self.quantities[name].of_data_sheet

    def speaks_of(self, text: str, quantity: str) -> bool:
        """Check whether a text has a word that belongs to a field of the data sheet, and to few others."""
        own = self._stems_of_fields.get(quantity, frozenset())
        return any(token.stem in own for token in tokenize(text.lower(), self.vocabulary))

    @cached_property
    def _stems_of_fields(self) -> dict[str, frozenset[str]]:
        stems = {name: self._stems(item) for name, item in self.quantities.items() if item.of_data_sheet}
        shared = Counter(stem for each in stems.values() for stem in each)
        return {name: frozenset(stem for stem in each if shared[stem] <= _FEW) for name, each in stems.items()}

    def _stems(self, quantity: Quantity) -> set[str]:
        phrases = (phrase for each in quantity.choice_words.values() for phrase in each)
        text = " ".join((quantity.title, *quantity.choices, *quantity.words, *phrases))
        return {token.stem for token in tokenize(text.lower(), self.vocabulary) if token.kind == "word"}

    def _stems_of_others(self, quantity: Quantity) -> frozenset[str]:
        if quantity.id not in self._common:
            others = (item for item in self.commensurable(quantity.unit) if item.id != quantity.id)
            text = " ".join(" ".join((item.title, *item.words)) for item in others)
            self._common[quantity.id] = frozenset(word.stem for word in tokenize(text.lower(), self.vocabulary))
        return self._common[quantity.id]


def _stated_for(rule_book: RuleBook, name: str) -> Iterator[str]:
    """Yield a quantity and, where it is worked out, those of the data sheet in the same unit that it comes from."""
    yield name
    item = rule_book.quantities[name]
    for other in item.calculate.inputs.values() if item.calculate else ():
        given = rule_book.quantities.get(other)
        if given is not None and given.of_data_sheet and given.unit == item.unit:
            yield other


def _own_title(finding: Finding) -> Iterator[str]:
    """Yield the title of a finding: people type what stood in the menu. One that compares may go on.

    Dangers have words of their own.
    """
    if (
        finding.keep_away is None
        and not finding.heard_as_danger
        and grammar.COMPARATIVES.isdisjoint(finding.title.split()[-1:])
    ):
        yield finding.title


def _claims(rule_book: RuleBook) -> Iterator[tuple[str, Claim]]:
    for finding in rule_book.findings.values():
        for phrase in finding.phrases:
            yield phrase, Claim(finding.id, True)
        for phrase in finding.denied_by:
            yield phrase, Claim(finding.id, False)


def _choice_names(quantities: Iterable[Quantity]) -> dict[str, QuantityValue]:
    """Return the values that are named so by one quantity only, by their names in small letters.

    Little words (*none*, *yes*, *other*) and single letters (*T* may sign a letter) name nothing by themselves.
    """
    found: dict[str, list[QuantityValue]] = defaultdict(list)
    for quantity in quantities:
        for choice in quantity.choices:
            if _names_something(choice.lower()):
                found[choice.lower()].append(QuantityValue(quantity.id, choice))
    return {name: values[0] for name, values in found.items() if len(values) == 1}


def _names_something(choice: str) -> bool:
    return token_kind(choice) == "word" and len(choice) > 1 and choice not in negation.EMPTY_CHOICES


def _choice_words(chosen: Iterable[Quantity]) -> Iterator[tuple[str, QuantityValue]]:
    for quantity in chosen:
        for value, phrases in quantity.choice_words.items():
            for phrase in phrases:
                yield phrase, QuantityValue(quantity.id, value)


def _plant_words(rule_book: RuleBook) -> Iterator[tuple[str, QuantityValue]]:
    for state in rule_book.states.values():
        for value, phrases in state.told_as.items():
            for phrase in phrases:
                yield phrase, QuantityValue(state.id, value)


def _disturbed_words(rule_book: RuleBook) -> Iterator[tuple[str, str]]:
    return ((phrase, each.id) for each in rule_book.disturbances.values() for phrase in each.told_as)


def _person_words(rule_book: RuleBook) -> Iterator[tuple[str, Competence]]:
    for who, phrases in rule_book.settings.persons.items():
        for phrase in phrases:
            yield phrase, who
            for whole, shorter in word_forms.CONTRACTIONS.items():
                if phrase.startswith(f"{whole} "):
                    yield from ((phrase.replace(whole, short, 1), who) for short in shorter)


def _all_words(rule_book: RuleBook) -> Iterator[str]:
    for finding in rule_book.findings.values():
        yield from (*finding.phrases, *finding.denied_by, *finding.sounds_like, *finding.subject)
        yield from finding.not_with
        yield from (*finding.word_for_word, *finding.said_alone, *finding.may_tell)
        yield from (word for groups in finding.together for words in groups for word in words)
    yield from (phrase for phrase, _ in _plant_words(rule_book))
    yield from (phrase for phrase, _ in _disturbed_words(rule_book))
    yield from (phrase for phrase, _ in _person_words(rule_book))
    settings = rule_book.settings
    yield from (*settings.other_things, *settings.other_owners, *settings.without_bodies)
    for quantity in rule_book.quantities.values():
        yield from quantity.words
        yield from quantity.written
        yield from quantity.not_with
        if quantity.words:
            yield from quantity.choices
        for phrases in quantity.choice_words.values():
            yield from phrases


def _may_be_told(quantity: Quantity) -> bool:
    """Check whether people say a figure of it: what is worked out they do only where it stands on something as well."""
    return quantity.calculate is None or bool(quantity.range_words)
