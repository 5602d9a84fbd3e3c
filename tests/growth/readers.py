"""What reads each table of families: the program's own ways in, as far as the size of what comes can matter."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

import msgspec

from diagnose import bounded
from diagnose.analyses.answering import analyse_log, analyse_table
from diagnose.calculations.entering import enter
from diagnose.cases.events import Case, CompetenceSaid
from diagnose.cases.journal import FORMAT, Journal
from diagnose.cases.standing import standing_of
from diagnose.errors import DiagnoseError
from diagnose.language.cleaning import clean
from diagnose.language.figures import figures
from diagnose.language.forms import read_forms
from diagnose.language.prose_pairs import pairs_in_prose
from diagnose.language.sentences import mask_addresses
from diagnose.language.topic import is_foreign
from diagnose.observations import FindingSeen
from diagnose.protocol import replies
from diagnose.protocol.commands import Command
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import Prompt
from diagnose.protocol.responding import respond
from diagnose.protocol.typed import Unclear, reply_to
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.data_sheet import data_sheet_from
from diagnose.rule_book.quantities import Quantity
from diagnose.rule_book.readings import read_reading
from diagnose.tables.pasted import tables_in
from diagnose.tables.table_options import TableOptions
from diagnose.tables.typed_pairs import readings_from_pairs
from diagnose.terms import TERMS
from diagnose.triage.report import triage
from diagnose.units import is_unit, read_measurement, read_number
from diagnose.yaml_places import parse_document
from tests.growth import families
from tests.growth.families import Family
from tests.protocol.lamps import lamp_book_engine

Reader = Callable[[str], object]


class Table(NamedTuple):
    """Families with what reads them, and the longest text that it takes."""

    reads: Reader
    families: Mapping[str, Family]
    longest: int


def tables(engine: Engine) -> dict[str, Table]:
    """Return the families of every kind of input, read with an engine."""
    book = engine.rule_book

    def report(text: str) -> None:
        triage(engine, text.encode(), {})

    def skimmed(text: str) -> None:
        tables_in(text)
        pairs_in_prose(text, engine.lexicon)
        figures(read_forms(mask_addresses(text)))
        is_foreign(engine.lexicon, text)

    def table(text: str) -> None:
        analyse_table(engine, {}, text.encode(), "readings.csv", "reference")

    def log(text: str) -> None:
        with _file(text, "log.csv") as path:
            analyse_log(engine, {}, path)

    def sheet(text: str) -> None:
        document = parse_document(text, "meter.yaml")
        data_sheet_from(document.data, document, (), book)

    return {
        "report": Table(report, families.REPORTS, bounded.REPORT_LETTERS),
        "cleaning": Table(lambda text: clean(text.encode()), families.RAW, bounded.REPORT.most // 4),
        "skimming": Table(skimmed, families.SKIMMED, bounded.REPORT_LETTERS),
        "typed": Table(typed, families.TYPED, bounded.REPLY_LETTERS),
        "table": Table(table, families.TABLES, bounded.READINGS.most),
        "log": Table(log, families.LOGS, 4_000_000),
        "yaml": Table(lambda text: parse_document(text, "x.yaml"), families.YAML, bounded.RULE_FILE.most),
        "data sheet": Table(sheet, families.SHEETS, bounded.DATA_SHEET.most),
        "entry": Table(entry, families.ENTRIES, bounded.REPLY_LETTERS),
        "journal": Table(journal, families.JOURNALS, bounded.JOURNAL.most // 4),
    }


@lru_cache(maxsize=1)
def small_engine() -> Engine:
    """Return the engine of the desk lamp, with readings side by side: what grows, grows with a small book as well."""
    book = lamp_book_engine().rule_book
    shown = Quantity(id="shown", title="flow shown", unit="m3/h", words=("display", "displays"), column="display")
    recorded = Quantity(
        id="recorded",
        title="flow recorded",
        unit="m3/h",
        words=("recorder", "tank"),
        column="control system",
        disagreement={"shown": "dark"},
    )
    more = {each.id: each for each in (shown, recorded)}
    return Engine(msgspec.structs.replace(book, quantities={**book.quantities, **more}))


def typed(text: str) -> None:
    """Take what was typed at every kind of prompt, and as pairs."""
    for prompt in _prompts():
        with suppress(DiagnoseError):
            reply_to(lamp_book_engine(), {}, prompt, text)
    with suppress(DiagnoseError):
        readings_from_pairs(text, TableOptions())


@lru_cache(maxsize=1)
def _prompts() -> tuple[Prompt, ...]:
    """Return prompts of an interview about a dark lamp: for a complaint, for fields of the data sheet, a reading."""
    engine = lamp_book_engine()
    prompts = [prompt_of(engine, Case(name="lamp"))]
    case = Case(name="lamp").after(FindingSeen(finding="dark", present=True), CompetenceSaid(competence="skilled"))
    for line in ("o", "3", "1 dry; 2 230 V", "y"):
        prompts.append(prompt_of(engine, case))
        meant = reply_to(engine, {}, prompts[-1], line)
        reply = replies.OtherSteps() if isinstance(meant, Command) else meant
        assert not isinstance(reply, Unclear)
        case = case.after(*respond(engine, case, prompts[-1], reply).events)
    complaint, _, _, fields, _ = prompts
    return (complaint, fields, prompt_of(engine, case))


def entry(text: str) -> None:
    """Read a figure in every way that there is."""
    read_number(text)
    is_unit(text)
    several = next(name for name, each in TERMS.items() if each.list_of_figures)
    for read in (
        read_measurement,
        lambda each: enter(TERMS["bore"], each),
        lambda each: enter(TERMS[several], each),
        lambda each: read_reading(each, lamp_book_engine().rule_book.quantities["socket-voltage"]),
    ):
        with suppress(DiagnoseError):
            read(text)


def journal(text: str) -> None:
    """Read a case and what its events amount to."""
    head = f'{{"format":"{FORMAT}","case":"x","started":"2026-03-01T10:00:00+00:00"}}\n'
    with _file(head + text, "x.case") as path:
        standing_of(Journal.read(path.parent, str(path)))


@contextmanager
def _file(text: str, name: str) -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(text.encode())
        yield path
