"""Whether mains lies behind the cover, by what feeds the meter and by what its contacts carry."""

from __future__ import annotations

import pytest

from diagnose.authoring.case_watch import judge
from diagnose.cases.events import Case, CompetenceSaid
from diagnose.observations import FindingSeen, State
from diagnose.protocol import replies
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import QuestionPrompt
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.evidence import asked_in_place, completed
from diagnose.reasoning.proposal import proposal_for
from diagnose.rule_book.quantities import DataSheet
from tests.engines import real_engine

ENGINE = real_engine()
BOOK = ENGINE.rule_book
AT_OPEN_COVER = BOOK.checks["voltage-at-active-output"]
START = State().standing(BOOK)
LOW: dict[str, DataSheet] = {
    "24 V d.c.": {"nominal-supply-voltage": 24.0, "supply-kind": "d.c."},
    "24 V a.c.": {"nominal-supply-voltage": 24.0, "supply-kind": "a.c."},
    "48 V d.c.": {"nominal-supply-voltage": 48.0, "supply-kind": "d.c."},
    "42 V a.c. in a building": {"nominal-supply-voltage": 42.0, "supply-kind": "a.c.", "location": ("building",)},
    "a battery": {"fed-from": "battery or solar panel"},
    "the loop": {"fed-from": "current loop"},
}
HIGH: dict[str, DataSheet] = {
    "unknown": {},
    "230 V": {"nominal-supply-voltage": 230.0},
    "a station battery of 110 V": {"nominal-supply-voltage": 110.0, "supply-kind": "d.c."},
    "d.c. of unknown voltage": {"supply-kind": "d.c."},
    "48 V a.c. in a pit": {"nominal-supply-voltage": 48.0, "supply-kind": "a.c.", "location": ("pit or vault",)},
}


def warned(sheet: DataSheet) -> dict[str, tuple[str, ...]]:
    """Return the cautions of work at the open cover with the supply on, each with what it hangs on."""
    return dict(proposal_for(Dangers(BOOK, completed(BOOK, sheet)), "check", AT_OPEN_COVER, START, "").cautions)


def may(sheet: DataSheet, competence: str) -> bool:
    """Tell whether somebody may do it."""
    state = State(competence=competence)  # type: ignore[arg-type]
    return Dangers(BOOK, completed(BOOK, sheet)).allowed(AT_OPEN_COVER, state) is not None


def situation(sheet: DataSheet) -> Situation:
    """Return a case about this meter, with a skilled person at it."""
    seen = FindingSeen(finding="no-loop-current", present=True)
    return Situation(ENGINE, Case(data_sheet=sheet).after(seen).after(CompetenceSaid(competence="skilled")))


@pytest.mark.parametrize("supply", LOW)
def test_an_extra_low_supply_and_no_mains_at_contacts_is_no_mains_danger(supply: str) -> None:
    """An instructed person may open it."""
    sheet: DataSheet = {**LOW[supply], "mains-at-contacts": "no"}
    assert "live-terminals" not in warned(sheet)
    assert may(sheet, "instructed")
    assert not may(sheet, "ordinary")


@pytest.mark.parametrize("contacts", ["yes", None])
@pytest.mark.parametrize("supply", LOW)
def test_contacts_that_may_carry_mains_count_as_mains(supply: str, contacts: str | None) -> None:
    """So do those of which nobody knows."""
    sheet: DataSheet = {**LOW[supply], **({"mains-at-contacts": contacts} if contacts else {})}
    assert warned(sheet)["live-terminals"] == ("behind-cover",)
    assert not may(sheet, "instructed")


@pytest.mark.parametrize("supply", HIGH)
@pytest.mark.parametrize("contacts", ["no", None])
def test_any_other_supply_counts_as_bare_mains_terminals(supply: str, contacts: str | None) -> None:
    """Whatever the contacts carry, until somebody says what lies behind the cover."""
    sheet: DataSheet = {**HIGH[supply], **({"mains-at-contacts": contacts} if contacts else {})}
    assert warned(sheet)["live-terminals"] == ("behind-cover",)
    assert not may(sheet, "instructed")
    assert asked_in_place(BOOK, sheet, "behind-cover") == "behind-cover"


@pytest.mark.parametrize("sheet", [{"supply-kind": "a.c."}, {}, {"location": ("open",)}])
def test_what_only_the_dry_allows_counts_as_mains_where_nobody_says_that_it_is_dry(sheet: DataSheet) -> None:
    """48 V may be touched in a dry room; as d.c., everywhere."""
    assert not may({"nominal-supply-voltage": 48.0, "mains-at-contacts": "no", **sheet}, "instructed")


def test_what_the_sheet_says_of_the_cover_stands() -> None:
    """Nothing is worked out against what somebody has looked up."""
    sheet: DataSheet = {**LOW["24 V d.c."], "mains-at-contacts": "no", "behind-cover": "bare mains terminals"}
    assert completed(BOOK, sheet)["behind-cover"] == "bare mains terminals"
    assert not may(sheet, "instructed")


@pytest.mark.parametrize("supply", LOW)
@pytest.mark.parametrize("answer", [None, "no"])
def test_with_an_extra_low_supply_only_the_contacts_are_asked_about_and_once(supply: str, answer: str | None) -> None:
    """In the one form about safety; left blank they count as dangerous, and nobody is asked again."""
    here = situation(LOW[supply])
    step = proposal_for(Dangers(BOOK, here.data_sheet), "check", AT_OPEN_COVER, here.plant, "")
    asked = here.fields_of_safety(step)
    assert "mains-at-contacts" in asked
    assert "behind-cover" not in asked
    case = here.case
    prompt = prompt_of(ENGINE, case)
    while not (isinstance(prompt, QuestionPrompt) and prompt.about == "data sheet" and asked[0] in prompt.fields):
        case = case.after(*respond(ENGINE, case, prompt, replies.Unknown()).events)
        prompt = prompt_of(ENGINE, case)
    filled = replies.FieldsFilled(values={"mains-at-contacts": answer} if answer else {}, complete=True)
    case = case.after(*respond(ENGINE, case, prompt, filled).events)
    after = Situation(ENGINE, case)
    step = proposal_for(Dangers(BOOK, after.data_sheet), "check", AT_OPEN_COVER, after.plant, "")
    assert not {"mains-at-contacts", "behind-cover"} & set(after.open_fields(step))
    assert ("live-terminals" in dict(step.cautions)) == (answer is None)
    assert judge(BOOK, case, prompt_of(ENGINE, case)) == []


def test_with_an_unknown_supply_it_is_the_cover_that_is_asked_about() -> None:
    """As it always was."""
    here = situation({})
    step = proposal_for(Dangers(BOOK, here.data_sheet), "check", AT_OPEN_COVER, here.plant, "")
    assert "behind-cover" in here.fields_of_safety(step)
    assert "mains-at-contacts" not in here.fields_of_safety(step)


def test_mains_at_the_contacts_overrules_extra_low_voltage_only() -> None:
    """Whoever wrote extra-low voltage thought of the supply; until that is cleared up the worse of the two counts."""
    sheet: DataSheet = {"behind-cover": "extra-low voltage only", "mains-at-contacts": "yes"}
    assert completed(BOOK, sheet)["behind-cover"] == "bare mains terminals"
    assert "live-terminals" in warned(sheet)
    assert not may(sheet, "instructed")
    assert may({**sheet, "mains-at-contacts": "no"}, "instructed")
    assert may({"behind-cover": "extra-low voltage only"}, "instructed")


def test_pulses_are_measured_as_if_they_were_mains_before_anything_else() -> None:
    """Whatever the sheet says of the contacts."""
    said = " ".join(BOOK.checks["pulse-frequency"].steps[:2])
    assert "from each terminal to earth as if it were mains" in said
    assert "more than 30 V d.c.: stop" in said
