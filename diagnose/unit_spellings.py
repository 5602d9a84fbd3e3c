"""How people in the trade spell units: entries of a rule book, and the tables that follow from them.

A spelling that no rule book has is left to pint as it stands. The spellings in use are those of the rule book that was
loaded last; before any was, the shipped ones are read.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

import msgspec

from diagnose.bounded import files_below
from diagnose.entry import Entry
from diagnose.errors import ProblemsFound
from diagnose.shipped import shipped_folder


class UnitSpellings(Entry, frozen=True, kw_only=True):
    """Spellings of units, as people write them → as the registry that converts them calls them.

    They are read in any case, unless ``case_matters``; ``clear`` are those that small letters leave clear all the same.
    ``with_rates``: each is read by time and by pulse as well (``times`` and ``pulses`` of any entry). ``taken_as``: for
    what one of them was taken, as whoever wrote it is told. ``unclear``: what may be meant by what is asked back.
    ``besides``: what a spelling may stand for where another unit is wanted. ``only_in``: they are read so in a table
    alone (above a column, behind a figure), or there alone where brackets or a line of units set them off.
    ``multiples``: units that are so many of another one, where a heading says by what its figures are multiplied.
    """

    title: str
    spellings: dict[str, str] = msgspec.field(default_factory=dict)
    with_rates: bool = False
    case_matters: bool = False
    clear: tuple[str, ...] = ()
    taken_as: str = ""
    times: dict[str, str] = msgspec.field(default_factory=dict)
    pulses: tuple[str, ...] = ()
    unclear: dict[str, tuple[str, ...]] = msgspec.field(default_factory=dict)
    besides: dict[str, str] = msgspec.field(default_factory=dict)
    only_in: Literal["", "table", "brackets"] = ""
    multiples: dict[str, str] = msgspec.field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class SpellingTables:
    """All spellings: in lower case, those whose case matters, and what is said of the unclear ones.

    ``in_tables`` and ``in_brackets`` are those read there alone; ``multiples`` lead to a figure with its unit.
    """

    spelt: Mapping[str, str]
    case_matters: Mapping[str, str]
    unclear: Mapping[str, tuple[str, ...]]
    taken_as: Mapping[str, str]
    besides: Mapping[str, str]
    in_tables: Mapping[str, str]
    in_brackets: Mapping[str, str]
    multiples: Mapping[str, str]

    @property
    def called(self) -> frozenset[str]:
        """Every unit that has a spelling, as the registry calls it."""
        tables = (self.spelt, self.case_matters, self.besides, self.in_tables, self.in_brackets)
        return frozenset(unit for table in tables for unit in table.values())


def tables_of(entries: Iterable[UnitSpellings]) -> SpellingTables:
    """Return the tables of all entries; of two that spell the same, the later counts."""
    every = tuple(entries)
    times = {name: unit for each in every for name, unit in each.times.items()}
    pulses = tuple(dict.fromkeys(name for each in every for name in each.pulses))
    rates = {each.id: _rates(each.spellings, times, pulses) for each in every if each.with_rates}
    taken_as = {
        name: each.taken_as for each in every if each.taken_as for name in (*each.spellings, *rates.get(each.id, ()))
    }

    def read_in(place: str) -> dict[str, str]:
        here = [each for each in every if each.only_in == place and not each.case_matters]
        by_rate = {name: unit for each in here for name, unit in rates.get(each.id, {}).items()}
        return {**by_rate, **{name.lower(): unit for each in here for name, unit in each.spellings.items()}}

    return SpellingTables(
        spelt=read_in(""),
        case_matters={name: unit for each in every if each.case_matters for name, unit in each.spellings.items()},
        unclear={name: choices for each in every for name, choices in each.unclear.items()},
        taken_as=taken_as,
        besides={name: unit for each in every for name, unit in each.besides.items()},
        in_tables=_with_their_names(read_in("table")),
        in_brackets=_with_their_names(read_in("brackets")),
        multiples={name.lower(): figure for each in every for name, figure in each.multiples.items()},
    )


def _with_their_names(spelt: Mapping[str, str]) -> dict[str, str]:
    """Return spellings with what their units are called, so that a unit that was read can be read again."""
    return {**{unit: unit for unit in spelt.values()}, **spelt}


def _rates(volumes: Mapping[str, str], times: Mapping[str, str], pulses: Iterable[str]) -> dict[str, str]:
    """Return the volumes by time and by pulse, and pulses by volume."""
    links = ("/", " per ")
    by_time = {
        f"{volume.lower()}{link}{time}": f"{spelt}/{second}"
        for volume, spelt in volumes.items()
        for time, second in times.items()
        for link in links
    }
    by_pulse: dict[str, str] = {}
    for volume, spelt in volumes.items():
        for pulse in pulses:
            for link in links:
                by_pulse[f"{volume.lower()}{link}{pulse}"] = spelt
                by_pulse[f"{pulse}{link}{volume.lower()}"] = f"1/{spelt}"
    return {**by_time, **by_pulse}


class _InUse:
    """The spellings in use, with what has to be forgotten once others are."""

    def __init__(self) -> None:
        self.entries: Mapping[str, UnitSpellings] | None = None
        self.tables: SpellingTables | None = None
        self.forget: list[Callable[[], None]] = []


_IN_USE = _InUse()


def in_use() -> SpellingTables:
    """Return the tables in use."""
    if _IN_USE.tables is None:
        _IN_USE.tables = tables_of((_IN_USE.entries or shipped_spellings()).values())
    return _IN_USE.tables


def use(entries: Mapping[str, UnitSpellings]) -> None:
    """Read units by the spellings of a rule book from now on; by the shipped ones where it has none."""
    if (entries or None) == _IN_USE.entries:
        return
    _IN_USE.entries, _IN_USE.tables = entries or None, None
    for forget in _IN_USE.forget:
        forget()


def forgotten_with_them(forget: Callable[[], None]) -> None:
    """Have something forgotten that was worked out by the spellings in use, whenever others are used."""
    _IN_USE.forget.append(forget)


@cache
def shipped_spellings() -> Mapping[str, UnitSpellings]:
    """Return the spellings of the shipped rule book.

    Raises ProblemsFound when its files cannot be read.
    """
    folder = shipped_folder("rules") / "units"
    return {each.id: each for path in files_below(folder, "*.yaml") for each in _read(path)}


def _read(path: Path) -> list[UnitSpellings]:
    from diagnose.yaml_places import read_document  # loads YAML, which nobody waits for whose rule book is compiled

    document = read_document(path, path.name)
    if document.problems:
        raise ProblemsFound(document.problems)
    source = document.data.get("source", "")
    return [msgspec.convert({"source": source, **each}, UnitSpellings) for each in document.data["entries"]]
