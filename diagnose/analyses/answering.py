"""Readings and logs given as answers: analysed with the data sheet, summarised in words and findings."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

import msgspec

from diagnose.analyses.analysed import Analysis
from diagnose.analyses.figures import figures_of_log, figures_of_pairs
from diagnose.bounded import READINGS, read_file
from diagnose.comparison.comparing import Comparison, Question, between, compare, in_short, observations
from diagnose.comparison.findings import Against, ReadAt, with_what
from diagnose.comparison.mechanisms import mechanisms_of
from diagnose.comparison.ranking import Likely
from diagnose.errors import BadInput
from diagnose.observations import Compared
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.patterns import ComparedAt
from diagnose.rule_book.quantities import DataSheet
from diagnose.rule_book.work import Check
from diagnose.tables.amounts import SMALLEST_FLOW
from diagnose.tables.heading_words import HeadingWords
from diagnose.tables.headings import read_heading
from diagnose.tables.readings import Readings
from diagnose.tables.side_columns import SIDES
from diagnose.tables.table_options import TableOptions
from diagnose.tables.table_readings import comparisons_in
from diagnose.tables.table_text import read_table
from diagnose.tables.typed_pairs import readings_from_pairs
from diagnose.units import unit_info

_SIDES: dict[ComparedAt, tuple[ReadAt, Against]] = {
    "reference": ("", "reference"),
    "control-system": ("control-system", "display"),
    "counter": ("counter", "display"),
}


MOST_WORDS = 2
"""Beside pairs of readings stand hardly any words; a sentence with two figures is a sentence."""


def may_be_readings(typed: str, takes: str = "reference") -> bool:
    """Check whether typed text can be pairs of readings or the name of a file; a log is always in a file.

    >>> may_be_readings("10 12.1; 50 52.2 m3/h"), may_be_readings("tank.csv"), may_be_readings("12.5 m3/h")
    (True, True, False)
    >>> may_be_readings("it jumps between 30 and 50 m3/h all morning"), may_be_readings("10 12.1; 50 52.2", "log")
    (False, False)
    >>> may_be_readings("reference 10 meter 12.1; reference 50 meter 52.2")
    True
    """
    if names_a_file(typed):
        return True
    figures = re.findall(r"(?<![A-Za-z])\d+(?:[.,]\d+)*", typed)
    words = {word.lower() for word in re.findall(r"[A-Za-z]{4,}", typed)}
    return takes != "log" and len(figures) >= 2 and len(words) <= MOST_WORDS


def names_a_file(typed: str) -> bool:
    """Tell whether typed text ends as names of files do."""
    return re.search(r"\.[a-z]{3,4}$", typed.strip().lower()) is not None


def _path_in(typed: str) -> Path:
    """Return what was typed as the name of a file; what begins with ``~`` need not be somebody's home (``~8,4 m3/h``).

    >>> str(_path_in("'~8,4 m3/h' "))
    '~8,4 m3/h'
    """
    path = Path(typed.strip().strip("'\""))
    try:
        return path.expanduser()
    except RuntimeError:  # nobody of that name has a home
        return path


def analyse_typed(engine: Engine, data_sheet: DataSheet, check: Check, typed: str, files: bool = True) -> Analysis:
    """Analyse typed pairs, or where ``files`` are read the one that is named, at a check that takes readings or a log.

    Raises DiagnoseError if it is neither, or cannot be read.
    """
    path = _path_in(typed)
    if check.takes == "log":
        return analyse_log(engine, data_sheet, path)
    if check.takes == "":
        raise BadInput("this check takes no readings")
    if files and _is_file(path):
        return analyse_file(engine, data_sheet, path, check.takes, proves=check.only_proves)
    options = _options(engine, data_sheet, check.takes, "")
    readings = readings_from_pairs(typed, options)
    analysis = _compared(engine, data_sheet, (readings,), check.takes, "")
    return msgspec.structs.replace(analysis, readings=_furthest_apart(engine, check, readings, options))


def _furthest_apart(engine: Engine, check: Check, readings: Readings, options: TableOptions) -> dict[str, float]:
    """Return the pair that is furthest apart, by the quantities that a check reads; empty where it reads others."""
    if readings.kind != "flow" or not options.words:
        return {}
    pairs = zip(readings.reference, readings.indicated, strict=True)
    pair = max(pairs, key=lambda pair: abs(pair[1] - pair[0]) / max(abs(pair[0]), abs(pair[1]), SMALLEST_FLOW))
    values = dict(zip(SIDES, pair, strict=True))
    found: dict[str, float] = {}
    for name in filter(None, (check.measures, check.expect)):
        column = engine.rule_book.quantities[name].column
        side = read_heading(column, options.words, options.against_display).side if column else ""
        if side in values:
            found[name] = values[side]
    return found if len(found) == len(SIDES) else {}


def analyse_file(
    engine: Engine, data_sheet: DataSheet, path: Path, compared: ComparedAt, unit: str = "", proves: bool = False
) -> Analysis:
    """Analyse the table of readings in a file; one that ``proves`` a cure tells how the meter was left.

    Raises DiagnoseError if it cannot be read.
    """
    return analyse_table(engine, data_sheet, read_file(path, READINGS), path.name, compared, unit, proves)


def analyse_table(
    engine: Engine,
    data_sheet: DataSheet,
    data: bytes | str,
    name: str,
    compared: ComparedAt,
    unit: str = "",
    proves: bool = False,
) -> Analysis:
    """Analyse a table of readings; ``unit`` applies if the headings give none.

    Raises DiagnoseError if it cannot be read.
    """
    readings = comparisons_in(read_table(data, name), _options(engine, data_sheet, compared, unit))
    return _compared(engine, data_sheet, readings, compared, name, proves)


def analyse_log(engine: Engine, data_sheet: DataSheet, path: Path, unit: str = "") -> Analysis:
    """Analyse a log; ``unit`` applies if the headings give none.

    Raises DiagnoseError if it cannot be read.
    """
    from diagnose.tables.log_reading import Options, read_log
    from diagnose.trends.trend import analyse, in_short
    from diagnose.trends.trend import observations as observed

    log = read_log(path, Options(unit=unit, words=HeadingWords(engine.rule_book.headings.values())))
    trend = analyse(log, engine.rule_book.signs, upper_in(log.unit, data_sheet))
    return Analysis(
        about=f"log {path.name}",
        says=in_short(trend),
        warnings=log.warnings,
        observations=observed(trend, engine.rule_book),
        figures=figures_of_log(trend),
        kind="log",
    )


def upper_in(unit: str, data_sheet: DataSheet) -> float | None:
    """Return the URV in the unit of a log; for % and mA it follows from the unit.

    >>> upper_in("m3/h", {"upper-range-value": 100 / 3600}), upper_in("%", {}), upper_in("m/s", {})
    (100.0, 100.0, None)
    """
    info = unit_info(unit)
    if info.dimension == unit_info("%").dimension:
        return 1.0 / info.factor
    if info.dimension == unit_info("mA").dimension:
        return 0.020 / info.factor
    upper = data_sheet.get("upper-range-value")
    return upper / info.factor if isinstance(upper, float) and info.dimension == unit_info("m3/h").dimension else None


def _options(engine: Engine, data_sheet: DataSheet, compared: ComparedAt, unit: str) -> TableOptions:
    known = _known(data_sheet)
    return TableOptions(
        unit=unit,
        against_display=compared != "reference",
        lower=known.get("lower-range-value", 0.0),
        upper=known.get("upper-range-value"),
        words=HeadingWords(engine.rule_book.headings.values()),
        may_guess=False,
    )


def _known(data_sheet: DataSheet) -> dict[str, float]:
    names = ("lower-range-value", "upper-range-value", "bore")
    return {name: value for name in names if isinstance(value := data_sheet.get(name), float)}


def _compared(
    engine: Engine,
    data_sheet: DataSheet,
    found: Sequence[Readings],
    compared: ComparedAt,
    name: str,
    proves: bool = False,
) -> Analysis:
    """Return what comparisons say; as found is the fault, as left the cure, and the other is only told."""
    known = _known(data_sheet)
    read_at, against = _SIDES[compared]
    question = Question(
        lower=known.get("lower-range-value", 0.0),
        upper=known.get("upper-range-value"),
        bore=known.get("bore"),
        read_at=read_at,
        against=against,
    )
    comparisons = [compare_with(engine, data_sheet, each, question) for each in found]
    pairs = f"{len(found[0].reference)} pairs of readings"
    return Analysis(
        about=f"{pairs}, {name}" if name else pairs,
        says=tuple(
            f"{each.readings.name}: {said}" if each.readings.name else said
            for each in comparisons
            for said in in_short(each)
        ),
        warnings=tuple(dict.fromkeys(warning for each in comparisons for warning in each.warnings)),
        observations=observations(comparisons[-1 if proves else 0], engine.rule_book),
        figures=figures_of_pairs(found, compared),
        kind="pairs",
    )


def compare_with(engine: Engine, data_sheet: DataSheet, readings: Readings, question: Question) -> Comparison:
    """Compare readings; how probable each mechanism is follows from how often its causes come on this meter."""
    from diagnose.reasoning.posterior import mechanisms_believed

    network = engine.network(data_sheet)

    def believed(decibans: Likely) -> dict[str, float]:
        compared = Compared(
            with_what=with_what(question.read_at, question.against),
            between=between(question.read_at, question.against),
            decibans=dict(decibans),
        )
        return mechanisms_believed(network, compared)

    book = engine.rule_book
    every = mechanisms_of(book.mechanisms, book.settings.comparisons) if network.differences.forms else ()
    return compare(every, readings, question, believed)


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:
        return False
