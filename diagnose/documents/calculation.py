"""A worked calculation as a document for programs and as text for people."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Literal

from msgspec import UNSET, UnsetType
from msgspec.structs import replace
from rich.console import Console
from rich.table import Table as Grid
from rich.text import Text

from diagnose.calculations.calculation import Table
from diagnose.calculations.solving import Result, Solution, nominal, standard_uncertainty
from diagnose.documents.calculation_types import (
    CalculationDocument,
    ColumnDocument,
    FigureDocument,
    ResultDocument,
    ShareOfUncertainty,
    TableDocument,
    VerdictDocument,
)
from diagnose.documents.text import print_line
from diagnose.rule_book.quantities import Limit, Quantity
from diagnose.rule_book.verdicts import Verdict
from diagnose.terms import TERMS, Term
from diagnose.units import show, unit_info

_MOST_PLACES = 9


def calculation_document(
    subject: str, given: Mapping[str, Any], solved: Solution, verdicts: Iterable[Verdict], remarks: Iterable[str] = ()
) -> CalculationDocument:
    """Return what was given and worked out, each verdict at the last figure that it rests on.

    Figures are in the unit given beside them. ``remarks`` say how something that was given was read.
    """
    verdicts = tuple(verdicts)
    at = [_last_of(each, solved) for each in verdicts]

    def said_at(place: int | None) -> tuple[VerdictDocument, ...]:
        return _verdicts([each for each, where in zip(verdicts, at, strict=True) if where == place])

    return CalculationDocument(
        subject=subject,
        given=_figures(given),
        verdicts=said_at(None),
        results=tuple(_result(each, said_at(number)) for number, each in enumerate(solved.worked)),
        warnings=(*remarks, *_warnings(solved, verdicts)),
    )


def _last_of(verdict: Verdict, solved: Solution) -> int | None:
    """Return the place of the last result that a verdict rests on, or None: it rests on what was given."""
    names = [{each.calculation.name, each.calculation.gives} for each in solved.worked]
    return next((number for number in reversed(range(len(names))) if verdict.of & names[number]), None)


def _figures(values: Mapping[str, Any]) -> tuple[FigureDocument, ...]:
    return tuple(_figure(TERMS[name], value) for name, value in values.items())


def _figure(term: Term, value: Any) -> FigureDocument:
    spread = standard_uncertainty(value)
    if isinstance(value, Limit):
        return FigureDocument(
            name=term.id,
            title=term.title,
            value=_plain(term, value.bound),
            unit=term.unit,
            limit=value.direction,
            shown=shown(term, value),
        )
    return FigureDocument(
        name=term.id,
        title=term.title,
        value=_plain(term, value),
        unit=term.unit,
        standard_uncertainty=spread / unit_info(term.unit).factor if spread else UNSET,
        shown=shown(term, value),
    )


def _plain(term: Term, value: Any) -> Any:
    value = nominal(value)
    if isinstance(value, tuple):
        return tuple(_plain(term, each) for each in value)
    if isinstance(value, str) or not term.unit:
        return value
    info = unit_info(term.unit)
    return (value - info.offset) / info.factor


def shown(term: Term, value: Any) -> str:
    """Return a value as people read it, with its expanded uncertainty (k = 2) when it has one."""
    if isinstance(value, Limit):
        return term.shown(value) if isinstance(term, Quantity) else f"{value.direction} {term.exactly(value.bound)}"
    spread = standard_uncertainty(value)
    if not spread:
        return term.exactly(nominal(value))
    info = unit_info(term.unit)
    return f"{rounded((nominal(value) - info.offset) / info.factor, 2 * spread / info.factor)} {term.unit}".strip()


def rounded(figure: float, spread: float) -> str:
    """Return a figure with its uncertainty to two digits, and no digit beyond these (JCGM 100:2008, 7.2.6).

    >>> rounded(2.122066, 0.013587), rounded(12345.6, 123.4), rounded(60.0, 0.3), rounded(9.996, 0.0996)
    ('2.122 ± 0.014', '12350 ± 120', '60.00 ± 0.30', '10.00 ± 0.10')
    """
    places = 1 - math.floor(math.log10(float(f"{spread:.1e}")))
    if places > _MOST_PLACES:
        return f"{figure:.6g} ± {spread:.2g}"
    digits = max(places, 0)
    return f"{round(figure, places):.{digits}f} ± {round(spread, places):.{digits}f}"


def _result(worked: Result, verdicts: tuple[VerdictDocument, ...]) -> ResultDocument:
    calculation, result = worked.calculation, worked.result
    said = ResultDocument(
        calculation=calculation.name,
        title=calculation.title,
        formula=calculation.formula,
        put_in=_figures(worked.inputs),
        taken=_figures(worked.taken),
        valid=calculation.valid,
        source=calculation.source,
        verdicts=(),
    )
    if worked.table is not None:
        return replace(said, table=_table(worked.table), verdicts=(*_said(worked.table), *verdicts))
    figure = _figure(TERMS[calculation.gives], result)
    expanded, budget = _budget(worked)
    return replace(
        said,
        name=figure.name,
        title=figure.title,
        value=figure.value,
        unit=figure.unit,
        standard_uncertainty=figure.standard_uncertainty,
        shown=figure.shown,
        expanded_uncertainty=expanded,
        budget=budget,
        verdicts=verdicts,
    )


def _verdicts(found: Sequence[Verdict]) -> tuple[VerdictDocument, ...]:
    """Return what rules find; where none finds anything, what they find to be in order."""
    told = [each for each in found if each.present or each.doubtful or not each.sure] or found
    return tuple(dict.fromkeys(_verdict(each) for each in told))


def _verdict(verdict: Verdict) -> VerdictDocument:
    if not verdict.sure:
        return VerdictDocument(judgement="cannot tell", because=verdict.because, source=verdict.source)
    judgement: Literal["doubtful", "fine"] = "doubtful" if verdict.present or verdict.doubtful else "fine"
    return VerdictDocument(judgement=judgement, because=verdict.because, source=verdict.source)


def _said(table: Table) -> tuple[VerdictDocument, ...]:
    return (VerdictDocument(judgement="", because=table.remark),) if table.remark else ()


def _table(table: Table) -> TableDocument:
    return TableDocument(
        columns=tuple(ColumnDocument(title=each.title, unit=each.unit) for each in table.columns),
        rows=tuple(
            tuple(_cell(value, column.unit) for value, column in zip(row, table.columns, strict=True))
            for row in table.rows
        ),
    )


def _cell(value: float | str, unit: str) -> float | str:
    if isinstance(value, str) or not unit:
        return value
    info = unit_info(unit)
    return (value - info.offset) / info.factor


def _budget(worked: Result) -> tuple[float | UnsetType, tuple[ShareOfUncertainty, ...] | UnsetType]:
    """Return the expanded uncertainty and the budget (JCGM 100:2008): what each input contributes."""
    spread = standard_uncertainty(worked.result)
    if not spread:
        return UNSET, UNSET
    term = TERMS[worked.calculation.gives]
    factor = unit_info(term.unit).factor
    parts: dict[str, float] = {}
    for variable, part in worked.result.error_components().items():
        parts[variable.tag] = (parts.get(variable.tag, 0.0) ** 2 + part**2) ** 0.5
    return 2 * spread / factor, tuple(
        ShareOfUncertainty(input=tag, contribution=part / factor, share=part**2 / spread**2)
        for tag, part in sorted(parts.items(), key=lambda item: -item[1])
    )


def _warnings(solved: Solution, verdicts: Iterable[Verdict]) -> tuple[str, ...]:
    told = [f"{calculation.title}: {text}" for calculation, text in solved.refused]
    for each in solved.contradictions:
        term = TERMS[each.calculation.gives]
        inputs = ", ".join(TERMS[name].title for name in each.inputs)
        taken = "".join(
            f", {TERMS[name].title} taken as {shown(TERMS[name], value)}," for name, value in each.taken.items()
        )
        made = f"{term.title} {shown(term, each.result)}"
        told.append(f"what you gave does not fit together: {inputs}{taken} make {made}")
    judged = {name for each in verdicts for name in each.of}
    told += [f"--{name} was not needed" for name in solved.unused if name not in judged]
    return tuple(told)


def print_calculation(console: Console, document: CalculationDocument) -> None:
    """Print a worked calculation: formula, figures put in, result, verdict, source."""
    for number, result in enumerate(document.results):
        if number:
            console.print()
        _print_result(console, result)
    if document.verdicts:
        print_line(console, Text("; ".join(f"{each.title}: {each.shown}" for each in document.given), "head"))
    for each in document.verdicts:
        _print_verdict(console, each)
    for warning in document.warnings:
        print_line(console, Text(f"! {warning}", "warning-text"))


def _print_result(console: Console, result: ResultDocument) -> None:
    title = result.title[:1].upper() + result.title[1:]
    print_line(console, Text(title if result.table else f"{title}: {result.shown}", "head"))
    print_line(console, Text(f"  {result.formula}"))
    figures = "; ".join(_named(each) for each in result.put_in)
    taken = "; ".join(f"{_named(each)} (not given: assumed)" for each in result.taken)
    print_line(console, Text(f"  with {'; '.join(filter(None, (figures, taken)))}"))
    if result.table:
        _print_table(console, result.table)
    _print_budget(console, result)
    for each in result.verdicts:
        _print_verdict(console, each)
    valid = f"valid: {result.valid} · " if result.valid else ""
    print_line(console, Text(f"  {valid}source: {result.source}", "quiet"))


def _print_verdict(console: Console, verdict: VerdictDocument) -> None:
    style = {"fine": "for", "doubtful": "warning-text", "cannot tell": "warning-text"}.get(verdict.judgement, "")
    word = {"": "", "cannot tell": "cannot tell within the uncertainty: "}.get(verdict.judgement)
    word = f"{verdict.judgement}: " if word is None else word
    source = f" ({verdict.source})" if verdict.source else ""
    print_line(console, Text(f"  {word}{verdict.because}{source}", style))


def _named(figure: FigureDocument) -> str:
    symbol = TERMS[figure.name].symbol
    return f"{symbol or figure.title} = {figure.shown}"


def _print_table(console: Console, table: TableDocument) -> None:
    grid = Grid(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="quiet")
    for column in table.columns:
        grid.add_column(Text(f"{column.title} [{column.unit}]" if column.unit else column.title), overflow="fold")
    for row in table.rows:
        grid.add_row(*(Text(value if isinstance(value, str) else show(value, "", digits=5)) for value in row))
    console.print(grid)


def _print_budget(console: Console, result: ResultDocument) -> None:
    unit = result.unit or ""
    for part in result.budget or ():
        text = f"    of ±: {part.input} {show(2 * part.contribution, unit, digits=2)} ({part.share:.0%})"
        print_line(console, Text(text))
    if result.expanded_uncertainty:
        text = f"  standard uncertainty (k = 1), half of ±: {show(result.expanded_uncertainty / 2, unit, digits=2)}"
        print_line(console, Text(text))
