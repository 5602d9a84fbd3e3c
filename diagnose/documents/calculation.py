"""A worked calculation as a document for programs and as text for people."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from rich.console import Console
from rich.table import Table as Grid
from rich.text import Text

from diagnose.calculations.calculation import Table
from diagnose.calculations.solving import Result, Solution, nominal, standard_uncertainty
from diagnose.calculations.terms import TERMS, Term
from diagnose.documents.text import print_line
from diagnose.rule_book.verdicts import Verdict
from diagnose.units import show, unit_info

FORMAT = "calculation/1"

Document = dict[str, Any]
Judge = Callable[[str, Any], tuple[Verdict, ...]]
"""Calculation's name and its result → what the rules say of it."""


def calculation_document(subject: str, given: Mapping[str, Any], solved: Solution, judge: Judge) -> Document:
    """Return what was given and worked out; figures in the unit that stands beside them."""
    return {
        "format": FORMAT,
        "subject": subject,
        "given": [_figure(TERMS[name], value) for name, value in given.items()],
        "results": [_result(each, judge) for each in solved.worked],
        "warnings": _warnings(solved),
    }


def _figure(term: Term, value: Any) -> Document:
    figure: Document = {"name": term.name, "title": term.title, "value": _plain(term, value), "unit": term.unit}
    spread = standard_uncertainty(value)
    if spread:
        figure["standard_uncertainty"] = spread / unit_info(term.unit).factor
    figure["shown"] = shown(term, value)
    return figure


def _plain(term: Term, value: Any) -> Any:
    value = nominal(value)
    if isinstance(value, tuple):
        return [_plain(term, each) for each in value]
    if isinstance(value, str) or not term.unit:
        return value
    info = unit_info(term.unit)
    return (value - info.offset) / info.factor


def shown(term: Term, value: Any) -> str:
    """Return a value as people read it, with its standard uncertainty when it has one."""
    spread = standard_uncertainty(value)
    if not spread:
        return term.shown(nominal(value))
    info = unit_info(term.unit)
    figures = f"{(nominal(value) - info.offset) / info.factor:.6g} ± {spread / info.factor:.2g}"
    return f"{figures} {term.unit}".strip()


def _result(worked: Result, judge: Judge) -> Document:
    calculation = worked.calculation
    said = {
        "calculation": calculation.name,
        "title": calculation.title,
        "formula": calculation.formula,
        "put_in": [_figure(TERMS[name], value) for name, value in worked.inputs.items()],
        "taken": [_figure(TERMS[name], value) for name, value in worked.taken.items()],
        "valid": calculation.valid,
        "source": calculation.source,
    }
    if worked.table is not None:
        return {**said, "table": _table(worked.table), "verdicts": _said(worked.table)}
    figure = _figure(TERMS[calculation.gives], worked.result)
    return {**said, **figure, **_budget(worked), "verdicts": _verdicts(judge(calculation.name, nominal(worked.result)))}


def _verdicts(found: tuple[Verdict, ...]) -> list[Document]:
    return [
        {"judgement": "doubtful" if each.present else "fine", "because": each.because, "source": each.source}
        for each in found
    ]


def _said(table: Table) -> list[Document]:
    return [{"judgement": table.judgement, "because": table.verdict}] if table.verdict else []


def _table(table: Table) -> Document:
    return {
        "columns": [{"title": each.title, "unit": each.unit} for each in table.columns],
        "rows": [
            [_cell(value, column.unit) for value, column in zip(row, table.columns, strict=True)] for row in table.rows
        ],
    }


def _cell(value: float | str, unit: str) -> float | str:
    if isinstance(value, str) or not unit:
        return value
    info = unit_info(unit)
    return (value - info.offset) / info.factor


def _budget(worked: Result) -> Document:
    """Return the uncertainty budget (JCGM 100:2008): what each input contributes, and the expanded uncertainty."""
    spread = standard_uncertainty(worked.result)
    if not spread:
        return {}
    term = TERMS[worked.calculation.gives]
    factor = unit_info(term.unit).factor
    parts: dict[str, float] = {}
    for variable, part in worked.result.error_components().items():
        parts[variable.tag] = (parts.get(variable.tag, 0.0) ** 2 + part**2) ** 0.5
    return {
        "expanded_uncertainty": 2 * spread / factor,
        "budget": [
            {"input": tag, "contribution": part / factor, "share": part**2 / spread**2}
            for tag, part in sorted(parts.items(), key=lambda item: -item[1])
        ],
    }


def _warnings(solved: Solution) -> list[str]:
    told = [f"{calculation.title}: {text}" for calculation, text in solved.refused]
    for each in solved.contradictions:
        term = TERMS[each.calculation.gives]
        inputs = ", ".join(TERMS[name].title for name in each.inputs)
        taken = "".join(
            f", {TERMS[name].title} taken as {shown(TERMS[name], value)}," for name, value in each.taken.items()
        )
        told.append(f"what you gave does not fit: {inputs}{taken} make {term.title} {shown(term, each.result)}")
    told += [f"--{name} was not needed" for name in solved.unused]
    return told


def print_calculation(console: Console, document: Document) -> None:
    """Print a worked calculation: formula, figures put in, result, verdict, source."""
    for number, result in enumerate(document["results"]):
        if number:
            console.print()
        _print_result(console, result)
    for warning in document["warnings"]:
        print_line(console, Text(f"! {warning}", "warning-text"))


def _print_result(console: Console, result: Document) -> None:
    title = result["title"][:1].upper() + result["title"][1:]
    print_line(console, Text(title if "table" in result else f"{title}: {result['shown']}", "head"))
    print_line(console, Text(f"  {result['formula']}"))
    figures = "; ".join(_named(each) for each in result["put_in"])
    taken = "; ".join(f"{_named(each)} (not given: taken so)" for each in result["taken"])
    print_line(console, Text(f"  with {'; '.join(filter(None, (figures, taken)))}"))
    if "table" in result:
        _print_table(console, result["table"])
    _print_budget(console, result)
    for each in result["verdicts"]:
        style = {"fine": "for", "doubtful": "warning-text", "wrong": "warning-text"}.get(each["judgement"], "")
        word = f"{each['judgement']}: " if each["judgement"] else ""
        source = f" ({each['source']})" if each.get("source") else ""
        print_line(console, Text(f"  {word}{each['because']}{source}", style))
    valid = f"valid: {result['valid']} · " if result["valid"] else ""
    print_line(console, Text(f"  {valid}source: {result['source']}", "quiet"))


def _named(figure: Document) -> str:
    symbol = TERMS[figure["name"]].symbol
    return f"{symbol or figure['title']} = {figure['shown']}"


def _print_table(console: Console, table: Document) -> None:
    grid = Grid(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="quiet")
    for column in table["columns"]:
        grid.add_column(Text(f"{column['title']} [{column['unit']}]" if column["unit"] else column["title"]))
    for row in table["rows"]:
        grid.add_row(*(Text(value if isinstance(value, str) else show(value, "", digits=5)) for value in row))
    console.print(grid)


def _print_budget(console: Console, result: Document) -> None:
    for part in result.get("budget", ()):
        text = f"    {part['input']}: {show(part['contribution'], result['unit'], digits=3)} ({part['share']:.0%})"
        print_line(console, Text(text))
    if "expanded_uncertainty" in result:
        text = f"  expanded uncertainty U (k = 2): {show(result['expanded_uncertainty'], result['unit'], digits=3)}"
        print_line(console, Text(text))
