"""The order of isolation (EN 50110-1, from memory) and who may work where: by the states of the real rule book."""

from __future__ import annotations

import re
from itertools import product

import pytest

from diagnose.cases.events import Case
from diagnose.observations import FindingSeen, State
from diagnose.protocol import replies
from diagnose.protocol.prompts import QuestionPrompt
from diagnose.protocol.situation import Situation
from diagnose.protocol.step_replies import STEP_HANDLERS
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.diagnosis import diagnose
from diagnose.reasoning.proposal import proposal_for
from diagnose.reasoning.steps import standing_after, way_to
from diagnose.rule_book.plant import StateChange, as_it_can_stand
from diagnose.rule_book.work import Step
from tests.engines import real_engine
from tests.reasoning.books import real_rule_book, yes_or_no

BOOK = real_rule_book()
STEPS: dict[str, Step] = {
    **{f"check {each.id}": each for each in BOOK.checks.values()},
    **{f"remedy {each.id}": each for each in BOOK.remedies.values()},
}
START = State().standing(BOOK)
COVERED = ("finger-safe mains terminals", "mains in a compartment of its own")
DEAD_AND_OPEN = [
    each
    for each in STEPS.values()
    if (each.needs.get("supply"), each.needs.get("enclosure")) == (("isolated",), ("open",))
]
LIVE_AND_OPEN = [
    name
    for name, step in STEPS.items()
    if step.needs.get("enclosure") == ("open",) and step.needs.get("supply", ("live",)) == ("live",)
]
ALL_WAYS = list(product(*(each.values for each in BOOK.states.values())))
STANDINGS = [
    stands
    for values in ALL_WAYS
    if as_it_can_stand(BOOK.states, stands := dict(zip(BOOK.states, values, strict=True))) == stands
]


def change(state: str, to: str) -> StateChange:
    """Return the change that brings a state to a value."""
    return next(each for each in BOOK.states[state].changes if each.to == to)


def said(state: str, to: str) -> str:
    """Return what is said to be done at a change."""
    return " ".join(change(state, to).steps).lower()


class TestOrder:
    """Switched off and secured, opened as if live, proved dead: in no other order, from wherever the plant stands."""

    def test_from_the_start(self) -> None:
        """Off, open, proved; and backwards the proof is given up before the cover is shut and the supply is on."""
        out = way_to(BOOK, START, {"supply": ("isolated",), "enclosure": ("open",)})
        assert [(each.state, each.change.to) for each in out.changes] == [
            ("supply", "isolated"),
            ("enclosure", "open"),
            ("conductors", "proved dead"),
        ]
        back = way_to(BOOK, out.standing, {name: (value,) for name, value in START.items()})
        assert [each.state for each in back.changes] == ["conductors", "enclosure", "supply"]

    @pytest.mark.parametrize("standing", STANDINGS, ids=lambda each: ", ".join(each.values()))
    def test_no_step_touches_what_nobody_proved_dead(self, standing: dict[str, str]) -> None:
        """Every check and remedy that wants the supply off and the cover open has the conductors proved dead first."""
        assert len(DEAD_AND_OPEN) > 80
        for step in DEAD_AND_OPEN:
            way = Dangers(BOOK, {}).way(step, standing)
            assert way.standing["conductors"] == "proved dead", step.id
            stands = dict(standing)
            for each in way.changes:  # and nothing counts as proved dead while it cannot be
                stands[each.state] = each.change.to
                assert as_it_can_stand(BOOK.states, stands) == stands, step.id

    def test_what_is_switched_on_or_shut_is_not_proved_dead_any_more(self) -> None:
        """Whoever opens the cover again proves it again."""
        dead = {**START, "supply": "isolated", "enclosure": "open", "conductors": "proved dead"}
        assert way_to(BOOK, dead, {"enclosure": ("closed",)}).standing["conductors"] == "not proved dead"
        assert way_to(BOOK, dead, {"supply": ("live",)}).standing["conductors"] == "not proved dead"

    def test_in_an_explosive_atmosphere_it_is_off_before_it_is_opened(self) -> None:
        """As before, and proved dead as well."""
        look = yes_or_no("look-in", "f", needs={"enclosure": ("open",)})
        way = Dangers(BOOK, {"hazardous-area": "yes"}).allowed(look, State())
        assert way is not None
        assert [each.state for each in way.changes] == ["supply", "enclosure", "conductors"]

    def test_a_case_written_before_goes_on(self) -> None:
        """What an older case calls isolated and open is not proved dead: that comes first."""
        old = State(plant={"supply": "isolated", "enclosure": "open"}).standing(BOOK)
        assert old["conductors"] == "not proved dead"
        way = way_to(BOOK, old, {"supply": ("isolated",), "enclosure": ("open",)})
        assert [each.state for each in way.changes] == ["conductors"]
        lying = State(plant={"supply": "live", "conductors": "proved dead"}).standing(BOOK)
        assert lying["conductors"] == "not proved dead"


SWITCHES_ON = r"(?<!before )(?<!before you )\bswitch on\b"


class TestWhatAStepLeaves:
    """Some steps begin with the supply off and end with it on: what comes next must not take it for dead."""

    @pytest.mark.parametrize("name", STEPS)
    def test_what_switches_on_says_so(self, name: str) -> None:
        """A step at dead conductors that switches on leaves the supply live, or ends with isolating and proving."""
        step = STEPS[name]
        if step in DEAD_AND_OPEN and any(re.search(SWITCHES_ON, each, re.IGNORECASE) for each in step.steps):
            ends_dead = any("isolate and prove dead again" in each.lower() for each in step.steps[-2:])
            assert ends_dead or step.leaves.get("supply") == "live"

    def test_the_next_step_isolates_again(self) -> None:
        """After another display was tried with the supply on, nothing counts as isolated, open or proved dead."""
        step = BOOK.checks["swap-display"]
        after = standing_after(BOOK, step, Dangers(BOOK, {}).way(step, START))
        assert after == START
        way = Dangers(BOOK, {}).way(BOOK.checks["reseat-display"], after)
        assert [each.state for each in way.changes] == ["supply", "enclosure", "conductors"]

    def test_the_case_says_so_too(self) -> None:
        """What is answered at the step changes how the plant stands."""
        proposal = proposal_for(Dangers(BOOK, {}), "check", BOOK.checks["swap-display"], START, "")
        outcome = BOOK.checks["swap-display"].outcomes[0].answer
        prompt = QuestionPrompt(about="check", text="", options=(), proposal=proposal)
        situation = Situation(real_engine(), Case(name="swap"))
        turn = STEP_HANDLERS[replies.Outcome](situation, prompt, replies.Outcome(answer=outcome))
        told = Situation(real_engine(), Case(name="swap").after(*turn.events))
        assert told.plant == START


class TestWords:
    """What is said at each change."""

    def test_second_sources_are_named(self) -> None:
        """All that may feed a meter, beside its mains."""
        for each in ("uninterruptible supply", "battery", "solar panel", "loop", "bus", "pulse", "trace heating"):
            assert each in said("supply", "isolated")
        assert "all poles" in said("supply", "isolated")

    def test_nothing_is_proved_dead_through_a_closed_cover(self) -> None:
        """The change that switches off does not claim it; the one that opens says that all counts as live."""
        assert "nothing counts as dead until" in said("supply", "isolated")
        assert "treat everything behind the cover as live" in said("enclosure", "open")

    def test_the_proof(self) -> None:
        """Waiting time by kind of supply, tester before and after, every pair, circuits of others, earth, cover."""
        words = said("conductors", "proved dead")
        for each in ("1 minute", "extra-low", "5 for a mains", "15 where a frequency converter", "relay"):
            assert each in words
        assert change("conductors", "proved dead").competence == "skilled"

    @pytest.mark.parametrize(
        "name",
        [
            name
            for name, step in STEPS.items()
            if step.needs.get("supply") == ("isolated",) and "enclosure" not in step.needs
            if "cabinet-open" in step.meets and "reclosing" not in step.meets
        ],
    )
    def test_a_board_is_proved_dead_where_somebody_works(self, name: str) -> None:
        """The states stand for the meter; at a board the step itself says it."""
        assert "prove dead where you will work" in STEPS[name].steps[0]

    @pytest.mark.parametrize(
        "name",
        [
            "check look-into-bore",
            "remedy meter-too-large",
            "remedy magnetic-particles",
            "remedy liquid-too-hot-for-liner",
        ],
    )
    def test_a_meter_leaves_the_pipe_without_its_cables(self, name: str) -> None:
        """And they come off only when proved dead."""
        assert Dangers(BOOK, {}).way(STEPS[name], START).standing["conductors"] == "proved dead"


class TestWho:
    """Competence follows what is exposed."""

    def test_how_many_are_concerned(self) -> None:
        """Steps at an open, live meter that by themselves are not for skilled persons: the rule is no idle one."""
        less = [name for name in LIVE_AND_OPEN if STEPS[name].competence != "skilled"]
        assert len([name for name in less if name.startswith("check")]) >= 15
        assert len([name for name in less if name.startswith("remedy")]) >= 8

    @pytest.mark.parametrize("name", LIVE_AND_OPEN)
    @pytest.mark.parametrize("sheet", [{}, {"behind-cover": "bare mains terminals"}], ids=["unknown", "bare"])
    def test_bare_mains_is_for_skilled_persons(self, name: str, sheet: dict[str, str]) -> None:
        """Whatever the step says; what nobody knows counts as bare."""
        step = STEPS[name]
        assert Dangers(BOOK, sheet).competence(step, Dangers(BOOK, sheet).way(step, START)) == "skilled"
        assert Dangers(BOOK, sheet).allowed(step, State(competence="instructed")) is None

    @pytest.mark.parametrize("name", LIVE_AND_OPEN)
    @pytest.mark.parametrize("behind", [*COVERED, "extra-low voltage only"])
    def test_elsewhere_the_step_says_who(self, name: str, behind: str) -> None:
        """Finger-safe, in a compartment of its own, or no mains at all."""
        step, sheet = STEPS[name], {"behind-cover": behind}
        way = Dangers(BOOK, sheet).way(step, START)
        skilled = step.competence == "skilled" or "skilled" in {each.change.competence for each in way.changes}
        assert (Dangers(BOOK, sheet).competence(step, way) == "skilled") == skilled

    def test_with_extra_low_voltage_the_danger_of_mains_is_not_shown(self) -> None:
        """It is with every other answer, and as possible where nobody knows."""
        look = yes_or_no("look-in", "f", needs={"enclosure": ("open",), "supply": ("live",)})

        def shown(sheet: dict[str, str]) -> dict[str, tuple[str, ...]]:
            return dict(proposal_for(Dangers(BOOK, sheet), "check", look, START, "").cautions)

        assert shown({})["live-terminals"] == ("behind-cover",)
        for behind in ("bare mains terminals", *COVERED):
            assert shown({"behind-cover": behind})["live-terminals"] == ()
        assert "live-terminals" not in shown({"behind-cover": "extra-low voltage only"})

    def test_a_board_stays_a_danger(self) -> None:
        """Measured where the feed starts, mains is there whatever lies behind the meter's cover."""
        step, sheet = BOOK.checks["supply-voltage-at-source"], {"behind-cover": "extra-low voltage only"}
        proposal = proposal_for(Dangers(BOOK, sheet), "check", step, START, "")
        assert "live-terminals" in dict(proposal.cautions)
        assert proposal.competence == "skilled"

    def test_the_hand_over_fetches_somebody_for_the_way_as_well(self) -> None:
        """A remedy that by itself is for an instructed person, at a meter of which nobody knows what is exposed."""
        remedy = BOOK.remedies["output-needs-trim"]
        assert remedy.competence == "instructed"
        shows = BOOK.causes["output-needs-trim"].shows
        seen = tuple(FindingSeen(finding=name, present=True) for name, share in shows.items() if share >= 0.8)
        aside = tuple(name for name in BOOK.checks)
        state = State(competence="instructed", set_aside=aside)
        unknown = diagnose(real_engine(), {"output": ("4-20 mA",)}, seen, state).proposals.next
        assert (unknown.kind, unknown.id, unknown.competence) == ("escalate", remedy.id, "skilled")
        assert unknown.title.startswith("Fetch a skilled person")
        sheet = {"output": ("4-20 mA",), "behind-cover": "extra-low voltage only"}
        covered = diagnose(real_engine(), sheet, seen, state).proposals.next
        assert (covered.kind, covered.id, covered.competence) == ("remedy", remedy.id, "instructed")


SWITCHED_ON = [each for each in STEPS.values() if {"re-energising", "reclosing"} & set(each.meets)]


class TestSwitchingOn:
    """What was switched on is live in the case, closed, and by whom it may be."""

    @pytest.mark.parametrize("step", SWITCHED_ON, ids=lambda each: each.id)
    def test_it_ends_live_and_closed_unless_measured_at_open_terminals(self, step: Step) -> None:
        """Nobody is told that it is isolated and proved dead after switching it on, nor switches on an open meter."""
        ends = {**step.needs, **{state: (value,) for state, value in step.leaves.items()}}
        closed = (ends.get("supply"), ends.get("enclosure")) == (("live",), ("closed",))
        assert closed or "live-terminals" in step.meets

    @pytest.mark.parametrize("step", SWITCHED_ON, ids=lambda each: each.id)
    def test_what_was_isolated_or_tripped_is_switched_on_by_a_skilled_person(self, step: Step) -> None:
        """Only a running meter is switched off and on by an instructed one."""
        running = step.needs.get("supply") == ("live",) and "reclosing" not in step.meets
        assert running or step.competence == "skilled"

    def test_an_opened_meter_is_closed_before_its_supply_is_switched_on_at_the_board(self) -> None:
        """Open, isolated and proved dead: closed first, then switched on by the way that says how."""
        stands = {**START, "supply": "isolated", "enclosure": "open", "conductors": "proved dead"}
        remedy = BOOK.remedies["supply-off-upstream"]
        proposal = proposal_for(Dangers(BOOK, {}), "done", remedy, stands, "")
        named = [name for name, _ in proposal.changes]
        assert named.index("enclosure") < named.index("supply")
        assert "tripped-device" in dict(proposal.cautions)
