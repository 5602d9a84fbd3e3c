"""The diagnosis document keeps its contract, and every rendering says what it says."""

from __future__ import annotations

import json

import jsonschema
import msgspec
import pytest
from msgspec import UNSET
from msgspec.structs import replace

from diagnose.documents import parts
from diagnose.documents.diagnosis_types import AnalysisDocument, DiagnosisDocument, HazardDocument
from diagnose.documents.document import cause_document, diagnosis_document, step_document
from diagnose.documents.markdown import markdown
from diagnose.documents.typed import as_json, schema_of
from diagnose.observations import State
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.diagnosis import diagnose
from diagnose.reasoning.proposal import proposal_for
from tests.documents.invented import BOOK, ENGINE, REPORT, document_of, printed, written

START = State().standing(BOOK)


def test_what_was_understood_stands_in_the_document() -> None:
    """Findings with their words, figures in the unit people read, and what nobody understood."""
    document = document_of(REPORT, {"nominal-voltage": 230.0})
    assert json.loads(as_json(document))["format"] == "diagnosis/4"
    dark = next(each for each in document.understood if each.finding == "lamp-dark")
    assert dark.quote.startswith("No light")
    assert dark.present is True
    (figure,) = [each for each in document.understood if each.quantity is not UNSET]
    assert (figure.quantity, figure.value, figure.unit) == ("voltage", 2.0, "V")
    assert any("Greetings" in text for text in document.not_understood)
    assert document.findings["voltage-missing"] is True


def test_causes_come_most_probable_first_and_sum_to_what_they_should() -> None:
    """Probabilities fall, and each cause says what speaks for and against it."""
    causes = document_of(REPORT, {"nominal-voltage": 230.0}).causes
    assert [cause.id for cause in causes] == ["supply-missing", "bulb-blown"]
    assert causes[0].probability > causes[1].probability > 0
    assert causes[0].area == "Feed"
    assert {each.finding for each in causes[0].supporting} == {"lamp-dark", "voltage-missing"}


def test_top_limits_the_causes_and_nothing_else() -> None:
    """The combination is the same however many causes are listed."""
    whole, cut = document_of(REPORT), document_of(REPORT, top=1)
    assert cut == replace(whole, causes=whole.causes[:1])


def test_cautions_and_changes_of_the_plant_come_with_the_next_step() -> None:
    """What a step needs is among its steps, in order; the cautions say how to avoid the hazard."""
    step = document_of("No light.").next
    assert (step.kind, step.id) == ("remedy", "change-bulb")
    assert step.steps == ("Switch off and lock.", "Fit a new bulb.")
    assert [(each.state, each.to) for each in step.changes] == [("supply", "isolated")]
    assert step.standing["supply"] == "live"
    (caution,) = step.cautions
    assert (caution.signal, caution.avoid) == ("danger", ("Prove dead before work.",))
    assert caution.source == "Judgement (invented)"


def test_a_step_says_what_is_put_back_after_it() -> None:
    """What it disturbs, with how that is put back, last first; a step that disturbs nothing says nothing."""
    check = proposal_for(Dangers(BOOK, {}), "check", BOOK.checks["look-at-bulb"], START, "")
    (after,) = step_document(BOOK, check).afterwards
    assert (after.id, after.steps, after.competence) == ("bulb-out", ("Screw the bulb in again.",), "instructed")
    assert "bulb out of its socket (for an instructed person): Screw the bulb in again." in " ".join(
        written(parts.step(step_document(BOOK, check)), 200)
    )
    assert document_of("No light.").next.afterwards == ()


def test_what_is_still_disturbed_comes_first_everywhere() -> None:
    """With how to put it back, and the states to bring back; in the terminal, in Markdown and in the JSON."""
    diagnosis = diagnose(ENGINE, {}, (), State(competence="skilled"))
    document = diagnosis_document(BOOK, diagnosis, disturbed=("bulb-out",), plant={"supply": ("isolated",)})
    told = json.loads(as_json(document))
    assert [each["steps"] for each in told["disturbed"]] == [["Screw the bulb in again."]]
    assert told["left"] == [{"state": "supply", "title": "Supply", "stands": ["isolated"], "to": "live"}]
    jsonschema.validate(told, schema_of(DiagnosisDocument, "Diagnosis"))
    for page in (printed(document, width=200), markdown(document)):
        assert page.index("NOT PUT BACK: bulb out of its socket") < page.index("NOT PUT BACK: supply is isolated")
        assert page.index("back to live only once all that is named here is done") < page.index("Understood")
    assert "NOT PUT BACK" not in printed(diagnosis_document(BOOK, diagnosis, plant={"supply": ("live",)}))


def test_parts_are_the_same_whoever_makes_them() -> None:
    """The interview makes a cause or a step alone; it is the one of the whole document."""
    diagnosis = diagnose(ENGINE, {}, (), State(competence="skilled"))
    document = diagnosis_document(BOOK, diagnosis)
    assert tuple(cause_document(BOOK, each) for each in diagnosis.causes) == document.causes
    assert step_document(BOOK, diagnosis.proposals.next) == document.next


def test_hazards_told_come_first_everywhere() -> None:
    """Stop, what is the matter, what to do in order, who must come: before anything else."""
    hazard = HazardDocument(
        id="smoke",
        title="smoke from the housing",
        do=("Stand clear.", "Warn others."),
        who="an electrician",
        quote="it smokes",
    )
    document = replace(document_of("No light."), stop=(hazard,))
    stop, *lines = printed(document, width=200).split("\n")[1:7]
    assert stop == "Stop"
    assert lines == [
        "  Nobody goes near and no work is done until somebody authorised has said that it is over.",
        "  ! smoke from the housing  “it smokes”",
        "    1. Stand clear.",
        "    2. Warn others.",
        "    Who must come: an electrician",
    ]
    assert markdown(document).startswith(
        "# Diagnosis\n\n## Stop\n\n"
        "**Nobody goes near and no work is done until somebody authorised has said that it is over.**\n\n"
        "- **smoke from the housing** — “it smokes”\n"
        "  1. Stand clear.\n  2. Warn others.\n  - Who must come: an electrician\n"
    )
    assert diagnosis_document(BOOK, diagnose(ENGINE, {}, (), State()), stop=[hazard]).stop == (hazard,)


@pytest.mark.parametrize("report", [REPORT, "No light.", "Greetings.", "No light. Not lamp dark."])
def test_the_document_is_json_that_its_schema_takes(report: str) -> None:
    """No infinity, nothing that JSON does not know, and nothing that is not promised; read back, it is the same."""
    document = document_of(report)
    schema = schema_of(DiagnosisDocument, "Diagnosis")
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(json.loads(as_json(document)), schema)
    assert msgspec.json.decode(as_json(document), type=DiagnosisDocument) == document


def test_answers_that_cannot_be_true_together_have_no_figure() -> None:
    """Infinity is not JSON: it is null."""
    diagnosis = replace(diagnose(ENGINE, {}, (), State()), conflict=float("inf"))
    document = diagnosis_document(BOOK, diagnosis)
    assert document.conflict_bits is None
    assert any("do not fit together" in text for text in document.messages)


def test_contradictions_say_what_was_counted() -> None:
    """Both statements are told, and which of them counts."""
    document = document_of("No light. Not lamp dark.")
    (contradiction,) = document.contradictions
    assert (contradiction.finding, contradiction.counted) == ("lamp-dark", "absent")
    for shown in (printed(document, width=200), markdown(document)):
        assert "Contradiction about “lamp is dark”" in shown
        assert "taken as absent" in shown


def test_cautions_that_hang_on_what_is_not_known_stand_apart_in_one_line_each() -> None:
    """Unknown counts as dangerous; those that hold anyway come first, and in full."""
    document = document_of("No light.")
    (caution,) = document.next.cautions
    hanging = replace(caution, title="Wet place", condition="unless place: inside")
    document = replace(document, next=replace(document.next, cautions=(hanging, caution)))
    shown = printed(document, width=200)
    first, then = (
        shown.index(f"\n{head}\n") for head in ("Cautions before the next step", "Cautions that depend on the site")
    )
    assert first < shown.index(caution.title) < then < shown.index("Wet place (unless place: inside)")
    assert shown.count(caution.consequence) == 1
    assert f"Wet place (unless place: inside): {caution.short}" in shown


def test_of_cautions_that_hang_on_the_site_the_gravest_comes_first() -> None:
    """Whatever order they bite in."""
    document = document_of("No light.")
    (caution,) = document.next.cautions
    told = [
        replace(caution, title=f"a {signal}", signal=signal, condition="unless place: inside")
        for signal in ("notice", "danger", "warning")
    ]
    shown = printed(replace(document, next=replace(document.next, cautions=tuple(told))), width=200)
    assert shown.index("a danger") < shown.index("a warning") < shown.index("a notice")


def test_what_only_the_analyses_say_has_no_empty_head() -> None:
    """A report of readings alone shows what they say, not that nothing was understood."""
    document = document_of("Greetings to everybody.")
    assert "nothing that the rule book knows" in printed(document)
    analysis = AnalysisDocument(about="3 pairs", says=("zero 2 m3/h",), findings=(), warnings=())
    document = replace(document, analyses=(analysis,))
    assert "Understood" not in printed(document)
    assert "From the 3 pairs" in printed(document)


def test_a_limit_stands_in_every_rendering_as_people_say_it() -> None:
    """The bound in the quantity's unit and the side for programs, the words for people."""
    document = document_of("The voltage reads < 2 V.", {"nominal-voltage": 230.0})
    made = json.loads(as_json(document))
    (limit,) = [each for each in made["understood"] if "quantity" in each]
    assert {key: limit[key] for key in ("value", "unit", "limit", "shown")} == {
        "value": 2.0,
        "unit": "V",
        "limit": "below",
        "shown": "below 2 V",
    }
    assert made["findings"]["voltage-missing"] is True
    assert ": below 2 V — “" in markdown(document)
    assert ": below 2 V  “" in printed(document)
    assert msgspec.json.decode(as_json(document), type=DiagnosisDocument) == document
