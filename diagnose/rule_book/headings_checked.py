"""Whether the words of headings can be found in a table, and say one thing each."""

from __future__ import annotations

from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.patterns import HeadingMeaning
from diagnose.rule_book.referring import Entries, Found
from diagnose.units import is_unit


def headings_say_one_thing(book: RuleBook, entries: Entries) -> Found:
    """A word of a heading is a word, is no unit, and means the same wherever it is listed."""
    known: dict[str, tuple[str, frozenset[HeadingMeaning]]] = {}
    for entry in book.headings.values():
        authored = entries["headings"][entry.id]
        for number, word in enumerate(entry.words):
            path = ("words", number)
            plain = word if len(word) == 1 else word.casefold()
            if (not any(letter.isalnum() for letter in word) and set(word) - set("±+-/#Δ")) or word.strip("* ") == "":
                yield authored.problem(
                    path, "says-nothing", f"there is no word in `{word}`", "write a word of headings"
                )
            elif is_unit(word):
                text = f"`{word}` is a unit, and is read as one behind a heading"
                yield authored.problem(path, "ambiguous-name", text, "leave it out, or write more of the heading")
            elif plain in known and known[plain][1] != frozenset(entry.means):
                text = f"`{word}` means something else in `{known[plain][0]}`"
                help = "leave it in one of them, or let one entry mean both"
                yield authored.problem(path, "ambiguous-name", text, help)
            known.setdefault(plain, (entry.id, frozenset(entry.means)))
