"""The watch over every step sees what is wrong, and only that."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

import msgspec
import pytest

from diagnose.authoring.safety_watch import Watch
from diagnose.authoring.simulated_interview import MOST_PROMPTS, interview
from diagnose.observations import Observation, State
from diagnose.reasoning import diagnosis
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.diagnosis import Diagnosis, diagnose
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.proposal import Proposal, proposal_for
from diagnose.rule_book.quantities import DataSheet
from tests.authoring.invented import fault, lamp
from tests.reasoning.books import caution, state

BOOK = lamp()
START = {"supply": "live", "cover": "closed"}
LOOK = BOOK.checks["look-at-bulb"]


def put(step: Any = LOOK, sheet: dict[str, str] | None = None, **changed: Any) -> Proposal:
    """Return a step as it is rightly put at the start, with something changed."""
    return msgspec.structs.replace(proposal_for(Dangers(BOOK, sheet or {}), "check", step, START, ""), **changed)


def seen(proposal: Proposal, step: Any = LOOK, sheet: Any = None, competence: Any = "skilled") -> list[str]:
    """Return what the watch says of it."""
    return [each.text for each in Watch(BOOK, sheet or {}, competence).violations(START, proposal, step)]


class TestWatch:
    """One step at a time."""

    @pytest.mark.parametrize("step", [*BOOK.checks.values(), *BOOK.remedies.values()], ids=lambda step: step.id)
    def test_nothing_wrong_with_what_is_rightly_put(self, step: Any) -> None:
        """Every step of the rule book, from the start, by a skilled person."""
        assert seen(put(step), step) == []

    def test_competence_for_a_change_on_the_way(self) -> None:
        """An ordinary person may look, but not isolate or open."""
        assert seen(put(), competence="ordinary") == [
            "check look-at-bulb: out of competence: bringing supply to isolated is for instructed persons",
            "check look-at-bulb: out of competence: bringing cover to open is for instructed persons",
        ]

    def test_competence_for_the_step(self) -> None:
        """What needs a skilled person."""
        step = msgspec.structs.replace(BOOK.checks["feel-feed"], competence="skilled")
        assert seen(put(step), step, competence="instructed") == [
            "check feel-feed: out of competence: for skilled persons"
        ]

    def test_a_change_left_out(self) -> None:
        """The cover is opened, but the supply left live: out of state, and nobody was warned of the shock."""
        assert seen(put(changes=(("cover", "open"),))) == [
            "check look-at-bulb: out of state: supply is live, needed is isolated",
            "check look-at-bulb: without its caution: shock",
        ]

    def test_planned_from_elsewhere(self) -> None:
        """The plant does not stand where the plan thinks; and nobody opens what is open."""
        found = seen(
            put(standing={"supply": "live", "cover": "open"}, changes=(("supply", "isolated"), ("cover", "closed")))
        )
        assert "check look-at-bulb: out of state: nobody can bring cover from closed to closed" in found
        assert any("planned from" in text for text in found)

    def test_opened_before_it_is_isolated(self) -> None:
        """In the right state at the end, and yet open and live in gas for a moment."""
        gas = {"gas": "yes"}
        assert seen(put(sheet=gas), sheet=gas) == []
        hasty = put(sheet=gas, changes=(("cover", "open"), ("supply", "isolated")))
        assert [text.split(": ")[1] for text in seen(hasty, sheet=gas)] == [
            "forbidden by spark (gas yes, cover open, supply live)"
        ]
        assert seen(hasty, sheet={"gas": "no"}) == []

    def test_what_the_meter_is_counts_and_not_what_was_filled_in(self) -> None:
        """A caution that nobody thought of, since nobody asked for the gas."""
        assert [name for name, _ in put().cautions] == ["spark"]
        assert seen(put(cautions=()), sheet={"gas": "yes"}) == ["check look-at-bulb: without its caution: spark"]

    def test_a_hazard_without_its_caution(self) -> None:
        """What the step itself meets."""
        step = msgspec.structs.replace(BOOK.checks["feel-feed"], meets=("wires",))
        assert seen(put(step), step) == []
        assert seen(put(step, cautions=()), step) == ["check feel-feed: without its caution: shock"]


PROVED = lamp(
    state("proof", 3, "none", "dead", goes_with={"dead": {"supply": ("isolated",), "cover": ("open",)}}),
    caution("bare", {"meets": ("bare",)}, least_competence={"skilled": ({"cover": ("open",), "guard": ("none",)},)}),
)


class TestOrderAndExposure:
    """What goes with the values of other states, and who may be exposed to what."""

    start: ClassVar = {**START, "proof": "none"}

    def seen(self, sheet: Any = None, competence: Any = "skilled", **changed: Any) -> list[str]:
        """Return what the watch says of looking at the bulb, as it is put but for what is changed."""
        look = PROVED.checks["look-at-bulb"]
        rightly = proposal_for(Dangers(PROVED, sheet or {}), "check", look, self.start, "")
        proposal = msgspec.structs.replace(rightly, **changed)
        found = [each.text for each in Watch(PROVED, sheet or {}, competence).violations(self.start, proposal, look)]
        return [each.removeprefix("check look-at-bulb: ") for each in found]

    def test_nothing_wrong_with_the_right_order(self) -> None:
        """Off, open, proved."""
        assert self.seen() == []

    def test_proved_before_it_is_open(self) -> None:
        """Nobody can prove dead what is behind a closed cover."""
        wrong = (("supply", "isolated"), ("proof", "dead"), ("cover", "open"))
        assert self.seen(changes=wrong) == ["out of order: proof dead while cover is closed"]

    def test_touched_before_it_is_proved(self) -> None:
        """In the state that the step asks for, and yet not proved."""
        wrong = (("supply", "isolated"), ("cover", "open"))
        assert self.seen(changes=wrong) == ["out of order: done before proof is dead"]

    def test_exposed_beyond_competence(self) -> None:
        """For skilled persons where nothing guards it, or nobody knows of a guard."""
        wrong = ["out of competence: bare is for skilled persons"]
        assert self.seen(competence="instructed") == wrong
        assert self.seen({"guard": "none"}, "instructed") == wrong
        assert self.seen({"guard": "glass"}, "instructed") == []


class TestInInterviews:
    """A planner that goes wrong does not pass unseen."""

    @pytest.fixture
    def careless(self, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
        """Return a function after which every proposal puts a step without regard to state."""

        def make(name: str) -> None:
            def propose(engine: Engine, sheet: DataSheet, said: tuple[Observation, ...], state: State) -> Diagnosis:
                right = diagnose(engine, sheet, said, state)
                wrong = proposal_for(Dangers(BOOK, sheet), "check", BOOK.checks[name], state.standing(BOOK), "")
                proposals = msgspec.structs.replace(
                    right.proposals, next=msgspec.structs.replace(wrong, changes=(), cautions=())
                )
                return msgspec.structs.replace(right, proposals=proposals)

            monkeypatch.setattr(diagnosis, "remembered", propose)

        return make

    def test_it_is_counted(self, careless: Callable[[str], None]) -> None:
        """Every time that the step is put."""
        assert interview(Engine(BOOK), fault("bulb"), 0.0).violations == ()
        careless("look-at-bulb")
        result = interview(Engine(BOOK), fault("bulb"), 0.0)
        wrong = "check look-at-bulb: out of state: cover is closed, needed is open"
        assert result.violations.count(wrong) == len(result.log) > MOST_PROMPTS / 2
        assert result.end == "undecided"
