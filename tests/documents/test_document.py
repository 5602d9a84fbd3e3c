"""The diagnosis document keeps its contract, and every rendering says what it says."""

from __future__ import annotations

import io
import json
from typing import Any

from diagnose.documents.document import Document, diagnosis_document
from diagnose.documents.markdown import markdown
from diagnose.documents.text import make_console, print_document, print_findings
from diagnose.language.cleaning import clean
from diagnose.language.understanding import understand
from diagnose.observations import State
from diagnose.reasoning.diagnosis import diagnose
from diagnose.rule_book.load import load_folder
from diagnose.rule_book.types import DataSheet
from tests.rule_book.lamps import MINIMAL

BOOK = load_folder(MINIMAL)
REPORT = "No light in the lamp. The voltage is 2 V. [red]Greetings to everybody[/red] | <b>*here*</b>"


def document_of(report: str, sheet: DataSheet | None = None, top: int | None = None) -> Document:
    """Return the document of a report about the lamp."""
    understanding = understand(clean(report), BOOK)
    diagnosis = diagnose(BOOK, sheet or {}, understanding.observations(), State(competence="skilled"))
    return diagnosis_document(BOOK, diagnosis, understanding, top)


def printed(document: Document, **options: Any) -> str:
    """Return the document as the terminal shows it."""
    file = io.StringIO()
    print_document(make_console(file=file, **options), document)
    return file.getvalue()


def test_what_was_understood_stands_in_the_document() -> None:
    """Findings with their words, figures in the unit people read, and what nobody understood."""
    document = document_of(REPORT, {"nominal-voltage": 230.0})
    assert document["format"] == "diagnosis/1"
    dark = next(each for each in document["understood"] if each["finding"] == "lamp-dark")
    assert dark["quote"].startswith("No light")
    assert dark["present"] is True
    (figure,) = [each for each in document["understood"] if "quantity" in each]
    assert (figure["quantity"], figure["value"], figure["unit"]) == ("voltage", 2.0, "V")
    assert any("Greetings" in text for text in document["not_understood"])
    assert document["findings"]["voltage-missing"] is True


def test_causes_come_most_probable_first_and_sum_to_what_they_should() -> None:
    """Probabilities fall, and each cause says what speaks for and against it."""
    causes = document_of(REPORT, {"nominal-voltage": 230.0})["causes"]
    assert [cause["id"] for cause in causes] == ["supply-missing", "bulb-blown"]
    assert causes[0]["probability"] > causes[1]["probability"] > 0
    assert causes[0]["area"] == "Feed"
    assert {each["finding"] for each in causes[0]["supporting"]} == {"lamp-dark", "voltage-missing"}


def test_top_limits_the_causes_and_nothing_else() -> None:
    """The combination is the same however many causes are listed."""
    whole, cut = document_of(REPORT), document_of(REPORT, top=1)
    assert cut["causes"] == whole["causes"][:1]
    assert {key: value for key, value in cut.items() if key != "causes"} == {
        key: value for key, value in whole.items() if key != "causes"
    }


def test_cautions_and_changes_of_the_plant_come_with_the_next_step() -> None:
    """What a step needs is among its steps, in order, and the cautions say how to avoid the hazard."""
    step = document_of("No light.")["next"]
    assert (step["kind"], step["id"]) == ("remedy", "change-bulb")
    assert step["steps"] == ["Switch off and lock.", "Fit a new bulb."]
    (caution,) = step["cautions"]
    assert (caution["signal"], caution["avoid"]) == ("danger", ["Prove dead before work."])
    assert caution["source"] == "Judgement (invented)"


def test_the_document_is_plain_json() -> None:
    """No infinity, nothing that JSON does not know."""
    document = document_of(REPORT)
    assert json.loads(json.dumps(document, allow_nan=False)) == document


def test_contradictions_say_what_was_counted() -> None:
    """Both statements are told, and which of them counts."""
    document = document_of("No light. Not lamp dark.")
    (contradiction,) = document["contradictions"]
    assert (contradiction["finding"], contradiction["counted"]) == ("lamp-dark", "absent")
    assert "Contradiction about “lamp is dark”" in printed(document, width=200)
    assert "Contradiction about “lamp is dark”" in markdown(document)


def test_findings_of_an_analysis_stand_line_by_line_and_what_is_absent_together() -> None:
    """What is present has its reason behind it; absent findings fill one paragraph, so that they push nothing away."""
    file = io.StringIO()
    findings = [
        {"title": "reads high", "present": True, "because": "zero 2 m3/h"},
        {"title": "swings", "present": False},
        {"title": "stays at zero", "present": False},
    ]
    print_findings(make_console(file=file, width=80), findings)
    assert file.getvalue().splitlines() == ["  +  reads high  (zero 2 m3/h)", "  -  not: swings; stays at zero"]


def test_what_only_the_analyses_say_has_no_empty_head() -> None:
    """A report of readings alone shows what they say, not that nothing was understood."""
    document = document_of("Greetings to everybody.")
    assert "nothing that this rule book knows" in printed(document)
    document["analyses"] = [{"about": "3 pairs", "says": ["zero 2 m3/h"], "findings": [], "warnings": []}]
    assert "Understood" not in printed(document)
    assert "From the 3 pairs" in printed(document)


def test_a_limit_stands_in_every_rendering_as_people_say_it() -> None:
    """The bound in the quantity's unit and the side for programs, the words for people."""
    document = document_of("The voltage reads < 2 V.", {"nominal-voltage": 230.0})
    (limit,) = [each for each in document["understood"] if "quantity" in each]
    assert {key: limit[key] for key in ("value", "unit", "limit", "shown")} == {
        "value": 2.0,
        "unit": "V",
        "limit": "below",
        "shown": "below 2 V",
    }
    assert document["findings"]["voltage-missing"] is True
    assert ": below 2 V — “" in markdown(document)
    assert ": below 2 V  “" in printed(document)
    assert json.loads(json.dumps(document)) == document
