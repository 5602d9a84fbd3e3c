"""Whether spellings of units lead to units, each to one, and what may be two things is said to be so."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from diagnose.errors import UnitError
from diagnose.rule_book.authored import Authored
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.referring import Entries, Found
from diagnose.unit_spellings import UnitSpellings, in_use
from diagnose.units import is_unit, read_measurement, unit_info
from diagnose.yaml_places import KeyPath

_CALLED = "write it as the registry of units calls it, for example `meter**3/hour`"


def spellings_lead_to_units(book: RuleBook, entries: Entries) -> Found:
    """Every spelling leads to a unit, and no two lead the same word to different ones."""
    known: dict[tuple[str, bool, str], str] = {}
    for name, authored in entries["units"].items():
        entry = book.units[name]
        for path, unit in _units(entry):
            if not _is(unit):
                text = f"`{unit}` is not a known unit"
                yield authored.problem(path, "unit", text, _CALLED)
        for spelling in entry.spellings:
            plain = (spelling if entry.case_matters else spelling.lower(), entry.case_matters, entry.only_in)
            if plain in known:
                text = f"`{spelling}` is spelt in `{known[plain]}` already"
                yield authored.problem(("spellings", spelling), "ambiguous-name", text, "leave one of them out", True)
            known[plain] = name
        yield from _never_read(entry, authored)
        yield from _multiples(entry, authored)
        yield from (
            authored.problem(("spellings", spelling), "ambiguous-name", *_may_be_either(spelling), True)
            for spelling in _undeclared(entry, book.units)
        )
        for word in entry.unclear:
            if not _is(word):
                text = f"`{word}` is no spelling of a unit, so nobody is asked what it means"
                yield authored.problem(("unclear", word), "unit", text, "spell it in an entry, or leave it out", True)


def _never_read(entry: UnitSpellings, authored: Authored) -> Found:
    """Yield a problem for what is read so in tables alone, and everywhere as another unit."""
    spelt = in_use().spelt
    for spelling, unit in entry.spellings.items() if entry.only_in else ():
        if spelt.get(spelling.lower(), unit) != unit:
            text = f"`{spelling}` is read as {spelt[spelling.lower()]} everywhere, and so in a table as well"
            yield authored.problem(("spellings", spelling), "ambiguous-name", text, "leave one of them out", True)


def _multiples(entry: UnitSpellings, authored: Authored) -> Found:
    """Yield a problem for what is not so many of a unit."""
    for word, written in entry.multiples.items():
        measured = read_measurement(written)
        if measured is None or measured.number <= 0:
            text = f"`{written}` does not say how many of which unit `{word}` is"
            yield authored.problem(("multiples", word), "bad-figure", text, "write for example `1000 gal`")
        elif not is_unit(measured.unit):
            text = f"`{measured.unit}` is no spelling of a unit"
            yield authored.problem(("multiples", word), "unit", text, "spell it in an entry, or write a known one")


def _units(entry: UnitSpellings) -> Iterator[tuple[KeyPath, str]]:
    """Go through the units that an entry names, each with its place."""
    tables: Mapping[str, Mapping[str, str]] = {
        "spellings": entry.spellings,
        "times": entry.times,
        "besides": entry.besides,
    }
    yield from (((key, word), unit) for key, table in tables.items() for word, unit in table.items())
    for word, choices in entry.unclear.items():
        yield from ((("unclear", word, number), choice) for number, choice in enumerate(choices))


def _is(unit: str) -> bool:
    try:
        unit_info(unit)
    except UnitError:
        return False
    return True


def _undeclared(entry: UnitSpellings, units: Mapping[str, UnitSpellings]) -> Iterator[str]:
    """Go through spellings that mean another size of the same unit without their capitals, and nothing says so."""
    tables = in_use()
    clear = {word for each in units.values() for word in each.clear}
    for spelling, unit in entry.spellings.items() if entry.case_matters else ():
        small = spelling.lower()
        other = tables.spelt.get(small, unit)
        if other == unit or small in tables.unclear or small in clear or not (_is(unit) and _is(other)):
            continue
        if unit_info(other).dimension == unit_info(unit).dimension:
            yield spelling


def _may_be_either(spelling: str) -> tuple[str, str]:
    return (
        f"without capitals `{spelling}` is a unit of another size",
        f"say under `unclear` what `{spelling.lower()}` may mean, or name it under `clear`",
    )
