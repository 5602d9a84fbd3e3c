"""What the validations of a rule book share: names that must lead somewhere, and where each is written."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from diagnose.place import Problem, did_you_mean
from diagnose.rule_book.authored import Authored
from diagnose.rule_book.book import RuleBook
from diagnose.yaml_places import KeyPath

Entries = Mapping[str, Mapping[str, Authored]]
Found = Iterator[Problem]


def reference(
    book: RuleBook,
    entries: Entries,
    owner: tuple[str, str],
    path: tuple[str | int, ...],
    name: str,
    part: str,
) -> Found:
    """Yield a problem when ``name`` is not an entry of ``part``."""
    known: Mapping[str, object] = getattr(book, part)
    authored = entries[owner[0]].get(owner[1])
    if name in known or authored is None:
        return
    singular = {"quantities": "quantity", "remedies": "remedy"}.get(part, part[:-1])
    help = did_you_mean(name, known, f"see the entries in {part}/")
    of_key = isinstance(path[-1], str) and path[-1] == name
    yield authored.problem(path, f"unknown-{singular}", f"no {singular} is called `{name}`", help, of_key=of_key)


def hazards_known(
    book: RuleBook, authored: Authored, at: tuple[str | int, ...], meets: tuple[str, ...], key: str = "meets"
) -> Found:
    """Yield a problem for each hazard that no caution knows."""
    hazards = {word for item in book.cautions.values() for each in item.comes_up for word in each.get("meets", ())}
    for number, word in enumerate(meets):
        if word not in hazards:
            help = did_you_mean(word, hazards, f"cautions come up for: {', '.join(sorted(hazards))}")
            text = f"no caution comes up for `{word}`"
            yield authored.problem((*at, key, number), "unknown-hazard", text, help)


def data_sheet_fits(
    book: RuleBook, authored: Authored, key: str | KeyPath, wanted: Mapping[str, tuple[str, ...]]
) -> Found:
    """Yield a problem for each field that no data sheet has, and each word that it never holds."""
    at = (key,) if isinstance(key, str) else key
    fields = {name: item for name, item in book.quantities.items() if item.choices}
    for name, values in wanted.items():
        if name not in fields:
            help = did_you_mean(name, fields, "only quantities with choices can be named here")
            yield authored.problem((*at, name), "unknown-quantity", f"no choice is called `{name}`", help, True)
            continue
        yield from on_data_sheet(book, authored, (*at, name), name)
        for number, value in enumerate(values):
            if value not in fields[name].choices:
                help = did_you_mean(value, fields[name].choices, f"one of: {', '.join(fields[name].choices)}")
                yield authored.problem((*at, name, number), "unknown-choice", f"`{name}` is never `{value}`", help)


def on_data_sheet(book: RuleBook, authored: Authored, at: tuple[str | int, ...], name: str) -> Found:
    """Yield a problem where a quantity stands on no data sheet, so that nobody could ever be asked for it."""
    if not book.quantities[name].of_data_sheet:
        text = f"a data sheet has no field `{name}`, so it decides nothing here"
        help = "add `where-to-find:` or `on-data-sheet: true` to that quantity"
        yield authored.problem(at, "unknown-field", text, help, True)
