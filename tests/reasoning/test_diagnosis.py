"""The pure function as a whole: safe proposals whatever is answered, and what it says beside the ranking."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import pytest

from diagnose.observations import CheckDone, FindingSeen, Measurement, Observation, RemedyTried, State
from diagnose.reasoning.diagnosis import CONFLICT_BITS, Diagnosis, diagnose
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.posterior import MOST_PRESENT
from diagnose.reasoning.proposal import Proposal
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import COMPETENCES
from diagnose.rule_book.quantities import DataSheet, Limit, Quantity
from diagnose.rule_book.work import Step
from tests.engines import real_engine
from tests.reasoning.books import book, cause, caution, finding, real_rule_book, remedy, yes_or_no

WALKS, STEPS = 16, 6


def seen(name: str, present: bool = True) -> FindingSeen:
    """Return an observation of a finding."""
    return FindingSeen(finding=name, present=present)


class TestLimits:
    """Readings of which only one side is known go through the whole diagnosis of the real rule book."""

    def test_any_limits_of_any_quantities_give_a_diagnosis(self) -> None:
        """Nothing is worked out from them, nothing fails, and what is shown of them is in words."""
        rule_book, random = real_rule_book(), np.random.default_rng(7)
        measured = [each for each in rule_book.quantities.values() if each.plausible and not each.where_to_find]
        for _ in range(8):
            observations, sheet = [], {}
            for quantity in measured:
                if random.random() < 0.4 and quantity.plausible:
                    low, high = quantity.plausible
                    bound = high if random.random() < 0.3 else low + (high - low) * float(random.random()) ** 6
                    limit = Limit(bound, "above" if random.random() < 0.5 else "below")
                    if quantity.on_data_sheet:
                        sheet[quantity.id] = limit
                    else:
                        observations.append(Measurement(quantity=quantity.id, value=limit))
            diagnosis = diagnose(real_engine(), sheet, tuple(observations), State())
            assert abs(sum(each.probability for each in diagnosis.causes)) > 0.5
            assert {each.quantity for each in observations} <= diagnosis.values.keys()

    def test_an_open_coil_is_found_from_over_range_and_the_reason_says_so(self) -> None:
        """`OL` at the coil makes the same finding as two megohms, and stands in the reasons."""
        over = Limit(1e9, "above")
        diagnosis = diagnose(real_engine(), {}, (Measurement(quantity="coil-resistance", value=over),), State())
        assert diagnosis.findings["coil-circuit-open"] is True
        assert diagnosis.findings["coil-circuit-shorted"] is False
        origins = [reason.origin for cause in diagnosis.causes for reason in cause.supporting]
        assert any("resistance of the coil circuit over range" in each for each in origins)


class TestSafety:
    """Random sessions over the real rule book; every proposal of every diagnosis is held against the rules of safety.

    The walks share one generator with a fixed start, so that a failure can be had again.
    """

    def test_no_proposal_is_unsafe(self) -> None:
        """Within competence and tools, nothing set aside or forbidden, every hazard with its caution."""
        random = np.random.default_rng(31)
        looked_at = 0
        for _ in range(WALKS):
            for sheet, state, diagnosis in walk(random):
                for proposal in proposed(diagnosis):
                    looked_at += 1
                    wrong = unsafe(real_rule_book(), proposal, sheet, state)
                    assert not wrong, (wrong, proposal, sheet, state)
        assert looked_at > 10 * WALKS

    @pytest.mark.parametrize("competence", COMPETENCES)
    def test_in_a_hazardous_area_nothing_is_opened_live_and_nothing_megged(self, competence: str) -> None:
        """By IEC 60079: neither from closed and live, nor when somebody left it isolated and open."""
        rule_book, sheet = real_rule_book(), {"hazardous-area": "yes"}
        random = np.random.default_rng(5)
        symptoms = [each.id for each in rule_book.findings.values() if each.complaint]
        for _ in range(12):
            plant = {"supply": "isolated", "enclosure": "open"} if random.random() < 0.5 else {}
            state = State(competence=competence, plant=plant)
            said = tuple(seen(str(name)) for name in random.choice(symptoms, 2, replace=False))
            for proposal in proposed(diagnose(real_engine(), sheet, said, state)):
                step = step_of(rule_book, proposal)
                assert "insulation-tester" not in hazards(rule_book, proposal, step)
                stands = standing_after(proposal)
                if {"enclosure", "supply"} & step.needs.keys():
                    assert (stands["enclosure"], stands["supply"]) != ("open", "live"), proposal


def walk(random: np.random.Generator) -> Iterator[tuple[DataSheet, State, Diagnosis]]:
    """Yield a session of random answers to what is proposed, on a random meter by a random person."""
    rule_book = real_rule_book()
    sheet = random_sheet(rule_book, random)
    tools = sorted({tool for check in rule_book.checks.values() for tool in check.tools})
    plant: dict[str, str] = {}
    if random.random() < 0.5:
        plant = {name: str(random.choice(each.values)) for name, each in rule_book.states.items()}
    state = State(
        plant=plant,
        competence=str(random.choice(COMPETENCES)),  # type: ignore[arg-type]
        missing_tools=tuple(str(tool) for tool in random.choice(tools, random.integers(0, 6), replace=False)),
        set_aside=tuple(str(each) for each in random.choice(list(rule_book.checks), 5, replace=False)),
    )
    complaints = [each.id for each in rule_book.findings.values() if each.complaint]
    said: list[Observation] = [seen(str(name)) for name in random.choice(complaints, random.integers(0, 3))]
    for _ in range(STEPS):
        diagnosis = diagnose(real_engine(), sheet, tuple(said), state)
        yield sheet, state, diagnosis
        steps = [each for each in proposed(diagnosis) if each.id in rule_book.checks or each.id in rule_book.remedies]
        if not steps:
            return
        chosen = steps[int(random.integers(min(len(steps), 4)))]
        said.append(random_answer(rule_book, chosen, random))
        state = State(
            plant=standing_after(chosen),
            competence=state.competence,
            missing_tools=state.missing_tools,
            set_aside=(*state.set_aside, chosen.id) if random.random() < 0.3 else state.set_aside,
        )


def random_sheet(rule_book: RuleBook, random: np.random.Generator) -> DataSheet:
    """Return about half of the fields; a hazardous area in one of three sheets."""
    sheet: DataSheet = {}
    for name, field in rule_book.data_sheet_fields().items():
        if random.random() < 0.5:
            continue
        if field.choices:
            word = str(random.choice(field.choices))
            sheet[name] = (word,) if field.several else word
        else:
            low, high = field.plausible or (0.0, 1.0)
            sheet[name] = float(random.uniform(low, high))
    if random.random() < 0.34:
        sheet["hazardous-area"] = "yes"
    return sheet


def random_answer(rule_book: RuleBook, proposal: Proposal, random: np.random.Generator) -> Observation:
    """Return some answer to a step."""
    if proposal.kind == "remedy":
        verdict = str(random.choice(["not cured", "not cured", "partly"]))
        return RemedyTried(remedy=proposal.id, verdict=verdict)  # type: ignore[arg-type]
    check = rule_book.checks[proposal.id]
    if check.outcomes:
        return CheckDone(check=check.id, answer=check.outcomes[int(random.integers(len(check.outcomes)))].answer)
    quantity = rule_book.quantities[check.measures]
    if quantity.choices:
        return Measurement(quantity=quantity.id, value=str(random.choice(quantity.choices)))
    low, high = quantity.plausible or (0.0, 1.0)
    return Measurement(quantity=quantity.id, value=float(low + (high - low) * random.random() ** 4))


def proposed(diagnosis: Diagnosis) -> list[Proposal]:
    """Return every step that somebody is invited to do, or may choose."""
    proposals = diagnosis.proposals
    chosen = [proposals.next] if proposals.next.kind in ("check", "remedy") else []
    return [*chosen, *proposals.checks, *proposals.remedies]


def step_of(rule_book: RuleBook, proposal: Proposal) -> Step:
    """Return the check or remedy that is proposed."""
    return rule_book.checks[proposal.id] if proposal.kind == "check" else rule_book.remedies[proposal.id]


def standing_after(proposal: Proposal) -> dict[str, str]:
    """Return how the plant stands when the step is done."""
    return {**proposal.standing, **dict(proposal.changes)}


def hazards(rule_book: RuleBook, proposal: Proposal, step: Step) -> set[str]:
    """Return the hazards of the step and of the changes before it, read from the rule book afresh."""
    found = set(step.meets)
    for name, value in proposal.changes:
        for each in rule_book.states[name].changes:
            if (each.from_, each.to) == (proposal.standing[name], value):
                found |= set(each.meets)
    return found


def needed_competence(rule_book: RuleBook, proposal: Proposal, step: Step) -> int:
    """Return the rank of the competence that the step and the changes before it need."""
    ranks = [COMPETENCES.index(step.competence)]
    for name, value in proposal.changes:
        for each in rule_book.states[name].changes:
            if (each.from_, each.to) == (proposal.standing[name], value):
                ranks.append(COMPETENCES.index(each.competence))
    return max(ranks)


def unsafe(rule_book: RuleBook, proposal: Proposal, sheet: DataSheet, state: State) -> list[str]:
    """Return what is wrong with a proposal."""
    step, stands = step_of(rule_book, proposal), standing_after(proposal)
    met, wrong = hazards(rule_book, proposal, step), []
    person = COMPETENCES.index(state.competence)
    hazardous = sheet.get("hazardous-area") == "yes"
    touches = bool({"enclosure", "supply"} & step.needs.keys())
    open_and_live = touches and (stands["enclosure"], stands["supply"]) == ("open", "live")
    rules = {
        "beyond the person's competence": needed_competence(rule_book, proposal, step) > person,
        "a tool is missing": bool(set(step.tools) & set(state.missing_tools)),
        "was set aside": step.id in state.set_aside,
        "the plant does not stand as the step needs": any(stands[n] not in v for n, v in step.needs.items()),
        "opened live in a hazardous area": hazardous and open_and_live,
        "insulation tester in a hazardous area": hazardous and "insulation-tester" in met,
        "live terminals in a hazardous area": hazardous and "live-terminals" in met,
        "opened live by an ordinary person": person == 0 and open_and_live,
        "insulation tester on a live supply": "insulation-tester" in met and stands["supply"] != "isolated",
    }
    wrong += [rule for rule, broken in rules.items() if broken]
    raised = dict(proposal.cautions)
    for each in rule_book.cautions.values():
        told = {name: value if isinstance(value, tuple) else (value,) for name, value in sheet.items()}
        if any(name in told and set(told[name]) <= set(words) for name, words in each.falls_away.items()):
            continue
        for item in each.comes_up:
            if set(item) == {"meets"} and met & set(item["meets"]) and each.id not in raised:
                wrong.append(f"no caution {each.id}")
    return wrong


class TestEveryHazardHasACaution:
    """The rule book itself."""

    def test_every_hazard_word_brings_up_a_caution(self) -> None:
        """A hazard that a step or a change of state meets is never without a caution."""
        rule_book = real_rule_book()
        steps: list[Step] = [*rule_book.checks.values(), *rule_book.remedies.values()]
        met = {word for step in steps for word in step.meets}
        met |= {word for state in rule_book.states.values() for each in state.changes for word in each.meets}
        warned = {
            word for each in rule_book.cautions.values() for item in each.comes_up for word in item.get("meets", ())
        }
        assert met <= warned

    def test_every_insulation_tester_needs_the_supply_isolated(self) -> None:
        """In every check and remedy that names the tool or meets the hazard."""
        rule_book = real_rule_book()
        steps: list[Step] = [*rule_book.checks.values(), *rule_book.remedies.values()]
        tests = [each for each in steps if "insulation tester" in each.tools or "insulation-tester" in each.meets]
        assert tests
        assert [each.id for each in tests if each.needs.get("supply") != ("isolated",)] == []

    def test_every_step_with_the_insulation_tester_meets_its_hazard(self) -> None:
        """Else it would be proposed in a hazardous area, and without its caution."""
        rule_book = real_rule_book()
        steps: list[Step] = [*rule_book.checks.values(), *rule_book.remedies.values()]
        named = [each for each in steps if "insulation tester" in each.tools]
        assert [each.id for each in named if "insulation-tester" not in each.meets] == []


class TestWhatElseItSays:
    """Conflict, unexplained findings, the most probable combination, alternatives, messages."""

    BOOK = book(
        *(finding(name) for name in ("a", "b")),
        finding("odd", kind="symptom"),
        finding("plastic-pipe", kind="result"),
        finding("since-the-storm", kind="history"),
        finding("high", alternatives="deviation"),
        finding("low", alternatives="deviation", leak=1e-4),
        cause("one", {"a": 0.9, "b": 0.9, "high": 0.8}),
        cause("two", {"low": 0.8}),
        *(cause(f"other-{number}", {"low": 0.1}) for number in range(20)),
        yes_or_no("look", "b"),
    )
    ENGINE = Engine(BOOK)

    def said(self, *observations: Observation) -> Diagnosis:
        """Return the diagnosis."""
        return diagnose(self.ENGINE, {}, observations, State())

    def test_findings_of_one_cause_fit_together(self) -> None:
        """Jensen's conflict is below zero: together they are more probable than by chance."""
        assert self.said(seen("a"), seen("b")).conflict < 0

    def test_a_finding_without_the_one_that_goes_with_it_conflicts(self) -> None:
        """One without the other, though their cause shows both, is less probable than by chance."""
        assert self.said(seen("a"), seen("b", False)).conflict > 0

    def test_conflict_in_bits_from_its_definition(self) -> None:
        """log2 of P(a) P(b) over P(a, b), by the probabilities that the diagnosis rests on."""
        both, alone = self.said(seen("a"), seen("b")).conflict, self.said(seen("a")).conflict
        assert alone == pytest.approx(0, abs=1e-6)
        assert both == pytest.approx(-3.2, abs=1.5)
        assert both < -1 < CONFLICT_BITS

    def test_nobody_said_anything(self) -> None:
        """The ranking is that of the shares, nothing is unexplained and nothing conflicts."""
        nothing = self.said()
        assert (nothing.findings, nothing.unexplained, nothing.conflict) == ({}, (), 0)
        assert nothing.probability("one") == pytest.approx(nothing.probability("two"))

    def test_a_finding_that_no_cause_shows_is_unexplained(self) -> None:
        """And only that one."""
        assert self.said(seen("odd"), seen("a")).unexplained == ("odd",)

    def test_what_is_no_complaint_needs_no_explanation(self) -> None:
        """When it began, or how the meter is built, is no symptom, though no cause shows it."""
        assert self.said(seen("plastic-pipe"), seen("since-the-storm"), seen("a")).unexplained == ()

    def test_the_most_probable_combination(self) -> None:
        """Two findings of two causes that share none make a pair; one finding makes one cause."""
        assert self.said(seen("a"), seen("b")).combination == ("one",)
        assert self.said(seen("a"), seen("b"), seen("low")).combination == ("one", "two")

    def test_an_alternative_that_is_absent_says_nothing_of_its_own(self) -> None:
        """That it reads high already says that it does not read low."""
        high, both = self.said(seen("high")), self.said(seen("high"), seen("low", False))
        assert [each.probability for each in both.causes] == [each.probability for each in high.causes]
        assert self.said(seen("low", False)).probability("two") < self.said().probability("two")

    def test_the_ranking_falls_and_a_cause_that_does_not_apply_has_no_probability(self) -> None:
        """Most probable first."""
        diagnosis = self.said(seen("a"))
        ranked = [each.probability for each in diagnosis.causes]
        assert ranked == sorted(ranked, reverse=True)
        assert diagnosis.causes[0].id == "one"
        assert diagnosis.probability("no-such-cause") == 0

    def test_contradictions_are_told(self) -> None:
        """What was said both ways is among the contradictions, and the last word counts."""
        diagnosis = self.said(seen("a"), seen("a", False))
        assert [each.finding for each in diagnosis.contradictions] == ["a"]
        assert diagnosis.findings == {"a": False}

    def test_more_present_findings_than_it_carries_are_named(self) -> None:
        """In a message that names those left out."""
        names = [f"f{number:02}" for number in range(MOST_PRESENT + 2)]
        rule_book = book(*(finding(name) for name in names), cause("one", dict.fromkeys(names, 0.5)))
        (message,) = diagnose(Engine(rule_book), {}, tuple(seen(name) for name in names), State()).messages
        assert message.count("title of f") == 2

    def test_cured_ends_it(self) -> None:
        """Nothing more is proposed."""
        diagnosis = self.said(seen("a"), RemedyTried(remedy="one", verdict="cured"))
        assert (diagnosis.cured, diagnosis.proposals.next.kind) == (True, "done")
        assert diagnosis.probability("one") == 0

    def test_a_remedy_that_did_not_cure_lowers_its_cause(self) -> None:
        """To the chance that it did not work, in proportion to the rest."""
        before = self.said(seen("a"), seen("b")).probability("one")
        after = self.said(seen("a"), seen("b"), RemedyTried(remedy="one", verdict="not cured")).probability("one")
        assert 0 < after < before


class TestToldOfTheMeter:
    """A fact of the data sheet that was told counts as the data sheet does, whichever way it came."""

    ENGINE = Engine(
        book(
            finding("dark", kind="symptom"),
            cause("bus-silent", {"dark": 0.9}, applies={"output": ("bus",)}),
            cause("fuse", {"dark": 0.9}, applies={"place": ("pit",)}),
            cause("board", {"dark": 0.9}),
            Quantity(id="place", title="place", choices=("pit", "hall"), where_to_find="look"),
            Quantity(id="output", title="output", choices=("bus", "loop"), several=True, where_to_find="plate"),
            caution("drowning", {"place": ("pit",), "meets": ("water",)}, signal="danger"),
            remedy("board", meets=("water",)),
            yes_or_no("climb-down", "dark", applies={"place": ("pit",)}),
        )
    )
    SHEETS: Sequence[DataSheet] = (
        {"place": "pit"},
        {"place": "hall"},
        {"output": ("loop",)},
        {"output": ("bus", "loop"), "place": "hall"},
    )

    def told(self, sheet: DataSheet, before: DataSheet | None = None) -> Diagnosis:
        """Return the diagnosis where this much is told in passing, ``before`` being on the sheet."""
        said = tuple(Measurement(quantity=name, value=value) for name, value in sheet.items())
        return diagnose(self.ENGINE, before or {}, said, State())

    def cautions(self, diagnosis: Diagnosis, step: str) -> dict[str, tuple[str, ...]]:
        """Return the cautions of a step that is proposed, with the fields on which they hang."""
        (proposal,) = {each.id: each for each in proposed(diagnosis) if each.id == step}.values()
        return dict(proposal.cautions)

    def test_a_cause_that_does_not_apply_to_what_was_told_is_not_ranked(self) -> None:
        """In the hall there is no pit, and a meter with a loop alone has no bus."""
        assert {each.id for each in self.told({}).causes} == {"bus-silent", "fuse", "board"}
        assert {each.id for each in self.told({"place": "hall"}).causes} == {"bus-silent", "board"}
        assert {each.id for each in self.told({"output": ("loop",)}).causes} == {"fuse", "board"}
        assert {each.id for each in self.told({"output": ("loop",)}, {"output": ("bus",)}).causes} == {
            "bus-silent",
            "fuse",
            "board",
        }
        assert {each.id for each in self.told({"output": ("loop", "bus")}).causes} == {"bus-silent", "fuse", "board"}

    def test_a_caution_that_hangs_on_a_told_field_hangs_on_nothing_more(self) -> None:
        """It holds, or it is gone; while nobody has told, it hangs on the field."""
        assert self.cautions(self.told({}), "board")["drowning"] == ("place",)
        assert self.cautions(self.told({"place": "pit"}), "board")["drowning"] == ()
        assert "drowning" not in self.cautions(self.told({"place": "hall"}, {"place": "pit"}), "board")

    def test_a_field_that_was_told_is_not_asked_for(self) -> None:
        """What a step hangs on is asked before it, but only what nobody knows."""
        asked = {each.id: each.ask_first for each in proposed(self.told({}))}
        assert "place" in asked["board"]
        assert not any("place" in each.ask_first for each in proposed(self.told({"place": "pit"})))

    def test_the_last_word_holds_against_the_sheet(self) -> None:
        """Paper says pit, somebody there says hall."""
        diagnosis = self.told({"place": "hall"}, {"place": "pit"})
        assert diagnosis.values["place"] == "hall"
        assert diagnosis.probability("fuse") == 0

    def test_where_no_cause_applies_the_case_is_handed_over(self) -> None:
        """A rule book about other meters knows nothing of this one, and says so."""
        rule_book = book(
            finding("dark", kind="symptom"),
            cause("fuse", {"dark": 0.9}, applies={"place": ("pit",)}),
            Quantity(id="place", title="place", choices=("pit", "hall"), where_to_find="look"),
            yes_or_no("look", "dark"),
        )
        said = (Measurement(quantity="place", value="hall"), seen("dark"))
        diagnosis = diagnose(Engine(rule_book), {}, said, State())
        assert (diagnosis.causes, diagnosis.combination, diagnosis.unexplained) == ((), (), ("dark",))
        assert diagnosis.proposals.next.kind == "escalate"

    @pytest.mark.parametrize("sheet", SHEETS, ids=str)
    def test_told_or_on_the_sheet_is_the_same(self, sheet: DataSheet) -> None:
        """Ranking, proposals, cautions and all."""
        assert self.told(sheet) == diagnose(self.ENGINE, sheet, (), State())


class TestPure:
    """The same arguments give the same result."""

    def test_the_same_twice_and_with_sessions_in_between(self) -> None:
        """What an engine works out once and remembers must not leak from case to case."""
        rule_book = real_rule_book()
        random = np.random.default_rng(2)
        cases = [each for _ in range(3) for each in _arguments(rule_book, random)]
        first = [diagnose(real_engine(), *each) for each in cases]
        again = [diagnose(real_engine(), *each) for each in reversed(cases)]
        assert first == list(reversed(again))

    def test_the_order_of_answers_about_different_things_does_not_matter(self) -> None:
        """Four answers in two orders."""
        rule_book = real_rule_book()
        said = [seen(name, number % 2 == 0) for number, name in enumerate(list(rule_book.findings)[::60])]
        one, other = (diagnose(real_engine(), {}, tuple(each), State()) for each in (said, said[::-1]))
        assert one.findings == other.findings
        assert one.proposals == other.proposals
        assert [each.id for each in one.causes] == [each.id for each in other.causes]


def _arguments(
    rule_book: RuleBook, random: np.random.Generator
) -> Iterator[tuple[DataSheet, tuple[Observation, ...], State]]:
    for _ in range(2):
        names = random.choice(list(rule_book.findings), 4, replace=False)
        said = tuple(seen(str(name), bool(random.integers(2))) for name in names)
        yield random_sheet(rule_book, random), said, State(competence=str(random.choice(COMPETENCES)))  # type: ignore[arg-type]
