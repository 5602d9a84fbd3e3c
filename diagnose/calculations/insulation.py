"""Insulation of the supply and continuity of the protective earth (IEC 60364-6, IEC 61010-1)."""

from __future__ import annotations

from diagnose.calculations.calculation import calculation
from diagnose.calculations.limits import not_above, not_below
from diagnose.calculations.terms import Term, declare

declare(
    Term(
        name="extra-low-voltage",
        title="whether the supply is extra-low voltage by SELV or PELV",
        symbol="extra-low voltage",
        choices=("SELV", "PELV", "neither", "not known"),
        example="neither",
    ),
    Term(name="insulation-test-voltage", title="d.c. voltage for the insulation test", unit="V", above=0.0),
    Term(
        name="supply-insulation",
        title="insulation of the supply to earth, electronics disconnected",
        unit="Mohm",
        symbol="R_iso",
        above=0.0,
        example="200 Mohm",
    ),
    Term(
        name="least-insulation",
        title="least insulation of the supply to earth",
        unit="Mohm",
        symbol="R_min",
        above=0.0,
    ),
    Term(name="insulation-verdict", title="insulation of the supply", choices=("fine", "wrong")),
    Term(name="leakage-current", title="leakage through the insulation", unit="mA", symbol="I_leak"),
    Term(
        name="earth-continuity",
        title="resistance from the enclosure to the protective earth",
        unit="ohm",
        symbol="R_PE",
        at_least=0.0,
        example="0.08 ohm",
    ),
    Term(
        name="supply-connection",
        title="how the supply is connected",
        symbol="connection",
        choices=("fixed wiring", "fixed cord"),
    ),
    Term(
        name="earth-continuity-verdict",
        title="continuity of the protective earth",
        choices=("fine", "doubtful: measure again at the earth terminal", "wrong"),
    ),
)

LIMIT_OF_EXTRA_LOW_VOLTAGE = 120.0
"""Highest voltage [V] of SELV or PELV (d.c.; a.c. ends at 50 V): IEC 61140, from memory."""

LOW_VOLTAGE = 500.0
"""Nominal voltage [V] up to which 500 V d.c. are the test voltage: IEC 60364-6, Table 6.1."""

GREATEST_EARTH = {"fixed wiring": 0.1, "fixed cord": 0.2}
"""Connection → greatest resistance [ohm] from accessible metal to the earth terminal: IEC 61010-1, from memory."""

NO_EARTH = 1.0
"""Resistance [ohm] above which no length of earth conductor explains it: common practice."""

INSULATION_SOURCE = "IEC 60364-6, Table 6.1 (through a published table)"
DISCONNECTED = "dead, electronics and surge arresters disconnected, never in an explosive atmosphere"


@calculation(
    gives="insulation-test-voltage",
    formula="SELV, PELV 250 V; up to 500 V 500 V; above 1000 V",
    source=INSULATION_SOURCE,
    valid=DISCONNECTED + "; not known up to 120 V: as SELV",
)
def insulation_test_voltage(voltage: float, extra_low_voltage: str) -> float:
    """Return the d.c. voltage [V] with which the insulation of a circuit of nominal ``voltage`` [V] is tested.

    Where it is not known whether a circuit up to 120 V is SELV or PELV, the gentler test is named. Raises OutOfRange
    for a voltage that is not positive. Source: IEC 60364-6, Table 6.1; 230 V is tested with 500 V d.c.

    >>> insulation_test_voltage(230.0, "neither"), insulation_test_voltage(24.0, "SELV")
    (500.0, 250.0)
    """
    unknown = extra_low_voltage == "not known" and voltage <= LIMIT_OF_EXTRA_LOW_VOLTAGE
    if unknown or _is_extra_low(voltage, extra_low_voltage):
        return 250.0
    return 500.0 if voltage <= LOW_VOLTAGE else 1000.0


@calculation(
    gives="least-insulation",
    formula="SELV, PELV 0.5 Mohm; others 1 Mohm",
    source=INSULATION_SOURCE,
    valid=DISCONNECTED + "; not known: 1 Mohm",
)
def least_insulation(voltage: float, extra_low_voltage: str) -> float:
    """Return the least insulation [ohm] to earth of a circuit of nominal ``voltage`` [V].

    Where it is not known whether a circuit is SELV or PELV, the stricter limit is named. Raises OutOfRange for a
    voltage that is not positive. Source: IEC 60364-6, Table 6.1; 230 V wants 1 megohm, 24 V SELV 0.5 megohm.

    >>> 1e-6 * least_insulation(230.0, "neither"), 1e-6 * least_insulation(24.0, "SELV")
    (1.0, 0.5)
    """
    return 0.5e6 if _is_extra_low(voltage, extra_low_voltage) else 1e6


@calculation(
    gives="insulation-verdict",
    formula="SELV, PELV from 0.5 Mohm fine; others, and not known, from 1 Mohm",
    source=INSULATION_SOURCE,
    valid=DISCONNECTED,
)
def insulation_verdict(supply_insulation: float, voltage: float, extra_low_voltage: str = "not known") -> str:
    """Return whether a measured insulation [ohm] is enough for a circuit of nominal ``voltage`` [V].

    Raises OutOfRange unless both are positive. Source: IEC 60364-6, Table 6.1; 0.7 megohm is wrong at 230 V.

    >>> insulation_verdict(0.7e6, 230.0), insulation_verdict(0.7e6, 24.0, "SELV")
    ('wrong', 'fine')
    """
    least = 0.5e6 if _is_extra_low(voltage, extra_low_voltage) else 1e6
    return "fine" if not_below(supply_insulation, least) else "wrong"


@calculation(
    gives="leakage-current",
    formula="I_leak = U / R_iso",
    source="Ohm's law",
    valid="without the capacitance of cable and filters",
)
def leakage_current(voltage: float, supply_insulation: float) -> float:
    """Return the current [A] that a nominal ``voltage`` [V] drives through an insulation [ohm]: I = U / R.

    Raises OutOfRange unless both are positive. Source: Ohm's law; 230 V through 1 megohm are 0.23 mA.

    >>> 1000 * leakage_current(230.0, 1e6)
    0.23
    """
    return voltage / supply_insulation


@calculation(
    gives="earth-continuity-verdict",
    formula="up to 0.1 ohm (0.2 ohm with a fixed cord) fine, above 1 ohm wrong",
    source="IEC 61010-1 (0.1 and 0.2 ohm, from memory); 1 ohm common practice",
    valid="enclosure to earth terminal; resistance of the leads taken off; measured with 0.2 A or more",
)
def earth_continuity_verdict(earth_continuity: float, supply_connection: str = "fixed wiring") -> str:
    """Return whether the resistance [ohm] from the enclosure to the protective earth is that of a good joint.

    A long earth conductor has some tenths of an ohm itself: measure again at the meter's earth terminal. Raises
    OutOfRange for a negative resistance. Source: IEC 61010-1, 0.1 ohm, 0.2 ohm with a fixed cord, from memory.

    >>> earth_continuity_verdict(0.08), earth_continuity_verdict(40.0)
    ('fine', 'wrong')
    """
    if not_above(earth_continuity, GREATEST_EARTH[supply_connection]):
        return "fine"
    return "doubtful: measure again at the earth terminal" if not_above(earth_continuity, NO_EARTH) else "wrong"


def _is_extra_low(voltage: float, kind: str) -> bool:
    return kind in ("SELV", "PELV") and voltage <= LIMIT_OF_EXTRA_LOW_VOLTAGE
