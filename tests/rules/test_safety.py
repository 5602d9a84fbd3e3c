"""Nobody is exposed before being warned, and nobody is asked to do what is not theirs, whatever the interview brings.

What must come up is worked out here from the rule book alone, not by the code under test.
"""

from __future__ import annotations

import random
import re
from collections.abc import Mapping
from itertools import product

import pytest

from diagnose.observations import CheckDone, FindingSeen, Measurement, Observation, RemedyTried, State
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.diagnosis import diagnose
from diagnose.reasoning.proposal import Proposal, proposal_for
from diagnose.rule_book.competence import COMPETENCES, Competence
from diagnose.rule_book.plant import StateChange, as_it_can_stand
from diagnose.rule_book.quantities import DataSheet
from diagnose.rule_book.work import Check, Remedy, Step
from tests.engines import real_engine

BOOK = real_engine().rule_book
STEPS: list[Step] = [*BOOK.checks.values(), *BOOK.remedies.values()]
NOT_FOR_ORDINARY = {
    *(
        "live-terminals",
        "live-parts",
        "isolation",
        "insulation-tester",
        "cabinet-open",
        "foreign-circuit",
        "sensor-leads",
    ),
    *("line-opened", "line-drained", "vent-opened", "valve-throttled", "heavy-lift", "bond-opened", "fuse-replacement"),
    *(
        "reclosing",
        "re-energising",
        "open-electronics",
        "drive-opened",
        "chemicals-used",
        "hot-work",
        "settings-changed",
    ),
}
FOR_SKILLED = {
    *("live-terminals", "live-parts", "isolation", "insulation-tester", "line-opened", "line-drained", "heavy-lift"),
    *("bond-opened", "fuse-replacement", "drive-opened"),
}


def after(proposal: Proposal) -> dict[str, str]:
    """Return how the plant stands once the changes before a step are made."""
    return {**proposal.standing, **dict(proposal.changes)}


def changes_before(proposal: Proposal) -> list[StateChange]:
    """Return the changes of the plant before a step, as the rule book describes them."""
    found = []
    for name, value in proposal.changes:
        start = proposal.standing[name]
        found.append(next(each for each in BOOK.states[name].changes if (each.from_, each.to) == (start, value)))
    return found


def met(proposal: Proposal, step: Step) -> set[str]:
    """Return the hazards of a step and of the changes before it."""
    return {*step.meets, *(word for each in changes_before(proposal) for word in each.meets)}


def possible(item: Mapping[str, tuple[str, ...]], proposal: Proposal, step: Step, sheet: DataSheet) -> bool:
    """Tell whether an item of ``comes-up`` holds or may hold: a state counts for a step that asks for one of them."""
    states = [key for key in item if key in BOOK.states]
    if states and not any(key in step.needs for key in states):
        return False
    stands = after(proposal)
    for key, words in item.items():
        if key == "meets":
            holds = bool(met(proposal, step) & set(words))
        elif key in BOOK.states:
            holds = stands[key] in words
        else:
            known = sheet.get(key)
            holds = known is None or any(word in (known if isinstance(known, tuple) else (known,)) for word in words)
        if not holds:
            return False
    return True


def must_come_up(proposal: Proposal, step: Step, sheet: DataSheet) -> set[str]:
    """Return the cautions that must be shown before a step."""
    fallen = [
        each.id
        for each in BOOK.cautions.values()
        if any(set(sheet.get(name, [None])) <= set(words) for name, words in each.falls_away.items())
    ]
    cautions = [each for each in BOOK.cautions.values() if each.id not in fallen]
    return {each.id for each in cautions if any(possible(item, proposal, step, sheet) for item in each.comes_up)}


def is_energised_open(proposal: Proposal) -> bool:
    """Tell whether a change on the way switches on with the cover open or opens it with the supply on."""
    stands = dict(proposal.standing)
    for name, value in proposal.changes:
        stands[name] = value
        if name in ("supply", "enclosure") and (stands["supply"], stands["enclosure"]) == ("live", "open"):
            return True
    return False


def assert_warned(proposal: Proposal, step: Step, sheet: DataSheet) -> None:
    """Every caution that holds or may hold is shown with the step, and the state that the step needs is reached."""
    assert must_come_up(proposal, step, sheet) <= {name for name, _ in proposal.cautions}, step.id
    for name, values in step.needs.items():
        assert after(proposal)[name] in values, step.id


def assert_safe(proposal: Proposal, step: Step, sheet: DataSheet) -> None:
    """What holds of every step that is proposed at all, on this meter and from where the plant stands."""
    hazards, stands = met(proposal, step), after(proposal)
    if "insulation-tester" in hazards:
        assert (stands["supply"], stands["enclosure"]) == ("isolated", "open"), step.id
    if sheet.get("hazardous-area") == "yes":
        assert not hazards & {"live-terminals", "live-parts", "insulation-tester"}, step.id
        assert not is_energised_open(proposal), step.id
        if "enclosure" in step.needs or "supply" in step.needs:
            assert (stands["supply"], stands["enclosure"]) != ("live", "open"), step.id
    if step.needs.keys() & {"supply", "enclosure"} and (stands["supply"], stands["enclosure"]) == ("isolated", "open"):
        assert stands["conductors"] == "proved dead", step.id


def assert_fits_person(proposal: Proposal, step: Step, person: str, sheet: DataSheet) -> None:
    """No live work, isolation or opened line for who is not skilled; nothing taken in hand by an ordinary person."""
    hazards, stands = met(proposal, step), after(proposal)
    if person == "ordinary":
        assert not hazards & NOT_FOR_ORDINARY, step.id
        assert stands["enclosure"] == "closed" or "enclosure" not in step.needs, step.id
    if person != "skilled":
        assert not hazards & FOR_SKILLED, step.id
        if step.needs.keys() & {"supply", "enclosure"} and (stands["supply"], stands["enclosure"]) == ("live", "open"):
            assert sheet.get("behind-cover", "bare mains terminals") != "bare mains terminals", step.id
    wanted = [step.competence, *(each.competence for each in changes_before(proposal))]
    assert all(COMPETENCES.index(each) <= COMPETENCES.index(person) for each in wanted), step.id


# Random interviews ---------------------------------------------------------------------------------------------------

FIELDS = (
    "hazardous-area",
    "liquid",
    "location",
    "cathodic-protection",
    "signal-duty",
    "build",
    "output",
    "supply-kind",
    "behind-cover",
    "sensor-electronics",
)


def random_sheet(chooser: random.Random) -> DataSheet:
    """Return a data sheet on which each field that matters to safety is known or not."""
    sheet: DataSheet = {}
    for name in FIELDS:
        quantity = BOOK.quantities[name]
        word = chooser.choice([None, *quantity.choices])
        if word is not None:
            sheet[name] = (word,) if quantity.several else word
    return sheet


def answer(proposal: Proposal, chooser: random.Random) -> list[Observation]:
    """Return a random answer to a step."""
    if proposal.kind == "remedy":
        return [RemedyTried(remedy=proposal.id, verdict=chooser.choice(["partly", "not cured"]))]
    check = BOOK.checks[proposal.id]
    if check.outcomes:
        return [CheckDone(check=check.id, answer=chooser.choice(check.outcomes).answer)]
    low, high = BOOK.quantities[check.measures].plausible or (0.0, 1.0)
    return [Measurement(quantity=check.measures, value=chooser.uniform(low, high))]


def step_of(proposal: Proposal) -> Step:
    """Return the check or remedy behind a proposal."""
    return BOOK.checks[proposal.id] if proposal.kind == "check" else BOOK.remedies[proposal.id]


def proof_after(remedy: Remedy, proposal: Proposal, sheet: DataSheet) -> tuple[Proposal, Check]:
    """Return the proof of a remedy as it is put to somebody, from where the remedy leaves the plant."""
    check = BOOK.checks[remedy.proved_by]
    return proposal_for(Dangers(BOOK, sheet), "check", check, after(proposal), "proves the remedy"), check


def judge(proposals: list[Proposal], sheet: DataSheet, person: str) -> None:
    """Hold every step that an interview may offer now against all that must be true of it."""
    for proposal in proposals:
        step = step_of(proposal)
        assert_warned(proposal, step, sheet)
        assert_safe(proposal, step, sheet)
        assert_fits_person(proposal, step, person, sheet)
        unknown = [field for name, fields in proposal.cautions for field in fields]
        assert set(unknown) <= set(proposal.ask_first), step.id
        if isinstance(step, Remedy):
            proof, check = proof_after(step, proposal, sheet)
            assert_warned(proof, check, sheet)
            assert_safe(proof, check, sheet)
            assert_fits_person(proof, check, person, sheet)


@pytest.mark.parametrize("seed", range(12))
def test_random_interviews_expose_nobody(seed: int) -> None:
    """Whatever is wrong, answered, known and allowed: every step offered is warned of, safe, and fit for the person."""
    chooser = random.Random(seed)
    sheet, person = random_sheet(chooser), COMPETENCES[seed % 3]
    sheet |= {} if seed < 6 else {"hazardous-area": "yes"}
    complaints = [each.id for each in BOOK.findings.values() if each.complaint]
    seen: list[Observation] = [FindingSeen(finding=chooser.choice(complaints), present=True)]
    state = State(competence=person)
    for _ in range(7):
        proposals = diagnose(real_engine(), sheet, tuple(seen), state).proposals
        offered = [*proposals.checks, *proposals.remedies]
        judge(offered, sheet, person)
        if proposals.next.kind in ("check", "remedy"):
            assert proposals.next.id in {each.id for each in offered}
        if not offered:
            return
        chosen = chooser.choice([*offered, offered[0], offered[0]])
        seen += answer(chosen, chooser)
        aside = (chosen.id,) if chosen.kind == "remedy" else ()
        state = State(plant=after(chosen), competence=person, set_aside=(*state.set_aside, *aside))


# Every step, however the plant stands --------------------------------------------------------------------------------

THINKABLE = [
    dict(zip(BOOK.states, values, strict=True)) for values in product(*(each.values for each in BOOK.states.values()))
]
STANDINGS = [each for each in THINKABLE if as_it_can_stand(BOOK.states, each) == each]


@pytest.mark.parametrize("person", COMPETENCES)
def test_every_step_from_every_standing(person: Competence) -> None:
    """From every way in which the plant can stand, each step that may be proposed is warned of, safe, and fitting."""
    chooser = random.Random(person)
    proposed = 0
    for step, standing in product(STEPS, STANDINGS):
        sheet = random_sheet(chooser)
        state = State(plant=standing, competence=person)
        if Dangers(BOOK, sheet).allowed(step, state) is None:
            continue
        kind = "check" if isinstance(step, Check) else "remedy"
        proposal = proposal_for(Dangers(BOOK, sheet), kind, step, standing, "")
        assert_warned(proposal, step, sheet)
        assert_safe(proposal, step, sheet)
        assert_fits_person(proposal, step, person, sheet)
        proposed += 1
    assert proposed > 1000  # else this would judge hardly anything


@pytest.mark.parametrize("person", COMPETENCES)
@pytest.mark.parametrize("hazardous", ["yes", "no"])
def test_every_remedy_can_be_proved_where_it_was_done(person: Competence, hazardous: str) -> None:
    """Who may do a remedy on this meter may make its proof as well: nothing forbidden, nothing beyond them."""
    sheet: DataSheet = {"hazardous-area": hazardous}
    start = {name: state.initial for name, state in BOOK.states.items()}
    for remedy in BOOK.remedies.values():
        if Dangers(BOOK, sheet).allowed(remedy, State(competence=person)) is None:
            continue
        proof, check = proof_after(remedy, proposal_for(Dangers(BOOK, sheet), "remedy", remedy, start, ""), sheet)
        assert_warned(proof, check, sheet)
        assert_safe(proof, check, sheet)
        assert_fits_person(proof, check, person, sheet)


@pytest.mark.parametrize("standing", STANDINGS, ids=lambda each: ", ".join(each.values()))
def test_putting_back_is_warned_of(standing: dict[str, str]) -> None:
    """The way back to where the plant started is warned of as well, and never energised before it is closed."""
    home = Step(id="back", title="", steps=(), minutes=0, needs={k: (v.initial,) for k, v in BOOK.states.items()})
    proposal = proposal_for(Dangers(BOOK, {}), "done", home, standing, "")
    assert_warned(proposal, home, {})
    if standing["supply"] == "isolated":
        assert not is_energised_open(proposal)


# The cautions themselves ---------------------------------------------------------------------------------------------

HAZARDS = {
    "live terminals": "live-terminals",
    "stored charge": "stored-charge",
    "isolating, locking off, proving dead": "isolate-and-prove-dead",
    "insulation tester on electronics": "insulation-tester",
    "opening a line under pressure": "opening-the-line",
    "hot liquid": "hot-liquid",
    "acid, caustic or slurry": "harmful-liquid",
    "heavy meter": "heavy-meter",
    "confined space": "confined-space",
    "flooded pit": "flooded-pit",
    "hazardous area": "explosive-atmosphere",
    "working at height": "working-at-height",
    "automatic restart of pumps": "automatic-start",
    "forcing or interrupting a signal": "signal-in-use",
    "upsetting dosing": "dosing-upset",
    "upsetting custody totals": "custody-totals",
    "static": "static-and-combustible-dust",
    "rotating plant": "rotating-plant",
    "current-carrying bonds": "bonded-pipe",
    "taking samples": "sampling",
    "closing valves": "closing-valves",
    "cleaning chemicals": "cleaning-chemicals",
    "gas and pressure tests": "filling-the-line",
    "hot surfaces": "hot-surface",
    "working alone": "lone-working",
    "traffic and open covers": "traffic",
    "bypass of a protective function": "bypass",
    "liquid above its boiling point": "flashing-liquid",
    "adjacent live parts": "adjacent-live-parts",
    "trace heating": "trace-heating",
    "aerosols of sewage": "sewage-aerosols",
    "asbestos in old gaskets": "old-gaskets",
    "discharge times of large drives": "drive-discharge",
}


@pytest.mark.parametrize("hazard", HAZARDS)
def test_every_hazard_has_its_caution(hazard: str) -> None:
    """Each hazard that must be covered has a caution with consequence, avoidance and a source."""
    caution = BOOK.cautions[HAZARDS[hazard]]
    assert caution.hazard
    assert caution.consequence
    assert caution.avoid
    assert caution.source in BOOK.sources


HURTS = re.compile(
    r"shock|burn|scald|blind|infect|poison|suffoc|explo|fire|\bill\b|crush|thrown|jet|hurt|kill|death|die|drown|caught"
    r"|fibres|bones|implant|harmful|flood|acid|steam|rescuers",
    re.IGNORECASE,
)


@pytest.mark.parametrize("name", BOOK.cautions)
def test_the_signal_word_says_whether_anybody_is_hurt(name: str) -> None:
    """A notice tells of damage alone; every other word of an injury (ISO 3864-2, from memory)."""
    caution = BOOK.cautions[name]
    told = f"{caution.hazard} {caution.consequence}"
    assert bool(HURTS.search(told)) == (caution.signal != "notice"), told


@pytest.mark.parametrize("name", BOOK.cautions)
def test_every_caution_says_in_a_few_words_what_to_do(name: str) -> None:
    """For whoever has read it in full in the same case."""
    assert 10 < len(BOOK.cautions[name].short) <= 90


@pytest.mark.parametrize("name", [each.id for each in BOOK.checks.values() if not (each.needs or each.meets)])
def test_a_question_from_a_chair_carries_no_caution(name: str) -> None:
    """What neither needs the plant to stand so nor meets a hazard is asked and answered anywhere."""
    for standing in STANDINGS:
        assert proposal_for(Dangers(BOOK, {}), "check", BOOK.checks[name], standing, "").cautions == ()


def test_there_are_enough_cautions() -> None:
    """Twenty-six at least."""
    assert len(BOOK.cautions) >= 26


def test_every_caution_comes_up_before_something() -> None:
    """No caution is idle: some check or remedy brings it up."""
    idle = dict(BOOK.cautions)
    for standing, step in product(STANDINGS, STEPS):
        proposal = proposal_for(Dangers(BOOK, {}), "check", step, standing, "")
        up = [name for name, each in idle.items() if any(possible(item, proposal, step, {}) for item in each.comes_up)]
        for name in up:
            del idle[name]
        if not idle:
            break
    assert not idle


@pytest.mark.parametrize(
    "name", ["live-terminals", "isolate-and-prove-dead", "open-cabinet", "explosive-atmosphere", "confined-space"]
)
def test_local_rules_come_first(name: str) -> None:
    """Where law and licence decide, the caution says so in words."""
    words = " ".join(BOOK.cautions[name].avoid).lower()
    assert any(each in words for each in ("local rules", "local codes", "permit", "licensed"))


def test_nobody_lets_himself_into_a_flooded_pit() -> None:
    """Heeding a caution is not enough: it takes an instructed person at least, whatever the step says."""
    assert any("flooded-pit" in each.meets for each in STEPS)
    plain = Step(id="look", title="Look", steps=("Look.",), minutes=1, meets=("flooded-pit",))
    assert Dangers(BOOK, {}).allowed(plain, State(competence="ordinary")) is None
    assert Dangers(BOOK, {}).allowed(plain, State(competence="instructed")) is not None


@pytest.mark.parametrize(("location", "allowed"), [("pit or vault", False), ("building", True)])
def test_nobody_untrained_goes_down_to_the_meter(location: str, allowed: bool) -> None:
    """Whatever the step says; what can be read from outside stays open to anybody."""
    sheet: DataSheet = {"location": (location,)}
    there = Step(id="look", title="Look", steps=("Look.",), minutes=1, meets=("at-the-meter",))
    outside = Step(id="ask", title="Ask", steps=("Ask.",), minutes=1)
    assert (Dangers(BOOK, sheet).allowed(there, State(competence="ordinary")) is not None) == allowed
    assert Dangers(BOOK, sheet).allowed(outside, State(competence="ordinary")) is not None


def test_tapping_metal_brings_up_the_explosive_atmosphere() -> None:
    """Steel on steel throws sparks; where nobody knows of the area, as well."""
    tap = BOOK.checks["tap-and-wiggle"]
    for sheet, warned in (({"hazardous-area": "yes"}, True), ({}, True), ({"hazardous-area": "no"}, False)):
        proposal = proposal_for(Dangers(BOOK, sheet), "check", tap, State().standing(BOOK), "")
        assert ("explosive-atmosphere" in dict(proposal.cautions)) == warned


@pytest.mark.parametrize(
    ("volts", "sheet", "stops"),
    [
        (30.0, {"location": ("pit or vault",)}, True),
        (30.0, {"location": ("open",)}, True),
        (30.0, {"location": ("building",)}, True),
        (30.0, {}, True),
        (20.0, {"location": ("pit or vault",)}, False),
    ],
)
def test_touch_voltage_stops_work_wherever_the_meter_is(volts: float, sheet: DataSheet, stops: bool) -> None:
    """25 V a.c., the limit for the wet: a pipe is wet in a building as well (IEC 60364-4-41, from memory)."""
    seen = Measurement(quantity="liquid-earth-voltage", value=volts)
    found = diagnose(real_engine(), sheet, (seen,), State()).findings
    assert found.get("metalwork-at-voltage", False) == stops


@pytest.mark.parametrize("name", ["another-circuit", "metalwork-live"])
def test_cautions_name_the_lower_limits(name: str) -> None:
    """No other ones: whoever has to choose between two takes the wrong one."""
    told = " ".join(BOOK.cautions[name].avoid)
    limits = r"More than 25 V a\.c\. or 60 V d\.c\.( \(standing in water: 12 V a\.c\. or 30 V d\.c\.\))?: stop"
    assert re.search(limits, told)
    assert "120 V" not in told
