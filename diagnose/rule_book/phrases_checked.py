"""Whether the phrases of findings can mean what they stand for."""

from __future__ import annotations

from diagnose.rule_book.authored import Authored
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.prepare import listed
from diagnose.rule_book.referring import Entries, Found

_SMALL = ("a", "an", "the", "this", "that", "its", "our", "is", "are", "was", "were", "and", "or", "but", "while")
_OF_PHRASES = ("phrases", "denied-by", "sounds-like", "not-with", "said-alone", "word-for-word", "may-tell")
_JOINING = frozenset({*_SMALL, "per", "of", "for", "from", "to", "by", "in", "at", "with"})


def phrases_say_something(book: RuleBook, entries: Entries) -> Found:
    """A phrase does not merely name things: a report names them too, whatever it says of them."""
    things = {word for each in book.settings.things for word in each.split()}
    things |= {word for name in book.settings.word_sets if f"<{name}>" in things for word in _words_of(book, name)}
    for name in book.findings:
        authored = entries["findings"][name]
        yield from _phrases_have_words(authored)
        for number, phrase in enumerate(listed(authored.data.get("phrases"))):
            words = [word for word in str(phrase).lower().split() if word not in _JOINING]
            if len(words) > 1 and things.issuperset(words):
                text = f"`{phrase}` only names things: any report about them would be read as this finding"
                help = "add the word that says what is wrong with them, or write it under `word-for-word`"
                yield authored.problem(("phrases", number), "says-nothing", text, help)


def _phrases_have_words(authored: Authored) -> Found:
    """A phrase has a letter or a figure, of whatever kind it is: nothing else can be found in a report."""
    for key in _OF_PHRASES:
        for number, phrase in enumerate(listed(authored.data.get(key))):
            if str(phrase).strip() and not any(letter.isalnum() for letter in str(phrase)):
                text = f"there is no word in `{phrase}`"
                yield authored.problem((key, number), "says-nothing", text, "write what people say")


def _words_of(book: RuleBook, name: str) -> list[str]:
    return [word for phrase in book.settings.word_sets[name] for word in phrase.split()]
