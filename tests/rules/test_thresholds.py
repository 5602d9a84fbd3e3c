"""Thresholds of the rules against published figures: just inside and just outside each limit, on the real rule book.

Every row names what is measured, what the data sheet says, what must be found (or must not be decided), and where the
limit comes from.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import pytest

from diagnose.observations import FindingSeen, Measurement, Observation, State
from diagnose.reasoning.diagnosis import Diagnosis, diagnose
from diagnose.rule_book.data_sheet import read_value
from tests.engines import real_engine

PRESENT, ABSENT, OPEN = True, False, None
NOTHING: dict[str, str] = {}


@dataclass(frozen=True)
class Row:
    """One reading and what must follow from it."""

    reads: dict[str, str]
    finding: str
    stands: bool | None
    source: str
    sheet: dict[str, str] = field(default_factory=dict)
    seen: dict[str, bool] = field(default_factory=dict)

    def __str__(self) -> str:
        """Return the row as a sayable id."""
        words = {True: "present", False: "absent", None: "not decided"}
        readings = ", ".join(f"{name} {value}" for name, value in {**self.reads, **self.sheet}.items())
        return f"{readings}: {self.finding} {words[self.stands]}"


def diagnosed(row: Row) -> Diagnosis:
    """Return the diagnosis of a row."""
    quantities = real_engine().rule_book.quantities
    said: list[Observation] = [
        Measurement(quantity=name, value=read_value(quantities[name], value)) for name, value in row.reads.items()
    ]
    said += [FindingSeen(finding=name, present=present) for name, present in row.seen.items()]
    sheet = {name: read_value(quantities[name], value) for name, value in row.sheet.items()}
    return diagnose(real_engine(), sheet, tuple(said), State())


NE_43 = "NAMUR NE 43: measuring 3.8 to 20.5 mA, failure at 3.6 mA and below or 21 mA and above"


def loop(current: str, finding: str, stands: bool | None) -> Row:
    """Return a row for the loop current."""
    return Row({"loop-current": current}, finding, stands, NE_43)


CURRENT_LOOP = [
    loop("3.5 mA", "output-at-fault-level", PRESENT),
    loop("3.6 mA", "output-at-fault-level", PRESENT),
    loop("3.61 mA", "output-at-fault-level", OPEN),
    loop("3.79 mA", "output-at-fault-level", OPEN),
    loop("3.8 mA", "output-at-fault-level", ABSENT),
    loop("4 mA", "output-at-fault-level", ABSENT),
    loop("20.5 mA", "output-at-fault-level", ABSENT),
    loop("20.92 mA", "output-at-fault-level", OPEN),
    loop("21 mA", "output-at-fault-level", PRESENT),
    loop("21.5 mA", "output-at-fault-level", PRESENT),
    loop("3.62 mA", "current-between-levels", PRESENT),
    loop("3.6 mA", "current-between-levels", ABSENT),
    loop("3.8 mA", "current-between-levels", ABSENT),
    loop("20.5 mA", "current-between-levels", ABSENT),
    loop("20.7 mA", "current-between-levels", PRESENT),
    loop("20.99 mA", "current-between-levels", PRESENT),
    loop("21 mA", "current-between-levels", ABSENT),
    loop("12 mA", "both-ends-feed", OPEN),
    loop("20.5 mA", "output-at-upper-limit", PRESENT),
    loop("20.3 mA", "output-at-upper-limit", OPEN),
    loop("21 mA", "output-at-upper-limit", OPEN),
    loop("3.8 mA", "electronics-dead", ABSENT),
    loop("0 mA", "output-dead", PRESENT),
    loop("3.6 mA", "output-dead", ABSENT),
]

SCALING = "IEC 60381-1: 4 mA at the lower and 20 mA at the upper range value"
RANGE = {"lower-range-value": "0 m3/h", "upper-range-value": "100 m3/h"}


def scaled(flow: str, current: str, finding: str, stands: bool | None) -> Row:
    """Return a row for displayed flow and current of a meter of 0 to 100 m³/h."""
    return Row({"displayed-flow": flow, "loop-current": current}, finding, stands, SCALING, RANGE)


def arrives(reads: dict[str, str], finding: str, stands: bool | None) -> Row:
    """Return a row for what is measured at the receiver while 90 of 0 to 100 m³/h call for 18.4 mA."""
    return Row({"displayed-flow": "90 m3/h", **reads}, finding, stands, SCALING, RANGE)


SCALED = [
    scaled("37.5 m3/h", "10.0 mA", "loop-disagrees-with-display", ABSENT),
    # 0.05 mA of the meter, 0.05 mA + 0.5 % of the instrument: together 0.112 mA at 10 mA (JCGM 100:2008, 5.1.2)
    scaled("37.5 m3/h", "10.11 mA", "loop-disagrees-with-display", ABSENT),
    scaled("37.5 m3/h", "10.09 mA", "loop-disagrees-with-display", ABSENT),
    scaled("37.5 m3/h", "10.12 mA", "loop-disagrees-with-display", PRESENT),
    scaled("37.5 m3/h", "9.88 mA", "loop-disagrees-with-display", PRESENT),
    scaled("90 m3/h", "18.4 mA", "display-beyond-range", ABSENT),
    scaled("100 m3/h", "20 mA", "display-beyond-range", ABSENT),
    scaled("101 m3/h", "20.16 mA", "display-beyond-range", PRESENT),
    arrives({"receiver-current": "13.6 mA"}, "receiver-gets-wrong-current", PRESENT),
    arrives({"receiver-current": "18.4 mA"}, "receiver-gets-wrong-current", ABSENT),
    arrives({"shunt-voltage": "3.4 V", "shunt-resistance": "250 ohm"}, "receiver-gets-wrong-current", PRESENT),
    arrives({"shunt-voltage": "4.6 V", "shunt-resistance": "250 ohm"}, "receiver-gets-wrong-current", ABSENT),
    arrives({"shunt-voltage": "3.4 V"}, "receiver-gets-wrong-current", OPEN),
    arrives({"receiver-current": "13.6 mA", "loop-current": "18.4 mA"}, "current-lost-on-the-way", PRESENT),
    arrives({"receiver-current": "13.6 mA", "loop-current": "18.4 mA"}, "loop-disagrees-with-display", ABSENT),
    arrives({"receiver-current": "13.6 mA", "loop-current": "13.6 mA"}, "current-lost-on-the-way", ABSENT),
    arrives({"receiver-current": "13.6 mA", "loop-current": "13.6 mA"}, "loop-disagrees-with-display", PRESENT),
    scaled("50 m3/h", "10 mA", "loop-runs-from-zero-milliamps", PRESENT),
    scaled("50 m3/h", "12 mA", "loop-runs-from-zero-milliamps", ABSENT),
]

BUDGET = "Ohm's law, (supply - least terminal voltage) / load: 12 V over 585.4 ohm is 20.5 mA, over 571.4 ohm 21 mA"
LOOP_SUPPLY = {"loop-supply-voltage": "24 V", "least-terminal-voltage": "12 V"}
BUDGETS = [
    Row({"loop-load": "750 ohm"}, "loop-budget-exceeded", PRESENT, BUDGET, LOOP_SUPPLY),
    Row({"loop-load": "586 ohm"}, "loop-budget-exceeded", PRESENT, BUDGET, LOOP_SUPPLY),
    Row({"loop-load": "580 ohm"}, "loop-budget-exceeded", OPEN, BUDGET, LOOP_SUPPLY),
    Row({"loop-load": "571 ohm"}, "loop-budget-exceeded", ABSENT, BUDGET, LOOP_SUPPLY),
]

IEC_60038 = "IEC 60038: 230 V ±10 %, 207 to 253 V"
EXTRA_LOW = "24 V d.c. -15/+20 %, 20.4 to 28.8 V (common practice)"
MAINS = {"nominal-supply-voltage": "230 V", "supply-kind": "a.c."}
NO_KIND = {"nominal-supply-voltage": "230 V"}
WIDE = {**MAINS, "least-supply-voltage-allowed": "100 V", "greatest-supply-voltage-allowed": "240 V"}
DIRECT = {"nominal-supply-voltage": "24 V", "supply-kind": "d.c."}


def supply(voltage: str, finding: str, stands: bool | None, sheet: dict[str, str]) -> Row:
    """Return a row for the supply voltage."""
    return Row({"supply-voltage": voltage}, finding, stands, EXTRA_LOW if sheet is DIRECT else IEC_60038, sheet)


SUPPLY = [
    supply("206.9 V", "supply-voltage-low", PRESENT, MAINS),
    supply("207 V", "supply-voltage-low", ABSENT, MAINS),
    supply("207 V", "supply-voltage-high", ABSENT, MAINS),
    supply("230 V", "supply-voltage-low", ABSENT, MAINS),
    supply("253 V", "supply-voltage-high", ABSENT, MAINS),
    supply("253.1 V", "supply-voltage-high", PRESENT, MAINS),
    supply("206.9 V", "supply-voltage-low", PRESENT, NO_KIND),
    supply("253.1 V", "supply-voltage-high", PRESENT, NO_KIND),
    supply("230 V", "supply-voltage-high", ABSENT, NO_KIND),
    supply("99.9 V", "supply-voltage-low", PRESENT, WIDE),
    supply("100 V", "supply-voltage-low", ABSENT, WIDE),
    supply("240 V", "supply-voltage-high", ABSENT, WIDE),
    supply("240.1 V", "supply-voltage-high", PRESENT, WIDE),
    supply("118 V", "supply-does-not-suit-plate", ABSENT, WIDE),
    supply("24 V", "supply-does-not-suit-plate", PRESENT, WIDE),
    supply("20.4 V", "supply-voltage-low", ABSENT, DIRECT),
    supply("28.8 V", "supply-voltage-high", ABSENT, DIRECT),
    supply("195 V", "supply-voltage-low", PRESENT, MAINS),
    supply("300 V", "supply-voltage-high", PRESENT, MAINS),
    supply("1 V", "supply-voltage-missing", PRESENT, MAINS),
    supply("20.3 V", "supply-voltage-low", PRESENT, DIRECT),
    supply("20.5 V", "supply-voltage-low", ABSENT, DIRECT),
    supply("28.7 V", "supply-voltage-high", ABSENT, DIRECT),
    supply("28.9 V", "supply-voltage-high", PRESENT, DIRECT),
    supply("24 V", "supply-voltage-missing", ABSENT, DIRECT),
]

INSULATION = "IEC 60364-6: 0.5 Mohm for extra-low voltage, 1 Mohm up to 500 V"
POWER = "definition: 20 VA at 230 V is 87 mA; several times as much is a short circuit (common practice)"
EARTH = "IEC 61010-1: 0.1 ohm from terminal to metal; over an ohm is no protective connection (common practice)"
PLATE = {**MAINS, "power-consumption": "20 VA"}
WIRING = [
    Row({"supply-insulation": "0.99 Mohm"}, "supply-insulation-low", PRESENT, INSULATION, MAINS),
    Row({"supply-insulation": "1.01 Mohm"}, "supply-insulation-low", ABSENT, INSULATION, MAINS),
    Row({"supply-insulation": "0.49 Mohm"}, "supply-insulation-low", PRESENT, INSULATION, DIRECT),
    Row({"supply-insulation": "0.51 Mohm"}, "supply-insulation-low", ABSENT, INSULATION, DIRECT),
    Row({"loop-cable-insulation": "0.49 Mohm"}, "loop-cable-insulation-low", PRESENT, INSULATION),
    Row({"supply-current": "87 mA"}, "supply-current-excessive", ABSENT, POWER, PLATE),
    Row({"supply-current": "300 mA"}, "supply-current-excessive", PRESENT, POWER, PLATE),
    Row({"supply-current": "0 mA"}, "supply-current-none", PRESENT, POWER, PLATE),
    Row({"earth-continuity": "0.1 ohm"}, "protective-earth-poor", ABSENT, EARTH),
    Row({"earth-continuity": "1.1 ohm"}, "protective-earth-poor", PRESENT, EARTH),
]

TIA_485 = "TIA-485: a receiver decides beyond ±200 mV"
COMMON_MODE = "TIA-485: -7 to +12 V of the common"
TERMINATIONS = "two terminations of 120 ohm are 60 ohm (of 150 ohm 75), one 120 ohm, three 40 ohm (parallel circuit)"
FAR_SHORT = "copper up to a short: 0.22 mm² has about 0.16 ohm per metre of both cores, 250 m are 40 ohm (IEC 60028)"
BIAS = "voltage divider from 5 V: 60 ohm and 650 ohm 0.2206 V, 4700 ohm 0.0317 V, 51.72 ohm and 650 ohm 0.1913 V"


PLAIN = {"bus-termination-kind": "resistor alone"}
WITH_CAPACITOR = {"bus-termination-kind": "resistor and capacitor"}
ISOLATED = "an isolator or barrier reads open to an ohmmeter in a sound loop (common practice)"


def bus(
    quantity: str, value: str, finding: str, stands: bool | None, source: str, sheet: dict[str, str] = NOTHING
) -> Row:
    """Return a row for the resistance or voltage of a bus, or of a loop."""
    return Row({quantity: value}, finding, stands, source, sheet)


BUS = [
    bus("bus-idle-voltage", "0.199 V", "bus-idle-voltage-low", PRESENT, TIA_485),
    bus("bus-idle-voltage", "-0.199 V", "bus-idle-voltage-low", PRESENT, TIA_485),
    bus("bus-idle-voltage", "0.201 V", "bus-idle-voltage-low", ABSENT, TIA_485),
    bus("bus-idle-voltage", "-0.201 V", "bus-idle-voltage-low", ABSENT, TIA_485),
    bus("bus-idle-voltage", "-0.201 V", "bus-lines-reversed", PRESENT, TIA_485),
    bus("bus-idle-voltage", "0.201 V", "bus-lines-reversed", ABSENT, TIA_485),
    bus("bus-idle-voltage", "0.2206 V", "bus-idle-voltage-low", ABSENT, BIAS),
    bus("bus-idle-voltage", "0.1913 V", "bus-idle-voltage-low", PRESENT, BIAS),
    bus("bus-idle-voltage", "0.0317 V", "bus-idle-voltage-low", PRESENT, BIAS),
    bus("bus-common-voltage", "-7.1 V", "bus-common-voltage-beyond-limits", PRESENT, COMMON_MODE),
    bus("bus-common-voltage", "-6.9 V", "bus-common-voltage-beyond-limits", ABSENT, COMMON_MODE),
    bus("bus-common-voltage", "11.9 V", "bus-common-voltage-beyond-limits", ABSENT, COMMON_MODE),
    bus("bus-common-voltage", "12.1 V", "bus-common-voltage-beyond-limits", PRESENT, COMMON_MODE),
    bus("bus-line-resistance", "60 ohm", "bus-resistance-high", ABSENT, TERMINATIONS),
    bus("bus-line-resistance", "60 ohm", "bus-resistance-low", ABSENT, TERMINATIONS),
    bus("bus-line-resistance", "60 ohm", "terminations-too-many", ABSENT, TERMINATIONS),
    bus("bus-line-resistance", "75 ohm", "bus-resistance-high", ABSENT, TERMINATIONS),
    bus("bus-line-resistance", "120 ohm", "bus-resistance-high", PRESENT, TERMINATIONS),
    bus("bus-line-resistance", "120 ohm", "terminations-too-many", OPEN, TERMINATIONS),
    bus("bus-line-resistance", "40 ohm", "terminations-too-many", OPEN, FAR_SHORT),
    bus("bus-line-resistance", "40 ohm", "bus-lines-shorted", OPEN, FAR_SHORT),
    bus("bus-line-resistance", "30 ohm", "terminations-too-many", OPEN, FAR_SHORT),
    bus("bus-line-resistance", "30 ohm", "bus-resistance-low", PRESENT, TERMINATIONS),
    bus("bus-line-resistance", "1 ohm", "bus-lines-shorted", PRESENT, TERMINATIONS),
    bus("bus-line-resistance", "1 ohm", "terminations-too-many", OPEN, TERMINATIONS),
    bus("bus-line-resistance", "2000 ohm", "bus-resistance-high", OPEN, TERMINATIONS),
    bus("bus-line-resistance", "over range", "bus-resistance-high", OPEN, TERMINATIONS),
    bus("bus-line-resistance", "over range", "bus-resistance-high", PRESENT, TERMINATIONS, PLAIN),
    bus("bus-line-resistance", "over range", "bus-resistance-high", OPEN, TERMINATIONS, WITH_CAPACITOR),
    bus("bus-line-resistance", "over range", "bus-lines-shorted", ABSENT, TERMINATIONS, WITH_CAPACITOR),
    bus("bus-line-resistance", "0 ohm", "bus-lines-shorted", PRESENT, TERMINATIONS),
    bus("bus-line-resistance", "0 ohm", "terminations-too-many", OPEN, TERMINATIONS),
    bus("loop-load", "over range", "loop-has-no-path", OPEN, ISOLATED),
    bus("loop-load", "over range", "loop-has-no-path", OPEN, ISOLATED, {"isolator-in-loop": "yes"}),
    bus("loop-load", "over range", "loop-has-no-path", PRESENT, ISOLATED, {"isolator-in-loop": "no"}),
]

UNITS = "exact units: l/s 3.6 m3/h, l/min 0.06, US gallon a minute 0.2271247, imperial 0.2727654"
FACTORS = {
    "number is l/s": 0.277778,
    "number is l/min": 16.6667,
    "number is US gpm": 4.40287,
    "number is imperial gpm": 3.66615,
}
RECEIVER = [
    Row(
        {"displayed-flow": "50 m3/h", "receiver-flow": f"{50 * factor:.4f} m3/h"},
        "receiver-off-by-unit-factor",
        PRESENT,
        UNITS,
    )
    for factor in FACTORS.values()
] + [
    Row(
        {"displayed-flow": "50 m3/h", "receiver-flow": "25 m3/h"},
        "receiver-off-by-unit-factor",
        ABSENT,
        UNITS,
    )
]

MISTAKES = "receiver reads 0.2 + 0.8x (0-20 mA input), 1.25x - 0.25 (0-20 mA output), √x (root left on); x true share"


def receiver(share: float, reads: float, finding: str, stands: bool | None) -> Row:
    """Return a row for a share of 0 to 100 m³/h displayed, and the share that the receiver makes of it."""
    readings = {"displayed-flow": f"{100 * share:g} m3/h", "receiver-flow": f"{100 * reads:g} m3/h"}
    return Row(readings, finding, stands, MISTAKES, RANGE)


RECEIVER += [
    receiver(0.5, 0.6, "receiver-high-at-zero", PRESENT),
    receiver(0.25, 0.4, "receiver-high-at-zero", PRESENT),
    receiver(0.5, 0.375, "receiver-low-at-zero", PRESENT),
    receiver(0.5, 0.70711, "receiver-bulges", PRESENT),
    receiver(0.25, 0.5, "receiver-bulges", PRESENT),
    receiver(0.5, 0.5, "receiver-high-at-zero", ABSENT),
    receiver(0.5, 0.5, "receiver-bulges", ABSENT),
]

COILS = "coils 20 to 300 ohm and more than 20 Mohm to earth (common practice)"
ELECTRODES = "electrodes to earth alike, ratio below 2 (common practice); 1/(2σd): 10 mm at 500 µS/cm 1 kohm"
BY_AC, BY_DC = {"electrode-instrument": "a.c. resistance meter"}, {"electrode-instrument": "d.c. multimeter"}
WATER = {"liquid-conductivity": "500 uS/cm", "electrode-diameter": "10 mm"}


def electrodes(a: str, b: str, finding: str, stands: bool | None, sheet: dict[str, str] = NOTHING) -> Row:
    """Return a row for the two electrodes to earth."""
    return Row({"electrode-a-resistance": a, "electrode-b-resistance": b}, finding, stands, ELECTRODES, sheet)


VELOCITY = "usable velocity 0.3 to 10 m/s (common practice); 0.3 m/s in 100 mm is 8.4823 m3/h, 10 m/s 282.743 m3/h"
BORE = {"bore": "100 mm"}
SWIRL = "swirl lasts for 30 to 50 diameters and more (common practice)"
BONDED = "a strap to the flange of a lined pipe measures well, and the liquid floats (common practice)"
STRAIGHT = "5 diameters before the electrodes, 2 to 3 behind (engineers' handbook)"
CONDUCTIVITY = "5 µS/cm in general (common practice)"
SENSOR = [
    Row({"coil-insulation": "19.9 Mohm"}, "coil-insulation-low", PRESENT, COILS),
    Row({"coil-insulation": "20.1 Mohm"}, "coil-insulation-low", ABSENT, COILS),
    Row({"coil-resistance": "20 ohm"}, "coil-circuit-shorted", ABSENT, COILS),
    Row({"coil-resistance": "300 ohm"}, "coil-circuit-open", ABSENT, COILS),
    Row({"coil-resistance": "0.5 ohm"}, "coil-circuit-shorted", PRESENT, COILS),
    Row({"coil-resistance": "2000000 ohm"}, "coil-circuit-open", PRESENT, COILS),
    electrodes("2.1 kohm", "1 kohm", "electrodes-unequal", PRESENT, BY_AC),
    electrodes("1.9 kohm", "1 kohm", "electrodes-unequal", ABSENT, BY_AC),
    electrodes("2.1 kohm", "1 kohm", "electrodes-unequal", OPEN, BY_DC),
    electrodes("2.1 kohm", "1 kohm", "electrodes-unequal", OPEN),
    electrodes("250 kohm", "200 kohm", "electrodes-unequal", OPEN, BY_DC),
    electrodes("85 kohm", "80 kohm", "electrodes-unequal", ABSENT, BY_DC),
    electrodes("90 kohm", "20 kohm", "electrodes-unequal", PRESENT, BY_DC),
    electrodes("1 kohm", "1 kohm", "electrode-resistance-high", ABSENT, WATER | BY_AC),
    electrodes("40 kohm", "40 kohm", "electrode-resistance-high", PRESENT, WATER | BY_AC),
    electrodes("40 kohm", "40 kohm", "electrode-resistance-high", OPEN, WATER | BY_DC),
    electrodes("40 kohm", "40 kohm", "electrode-resistance-high", OPEN, WATER),
    electrodes("0.1 kohm", "0.1 kohm", "electrode-resistance-low", OPEN, WATER | BY_DC),
    electrodes("0.004 kohm", "1 kohm", "electrode-resistance-low", PRESENT, {"liquid": "water"}),
    electrodes("over range", "1 kohm", "electrode-circuit-open", PRESENT, BY_DC),
    electrodes("over range", "1 kohm", "electrode-circuit-open", PRESENT),
    Row({}, "velocity-too-low", PRESENT, VELOCITY, {**BORE, "usual-flow": "8.4 m3/h"}),
    Row({}, "velocity-too-low", ABSENT, VELOCITY, {**BORE, "usual-flow": "8.6 m3/h"}),
    Row({}, "velocity-too-low", ABSENT, VELOCITY, {**BORE, "usual-flow": "28.2743 m3/h"}),
    Row({}, "velocity-too-high", PRESENT, VELOCITY, {**BORE, "usual-flow": "283 m3/h"}),
    Row({}, "velocity-too-high", OPEN, VELOCITY, {**BORE, "usual-flow": "282 m3/h"}),
    Row({"straight-run-upstream": "4.9", "straight-run-downstream": "3"}, "straight-run-short", PRESENT, STRAIGHT),
    # 5 and 3 are enough after a bend, 10 before after a pump; while nobody knows what disturbs the flow it is open
    Row({"straight-run-upstream": "5", "straight-run-downstream": "3"}, "straight-run-short", OPEN, STRAIGHT),
    Row({"straight-run-upstream": "10", "straight-run-downstream": "3"}, "straight-run-short", ABSENT, STRAIGHT),
    Row(
        {"straight-run-upstream": "5", "straight-run-downstream": "3"},
        "straight-run-short",
        ABSENT,
        STRAIGHT,
        {"flow-disturbance": "bend"},
    ),
    Row(
        {"straight-run-upstream": "9", "straight-run-downstream": "3"},
        "straight-run-short",
        PRESENT,
        STRAIGHT,
        {"flow-disturbance": "pump"},
    ),
    Row({"straight-run-upstream": "5", "straight-run-downstream": "1.9"}, "straight-run-short", PRESENT, STRAIGHT),
    Row({"bond-resistance": "0.05 ohm"}, "liquid-not-earthed", OPEN, BONDED),
    Row({"bond-resistance": "0.05 ohm"}, "liquid-not-earthed", OPEN, BONDED, {"pipe": "plastic or lined"}),
    Row({"bond-resistance": "0.05 ohm"}, "liquid-not-earthed", ABSENT, BONDED, {"pipe": "bare metal"}),
    Row({"bond-resistance": "0.05 ohm"}, "bond-bad", ABSENT, BONDED),
    Row({"straight-run-upstream": "20"}, "swirl-source-upstream", OPEN, SWIRL),
    Row({"straight-run-upstream": "51"}, "swirl-source-upstream", ABSENT, SWIRL),
    Row({"straight-run-upstream": "20"}, "swirl-source-upstream", ABSENT, SWIRL, {"flow-disturbance": "bend"}),
    Row({"straight-run-upstream": "29"}, "swirl-source-upstream", PRESENT, SWIRL, {"flow-disturbance": "pump"}),
    Row({"straight-run-upstream": "40"}, "swirl-source-upstream", OPEN, SWIRL, {"flow-disturbance": "pump"}),
    Row({"straight-run-upstream": "5", "straight-run-downstream": "2.5"}, "straight-run-short", OPEN, STRAIGHT),
    Row({"measured-conductivity": "4.9 uS/cm"}, "conductivity-low", PRESENT, CONDUCTIVITY),
    Row({"measured-conductivity": "60 uS/cm"}, "conductivity-low", ABSENT, CONDUCTIVITY),
]

TOUCH = (
    "IEC 60364-4-41, IEC 61140 (from memory): 25 V a.c. and 60 V d.c. in the wet; 12 and 30 V in water (as in pools)"
)
FLOODED = {"meter-under-water": True}
TOUCHED = [
    Row({"liquid-earth-voltage": "26 V"}, "metalwork-at-voltage", PRESENT, TOUCH),
    Row({"liquid-earth-voltage": "26 V"}, "metalwork-at-voltage", PRESENT, TOUCH, {"location": "pit or vault"}),
    Row({"liquid-earth-voltage": "24 V"}, "metalwork-at-voltage", OPEN, TOUCH),
    Row({"liquid-earth-voltage": "13 V"}, "metalwork-at-voltage", PRESENT, TOUCH, seen=FLOODED),
    Row({"liquid-earth-dc-voltage": "61 V"}, "metalwork-at-voltage", PRESENT, TOUCH),
    Row({"liquid-earth-dc-voltage": "31 V"}, "metalwork-at-voltage", OPEN, TOUCH),
    Row({"liquid-earth-dc-voltage": "31 V"}, "metalwork-at-voltage", PRESENT, TOUCH, seen=FLOODED),
]

TOLERANCES = (
    "a clamp-on meter is good to 2 to 5 % and 0.02 to 0.03 m/s (common practice); 100 mm at 0.1 m/s: 2.827 m3/h"
)


def against(reads: str, reference: str, stands: bool | None, kind: str = "") -> Row:
    """Return a row for the display against a reference of a kind."""
    sheet = BORE | ({"reference-kind": kind} if kind else {})
    return Row({"displayed-flow": reads, "reference-flow": reference}, "difference-small", stands, TOLERANCES, sheet)


COMPARED = [
    against("2.8 m3/h", "3.3 m3/h", OPEN, "ultrasonic clamp-on meter"),
    against("2.8 m3/h", "3.3 m3/h", OPEN),
    against("2.8 m3/h", "3.3 m3/h", ABSENT, "tank or weighing"),
    against("28 m3/h", "33 m3/h", ABSENT, "ultrasonic clamp-on meter"),
    against("2.8 m3/h", "9 m3/h", ABSENT, "ultrasonic clamp-on meter"),
]

MARKED = "the fuse that is marked on the meter is the right one (IEC 60127 for what the marking means)"
FUSE = {"fuse-rating": "4 A", "fuse-characteristic": "T", "power-consumption": "8 VA", **MAINS}
FUSES = [
    Row({}, "fuse-is-wrong-type", OPEN, MARKED, FUSE),
    Row(
        {},
        "fuse-is-wrong-type",
        ABSENT,
        MARKED,
        FUSE | {"fuse-rating-marked": "4 A", "fuse-characteristic-marked": "T"},
    ),
    Row({}, "fuse-is-wrong-type", PRESENT, MARKED, FUSE | {"fuse-characteristic-marked": "F"}),
    Row({}, "fuse-is-wrong-type", PRESENT, MARKED, FUSE | {"fuse-rating-marked": "0.5 A"}),
    Row({}, "fuse-is-wrong-type", OPEN, MARKED, FUSE | {"fuse-rating-marked": "4 A"}),
]

PULSES = "pulse and gap fit into one period: highest frequency 1 / (2 × width), 5 Hz at 100 ms; K 10 pulses a litre"
PULSE_SHEET = {"pulse-value": "1 l", "pulse-width": "100 ms", **RANGE}
PULSE = [
    Row({}, "pulses-run-into-each-other", PRESENT, PULSES, {**PULSE_SHEET, "upper-range-value": "18.1 m3/h"}),
    Row({}, "pulses-run-into-each-other", ABSENT, PULSES, {**PULSE_SHEET, "upper-range-value": "16 m3/h"}),
]

EVERY = [
    *CURRENT_LOOP,
    *SCALED,
    *BUDGETS,
    *SUPPLY,
    *WIRING,
    *BUS,
    *RECEIVER,
    *SENSOR,
    *TOUCHED,
    *COMPARED,
    *FUSES,
    *PULSE,
]


@pytest.mark.parametrize("row", EVERY, ids=str)
def test_threshold(row: Row) -> None:
    """What is read makes the finding present, absent, or leaves it open, as the source of the limit has it."""
    diagnosis = diagnosed(row)
    assert diagnosis.findings.get(row.finding) is row.stands, row.source
    assert [each for each in diagnosis.contradictions if each.finding == row.finding] == []
