"""``diagnose trend``: a log of readings, read as an experienced person would."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from diagnose.bounded import LOG, copy_stream
from diagnose.commands.files import read_sheet
from diagnose.commands.main import load
from diagnose.commands.options import CASE, FORMAT, PLOT, with_options
from diagnose.commands.printing import print_json
from diagnose.errors import BadInput, WrongUse

if TYPE_CHECKING:
    from diagnose.tables.heading_words import HeadingWords
    from diagnose.tables.log_reading import Log, Options

_COLUMNS = {
    "time": "the times",
    "flow": "the readings",
    "current": "the loop current in mA",
    "running": "the pump's state",
    "second": "a second meter",
}

_OPTIONS: dict[str, dict[str, Any]] = {
    **{
        f"--{kind}": {"metavar": "COLUMN", "default": "", "help": f"Name or number of the column with {what}."}
        for kind, what in _COLUMNS.items()
    },
    "--unit": {"metavar": "UNIT", "default": "", "help": "Unit of the readings, if no heading gives it."},
    "--second-unit": {"metavar": "UNIT", "default": "", "help": "Unit of the second meter, likewise."},
    "--decimal": {"type": click.Choice(["point", "comma"]), "help": "Decimal mark, if the log leaves it open."},
    "--dates": {
        "type": click.Choice(["dmy", "mdy"]),
        "help": "Whether dates begin with the day or the month, if the log leaves it open.",
    },
    "--urv": {"metavar": "VALUE", "help": "Flow at 20 mA: 100m3/h."},
    "--data-sheet": {"type": click.Path(path_type=Path), "help": "Data sheet (YAML) with URV."},
}
"""What the log holds."""


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.argument("second_log", metavar="[SECOND]", required=False, type=click.Path(path_type=Path))
@with_options(_OPTIONS)
@FORMAT
@PLOT
@CASE
@click.pass_context
def trend(
    ctx: click.Context,
    /,
    file: Path,
    second_log: Path | None,
    form: str,
    plot: Path | None,
    case: str | None,
    **given: Any,
) -> None:
    """Read a log as an experienced person would.

    It looks for readings that are stuck, spikes, steps, drift, a zero at standstill, swings, a current at its fault
    level, and more.

    FILE is a table (CSV of any kind; `-` is standard input) with columns of times and readings, the unit in the
    heading. Loop current, pump state, a second meter and the quality may have columns too. A total is read as the
    flow that it tells. Exports with one row for each tag and time are read by their tags. SECOND is the log of a
    second meter, aligned in time. A million rows are no trouble; 1 GB is the most.

    \b
    diagnose trend last_week.csv
    diagnose trend log.csv --flow FT204 --unit m3/h --running P1 --plot log.png
    diagnose trend inlet.csv outlet.csv
    diagnose trend log.csv --urv 100m3/h --case ft-204

    Each sign comes with its time, its size, and the statistic behind it beside its limit; of a hundred clean logs
    about one passes that limit. What was looked for and not seen is listed, and what could not be tested and why.
    At the end comes what follows for the diagnosis; --case adds that to an interview.

    --plot needs matplotlib: pip install '.[plots]'.
    """
    from diagnose.documents.text import make_console
    from diagnose.documents.trend import trend_document
    from diagnose.documents.trend_text import print_trend
    from diagnose.tables.heading_words import HeadingWords
    from diagnose.tables.log_reading import read_log
    from diagnose.trends.trend import analyse, observations

    rule_book = load(ctx).rule_book
    asked = _asked(given, HeadingWords(rule_book.headings.values()))
    with _on_disk(file) as path:
        log = read_log(path, asked)
    if second_log is not None:
        from diagnose.tables.log_pair import beside

        unit = given["second_unit"] or given["unit"]
        log = beside(log, read_log(second_log, replace(asked, unit=unit, second_unit="", columns={})))
    found = analyse(log, rule_book.signs, _upper(rule_book, log, given))
    document = trend_document(found, rule_book)
    if plot:
        from diagnose.documents.trend_plot import save_plot

        save_plot(document, plot)
    if case:
        from diagnose.analyses.figures import figures_of_log, in_words
        from diagnose.commands.adding import add_to_case
        from diagnose.trends.trend import in_short

        note = in_words(f"log {log.file}", in_short(found))
        add_to_case(case, observations(found, rule_book), "log", figures_of_log(found), note)
    if form == "json":
        print_json(document)
    else:
        print_trend(make_console(), document)


@contextmanager
def _on_disk(file: Path) -> Iterator[Path]:
    """Give a log as a file; what comes from standard input is put on disk first, so that memory stays bounded."""
    if str(file) != "-":
        yield file
        return
    if sys.stdin is None or sys.stdin.closed:
        raise WrongUse("there is no log; name a file, or pipe one in")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "standard input"
        try:
            with path.open("wb") as kept:
                copy_stream(sys.stdin.buffer, kept, LOG, LOG.what)
        except OSError as error:
            raise BadInput(
                f"the log cannot be put on disk in {folder}: {error.strerror or error}; name its file instead"
            ) from error
        yield path


def _asked(given: dict[str, Any], words: HeadingWords) -> Options:
    from diagnose.errors import UnitError
    from diagnose.tables.log_reading import Options
    from diagnose.units import is_unit

    for name in ("unit", "second_unit"):
        if given[name] and not is_unit(given[name]):
            raise UnitError(f"--{name.replace('_', '-')}: `{given[name]}` is not a unit known here")
    return Options(
        unit=given["unit"],
        second_unit=given["second_unit"],
        columns={kind: given[kind] for kind in _COLUMNS if given[kind]},
        decimal=given["decimal"],
        order=given["dates"],
        words=words,
    )


def _upper(rule_book: Any, log: Log, given: dict[str, Any]) -> float | None:
    """Return URV in the unit of the log, as option or data sheet say; of shares and currents it is known."""
    from diagnose.analyses.answering import upper_in
    from diagnose.calculations.entering import enter
    from diagnose.terms import TERMS, vocabulary

    sheet = read_sheet(given["data_sheet"], rule_book)
    if given["urv"] is not None:
        with vocabulary(rule_book.quantities):
            sheet = {**sheet, "upper-range-value": enter(TERMS["upper-range-value"], given["urv"])}
    return upper_in(log.unit, sheet)
