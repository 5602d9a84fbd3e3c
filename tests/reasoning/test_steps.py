"""What a step needs of the plant, the person and the data sheet, and the cautions that it brings up."""

from __future__ import annotations

import pytest

from diagnose.observations import State
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.proposal import proposal_for
from diagnose.reasoning.steps import way_to
from diagnose.rule_book.plant import PlantState, StateChange
from tests.reasoning.books import book, caution, real_rule_book, state, yes_or_no


def change(start: str, end: str, minutes: float) -> StateChange:
    """Return a change of the line."""
    return StateChange(from_=start, to=end, minutes=minutes, steps=("Do it.",), competence="skilled", meets=("wet",))


LINE = PlantState(
    id="line",
    title="line",
    order=3,
    values=("flowing", "stopped", "drained"),
    initial="flowing",
    changes=(
        change("flowing", "stopped", 10),
        change("flowing", "drained", 45),
        change("stopped", "flowing", 5),
        change("stopped", "drained", 35),
        change("drained", "flowing", 20),
        change("drained", "stopped", 15),
    ),
)
BOOK = book(
    state("supply", 1, "live", "isolated"),
    state("cover", 2, "closed", "open", minutes=4),
    LINE,
    caution("shock", {"supply": ("live",), "cover": ("open",)}, signal="danger"),
    caution("spark", {"gas": ("yes",), "cover": ("open",)}, forbids=({"gas": ("yes",), "meets": ("flame",)},)),
    caution("burn", {"meets": ("flame",)}, signal="caution"),
    caution("acid", {"liquid": ("acid",), "place": ("pit",), "meets": ("wet",)}, signal="danger"),
)
AT_START = {"supply": "live", "cover": "closed", "line": "flowing"}


def changes(standing: dict[str, str], **needs: tuple[str, ...]) -> list[tuple[str, str]]:
    """Return the changes on the way, in order."""
    return [(each.state, each.change.to) for each in way_to(BOOK, standing, needs).changes]


class TestWay:
    """The changes that bring the plant to where a step needs it."""

    def test_the_supply_goes_off_before_the_cover_is_opened(self) -> None:
        """Away from the start in the order of the states, whatever order the step names them in."""
        assert changes(AT_START, cover=("open",), supply=("isolated",)) == [("supply", "isolated"), ("cover", "open")]

    def test_the_cover_is_closed_before_the_supply_comes_back(self) -> None:
        """Back to the start in the opposite order."""
        opened = {**AT_START, "supply": "isolated", "cover": "open"}
        assert changes(opened, supply=("live",), cover=("closed",)) == [("cover", "closed"), ("supply", "live")]

    def test_what_the_real_states_ask_for(self) -> None:
        """On the real rule book: off, then drained, then open; and all of it backwards."""
        rule_book = real_rule_book()
        start = State().standing(rule_book)
        needs = {"enclosure": ("open",), "line": ("drained",), "supply": ("isolated",)}
        out = way_to(rule_book, start, needs)
        assert [each.state for each in out.changes] == ["supply", "line", "enclosure", "conductors"]
        back = way_to(rule_book, out.standing, {name: (value,) for name, value in start.items()})
        assert [each.state for each in back.changes] == ["conductors", "enclosure", "line", "supply"]
        assert back.standing == start

    def test_the_cheapest_of_several_values_is_taken(self) -> None:
        """A step that is content with stopped or drained does not drain; one already drained stays so."""
        way = way_to(BOOK, AT_START, {"line": ("drained", "stopped")})
        assert (way.standing["line"], way.minutes) == ("stopped", 10)
        drained = way_to(BOOK, {**AT_START, "line": "drained"}, {"line": ("drained", "stopped")})
        assert (drained.changes, drained.minutes) == ((), 0)

    def test_nothing_to_do_where_the_plant_stands_right(self) -> None:
        """A step without needs, or with its needs met, changes nothing."""
        assert way_to(BOOK, AT_START, {}).changes == ()
        assert changes({**AT_START, "supply": "isolated"}, supply=("isolated",)) == []


PROVED = book(
    state("supply", 1, "live", "isolated"),
    state("cover", 2, "closed", "open", minutes=4),
    state(
        "proof",
        3,
        "none",
        "dead",
        minutes=6,
        goes_with={"dead": {"supply": ("isolated",), "cover": ("open",)}},
    ),
    LINE,
)


class TestGoesWith:
    """A value that goes with how other states stand: not without them, and nothing is done there without it."""

    def way(self, needs: dict[str, tuple[str, ...]], **stands: str) -> list[tuple[str, str]]:
        """Return the changes on the way, from the start but for what is said."""
        start = {"supply": "live", "cover": "closed", "proof": "none", "line": "flowing", **stands}
        return [(each.state, each.change.to) for each in way_to(PROVED, start, needs).changes]

    def test_it_is_reached_with_them(self) -> None:
        """After them, also where only one was still missing, or none."""
        both = {"supply": ("isolated",), "cover": ("open",)}
        assert self.way(both) == [("supply", "isolated"), ("cover", "open"), ("proof", "dead")]
        assert self.way(both, cover="open") == [("supply", "isolated"), ("proof", "dead")]
        assert self.way(both, cover="open", supply="isolated") == [("proof", "dead")]
        assert self.way({"cover": ("open",)}, supply="isolated") == [("cover", "open"), ("proof", "dead")]

    def test_whoever_wants_it_gets_them(self) -> None:
        """A step that says only this."""
        assert self.way({"proof": ("dead",)}) == [("supply", "isolated"), ("cover", "open"), ("proof", "dead")]

    def test_it_is_given_up_first_when_one_of_them_ends(self) -> None:
        """Nothing counts as proved that is fed again, or shut."""
        dead = {"supply": "isolated", "cover": "open", "proof": "dead"}
        assert self.way({"cover": ("closed",)}, **dead) == [("proof", "none"), ("cover", "closed")]
        assert self.way({"supply": ("live",)}, **dead) == [("proof", "none"), ("supply", "live")]

    def test_it_does_not_matter_to_a_step_that_has_nothing_to_do_with_them(self) -> None:
        """Stopping the line beside an open cover proves nothing, and gives nothing up."""
        assert self.way({"line": ("stopped",)}, supply="isolated", cover="open") == [("line", "stopped")]
        assert self.way({"supply": ("isolated",)}) == [("supply", "isolated")]

    def test_what_cannot_hold_counts_as_at_the_start(self) -> None:
        """Whatever somebody says, or a case from before holds."""
        said = State(plant={"proof": "dead", "cover": "open"}).standing(PROVED)
        assert said == {"supply": "live", "cover": "open", "proof": "none", "line": "flowing"}


class TestCompetence:
    """Who may do a step, changes on the way included."""

    def test_the_changes_count_as_well(self) -> None:
        """Looking is for anybody; draining first is for a skilled person."""
        step = yes_or_no("look", "f")
        assert Dangers(BOOK, {}).competence(step, way_to(BOOK, AT_START, {})) == "ordinary"
        assert Dangers(BOOK, {}).competence(step, way_to(BOOK, AT_START, {"cover": ("open",)})) == "instructed"
        assert Dangers(BOOK, {}).competence(step, way_to(BOOK, AT_START, {"line": ("drained",)})) == "skilled"

    @pytest.mark.parametrize(
        ("standing", "sheet", "who"),
        [
            ({"supply": "live"}, {}, "skilled"),
            ({"supply": "live"}, {"bare": "yes"}, "skilled"),
            ({"supply": "live"}, {"bare": "no"}, "ordinary"),
            ({"supply": "isolated"}, {"bare": "yes"}, "ordinary"),
        ],
        ids=["nobody knows", "exposed", "covered", "switched off"],
    )
    def test_competence_follows_what_is_exposed(self, standing: dict, sheet: dict, who: str) -> None:
        """Whatever the step says; and only for a step that has to do with it."""
        bare = ({"supply": ("live",), "cover": ("open",), "bare": ("yes",)},)
        shock = caution("shock", *bare, signal="danger", least_competence={"skilled": bare})
        exposing = book(state("supply", 1, "live", "isolated"), state("cover", 2, "closed", "open"), shock)
        stands = {"cover": "open", **standing}
        look = yes_or_no("look", "f", needs={"cover": ("open",)})
        assert Dangers(exposing, sheet).competence(look, way_to(exposing, stands, look.needs)) == who
        asked = yes_or_no("ask", "f")
        assert Dangers(exposing, sheet).competence(asked, way_to(exposing, stands, {})) == "ordinary"

    def test_not_allowed_beyond_the_persons_competence(self) -> None:
        """Once somebody else has drained the line, the same step is for anybody."""
        step = yes_or_no("look", "f", needs={"line": ("drained",)})
        assert Dangers(BOOK, {}).allowed(step, State(competence="instructed")) is None
        assert Dangers(BOOK, {}).allowed(step, State(competence="skilled")) is not None
        assert Dangers(BOOK, {}).allowed(step, State(competence="ordinary", plant={"line": "drained"})) is not None

    @pytest.mark.parametrize(
        ("state", "sheet"),
        [
            (State(set_aside=("look",)), {}),
            (State(missing_tools=("torch",)), {}),
            (State(), {"build": "compact"}),
            (State(), {"lamp": "none"}),
        ],
        ids=["set aside", "no tool", "does not apply", "not when"],
    )
    def test_what_takes_a_step_out(self, state: State, sheet: dict[str, str]) -> None:
        """Set aside, without its tool, for another build, or out of place by the data sheet."""
        step = yes_or_no("look", "f", tools=("torch",), applies={"build": ("remote",)}, not_when={"lamp": ("none",)})
        assert Dangers(BOOK, {}).allowed(step, State()) is not None
        assert Dangers(BOOK, sheet).allowed(step, state) is None


class TestForbidden:
    """What a caution forbids for certain."""

    def test_only_by_what_the_data_sheet_says(self) -> None:
        """Forbidden where there is gas; not where there is none or nobody knows."""
        step = yes_or_no("heat", "f", meets=("flame",))
        way = way_to(BOOK, AT_START, {})
        assert Dangers(BOOK, {"gas": "yes"}).forbidden(step, way)
        assert not Dangers(BOOK, {"gas": "no"}).forbidden(step, way)
        assert not Dangers(BOOK, {}).forbidden(step, way)
        assert Dangers(BOOK, {"gas": "yes"}).allowed(step, State()) is None

    def test_not_opened_live_in_a_hazardous_area(self) -> None:
        """On the real rule book, by IEC 60079: what needs both is never allowed."""
        rule_book = real_rule_book()
        both = yes_or_no("look-in", "f", needs={"enclosure": ("open",), "supply": ("live",)})
        assert Dangers(rule_book, {"hazardous-area": "yes"}).allowed(both, State()) is None
        assert Dangers(rule_book, {"hazardous-area": "no"}).allowed(both, State()) is not None

    def test_what_a_step_leaves_open_is_changed_where_that_lifts_a_ban(self) -> None:
        """On the real rule book: opened only isolated, and live again only with the cover shut; elsewhere as it is."""
        rule_book = real_rule_book()
        look = yes_or_no("look-in", "f", needs={"enclosure": ("open",)})
        there = Dangers(rule_book, {"hazardous-area": "yes"}).allowed(look, State())
        elsewhere = Dangers(rule_book, {"hazardous-area": "no"}).allowed(look, State())
        assert there is not None
        assert elsewhere is not None
        assert (there.standing["supply"], elsewhere.standing["supply"]) == ("isolated", "live")
        assert Dangers(rule_book, {"hazardous-area": "yes"}).allowed(look, State(competence="instructed")) is None
        isolated = State(plant={"supply": "isolated", "enclosure": "open"})
        back_on = Dangers(rule_book, {"hazardous-area": "yes"}).allowed(
            yes_or_no("watch", "f", needs={"supply": ("live",)}), isolated
        )
        assert back_on is not None
        assert back_on.standing["enclosure"] == "closed"


class TestCautions:
    """What comes up before a step."""

    def raised(self, step_needs: dict, sheet: dict, *meets: str) -> dict[str, tuple[str, ...]]:
        """Return the cautions that come up, with the fields on which they hang."""
        step = yes_or_no("look", "f", meets=meets, needs=step_needs)
        found = Dangers(BOOK, sheet).raised(step, way_to(BOOK, AT_START, step_needs))
        return {each.caution.id: each.unless for each in found}

    def test_those_on_the_way_before_those_of_the_step(self) -> None:
        """As they bite: what isolating brings up, then what opening does, then what the step does."""
        rule_book = book(
            state("supply", 1, "live", "isolated"),
            state("cover", 2, "closed", "open"),
            caution("a-tool", {"meets": ("tool",)}, signal="danger"),
            caution("b-open", {"supply": ("isolated",), "cover": ("open",)}, signal="danger"),
            caution("c-dead", {"supply": ("isolated",)}, signal="danger"),
        )
        needs = {"supply": ("isolated",), "cover": ("open",)}
        step = yes_or_no("look", "f", needs=needs, meets=("tool",))
        way = way_to(rule_book, {"supply": "live", "cover": "closed"}, needs)
        raised = Dangers(rule_book, {}).raised(step, way)
        assert [(each.caution.id, each.bites) for each in raised] == [("c-dead", 0), ("b-open", 1), ("a-tool", 2)]
        there = Dangers(rule_book, {}).raised(step, way_to(rule_book, way.standing, needs))
        assert {each.bites for each in there} == {0}  # nothing is changed: the step itself brings them up
        put = proposal_for(Dangers(rule_book, {}), "check", step, {"supply": "live", "cover": "closed"}, "")
        assert put.anew == ("c-dead", "b-open")

    def test_grave_and_certain_first(self) -> None:
        """Before those that hang on what nobody knows, however early these bite."""
        raised = list(self.raised({"line": ("drained",)}, {}, "flame"))
        assert raised == ["acid", "burn"]
        assert list(self.raised({"cover": ("open",)}, {}, "wet")) == ["shock", "spark", "acid"]

    def test_gravest_first(self) -> None:
        """Danger before warning before caution, where they bite together."""
        assert list(self.raised({"cover": ("open",)}, {"gas": "yes"}, "flame")) == ["shock", "spark", "burn"]

    def test_a_state_brings_its_caution_up(self) -> None:
        """Open and live is a shock; open and isolated is not."""
        assert "shock" in self.raised({"cover": ("open",)}, {})
        assert "shock" not in self.raised({"cover": ("open",), "supply": ("isolated",)}, {})

    def test_how_the_plant_stands_matters_only_to_a_step_that_has_to_do_with_it(self) -> None:
        """A question asked beside a cover that stands open live brings up nothing; looking into it does."""
        standing = {**AT_START, "cover": "open"}
        question = yes_or_no("ask", "f")
        assert Dangers(BOOK, {}).raised(question, way_to(BOOK, standing, question.needs)) == ()
        look = yes_or_no("look", "f", needs={"cover": ("open",)})
        assert [each.caution.id for each in Dangers(BOOK, {}).raised(look, way_to(BOOK, standing, look.needs))] == [
            "shock",
            "spark",
        ]

    def test_what_a_change_on_the_way_meets_counts(self) -> None:
        """Draining meets liquid though the step itself does not say so."""
        assert "acid" in self.raised({"line": ("drained",)}, {"liquid": "acid", "place": "pit"})
        assert "acid" not in self.raised({}, {"liquid": "acid", "place": "pit"})

    def test_the_unknown_counts_as_possible_and_names_what_to_ask(self) -> None:
        """Each field that could still rule it out is named; one that does rules it out."""
        assert self.raised({}, {}, "wet") == {"acid": ("liquid", "place")}
        assert self.raised({}, {"place": "pit"}, "wet") == {"acid": ("liquid",)}
        assert self.raised({}, {"liquid": "acid", "place": "pit"}, "wet") == {"acid": ()}
        assert self.raised({}, {"liquid": "water"}, "wet") == {}


class TestExposure:
    """A step that exposes somebody counts as longer."""

    def minutes(self, before: dict[str, str], sheet: dict, **more: tuple) -> float:
        """Return the minutes of exposure of a step."""
        needs = more.pop("needs", {})
        step = yes_or_no("look", "f", needs=dict(needs), **more)
        already = Dangers(BOOK, sheet).raised_where_it_stands(before)
        return Dangers(BOOK, sheet).exposure_minutes(step, way_to(BOOK, before, step.needs), already)

    def test_the_gravest_caution_decides(self) -> None:
        """Opening live is a danger (20 minutes) beside a caution (2)."""
        assert self.minutes(AT_START, {}, needs=(("cover", ("open",)),), meets=("flame",)) == 20
        assert self.minutes(AT_START, {}, meets=("flame",)) == 2
        assert self.minutes(AT_START, {}) == 0

    def test_only_what_comes_up_for_certain_counts(self) -> None:
        """A caution that hangs on an unknown field costs nothing yet."""
        assert self.minutes(AT_START, {}, meets=("wet",)) == 0
        assert self.minutes(AT_START, {"liquid": "acid", "place": "pit"}, meets=("wet",)) == 20

    def test_what_stood_open_before_does_not_count_again(self) -> None:
        """With the cover open and live already, the next look costs no exposure."""
        assert self.minutes({**AT_START, "cover": "open"}, {}, needs=(("cover", ("open",)),)) == 0
