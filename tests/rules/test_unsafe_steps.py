"""Steps that were wrong or unsafe once, one test each; where it can be said generally, of every check and remedy."""

from __future__ import annotations

import re

import pytest

from diagnose.observations import State
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.proposal import proposal_for
from diagnose.rule_book.work import Step
from tests.reasoning.books import real_rule_book

BOOK = real_rule_book()
STEPS: dict[str, Step] = {
    **{f"check {each.id}": each for each in BOOK.checks.values() if each.steps},
    **{f"remedy {each.id}": each for each in BOOK.remedies.values()},
}
START = State().standing(BOOK)


def text(step: Step) -> str:
    """Return all that a step says is to be done, in lower case."""
    return " | ".join(step.steps).lower()


def saying(pattern: str) -> list[str]:
    """Return the steps that say so."""
    return [name for name, step in STEPS.items() if re.search(pattern, text(step))]


def comes_first(step: Step, first: str, then: str) -> bool:
    """Tell whether one thing is said before another, and both are said."""
    before, after = re.search(first, text(step)), re.search(then, text(step))
    return bool(before and after and before.start() < after.start())


@pytest.mark.parametrize(
    ("name", "first", "then"),
    [
        (
            "remedy bus-without-common",
            "measure a.c. and d.c. from common to common",
            "third wire from common to common",
        ),
        ("remedy bus-without-common", "25 v a.c. or 60 v d.c.: stop", "third wire from common to common"),
        ("remedy both-ends-feed-loop", "both feeds off, .*no volts core to core", "use the passive terminals"),
        ("remedy no-end-feeds-loop", "as if it were mains", "fit a loop supply, fused and current-limited"),
        ("remedy output-needs-trim", "straight on the terminals: is it still off", "trim at 4 ma"),
        ("remedy load-too-high", "feed switched off", "take out or replace"),
        ("check bus-cores-rung-out", "no volts between the cores, nor from any to earth", "join one core"),
    ],
)
def test_what_is_measured_or_switched_off_comes_before_what_is_joined_or_changed(
    name: str, first: str, then: str
) -> None:
    """Earths that stand apart, a second feed, a leak: each is found before a wire is joined or a value trimmed."""
    assert comes_first(STEPS[name], first, then)


def test_no_barrier_is_taken_out_or_overfed_for_the_sake_of_the_load() -> None:
    """Above its working voltage it leaks or blows."""
    assert "never a barrier" in text(STEPS["remedy load-too-high"])
    assert "never above a barrier's working voltage" in text(STEPS["remedy load-too-high"])


def test_a_meter_that_is_polled_alone_is_asked_at_the_planned_address_and_format() -> None:
    """By the settings that its display gives, a meter at a wrong address answers, and the fault is cleared."""
    check = BOOK.checks["bus-meter-alone"]
    assert "set to the planned address and format" in check.ask
    assert "not from the meter's display" in text(check)
    for wrong in ("address-not-as-planned", "format-not-as-planned"):
        answers = [each for each in check.outcomes if wrong in each.present]
        assert [each.present for each in answers] == [("silent-when-alone", wrong)]


BRIDGED_INPUT = r"bridge the (input|line)|touch them together"


@pytest.mark.parametrize("name", saying(BRIDGED_INPUT))
def test_nothing_is_bridged_before_its_voltage_was_measured(name: str) -> None:
    """Neither an input nor a line: a.c. and d.c., to earth as well, with a limit at which to stop."""
    step = STEPS[name]
    assert comes_first(step, "measure first, a.c. and d.c.", BRIDGED_INPUT)
    assert "more than 30 v d.c.: stop" in text(step)
    assert "multimeter" in step.tools


@pytest.mark.parametrize("name", saying(r"oscilloscope|measure the level"))
def test_a_level_is_looked_at_with_a_battery_or_isolated_instrument(name: str) -> None:
    """An oscilloscope earthed through its plug joins the input to earth."""
    assert "battery" in text(STEPS[name])
    assert "oscilloscope" not in STEPS[name].tools


@pytest.mark.parametrize("name", [name for name, step in STEPS.items() if "loop calibrator" in step.tools])
def test_no_source_goes_into_an_input_that_feeds(name: str) -> None:
    """Volts are measured first; where there are any, the calibrator sinks."""
    step = STEPS[name]
    assert comes_first(step, r"measure d\.c\. volts", r"\bsinks?\b")
    assert comes_first(step, r"\bsinks?\b", r"send ")
    assert "multimeter" in step.tools


@pytest.mark.parametrize("name", saying(r"electrode out"))
def test_an_electrode_comes_out_only_where_it_is_made_for_it(name: str) -> None:
    """Elsewhere it seals the pipe."""
    assert "electrode out only where the sensor's manual says that it is made for it" in text(STEPS[name])


OHMS_AT_A_SIGNAL = r"measure between the (cores|two lines)|measure the (ohms|resistance between the lines)"


@pytest.mark.parametrize("name", saying(OHMS_AT_A_SIGNAL))
def test_no_ohmmeter_on_a_live_output_or_input(name: str) -> None:
    """Voltage first; only where there is none does the ohmmeter go on."""
    assert comes_first(STEPS[name], r"(measure|there are no) volts", OHMS_AT_A_SIGNAL)


def test_the_earths_of_a_loop_are_looked_for_with_the_meter_switched_off() -> None:
    """It measures the output terminals themselves."""
    step = BOOK.checks["earths-of-loop"]
    assert (step.needs["supply"], step.needs["enclosure"]) == (("isolated",), ("open",))


SENSOR_TESTED = [
    name
    for name, step in STEPS.items()
    if "insulation-tester" in step.meets and re.search(r"\b(coils?|electrode to|each electrode)\b", text(step))
]


@pytest.mark.parametrize("name", SENSOR_TESTED)
def test_no_insulation_tester_on_a_sensor_with_electronics_inside(name: str) -> None:
    """A preamplifier or memory in the sensor cannot be unplugged from it."""
    assert "electronics inside the sensor" in text(STEPS[name])


@pytest.mark.parametrize("name", ["coil-insulation", "electrodes-drained"])
def test_such_a_check_is_left_out_by_the_data_sheet(name: str) -> None:
    """With electronics inside it is not proposed; where nobody knows, it is asked for before."""
    check = BOOK.checks[name]
    assert Dangers(BOOK, {"hazardous-area": "no", "sensor-electronics": "yes"}).allowed(check, State()) is None
    assert Dangers(BOOK, {"hazardous-area": "no", "sensor-electronics": "no"}).allowed(check, State()) is not None
    assert BOOK.quantities["sensor-electronics"].where_to_find


def test_the_excitation_is_measured_by_a_method_that_works() -> None:
    """Across a known resistor with an oscilloscope: a multimeter follows a current that reverses neither way.

    One ohm makes one millivolt of each milliampere. It goes in, and comes out, with the coil lead proved dead.
    """
    step = BOOK.checks["excitation-current"]
    assert set(step.tools) == {"battery oscilloscope", "1 ohm resistor"}
    assert "1 mv is 1 ma" in text(step)
    assert "no multimeter" in text(step)
    assert step.needs["supply"] == ("isolated",)
    assert comes_first(step, "prove dead again", "resistor comes out")


@pytest.mark.parametrize("name", saying(r"below 0\.[0-9]+ ohm"))
def test_tenths_of_an_ohm_are_measured_with_a_low_resistance_ohmmeter(name: str) -> None:
    """The leads of a multimeter have as much."""
    unless_signal = "interface" in name  # a dead bus interface is told by kilohms
    assert unless_signal or "low-resistance ohmmeter" in STEPS[name].tools
    assert unless_signal or "multimeter" not in STEPS[name].tools


def test_an_earth_wire_is_measured_without_the_pipe_beside_it() -> None:
    """Taken off at one end, with the supply proved dead, after a look whether it carries current; then put back."""
    step = BOOK.checks["protective-earth-continuity"]
    assert (step.needs["supply"], step.needs["enclosure"]) == (("isolated",), ("open",))
    assert comes_first(step, "current clamp round the earth wire", "take the earth wire off")
    assert comes_first(step, "measure the wire alone", "put it back")
    assert "pipe and bonds conduct as well" in text(BOOK.remedies["protective-earth-open"])
    assert "bolts and pipe conduct as well" in text(BOOK.checks["bond-resistance"])


CURRENT = {"current clamp", "leakage clamp"}


@pytest.mark.parametrize(
    "name",
    [name for name, step in STEPS.items() if "clamp" in text(step) or any("clamp" in each for each in step.tools)],
)
def test_a_current_clamp_is_no_ultrasonic_clamp_on_meter(name: str) -> None:
    """Each is called by its whole name, as a tool and wherever a step says it in passing."""
    step = STEPS[name]
    assert {each for each in step.tools if "clamp" in each} <= CURRENT | {"ultrasonic clamp-on meter"}
    assert "clamp meter" not in text(step)
    if "clamp-on" in text(step):
        assert not CURRENT & set(step.tools)


CHANGES_TOTALS = [name for name, step in STEPS.items() if "total-changed" in step.meets]


@pytest.mark.parametrize("name", CHANGES_TOTALS)
def test_the_seal_comes_before_anything_that_changes_totals(name: str) -> None:
    """The caution comes up for certain, and the first thing it says is to look for a legal seal."""
    proposal = proposal_for(Dangers(BOOK, {}), "check", STEPS[name], START, "")
    assert dict(proposal.cautions)["custody-totals"] == ()
    assert "legal seal before anything is changed" in BOOK.cautions["custody-totals"].avoid[0]


@pytest.mark.parametrize("name", ["check wiggle-each-cable", "check tap-and-wiggle"])
def test_signal_cables_only_are_moved_by_an_instructed_person(name: str) -> None:
    """In dry gloves, and not where anything speaks of a fault to earth."""
    step = STEPS[name]
    said = " ".join(step.steps)
    assert "Signal, output and bus cables only, in dry gloves" in said
    assert "It trips, is wet or damaged, or anybody felt a tingle: leave all of them alone" in said
    assert step.competence == "instructed"
    assert "earth-in-doubt" in step.meets


def test_a_supply_cable_is_moved_by_a_skilled_person_as_a_live_part() -> None:
    """And the cable is looked at first."""
    step = STEPS["check move-the-supply-cable"]
    assert step.competence == "skilled"
    assert {"earth-in-doubt", "live-parts"} <= set(step.meets)
    assert "Look along it first" in step.steps[1]


def test_a_loose_strap_is_measured_across_before_anything_is_bridged() -> None:
    """A strap that is off carries no current: a clamp round it clears nothing."""
    step = BOOK.remedies[BOOK.causes["bonding-broken"].remedy]
    assert comes_first(step, "measure across the gap", "current clamp")
    assert comes_first(step, "more than 1 v anywhere: stop", "bridge the bond")
    assert "live-parts" in step.meets


def test_stray_current_is_measured_before_it_is_bridged() -> None:
    """Pipe to pipe and to earth, with a limit at which everybody keeps away."""
    step = BOOK.remedies[BOOK.causes["stray-current-through-meter"].remedy]
    assert comes_first(step, "measure pipe to pipe", "bridge the meter")
    assert "more than 25 v a.c. or 60 v d.c., stop" in text(step)
    assert "live-parts" in step.meets


SENSOR_IN_PARTS = r"flow sensor|sensor with|meter for|meter that|(smaller|larger) meter"
SENSOR_CHANGED = sorted(
    cause.id
    for cause in BOOK.causes.values()
    if cause.area in ("electrodes", "installation", "liquid")
    and re.search(SENSOR_IN_PARTS, ", ".join(BOOK.remedies[cause.remedy].parts))
)


@pytest.mark.parametrize("name", SENSOR_CHANGED)
def test_a_sensor_that_is_changed_goes_in_whole(name: str) -> None:
    """Zero pressure proved, gaskets new and centred, bonds back, its constant entered; then filled slowly."""
    step = BOOK.remedies[BOOK.causes[name].remedy]
    assert comes_first(step, "prove zero pressure", "gaskets")
    assert comes_first(step, "centred", "straps and rings back on")
    assert comes_first(step, "enter its constant", "fill slowly, look for drips")
    assert {"line-opened", "line-filled", "sensor-leads", "settings-changed", "bond-opened"} <= set(step.meets)


@pytest.mark.parametrize("name", ["meter-too-large", "meter-too-small", "conductivity-too-low", "magnetic-particles"])
def test_another_meter_is_told_to_the_control_system(name: str) -> None:
    """Constant, bore and range are its own, and the receiver goes by the range."""
    said = text(BOOK.remedies[BOOK.causes[name].remedy])
    assert "enter its constant, bore and range" in said
    assert "have the control system's range and pulse value changed with it" in said


def test_an_open_electrode_is_looked_for_in_the_box_before_the_line_is_drained() -> None:
    """A lead that is off is put back with the pipe full."""
    lasting = BOOK.remedies[BOOK.causes["electrode-open"].remedy]
    first = BOOK.remedies[lasting.interim]
    assert lasting.needs["line"] == ("drained",)
    assert first.needs["line"] == ("stopped full",)
    assert first.minutes < lasting.minutes / 4


def test_a_vent_on_harmful_or_hot_liquid_is_not_opened_by_hand() -> None:
    """Neither by the check nor by the interim remedy nor by the lasting one."""
    said = text(BOOK.remedies[BOOK.causes["air-pocket"].remedy])
    assert "acid, caustic, hot liquid, or one that nobody can name: open no vent by hand" in said
    for step in (BOOK.checks["vent-high-point"], BOOK.remedies["throttle-behind-meter"]):
        assert {"acid or caustic", "hot liquid"} <= set(step.not_when["liquid"])


def test_a_flooded_sewage_pit_has_a_remedy() -> None:
    """Most sewage pits may hold an explosive atmosphere: what is wet is tested in the workshop."""
    lasting = BOOK.remedies[BOOK.causes["pit-flooded"].remedy]
    sheet = {"hazardous-area": "yes", "location": "pit or vault", "liquid": "sewage"}
    assert Dangers(BOOK, sheet).allowed(lasting, State()) is not None
    assert comes_first(lasting, "isolate from outside", "pump")
    assert "certified for the zone" in text(lasting)
    assert "insulation-tester" not in lasting.meets


@pytest.mark.parametrize("name", saying(r"flow conditioner"))
def test_a_flow_conditioner_is_for_clean_liquids(name: str) -> None:
    """Rags, fibres and solids plug it."""
    assert re.search(r"clean liquids? only|in clean liquids only|fibres, rags: no flow conditioner", text(STEPS[name]))


def test_hot_work_is_watched_for_half_an_hour_at_the_least() -> None:
    """OSHA 1910.252(a)(2)(iii); local rules may ask for more."""
    caution = BOOK.cautions["hot-work"]
    said = " ".join(caution.avoid)
    assert "half an hour afterwards at the least" in said
    assert "longer where local rules" in said
    assert "(a)(2)(iii)" in BOOK.sources[caution.source].citation


@pytest.mark.parametrize("name", saying(r"density gauge"))
def test_a_radiation_source_is_closed_by_whoever_answers_for_it(name: str) -> None:
    """Shutter closed and locked by the radiation protection officer, before anybody works beside it."""
    step = STEPS[name]
    assert "radiation protection officer has closed and locked its shutter" in text(step)
    assert "radiation-source" in step.meets
    assert BOOK.cautions["radiation-source"].signal == "danger"


def test_a_slurry_line_may_hold_a_radiation_source() -> None:
    """Wherever a meter is lifted out of one, or nobody knows the liquid."""
    step = BOOK.remedies[BOOK.causes["liner-damaged"].remedy]
    for sheet, comes in (({"liquid": "slurry"}, True), ({}, True), ({"liquid": "water"}, False)):
        cautions = dict(proposal_for(Dangers(BOOK, sheet), "remedy", step, START, "").cautions)
        assert ("radiation-source" in cautions) is comes


@pytest.mark.parametrize("name", [name for name, step in STEPS.items() if "ground-dug" in step.meets])
def test_nobody_digs_before_buried_services_were_found(name: str) -> None:
    """The step says so itself, and the caution says shoring and permit."""
    assert re.search(r"buried services found", text(STEPS[name]))
    assert "shored" in " ".join(BOOK.cautions["digging"].avoid)
    assert "Permit to dig" in BOOK.cautions["digging"].avoid[0]


SHIELD = ["check shield-at-both-ends", "remedy shield-at-both-ends-earthed"]


@pytest.mark.parametrize("name", SHIELD)
def test_a_shield_between_two_earths_is_measured_before_it_is_touched(name: str) -> None:
    """Isolating the meter does not stop its current: a current clamp first, then volts at the end that comes off."""
    step = STEPS[name]
    assert comes_first(step, "current clamp round the", "before you touch it: volts from it to earth, a.c. and d.c.")
    assert {"earth-in-doubt", "foreign-circuit"} <= set(step.meets)
    assert step.competence == "skilled"


def test_what_had_water_inside_is_tested_before_it_goes_on() -> None:
    """Supply cable and protective earth, with nothing electronic on them; so not in a hazardous area."""
    step = STEPS["remedy moisture-in-transmitter"]
    assert comes_first(step, "test the insulation of the supply cable", "stays off until both are good")
    assert step.not_when["hazardous-area"] == ("yes",)


LAYS_CABLES = ["cable-damaged", "cable-near-power", "cable-too-long", "cable-unsuited", "supply-conductor-broken"]


@pytest.mark.parametrize("name", LAYS_CABLES)
def test_whoever_lays_a_cable_is_warned_of_power_cables_beside_it(name: str) -> None:
    """Nothing is pulled out from among live ones."""
    proposal = proposal_for(Dangers(BOOK, {}), "remedy", STEPS[f"remedy {name}"], START, "")
    assert dict(proposal.cautions)["cables-in-a-tray"] == ()


@pytest.mark.parametrize("name", [name for name, step in STEPS.items() if {"hot-work", "warm-air"} & set(step.meets)])
def test_nothing_is_heated_in_a_hazardous_area(name: str) -> None:
    """Neither with a flame nor with warm air."""
    assert "yes" in STEPS[name].not_when["hazardous-area"]


def test_a_calm_input_counts_only_without_the_cut_off() -> None:
    """Below the cut-off any reading is zero; and the setting is put back."""
    step = STEPS["check short-electrode-inputs"]
    assert comes_first(step, "set the cut-off to zero", "watch for two minutes")
    assert step.disturbs == ("electrode-inputs-bridged", "setting-tried")
