"""The diagnosis document keeps its contract, and every rendering says what it says."""

from __future__ import annotations

import io
import json
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.documents.document import Document, diagnosis_document, findings_in_words
from diagnose.documents.markdown import escaped, markdown
from diagnose.documents.text import bar, make_console, percent, print_document
from diagnose.language.cleaning import clean
from diagnose.language.understanding import understand
from diagnose.reasoning.diagnosis import diagnose
from diagnose.reasoning.observations import State
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


def test_findings_in_words() -> None:
    """Titles of the present and of the absent findings."""
    assert findings_in_words(document_of(REPORT, {"nominal-voltage": 230.0}))[0] == [
        "lamp is dark",
        "no voltage at the lamp",
    ]


class TestText:
    """The terminal."""

    def test_everything_of_the_document_is_shown(self) -> None:
        """Understood, not understood, causes, questions, cautions, next step."""
        shown = printed(document_of(REPORT), width=100)
        heads = [line for line in shown.splitlines() if line and not line.startswith(" ") and not line[0].isdigit()]
        assert heads == [
            "Understood",
            "Not understood",
            "Causes, most probable first",
            "Cautions before the next step",
            "Next step",
        ]

    def test_markup_is_text(self) -> None:
        """What somebody pasted in brackets is shown in brackets."""
        assert "[red]Greetings to everybody[/red]" in printed(document_of(REPORT), width=100)

    @pytest.mark.parametrize("width", [40, 60, 80, 132])
    def test_no_line_is_wider_than_the_terminal(self, width: int) -> None:
        """Lines are broken at words."""
        shown = printed(document_of(REPORT), width=width)
        assert max(map(len, shown.splitlines())) <= width

    def test_without_colour_no_escape_sequence_is_sent(self) -> None:
        """Every colour has its meaning in words beside it."""
        shown = printed(document_of(REPORT), width=80, no_color=True)
        assert "\x1b" not in shown
        assert " DANGER " in shown

    def test_colour_changes_no_word(self) -> None:
        """With colour the words are the same."""
        colourful = printed(document_of(REPORT), width=80, force_terminal=True, color_system="standard")
        assert "\x1b[" in colourful
        assert re.sub(r"\x1b\[[0-9;]*m", "", colourful) == printed(document_of(REPORT), width=80)

    def test_bars_of_terminals_without_blocks(self) -> None:
        """A terminal of ASCII gets hashes and dots."""
        ascii_only = make_console(file=io.TextIOWrapper(io.BytesIO(), encoding="ascii"))
        assert bar(0.5, ascii_only) == "######......"
        assert bar(0.5, make_console(file=io.StringIO())) == "██████······"

    @given(st.floats(-1, 2))
    def test_a_bar_is_always_as_long(self, share: float) -> None:
        """Twelve letters, at least one of them full for what is not next to nothing."""
        shown = bar(share, make_console(file=io.StringIO()))
        assert len(shown) == 12
        assert share <= 0.005 or shown.startswith("█")

    @given(st.floats(0, 1))
    def test_nothing_is_certain(self, share: float) -> None:
        """No probability is shown as 0 or 100 per cent."""
        assert percent(share) not in ("0 %", "100 %")


class TestMarkdown:
    """A ticket or a mail."""

    def test_everything_of_the_document_is_there(self) -> None:
        """One heading for each part."""
        heads = [line for line in markdown(document_of(REPORT)).splitlines() if line.startswith("#")]
        assert heads == [
            "# Diagnosis",
            "## Understood",
            "## Not understood",
            "## Causes, most probable first",
            "## Next step",
        ]

    def test_pasted_markup_is_no_markup(self) -> None:
        """Brackets, stars, bars and tags come out as they went in."""
        shown = markdown(document_of(REPORT))
        assert r"\[red\]Greetings to everybody\[/red\]" in shown
        assert "<b>" not in shown.replace(r"\<b\>", "")

    def test_the_table_has_five_columns_in_every_row(self) -> None:
        """Whatever stands in a cell does not end it."""
        rows = [line for line in markdown(document_of(REPORT)).splitlines() if line.startswith("|")]
        assert len(rows) == 4
        assert all(len(re.findall(r"(?<!\\)\|", row)) == 6 for row in rows)

    @given(st.text())
    def test_any_text_is_one_line_without_markup(self, text: str) -> None:
        """No character that Markdown or HTML could take for its own is left bare."""
        shown = escaped(text)
        assert "\n" not in shown
        assert not re.search(r"[`*_{}\[\]<>()#|~&]", re.sub(r"\\.", "", shown))
