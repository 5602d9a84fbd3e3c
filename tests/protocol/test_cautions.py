"""Cautions that people still read: once in full, then in a line; what nobody knows is asked for once, together."""

from __future__ import annotations

import pytest

from diagnose.cases.events import Acknowledgement, Case, CompetenceSaid, Resumed, SheetFilled
from diagnose.observations import FindingSeen
from diagnose.protocol import replies
from diagnose.protocol.fields import fields_typed
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import CautionPrompt, HandOverPrompt, Prompt, QuestionPrompt
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.proposal import Proposal, proposal_for
from diagnose.rule_book.quantities import DataSheet
from tests.engines import real_engine

ENGINE = real_engine()
BOOK = ENGINE.rule_book
START = {name: state.initial for name, state in BOOK.states.items()}
DEAD = {"supply": "isolated", "enclosure": "open", "conductors": "proved dead"}
DRY_LAND: DataSheet = {
    "hazardous-area": "no",
    "location": "building",
    "liquid": ("water",),
    "signal-duty": ("control",),
    "cathodic-protection": "no",
}
"""An invented meter of which everything is known that cautions hang on."""


def put(name: str, standing: dict[str, str] = START, sheet: DataSheet = DRY_LAND) -> Proposal:
    """Return a step of the rule book as it is put while the plant stands so."""
    step = BOOK.checks.get(name) or BOOK.remedies[name]
    return proposal_for(Dangers(BOOK, sheet), "check" if name in BOOK.checks else "remedy", step, standing, "")


def situation(*events: object, sheet: DataSheet = DRY_LAND) -> Situation:
    """Return where a case stands after these events."""
    return Situation(ENGINE, Case(name="cautions", data_sheet=dict(sheet)).after(*events))  # type: ignore[arg-type]


def read(name: str, step: str = "some-step", *unless: str) -> Acknowledgement:
    """Return that a caution was read before a step."""
    return Acknowledgement(caution=name, step=step, unless=unless)


class TestOnceInACase:
    """What was heeded wants no second *y*, unless something about it is new."""

    ISOLATED = put("coil-resistance")
    AGAIN = put("coil-resistance", {**START, **DEAD})

    def test_the_next_step_in_the_same_state(self) -> None:
        """Heeded for one step, it holds for the next."""
        grave = [name for name, _ in self.AGAIN.cautions if BOOK.cautions[name].signal in ("danger", "warning")]
        assert situation().to_heed(self.AGAIN) == tuple(grave)
        assert situation(*map(read, grave)).to_heed(self.AGAIN) == ()

    def test_a_state_newly_reached(self) -> None:
        """Whoever isolates a second time proves dead a second time."""
        names = [name for name, _ in self.ISOLATED.cautions]
        assert "isolate-and-prove-dead" in situation(*map(read, names)).to_heed(self.ISOLATED)
        assert situation(*(read(each, self.ISOLATED.id) for each in names)).to_heed(self.ISOLATED) == ()

    def test_what_was_only_possible_and_is_certain_now(self) -> None:
        """The area was not known; now it is known to be explosive."""
        caution = read("confined-space", "some-step", "location")
        pit = {**DRY_LAND, "location": "pit or vault"}
        unknown = {name: value for name, value in DRY_LAND.items() if name != "location"}
        look = put("earth-straps", sheet=pit)
        assert "confined-space" in situation(caution, sheet=pit).to_heed(look)
        perhaps = put(look.id, sheet=unknown)
        assert "confined-space" not in situation(caution, sheet=unknown).to_heed(perhaps)

    @pytest.mark.parametrize("end", [Resumed(), CompetenceSaid(competence="skilled")], ids=["later", "somebody else"])
    def test_another_reader(self, end: object) -> None:
        """After a shift, or for somebody who may do more, everything is read anew."""
        names = [name for name, _ in self.AGAIN.cautions]
        first = CompetenceSaid(competence="instructed")
        assert situation(first, *map(read, names)).to_heed(self.AGAIN) == ()
        assert situation(first, *map(read, names), end).to_heed(self.AGAIN) != ()

    def test_lighter_ones_are_read_with_their_step(self) -> None:
        """Nobody types a y for them, and yet they come in one line the second time."""
        proposal = put("trace-sensor-wires")
        light = {name for name, _ in proposal.cautions if BOOK.cautions[name].signal in ("caution", "notice")}
        assert light
        assert {each.caution for each in situation().reading_of(proposal)} >= light


class TestOneQuestion:
    """What cautions hang on is asked for together, once, before the first step that needs it."""

    FIELDS = ("hazardous-area", "location", "liquid", "signal-duty", "cathodic-protection", "sensor-electronics")

    def walk(self, reply: replies.FieldsFilled) -> tuple[list[Prompt], Case]:
        """Return the prompts of an interview about a bare meter in which every step is skipped."""
        case = Case(name="bare").after(FindingSeen(finding="reading-erratic", present=True))
        case = case.after(CompetenceSaid(competence="skilled"))
        prompts: list[Prompt] = []
        for _ in range(40):
            prompt = prompt_of(ENGINE, case)
            if isinstance(prompt, HandOverPrompt):
                break
            prompts.append(prompt)
            form = isinstance(prompt, QuestionPrompt) and prompt.about == "data sheet"
            said: replies.Reply = reply if form else replies.Skip()
            if isinstance(prompt, CautionPrompt):
                said = replies.Heed()
            case = case.after(*respond(ENGINE, case, prompt, said).events)
        return prompts, case

    def test_all_at_once_and_never_again(self) -> None:
        """Also where everything was left blank."""
        prompts, _ = self.walk(replies.FieldsFilled(complete=True))
        forms = [each for each in prompts if isinstance(each, QuestionPrompt) and each.about == "data sheet"]
        asking = [each for each in forms if set(each.fields) & set(self.FIELDS)]
        assert len(asking) == 1
        assert set(asking[0].fields[: len(self.FIELDS)]) == set(self.FIELDS)
        assert asking[0].text.startswith("Before you go")

    def test_unknown_stays_dangerous(self) -> None:
        """Left blank, the caution comes up all the same, with what would rule it out."""
        prompts, _ = self.walk(replies.FieldsFilled(complete=True))
        hanging = {
            name
            for each in prompts
            if isinstance(each, CautionPrompt)
            for name, unless in each.proposal.cautions
            if unless
        }
        assert "confined-space" in hanging

    def test_known_to_be_harmless_it_is_gone(self) -> None:
        """One answer settles several."""
        prompts, _ = self.walk(replies.FieldsFilled(values=DRY_LAND, complete=True))
        shown = {name for each in prompts if isinstance(each, CautionPrompt) for name, _ in each.proposal.cautions}
        assert not shown & {"confined-space", "working-at-height", "explosive-atmosphere", "harmful-liquid"}


class TestSeveralLiquids:
    """Product and cleaning agent, and how hot it gets."""

    def raised(self, sheet: DataSheet) -> dict[str, tuple[str, ...]]:
        """Return what comes up before a sample is taken."""
        return dict(put("look-at-electrodes", sheet={**DRY_LAND, **sheet}).cautions)

    def test_each_brings_up_its_own(self) -> None:
        """Milk, and the caustic that the line is cleaned with."""
        both = self.raised({"liquid": ("food", "acid or caustic")})
        assert {"hygiene", "harmful-liquid"} <= both.keys()
        assert "harmful-liquid" not in self.raised({"liquid": ("food",)})

    def test_above_sixty_degrees_it_is_hot_besides(self) -> None:
        """Water at 95 °C, however it was told."""
        case = situation(SheetFilled(field="liquid-temperature", value=368.15))
        assert case.data_sheet["liquid"] == ("water", "hot liquid")
        cool = situation(SheetFilled(field="liquid-temperature", value=293.15))
        assert cool.data_sheet["liquid"] == ("water",)


class TestNoneOfThem:
    """One word says that nothing dangerous is so; it never says who may do the work, nor what is in the pipe."""

    FIELDS = ("location", "hazardous-area", "signal-duty", "liquid", "cathodic-protection", "behind-cover")

    def test_it_settles_what_has_a_harmless_word(self) -> None:
        """Where several are left, all but the dangerous ones; who may go down into a pit hangs on the location."""
        filled = fields_typed(BOOK, self.FIELDS, "none")
        assert isinstance(filled, replies.FieldsFilled)
        assert filled.values == {
            "hazardous-area": "no",
            "signal-duty": "not protection, not dosing, not custody",
            "cathodic-protection": "no",
        }
        assert not filled.complete

    def test_what_is_told_beside_it_holds(self) -> None:
        """None of the rest."""
        filled = fields_typed(BOOK, self.FIELDS, "1 pit; 4 water; none of them")
        assert isinstance(filled, replies.FieldsFilled)
        assert filled.values["location"] == ("pit or vault",)
        assert filled.values["liquid"] == ("water",)
        assert filled.values["hazardous-area"] == "no"

    def test_what_it_settles_is_not_shown_any_more(self) -> None:
        """And what was told in its place is certain."""
        filled = fields_typed(BOOK, self.FIELDS, "1 building; 2 yes; none")
        assert isinstance(filled, replies.FieldsFilled)
        raised = dict(put("look-at-electrodes", sheet=filled.values).cautions)
        assert not raised.keys() & {"confined-space", "working-at-height", "traffic"}
        assert raised["explosive-atmosphere"] == ()

    @pytest.mark.parametrize("text", ["don't know", "unknown", "?"])
    def test_nobody_knows(self, text: str) -> None:
        """The rest is not asked for again, and stays dangerous."""
        assert fields_typed(BOOK, self.FIELDS, text) == replies.FieldsFilled(complete=True)

    def test_elsewhere_it_is_a_word_like_any_other(self) -> None:
        """A meter without any output."""
        assert fields_typed(BOOK, ("output",), "none") == replies.FieldsFilled(values={"output": ("none",)})
