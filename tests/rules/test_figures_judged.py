"""What the rules say of figures alone, as `diagnose calc` shows it: just inside and just outside published limits."""

from __future__ import annotations

from typing import NamedTuple

import pytest

from diagnose.rule_book.data_sheet import read_value
from diagnose.rule_book.verdicts import verdicts
from tests.engines import real_engine

FINE, DOUBTFUL, SILENT = "fine", "doubtful", ""


class Row(NamedTuple):
    """What is known, a finding, and whether rules find it (doubtful), rule it out (fine), or leave it open."""

    known: dict[str, str]
    finding: str
    judged: str
    source: str

    def __str__(self) -> str:
        """Return the row as a sayable id."""
        return f"{', '.join(f'{name} {value}' for name, value in self.known.items())}: {self.finding} {self.judged}"


NE_43 = "NAMUR NE 43 (3.6, 3.8, 20.5, 21 mA)"
TIA = "TIA-485: sure beyond 200 mV, common mode -7 to +12 V"
COPPER = "copper between -31 and 135 degC (IEC 60028)"
IEC_6 = "IEC 60364-6, Table 6.1"
FAR_SHORT = "copper of 0.22 mm2: 0.16 ohm for each metre of line, up to a short far away"
BACKWARDS = "an output that feeds the loop drives its own terminals rightly; the receiver gets minus"
FROM_OUTSIDE, BY_METER = "passive (fed from outside)", "active (meter feeds)"
PRACTICE = "common practice"
EN = "IEC 60038, EN 50160 (a.c. ±10 %)"
PLATE = {"nominal-supply-voltage": "230 V", "supply-kind": "a.c."}
NOMINAL = {"coil-resistance-nominal": "100 ohm"}
SMALL_COIL = {"coil-resistance-nominal": "20 ohm"}
COIL_CABLE = {"signal-cable-length": "300 m"}
IEC_60228 = "IEC 60228: 300 m there and back at 24.5 ohm/km are 14.7 ohm"
EXPECTED = {"expected-supply-current": "87 mA"}
CABLE = {
    "supply-voltage-at-source": "24 V",
    "supply-cable-length": "200 m",
    "supply-conductor-area": "0.75 mm2",
}
SURE = {"reference-flow": "100 m3/h", "reference-uncertainty": "0.4 %", "meter-uncertainty": "0.496 %"}
E_N = "ISO 13528, ISO/IEC 17043 (from memory): E_n up to 1; 0.8 % with 0.5/100.8 and 0.4/100 is 1.249"

ROWS = [
    Row({"loop-current": "3.6 mA"}, "output-at-fault-level", DOUBTFUL, NE_43),
    Row({"loop-current": "3.7 mA"}, "output-at-fault-level", SILENT, NE_43),
    Row({"loop-current": "3.8 mA"}, "output-at-fault-level", FINE, NE_43),
    Row({"loop-current": "20.5 mA"}, "output-at-fault-level", FINE, NE_43),
    Row({"loop-current": "21 mA"}, "output-at-fault-level", DOUBTFUL, NE_43),
    Row({"highest-loop-current": "16 mA"}, "loop-budget-exceeded", DOUBTFUL, NE_43),
    Row({"highest-loop-current": "21.5 mA"}, "loop-budget-exceeded", FINE, NE_43),
    Row({"bus-idle-voltage": "0.22 V"}, "bus-idle-voltage-low", FINE, TIA),
    Row({"bus-idle-voltage": "0.1913 V"}, "bus-idle-voltage-low", DOUBTFUL, TIA),
    Row({"bus-idle-voltage": "-0.3 V"}, "bus-lines-reversed", DOUBTFUL, TIA),
    Row({"bus-line-resistance": "30 ohm"}, "bus-resistance-low", DOUBTFUL, FAR_SHORT),
    Row({"bus-line-resistance": "30 ohm"}, "terminations-too-many", SILENT, FAR_SHORT),
    Row({"bus-line-resistance": "30 ohm"}, "bus-lines-shorted", SILENT, FAR_SHORT),
    Row({"bus-line-resistance": "30 ohm", "bus-length": "60 m"}, "bus-lines-shorted", FINE, FAR_SHORT),
    Row({"bus-line-resistance": "60 ohm"}, "bus-lines-shorted", SILENT, FAR_SHORT),
    Row({"bus-line-resistance": "60 ohm", "bus-length": "300 m"}, "bus-lines-shorted", FINE, FAR_SHORT),
    Row({"bus-line-resistance": "60 ohm", "bus-length": "900 m"}, "bus-lines-shorted", SILENT, FAR_SHORT),
    Row({"bus-line-resistance": "250 ohm"}, "bus-lines-shorted", FINE, FAR_SHORT),
    Row({"bus-line-resistance": "9 ohm"}, "bus-lines-shorted", DOUBTFUL, FAR_SHORT),
    Row({"receiver-current": "-12 mA"}, "current-flows-backwards", DOUBTFUL, BACKWARDS),
    Row({"receiver-current": "-12 mA"}, "no-current-at-receiver", FINE, BACKWARDS),
    Row({"receiver-current": "-12 mA"}, "loop-has-no-path", FINE, BACKWARDS),
    Row({"receiver-current": "0.1 mA"}, "no-current-at-receiver", DOUBTFUL, BACKWARDS),
    Row({"loop-feed": FROM_OUTSIDE, "loop-terminal-voltage": "14 V"}, "loop-voltage-reversed", FINE, BACKWARDS),
    Row({"loop-feed": BY_METER, "loop-terminal-voltage": "3 V"}, "loop-voltage-reversed", SILENT, BACKWARDS),
    Row({"bus-common-voltage": "-7 V"}, "bus-common-voltage-beyond-limits", FINE, TIA),
    Row({"bus-common-voltage": "12.1 V"}, "bus-common-voltage-beyond-limits", DOUBTFUL, TIA),
    Row({"bus-unit-loads": "28"}, "too-many-bus-loads", FINE, "Modbus over Serial Line V1.02, 3.4.6"),
    Row({"bus-unit-loads": "32"}, "too-many-bus-loads", SILENT, "TIA-485: 32 without bias, 28 with"),
    Row({"bus-unit-loads": "32.5"}, "too-many-bus-loads", DOUBTFUL, "TIA-485"),
    Row({"bus-length": "1300 m", "bus-baud-rate": "9600 baud"}, "bus-line-too-long", DOUBTFUL, PRACTICE),
    Row({"bus-length": "900 m", "bus-baud-rate": "9600 baud"}, "bus-line-too-long", FINE, PRACTICE),
    Row({"stub-length": "12 m", "longest-stub": "10 m"}, "bus-line-badly-laid", DOUBTFUL, "Modbus guide, 3.4.3"),
    Row({"bus-line-resistance": "60 ohm"}, "bus-resistance-high", FINE, "Modbus guide, 3.4.5"),
    Row({"bus-line-resistance": "121 ohm"}, "bus-resistance-high", DOUBTFUL, "Modbus guide, 3.4.5"),
    Row({"coil-resistance": "104 ohm", **NOMINAL}, "coil-resistance-low", FINE, COPPER),
    Row({"coil-resistance": "60 ohm", **NOMINAL}, "coil-resistance-low", DOUBTFUL, COPPER),
    Row({"coil-resistance": "220 ohm", **NOMINAL}, "coil-resistance-unsteady", DOUBTFUL, COPPER),
    Row({"coil-resistance": "35 ohm", **SMALL_COIL}, "coil-resistance-unsteady", DOUBTFUL, COPPER),
    Row({"coil-resistance": "35 ohm", **SMALL_COIL, **COIL_CABLE}, "coil-resistance-unsteady", SILENT, IEC_60228),
    Row({"coil-resistance": "35 ohm", **SMALL_COIL, **COIL_CABLE}, "coil-resistance-low", FINE, IEC_60228),
    Row({"coil-resistance": "20 ohm", **SMALL_COIL}, "coil-resistance-low", FINE, COPPER),
    Row({"coil-resistance": "20 ohm", **SMALL_COIL, **COIL_CABLE}, "coil-resistance-low", DOUBTFUL, IEC_60228),
    Row({"coil-resistance": "400 ohm"}, "coil-circuit-open", FINE, PRACTICE),
    Row({"coil-resistance": "0.4 ohm"}, "coil-circuit-shorted", DOUBTFUL, PRACTICE),
    Row({"coil-resistance": "2000000 ohm"}, "coil-circuit-open", DOUBTFUL, PRACTICE),
    Row({"coil-resistance": "7 ohm"}, "coil-circuit-open", FINE, PRACTICE),
    Row({"coil-resistance": "7 ohm"}, "coil-circuit-shorted", SILENT, PRACTICE),
    Row({"coil-resistance": "700 ohm"}, "coil-circuit-shorted", FINE, PRACTICE),
    Row({"coil-resistance": "700 ohm"}, "coil-circuit-open", SILENT, PRACTICE),
    Row(
        {"electrode-a-resistance": "0 ohm", "electrode-b-resistance": "0 ohm"},
        "electrode-resistance-low",
        DOUBTFUL,
        "1 / (2 σ d): 80 S/m at 10 mm are 0.6 ohm",
    ),
    Row({"fuse-rating": "1 A", "fuse-rating-marked": "0.5 A"}, "fuse-is-wrong-type", DOUBTFUL, PRACTICE),
    Row({"fuse-characteristic": "F", "fuse-characteristic-marked": "T"}, "fuse-is-wrong-type", DOUBTFUL, "facts 5.9"),
    Row({"fuse-breaking-letter": "L", "fuse-breaking-letter-marked": "H"}, "fuse-is-wrong-type", DOUBTFUL, "facts 5.9"),
    Row({"coil-insulation": "200 Mohm"}, "coil-insulation-low", FINE, PRACTICE),
    Row({"coil-insulation": "0.3 Mohm"}, "coil-insulation-low", DOUBTFUL, PRACTICE),
    Row({"liquid-conductivity": "6 uS/cm", "least-conductivity": "5 uS/cm"}, "conductivity-low", SILENT, PRACTICE),
    Row(
        {"liquid-conductivity": "4 uS/cm", "least-conductivity": "5 uS/cm"}, "conductivity-low", DOUBTFUL, "data sheet"
    ),
    Row({"liquid-conductivity": "500 uS/cm", "least-conductivity": "5 uS/cm"}, "conductivity-low", FINE, "data sheet"),
    Row({"short-circuit-current": "35 A", "breaking-capacity": "35 A"}, "fuse-is-wrong-type", SILENT, "IEC 60127-2"),
    Row({"short-circuit-current": "200 A", "breaking-capacity": "35 A"}, "fuse-is-wrong-type", DOUBTFUL, "IEC 60127-2"),
    Row({"supply-insulation": "1.01 Mohm", **PLATE}, "supply-insulation-low", FINE, IEC_6),
    Row({"supply-insulation": "0.99 Mohm", **PLATE}, "supply-insulation-low", DOUBTFUL, IEC_6),
    Row({"supply-insulation": "0.49 Mohm", "nominal-supply-voltage": "24 V"}, "supply-insulation-low", DOUBTFUL, IEC_6),
    Row({"earth-continuity": "0.1 ohm"}, "protective-earth-poor", FINE, "IEC 61010-1 (from memory)"),
    Row({"earth-continuity": "40 ohm"}, "protective-earth-poor", DOUBTFUL, "above 1 ohm: common practice"),
    Row({"supply-voltage": "208 V", **PLATE}, "supply-voltage-low", FINE, EN),
    Row({"supply-voltage": "206 V", **PLATE}, "supply-voltage-low", DOUBTFUL, EN),
    Row({"supply-voltage": "254 V", **PLATE}, "supply-voltage-high", DOUBTFUL, EN),
    Row({"supply-current": "0.08 A", **EXPECTED}, "supply-current-none", FINE, PRACTICE),
    Row({"supply-current": "0 A", **EXPECTED}, "supply-current-none", DOUBTFUL, PRACTICE),
    Row({"supply-current": "0.3 A", **EXPECTED}, "supply-current-excessive", DOUBTFUL, PRACTICE),
    Row({"supply-current": "0.45 A", **CABLE}, "supply-cable-drops-much", DOUBTFUL, "Ohm's law: 0.45 A over 9.5 ohm"),
    Row({"supply-current": "0.05 A", **CABLE}, "supply-cable-drops-much", FINE, "Ohm's law: 0.05 A over 9.5 ohm"),
    Row({"displayed-flow": "102.5 m3/h", **SURE}, "second-meter-disagrees", DOUBTFUL, E_N),
    Row({"displayed-flow": "102.5 m3/h", **SURE}, "difference-small", FINE, E_N),
    Row({"displayed-flow": "100.5 m3/h", **SURE}, "difference-small", SILENT, E_N),
    Row({"straight-run-upstream": "7", "flow-disturbance": "pump"}, "straight-run-short", DOUBTFUL, PRACTICE),
    Row({"straight-run-upstream": "4.9"}, "straight-run-short", DOUBTFUL, "engineers' handbook 7.6: 5 and 3"),
    Row({"position": "high point"}, "meter-at-high-point", DOUBTFUL, PRACTICE),
    Row({"position": "low point"}, "meter-at-high-point", FINE, PRACTICE),
    Row({"orientation": "vertical, downward"}, "flow-runs-downward", DOUBTFUL, "engineers' handbook 7.6"),
    Row({"pipe": "plastic or lined", "earthing": "none"}, "liquid-not-earthed", DOUBTFUL, PRACTICE),
    Row({"pipe": "bare metal", "earthing": "flanges bonded"}, "liquid-not-earthed", FINE, PRACTICE),
    Row(
        {"orientation": "horizontal", "electrode-axis-angle": "90 deg"},
        "electrodes-at-top-and-bottom",
        DOUBTFUL,
        PRACTICE,
    ),
    Row(
        {"orientation": "horizontal", "electrode-axis-angle": "45 deg"}, "electrodes-at-top-and-bottom", FINE, PRACTICE
    ),
]


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_a_published_limit(row: Row) -> None:
    """The finding is found, ruled out, or left open by rules that need nothing else."""
    book = real_engine().rule_book
    known = {name: read_value(book.quantities[name], value) for name, value in row.known.items()}
    fired = [book.inference[each.rule] for each in verdicts(book, known, {})]
    found = {name for rule in fired for name in rule.present}
    ruled_out = {name for rule in fired for name in rule.absent}
    assert (row.finding in found, row.finding in ruled_out) == (row.judged == DOUBTFUL, row.judged == FINE), fired
