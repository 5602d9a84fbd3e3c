"""What reads each table of families: the program's own ways in, as far as the input's size can matter."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from diagnose.analyses.answering import analyse_log, analyse_table
from diagnose.analyses.columns import TableOptions
from diagnose.analyses.readings import readings_from_pairs
from diagnose.calculations.entering import enter
from diagnose.calculations.terms import TERMS
from diagnose.cases.events import Case
from diagnose.cases.journal import FORMAT, Journal
from diagnose.cases.standing import standing_of
from diagnose.errors import DiagnoseError
from diagnose.language.cleaning import clean
from diagnose.observations import FindingSeen
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import Prompt
from diagnose.protocol.responding import respond
from diagnose.protocol.typed import reply_to
from diagnose.rule_book.data_sheet import data_sheet_from
from diagnose.rule_book.readings import read_reading
from diagnose.rule_book.yaml_places import parse_document
from diagnose.triage.report import triage
from diagnose.units import is_unit, read_measurement, read_number
from tests.engines import real_engine
from tests.growth import families
from tests.growth.families import Family
from tests.protocol.lamps import lamp_book_engine

Reader = Callable[[str], object]


class Table(NamedTuple):
    """Families with what reads them, and the longest text that it takes (in characters)."""

    reads: Reader
    families: Mapping[str, Family]
    longest: int


def report(text: str) -> None:
    """Read a report and diagnose it, as ``diagnose triage`` does."""
    triage(real_engine(), text.encode(), {})


def typed(text: str) -> None:
    """Take what was typed at a question, at a field, at a reading and at the first prompt."""
    for prompt in _prompts():
        reply_to(lamp_book_engine(), {}, prompt, text)
    with suppress(DiagnoseError):
        readings_from_pairs(text, TableOptions())


@lru_cache(maxsize=1)
def _prompts() -> tuple[Prompt, ...]:
    """Return one prompt of each kind at which people type more than an answer on offer."""
    engine = lamp_book_engine()
    case = Case(name="lamp")
    found: dict[object, Prompt] = {}
    case = case.after(FindingSeen(finding="dark", present=True))
    found["complaint"] = prompt_of(engine, Case(name="lamp"))
    for line in ("skilled", "o", "3", "1 dry; 2 230 V", "y"):
        prompt = prompt_of(engine, case)
        found.setdefault((type(prompt), getattr(prompt, "about", "")), prompt)
        meant = reply_to(engine, {}, prompt, line)
        with suppress(Exception):
            case = case.after(*respond(engine, case, prompt, meant).events)
    return tuple(found.values())


def table(text: str) -> None:
    """Compare a table of readings."""
    analyse_table(real_engine().rule_book, {}, text.encode(), "readings.csv", "reference")


def log(text: str) -> None:
    """Read a log and what it shows."""
    with _file(text) as path:
        analyse_log(real_engine().rule_book, {}, path)


def yaml(text: str) -> None:
    """Compose a YAML document with its places."""
    parse_document(text, "rule.yaml")


def sheet(text: str) -> None:
    """Read a data sheet."""
    document = parse_document(text, "meter.yaml")
    data_sheet_from(document.data, document, (), real_engine().rule_book)


def entry(text: str) -> None:
    """Read a figure in every way that there is."""
    read_number(text)
    is_unit(text)
    read_measurement(text)
    for read in _figures():
        with suppress(DiagnoseError):
            read(text)


@lru_cache(maxsize=1)
def _figures() -> tuple[Reader, ...]:
    of_term = ("bore", "flow", next(name for name, each in TERMS.items() if each.several))
    quantities = real_engine().rule_book.quantities
    return (
        *(lambda text, name=name: enter(TERMS[name], text) for name in of_term),  # type: ignore[misc]
        lambda text: read_reading(text, quantities["loop-current"]),
        lambda text: read_reading(text, quantities["coil-resistance"]),
    )


def journal(text: str) -> None:
    """Read a case and what its events amount to."""
    head = f'{{"format":"{FORMAT}","case":"x","started":"2026-03-01T10:00:00+00:00"}}\n'
    with _file(head + text, "x.case") as path:
        standing_of(Journal.read(path.parent, str(path)))


def cleaned(text: str) -> None:
    """Take control characters and the like out of a text, as for everything that is read."""
    clean(text.encode())


@contextmanager
def _file(text: str, name: str = "log.csv") -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(text.encode())
        yield path


TABLES: Mapping[str, Table] = {
    "report": Table(report, families.REPORTS, 250_000),
    "cleaned": Table(cleaned, families.REPORTS, 1_000_000),
    "typed": Table(typed, families.TYPED, 20_000),
    "table": Table(table, families.TABLES, 1_000_000),
    "log": Table(log, families.LOGS, 4_000_000),
    "yaml": Table(yaml, families.YAML, 1_000_000),
    "sheet": Table(sheet, families.SHEETS, 1_000_000),
    "entry": Table(entry, families.ENTRIES, 20_000),
    "journal": Table(journal, families.JOURNALS, 4_000_000),
}


def read(kind: str, text: str) -> None:
    """Read a text; being refused is as good as being read."""
    with suppress(DiagnoseError):
        TABLES[kind].reads(text)
