"""Documents of reports about the lamp, and what the terminal shows of them."""

from __future__ import annotations

import io
from typing import Any

from diagnose.documents.blocks import Block
from diagnose.documents.diagnosis_types import CauseDocument, CautionDocument, DiagnosisDocument, ReasonDocument
from diagnose.documents.document import diagnosis_document
from diagnose.documents.text import make_console, print_document, write
from diagnose.language.cleaning import clean
from diagnose.language.understanding import understand
from diagnose.observations import State
from diagnose.reasoning.diagnosis import diagnose
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.load import load_folder
from diagnose.rule_book.quantities import DataSheet
from tests.rule_book.lamps import MINIMAL

ENGINE = Engine(load_folder(MINIMAL))
BOOK = ENGINE.rule_book
REPORT = "No light in the lamp. The voltage is 2 V. [red]Greetings to everybody[/red] | <b>*here*</b>"


def document_of(report: str, sheet: DataSheet | None = None, top: int | None = None) -> DiagnosisDocument:
    """Return the document of a report about the lamp."""
    understanding = understand(clean(report), ENGINE.lexicon)
    diagnosis = diagnose(ENGINE, sheet or {}, understanding.observations(), State(competence="skilled"))
    return diagnosis_document(BOOK, diagnosis, understanding, top)


def printed(document: DiagnosisDocument, **options: Any) -> str:
    """Return the document as the terminal shows it."""
    file = io.StringIO()
    print_document(make_console(file=file, **options), document)
    return file.getvalue()


def written(blocks: list[Block], width: int = 80) -> list[str]:
    """Return the lines of blocks as a terminal without colour shows them."""
    file = io.StringIO()
    write(make_console(file=file, width=width), blocks)
    return file.getvalue().splitlines()


def reason(title: str, decibans: float, present: bool = True, finding: str | None = "x") -> ReasonDocument:
    """Return an invented reason."""
    return ReasonDocument(
        finding=finding, title=title, present=present, decibans=decibans, origin="“so it was said”", source="a book"
    )


def cause(name: str, probability: float, *told: ReasonDocument) -> CauseDocument:
    """Return an invented cause; reasons above zero support it."""
    return CauseDocument(
        id=name,
        title=f"{name.capitalize()} is broken",
        explanation="It broke.",
        area="Feed",
        probability=probability,
        signal="failure",
        supporting=tuple(each for each in told if each.decibans > 0),
        opposing=tuple(each for each in told if each.decibans < 0),
    )


CAUTION = CautionDocument(
    signal="danger",
    title="Electric shock",
    hazard="Live parts.",
    consequence="Death.",
    avoid=("Isolate.", "Prove dead."),
    source="a standard",
    condition="",
    short="Prove dead.",
)
