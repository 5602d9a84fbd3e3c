"""Insulation of the supply and continuity of the protective earth (IEC 60364-6, IEC 61010-1)."""

from __future__ import annotations

from diagnose.calculations.calculation import calculation

LIMIT_OF_EXTRA_LOW_VOLTAGE = 120.0
"""Highest voltage [V] of SELV or PELV (d.c.; a.c. ends at 50 V): IEC 61140, from memory."""

LOW_VOLTAGE = 500.0
"""Nominal voltage [V] up to which 500 V d.c. are the test voltage: IEC 60364-6, Table 6.1."""

INSULATION_SOURCE = "IEC 60364-6, Table 6.1 (through a published table)"
DISCONNECTED = "dead, electronics and surge arresters disconnected, never in an explosive atmosphere"


@calculation(
    gives="insulation-test-voltage",
    formula="SELV, PELV 250 V; up to 500 V 500 V; above 1000 V",
    source=INSULATION_SOURCE,
    valid=DISCONNECTED + "; not known up to 120 V: as SELV",
)
def insulation_test_voltage(nominal_supply_voltage: float, extra_low_voltage: str) -> float:
    """Return the d.c. voltage [V] with which the insulation of a circuit of a nominal voltage [V] is tested.

    Where it is not known whether a circuit up to 120 V is SELV or PELV, the gentler test is named. Raises OutOfRange
    for a voltage that is not positive. Source: IEC 60364-6, Table 6.1; 230 V is tested with 500 V d.c.

    >>> insulation_test_voltage(230.0, "neither"), insulation_test_voltage(24.0, "SELV")
    (500.0, 250.0)
    """
    unknown = extra_low_voltage == "not known" and nominal_supply_voltage <= LIMIT_OF_EXTRA_LOW_VOLTAGE
    if unknown or _is_extra_low(nominal_supply_voltage, extra_low_voltage):
        return 250.0
    return 500.0 if nominal_supply_voltage <= LOW_VOLTAGE else 1000.0


@calculation(
    gives="least-insulation",
    formula="SELV, PELV 0.5 Mohm; others 1 Mohm",
    source=INSULATION_SOURCE,
    valid=DISCONNECTED + "; not known: 1 Mohm",
)
def least_insulation(nominal_supply_voltage: float, extra_low_voltage: str) -> float:
    """Return the least insulation [ohm] to earth of a circuit of a nominal voltage [V].

    Where it is not known whether a circuit is SELV or PELV, the stricter limit is named. Raises OutOfRange for a
    voltage that is not positive. Source: IEC 60364-6, Table 6.1; 230 V wants 1 megohm, 24 V SELV 0.5 megohm.

    >>> 1e-6 * least_insulation(230.0, "neither"), 1e-6 * least_insulation(24.0, "SELV")
    (1.0, 0.5)
    """
    return 0.5e6 if _is_extra_low(nominal_supply_voltage, extra_low_voltage) else 1e6


@calculation(
    gives="insulation-leakage-current",
    formula="I_leak = U / R_iso",
    source="Ohm's law",
    valid="without the capacitance of cable and filters",
)
def leakage_current(nominal_supply_voltage: float, supply_insulation: float) -> float:
    """Return the current [A] that a nominal voltage [V] drives through an insulation [ohm]: I = U / R.

    Raises OutOfRange unless both are positive. Source: Ohm's law; 230 V through 1 megohm are 0.23 mA.

    >>> 1000 * leakage_current(230.0, 1e6)
    0.23
    """
    return nominal_supply_voltage / supply_insulation


def _is_extra_low(voltage: float, kind: str) -> bool:
    return kind in ("SELV", "PELV") and voltage <= LIMIT_OF_EXTRA_LOW_VOLTAGE
