"""``diagnose schema``: what other programs may rely on in the JSON that commands print and in the YAML they read."""

from __future__ import annotations

from importlib import import_module
from typing import Any

import click

from diagnose.commands.main import load
from diagnose.commands.printing import print_schema
from diagnose.errors import WrongUse
from diagnose.place import did_you_mean

DOCUMENTS = {
    "diagnosis": ("documents.diagnosis_types", "DiagnosisDocument", "Diagnosis (diagnose triage)"),
    "comparison": ("documents.comparison_types", "ComparisonDocument", "Comparison (diagnose compare)"),
    "trend": ("documents.trend_types", "TrendDocument", "Log (diagnose trend)"),
    "calculation": ("documents.calculation_types", "CalculationDocument", "Calculation (diagnose calc)"),
    "review": ("documents.review_types", "ReviewDocument", "Review (diagnose data-sheet review)"),
    "case-list": ("documents.case_list_types", "CaseListDocument", "Kept cases (diagnose cases list)"),
    "cases-alike": ("documents.case_list_types", "CasesAlikeDocument", "Cases alike (diagnose cases search --like)"),
    "case-report": ("documents.case_report_types", "CaseReportDocument", "Report of a case (diagnose cases report)"),
    "coverage": ("authoring.coverage", "Coverage", "Coverage (diagnose rules coverage)"),
    "learning": ("learning.learning", "Learned", "What closed cases teach (diagnose cases learn)"),
    "statistics": ("learning.statistics", "Statistics", "Closed cases, counted (diagnose cases statistics)"),
    "simulation": ("authoring.simulation_text", "SimulationDocument", "Simulation (diagnose rules simulate)"),
}
"""Name → module and type of a document that a command prints, and its title."""

DATA_SHEET = "data-sheet"
NAMES = (*DOCUMENTS, DATA_SHEET)


@click.command()
@click.argument("name", required=False, default="")
@click.pass_context
def schema(ctx: click.Context, name: str) -> None:
    """Print the JSON Schema of what a command prints, or of a data sheet.

    NAME is diagnosis, comparison, trend, calculation, review, case-list, cases-alike, case-report, coverage, learning,
    statistics, simulation or data-sheet. The last lets editors check and complete YAML; it follows from the rule book.
    The schemas are of draft 2020-12.

    \b
    diagnose schema diagnosis > diagnosis.schema.json
    diagnose schema trend | less
    diagnose --rules my-rules schema data-sheet > meter.schema.json

    A document has the fields of its schema and no others, and names its version: "format": "diagnosis/4".
    """
    if name not in NAMES:
        raise WrongUse(_help(name))
    print_schema(_of_data_sheets(ctx) if name == DATA_SHEET else _of_document(name))


def _help(name: str) -> str:
    listed = f"the schemas are: {', '.join(NAMES)}"
    if not name:
        return f"name a schema; {listed}"
    meant = did_you_mean(name, NAMES)
    return f"there is no schema `{name}`; {meant + ' ' if meant else ''}{listed}"


def _of_document(name: str) -> dict[str, Any]:
    from diagnose.documents.typed import schema_of

    module, kind, title = DOCUMENTS[name]
    return schema_of(getattr(import_module(f"diagnose.{module}"), kind), title)


def _of_data_sheets(ctx: click.Context) -> dict[str, Any]:
    from diagnose.rule_book.data_sheet_schema import data_sheet_schema

    return data_sheet_schema(load(ctx).rule_book)
