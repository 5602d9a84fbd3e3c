"""Validations of single fields that make sense only beside others, and of figures that nobody can mean."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from diagnose.rule_book.authored import Authored
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.quantities import Quantity
from diagnose.rule_book.referring import Entries, Found


def complaints_say_what_is_wrong(book: RuleBook, entries: Entries) -> Found:
    """What somebody may come with says that something is wrong: from history alone no interview could go on."""
    for finding in book.findings.values():
        authored = entries["findings"][finding.id]
        if finding.complaint and not finding.says_what_is_wrong:
            text = f"nobody comes with `{finding.id}`: it is {finding.kind}, and says of nothing that it is wrong"
            help = "leave `complaint:` out, or make it a symptom"
            yield authored.problem(("complaint",), "wrong-kind", text, help)
        if finding.minutes is not None and finding.minutes < 0:
            yield authored.problem(("minutes",), "bad-figure", "minutes must not be less than zero")


def shares_are_shares(book: RuleBook, entries: Entries) -> Found:
    """How often a remedy works is a probability, certainty included; what one cause shows of everything lies below."""
    for remedy in book.remedies.values():
        if not 0 < remedy.works <= 1:
            text = f"no remedy works {remedy.works:g} times of one"
            yield entries["remedies"][remedy.id].problem(("works",), "bad-figure", text, "write a figure from 0 to 1")
    for cause in book.causes.values():
        if not 0 <= cause.shows_others < 1:
            text = f"{cause.shows_others:g} is not a probability below one"
            yield entries["causes"][cause.id].problem(("shows-others",), "bad-figure", text, "0.01 is usual")


_OF_WORDS = ("several", "may-be-more")
_OF_FIGURES = ("unit", "plausible", "tolerance", "written-values", "above", "at-least", "at-most", "list-of-figures")


def quantities_are_of_one_kind(book: RuleBook, entries: Entries) -> Found:
    """A quantity is a figure, one or more of some words, or a text; what belongs to one kind stands at no other."""
    for quantity in book.quantities.values():
        authored = entries["quantities"][quantity.id]
        for key in _foreign(quantity):
            if authored.data.get(key):
                kind = "a text" if quantity.text else "words" if quantity.choices else "a figure"
                text = f"`{quantity.id}` is {kind}, where `{key}` says nothing"
                yield authored.problem((key,), "wrong-kind", text, "leave it out", True)
        yield from _once_each(authored, "choices", quantity.choices)
    for state in book.states.values():
        yield from _once_each(entries["states"][state.id], "values", state.values)


def _foreign(quantity: Quantity) -> tuple[str, ...]:
    """Return the fields that do not belong to quantities of this kind."""
    if quantity.text:
        return (*_OF_WORDS, *_OF_FIGURES, "choices")
    return _OF_FIGURES if quantity.choices else _OF_WORDS


def _once_each(authored: Authored, key: str, words: Sequence[str]) -> Found:
    for number, word in enumerate(words):
        if words.index(word) != number:
            yield authored.problem((key, number), "duplicate-answer", f"`{word}` is there twice", "keep one of them")


_NAMED_ALIKE = (("checks", "remedies"), ("findings", "quantities"), ("quantities", "states"))
"""Parts whose entries are named in the same places: as a step, in a condition, by a caution."""

_WORDS_OF_RULES = {
    "findings": ("all", "any", "not"),
    "quantities": ("all", "any", "not", "meets"),
    "states": ("meets",),
}
"""Part → words that stand beside its names in conditions or cautions."""


def names_are_unambiguous(book: RuleBook, entries: Entries) -> Found:
    """Where an entry of either part may be named, no name leads to two of them, or means something of its own."""
    for first, second in _NAMED_ALIKE:
        known: Mapping[str, object] = getattr(book, first)
        for name, authored in entries[second].items():
            if name in known:
                text = f"`{name}` is in {first} as well, and both are named in the same places"
                yield authored.problem(("id",), "ambiguous-name", text, "give one of them another id")
    for part, words in _WORDS_OF_RULES.items():
        for name in words:
            if name in entries[part]:
                text = f"`{name}` means something of its own where this could be named"
                yield entries[part][name].problem(("id",), "ambiguous-name", text, "give it another id")
