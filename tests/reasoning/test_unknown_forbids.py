"""What nobody knows forbids what one of its words would: asked for first, then counted as the worst."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.authoring.safety_watch import Watch
from diagnose.observations import FindingSeen, State
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.diagnosis import diagnose
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.proposal import proposal_for
from diagnose.rule_book.quantities import DataSheet
from tests.authoring.invented import PLACE, lamp
from tests.reasoning.books import finding, real_rule_book, yes_or_no

SPARKING = yes_or_no("strike-a-match", "smells", not_when={"gas": ("yes",)}, minutes=0.1)
BOOK = lamp(PLACE, SPARKING, finding("smells"))
START = {"supply": "live", "cover": "closed"}
DARK = (FindingSeen(finding="dark", present=True),)
OPEN_LIVE = yes_or_no("look-in-live", "f", needs={"cover": ("open",), "supply": ("live",)})


class TestOneStep:
    """What a step hangs on, and when it is forbidden."""

    @pytest.mark.parametrize("step", [SPARKING, OPEN_LIVE], ids=lambda each: each.id)
    def test_asked_for_then_forbidden(self, step: Any) -> None:
        """By what it says itself, or by a ban of a caution: before anybody was asked it hangs on the field."""
        before, after = Dangers(BOOK, {}), Dangers(BOOK, {}, ("gas",))
        way = before.allowed(step, State())
        assert way is not None
        assert before.hangs_on(step, way) == (("gas", ("yes",)),)
        assert after.allowed(step, State()) is None
        assert proposal_for(before, "check", step, START, "").hangs_on == (("gas", ("yes",)),)

    @pytest.mark.parametrize("step", [SPARKING, OPEN_LIVE], ids=lambda each: each.id)
    def test_known(self, step: Any) -> None:
        """Whoever knows it is not asked, and what was blank once and is known now counts."""
        safe = Dangers(BOOK, {"gas": "no"}, ("gas",))
        way = safe.allowed(step, State())
        assert way is not None
        assert safe.hangs_on(step, way) == ()
        assert Dangers(BOOK, {"gas": "yes"}).allowed(step, State()) is None

    def test_another_way_round_a_ban(self) -> None:
        """With the supply off first nothing is forbidden, so nothing hangs on the field."""
        look = yes_or_no("look-in", "f", needs={"cover": ("open",)})
        way = Dangers(BOOK, {}, ("gas",)).allowed(look, State())
        assert way is not None
        assert way.standing["supply"] == "isolated"

    @settings(max_examples=60, deadline=None)
    @given(data=st.data())
    def test_nothing_comes_back_by_not_knowing(self, data: Any) -> None:
        """On the shipped book: what is allowed where a field is unknown is allowed by every word of it, in that way."""
        book = real_rule_book()
        field = data.draw(st.sampled_from(sorted(book.forbidding_fields())))
        step = data.draw(st.sampled_from([*book.checks.values(), *book.remedies.values()]))
        unknown = Dangers(book, {}, book.forbidding_fields())
        way = unknown.allowed(step, State())
        if way is None:
            return
        for word in book.quantities[field].choices:
            sheet: DataSheet = {field: (word,) if book.quantities[field].several else word}
            known = Dangers(book, sheet)
            assert known.in_place(step, State()) or field in step.applies, (step.id, field, word)
            assert not known.forbidden(step, way), (step.id, field, word)


class TestProposals:
    """What is proposed, and what is told of the rest."""

    def proposed(self, *not_known: str, **sheet: str) -> Any:
        """Return what is proposed for a dark lamp that smells perhaps."""
        return diagnose(Engine(BOOK), dict(sheet), DARK, State(not_known=not_known)).proposals

    def test_held_up_steps_are_named(self) -> None:
        """They are no part of what may be chosen; once it is known, nothing is held up."""
        book = lamp(SPARKING, finding("smells"), yes_or_no("burn", "filament-broken", not_when={"gas": ("yes",)}))
        engine = Engine(book)
        held = diagnose(engine, {}, DARK, State(not_known=("gas",))).proposals
        assert [(each.step, each.fields) for each in held.held_up] == [("burn", ("gas",))]
        assert "burn" not in {each.id for each in held.checks}
        for sheet in ({"gas": "no"}, {"gas": "yes"}):
            assert diagnose(engine, sheet, DARK, State(not_known=("gas",))).proposals.held_up == ()

    def test_a_field_that_forbids_nothing(self) -> None:
        """Not to know where the lamp stands changes nothing."""
        assert self.proposed("place") == self.proposed()

    def test_costs_follow_what_nobody_knows(self) -> None:
        """An engine remembers costs; it does not take those of somebody who knew more."""
        engine = Engine(BOOK)
        before = engine.costs({}, State())
        after = engine.costs({}, State(not_known=("gas",)))
        start = before.number(START), after.number(START)
        assert before.of(SPARKING, start[0]).allowed
        assert not after.of(SPARKING, start[1]).allowed


def test_never_a_dead_end() -> None:
    """Where every remedy is held up somebody is fetched, and told why."""
    parts = {name: BOOK.remedies[name] for name in ("bulb", "feed", "ballast")}
    held = [msgspec.structs.replace(each, not_when={"gas": ("yes",)}) for each in parts.values()]
    proposals = diagnose(Engine(lamp(*held)), {}, DARK, State(not_known=("gas",))).proposals
    told = (
        *DARK,
        FindingSeen(finding="filament-broken", present=True),
        FindingSeen(finding="feed-dead", present=False),
    )
    assert proposals.next.kind in ("check", "escalate")
    after = diagnose(Engine(lamp(*held)), {}, told, State(not_known=("gas",), set_aside=("ask",))).proposals
    assert after.next.kind == "escalate"
    assert after.next.because == "“put bulb right” is left out as long as nobody can say: gas"


def test_the_judge_sees_it_by_itself() -> None:
    """A step that an unknown field may forbid is never rightly shown to somebody; a known one may be."""
    for step in (SPARKING, OPEN_LIVE):
        for sheet, wrong in (({}, True), ({"gas": "no"}, False), ({"gas": "yes"}, True)):
            proposal = proposal_for(Dangers(BOOK, {}), "check", step, START, "")
            watch = Watch(BOOK, sheet, "skilled", unknown_counts=True)
            kinds = {each.kind for each in watch.violations(START, proposal, step)}
            assert ("forbidden" in kinds) == wrong, (step.id, sheet)
