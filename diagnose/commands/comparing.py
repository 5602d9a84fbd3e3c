"""``diagnose compare``: pairs of readings, of a reference and of the meter, explained."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from diagnose.bounded import READINGS, read_file, read_stream
from diagnose.commands.files import read_sheet
from diagnose.commands.main import load
from diagnose.commands.options import CASE, FORMAT, PLOT, with_options
from diagnose.commands.printing import print_json
from diagnose.errors import WrongUse

if TYPE_CHECKING:
    from diagnose.comparison.comparing import Question
    from diagnose.documents.comparison_types import ComparisonDocument
    from diagnose.rule_book.book import RuleBook
    from diagnose.rule_book.quantities import DataSheet
    from diagnose.tables.readings import Readings
    from diagnose.tables.table_options import TableOptions

_ORDER = "m3/h, l/s, US gal/min …"

_OPTIONS: dict[str, dict[str, Any]] = {
    "--pairs": {"metavar": "TEXT", "help": "Typed pairs in place of a file: `5 5.31; 10 10.42 m3/h`."},
    "--reference": {"metavar": "COLUMN", "default": "", "help": "Name or number of the reference's column."},
    "--indicated": {"metavar": "COLUMN", "default": "", "help": "Name or number of the meter's column."},
    "--unit": {"metavar": "UNIT", "default": "", "help": f"Unit of both, if no heading gives it: {_ORDER}."},
    "--decimal": {"type": click.Choice(["point", "comma"]), "help": "Decimal mark, if the table leaves it open."},
    "--uncertainties": {
        "type": click.Choice(["standard", "expanded", "limits"]),
        "help": "What kind they are where the table does not say: expanded (k = 2) if not given.",
    },
    "--reference-uncertainty": {"metavar": "VALUE", "default": "", "help": "For every pair: 0.3 % or 0.1 m3/h."},
    "--indicated-uncertainty": {"metavar": "VALUE", "default": "", "help": "For every pair: 0.3 % or 0.1 m3/h."},
    "--data-sheet": {"type": click.Path(path_type=Path), "help": "Data sheet (YAML) with range and bore."},
    "--lrv": {"metavar": "VALUE", "help": "Flow at 4 mA; 0 if not given."},
    "--urv": {"metavar": "VALUE", "help": "Flow at 20 mA: 100m3/h."},
    "--bore": {"metavar": "VALUE", "help": "Inner diameter of the meter: 100mm."},
    "--class": {"type": click.Choice(["1", "2"]), "help": "Accuracy class of OIML R 49, for the verdict."},
    "--q3": {"metavar": "VALUE", "help": "Permanent flow Q3, with --ratio, for the zones of the class."},
    "--ratio": {"metavar": "VALUE", "help": "Q3/Q1 (R), with --q3."},
    "--temperature": {"metavar": "VALUE", "help": "Temperature of the water; 20 degC if not given (not for masses)."},
    "--density": {"metavar": "VALUE", "help": "Density of the liquid, where one side was weighed: 998kg/m3."},
    "--part": {
        "type": click.Choice(["as found", "as left"]),
        "help": "Which comparison of a table that has both; all are shown if not given.",
    },
    "--limit": {"metavar": "VALUE", "help": "Permissible error, in place of a class: 1%."},
    "--read-at": {
        "type": click.Choice(["display", "control-system", "counter"]),
        "help": "Where the meter's figure was read; mechanisms that cannot act there are left out.",
    },
    "--against": {
        "type": click.Choice(["reference", "display"]),
        "default": "reference",
        "show_default": True,
        "help": "What it is compared with: a reference, or the meter's own display.",
    },
    "--flow-constant": {"type": float, "help": "Flow constant set in the meter: should it change, and to what?"},
    "--origin": {"metavar": "ID", "default": "", "help": "Mechanism found on inspection (with --flow-constant)."},
}
"""What the table holds, and what is known around it."""


@click.command()
@click.argument("file", required=False, type=click.Path(path_type=Path))
@with_options(_OPTIONS)
@FORMAT
@PLOT
@click.option("--record", type=click.Path(path_type=Path), help="Write a record to file: NAME.html or NAME.md.")
@CASE
@click.pass_context
def compare(
    ctx: click.Context,
    /,
    file: Path | None,
    form: str,
    plot: Path | None,
    record: Path | None,
    case: str | None,
    **given: Any,
) -> None:
    """Explain why a meter and its reference disagree.

    FILE is a table (CSV of any kind, or pasted; `-` is standard input) with columns `reference` and `indicated` and
    their units in the heading, of at most 10,000 pairs: flows, or totals at start and stop with their times, volumes,
    masses; as found and as left side by side. Headings may be tags or German (rules/headings). Uncertainties stand in
    columns of their own or beside figures: `10.0 ±0.1 (k=2)`.

    \b
    diagnose compare readings.csv --urv 100m3/h --bore 100mm
    diagnose compare totals.csv --part "as found"
    diagnose compare --pairs "10 12.1; 50 52.2; 90 91.8 m3/h" --class 2
    diagnose compare scada.csv --read-at control-system --against display

    It says whether the difference is more than chance, which mechanisms make such a difference, most probable first,
    what to look at where readings alone cannot tell them apart, and what to put right. A picture and the figures
    follow.

    Range, bore, uncertainties and accuracy class make it sharper. A new flow constant is worked out only where a pure
    factor of known origin justifies it: give --flow-constant, and --origin once an inspection has found it.

    --record writes what a planner files: figures, decision, uncertainties, method and a picture (in Markdown one made
    of letters, so that it is there wherever the text is pasted); as found and as left stand in one record.

    --plot needs matplotlib: pip install '.[plots]'.
    """
    from diagnose.analyses.answering import compare_with
    from diagnose.comparison.comparing import in_short, observations
    from diagnose.documents.comparison import comparison_document
    from diagnose.observations import State
    from diagnose.reasoning.diagnosis import diagnose

    _ways_in(file, given)
    engine = load(ctx)
    rule_book = engine.rule_book
    question, sheet, known = _question(rule_book, given)
    asked = _table_options(rule_book, given, question, known, may_guess=case is None)
    found = _comparisons(file, given, asked)
    if len(found) > 1 and (plot or case or form == "json"):
        names = " and ".join(f"`{each.name}`" for each in found)
        raise WrongUse(f"the table has several comparisons, {names}; take one with --part")
    documents: list[ComparisonDocument] = []
    for readings in found:
        comparison = compare_with(engine, sheet, readings, question)
        seen = observations(comparison, rule_book)
        causes = diagnose(engine, sheet, seen, State()).causes if seen else ()
        documents.append(comparison_document(comparison, rule_book, causes))
        if case:
            from diagnose.analyses.figures import figures_of_pairs, in_words
            from diagnose.commands.adding import add_to_case

            note = in_words(f"{len(readings.reference)} pairs of readings", in_short(comparison))
            add_to_case(case, seen, "pairs", figures_of_pairs([readings], comparison.with_what), note)
    _write(documents, plot, record)
    if form == "json":
        print_json(documents[0])
    else:
        _print(documents)


def _write(documents: Sequence[ComparisonDocument], plot: Path | None, record: Path | None) -> None:
    """Write the picture of a comparison and the record of one or two, as far as they are wanted."""
    if plot:
        from diagnose.documents.comparison_plot import save_plot

        save_plot(documents[0], plot)
    if record:
        from diagnose.commands.files import write_text
        from diagnose.documents.comparison_record import comparison_record

        write_text(record, comparison_record(documents, record.suffix.lower(), datetime.now().astimezone()))


def _print(documents: Sequence[ComparisonDocument]) -> None:
    from diagnose.documents.comparison_text import print_comparison
    from diagnose.documents.text import make_console

    for document in documents:
        if document.part:
            click.echo(f"{document.part.upper()}\n" if document is documents[0] else f"\n\n{document.part.upper()}\n")
        print_comparison(make_console(), document)


def _ways_in(file: Path | None, given: dict[str, Any]) -> None:
    if (file is None) == (given["pairs"] is None):
        raise WrongUse("give a table of readings, or --pairs; `diagnose compare --help` shows both")


def _table_options(
    rule_book: RuleBook, given: dict[str, Any], question: Question, known: dict[str, float], may_guess: bool
) -> TableOptions:
    from diagnose.tables.heading_words import HeadingWords
    from diagnose.tables.table_options import TableOptions

    return TableOptions(
        reference=given["reference"],
        indicated=given["indicated"],
        unit=given["unit"],
        decimal=given["decimal"],
        spread=given["uncertainties"],
        against_display=question.against == "display",
        lower=question.lower,
        upper=question.upper,
        density=known.get("density"),
        temperature=known.get("temperature"),
        words=HeadingWords(rule_book.headings.values()),
        may_guess=may_guess,
    )


def _comparisons(file: Path | None, given: dict[str, Any], asked: TableOptions) -> list[Readings]:
    from diagnose.tables.readings import with_uncertainty
    from diagnose.tables.table_readings import comparisons_in
    from diagnose.tables.table_text import read_table
    from diagnose.tables.typed_pairs import readings_from_pairs

    if file is None:
        found = [readings_from_pairs(given["pairs"], asked)]
    else:
        found = list(comparisons_in(read_table(_bytes(file), file.name), asked))
    if given["part"]:
        found = [each for each in found if each.name == given["part"]]
        if not found:
            raise WrongUse(f"--part {given['part']}: no heading of the table says so")
    both = given["reference_uncertainty"], given["indicated_uncertainty"]
    return [with_uncertainty(each, *both, asked.spread) for each in found]


def _bytes(file: Path) -> bytes:
    if str(file) == "-":
        closed = sys.stdin is None or sys.stdin.closed
        return b"" if closed else read_stream(sys.stdin.buffer, READINGS, READINGS.what)
    return read_file(file, READINGS)


_TERMS = {
    "lrv": "lower-range-value",
    "urv": "upper-range-value",
    "bore": "bore",
    "q3": "permanent-flow",
    "ratio": "flow-ratio",
    "temperature": "temperature",
    "limit": "permissible-error",
    "density": "liquid-density",
}
"""Option → term by which its value is read and held to limits."""


def _question(rule_book: RuleBook, given: dict[str, Any]) -> tuple[Question, DataSheet, dict[str, float]]:
    """Return what is asked, the data sheet with what the options say of it, and what they say (SI)."""
    from diagnose.comparison.agreement import USUAL_TEMPERATURE, Limits
    from diagnose.comparison.comparing import Question
    from diagnose.place import did_you_mean
    from diagnose.terms import vocabulary

    with vocabulary(rule_book.quantities):
        sheet = read_sheet(given["data_sheet"], rule_book)
        known = _from_sheet(sheet) | _entered(given)
    if known.get("urv") is not None and known["urv"] == known.get("lrv", 0.0):
        raise WrongUse("--urv and --lrv are the same: a range needs two ends")
    if (given["q3"] is None) != (given["ratio"] is None):
        raise WrongUse("--q3 and --ratio go together: the zones of a class follow from both")
    if given["against"] == "display" and given["read_at"] == "display":
        raise WrongUse("comparing the display with itself says nothing; --read-at control-system or counter")
    if given["origin"] and given["origin"] not in rule_book.mechanisms:
        help = did_you_mean(given["origin"], rule_book.mechanisms, "see --format json")
        raise WrongUse(f"--origin: no mechanism has that name; {help}")
    limits = Limits(
        accuracy_class=given["class"] or "",
        permanent_flow=known.get("q3"),
        flow_ratio=known.get("ratio"),
        water_temperature=known.get("temperature", USUAL_TEMPERATURE),
        limit=known.get("limit"),
    )
    told = {_TERMS[name]: known[name] for name in ("lrv", "urv", "bore") if known.get(name) is not None}
    question = Question(
        lower=known.get("lrv", 0.0),
        upper=known.get("urv"),
        bore=known.get("bore"),
        limits=limits,
        read_at=given["read_at"] or "",
        against=given["against"],
        flow_constant=given["flow_constant"],
        origin=given["origin"],
    )
    return question, {**sheet, **told}, known


def _entered(given: dict[str, Any]) -> dict[str, float]:
    from diagnose.calculations.entering import enter
    from diagnose.terms import TERMS

    return {name: enter(TERMS[term], given[name]) for name, term in _TERMS.items() if given[name] is not None}


def _from_sheet(sheet: DataSheet) -> dict[str, float]:

    fields = {name: sheet.get(_TERMS[name]) for name in ("lrv", "urv", "bore")}
    return {name: value for name, value in fields.items() if isinstance(value, float)}
