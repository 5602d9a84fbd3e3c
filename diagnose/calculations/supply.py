"""The power supply of the meter: voltage and frequency within their limits, and the current that it draws."""

from __future__ import annotations

from diagnose.calculations.calculation import Column, Table, calculation
from diagnose.errors import OutOfRange

VOLTAGE_BANDS = {
    "a.c.": {"95 % of the 10-minute means of a week": (0.90, 1.10), "always": (0.85, 1.10)},
    "d.c.": {"always": (0.85, 1.20)},
}
"""Kind of supply → when → lowest and highest share of nominal: IEC 60038, EN 50160 (a.c.), common practice (d.c.)."""

FREQUENCY_LIMITS = {"interconnected": ((0.99, 1.01), (0.94, 1.04)), "island": ((0.98, 1.02), (0.85, 1.15))}
"""Network → lowest and highest share of nominal, usually and always: EN 50160 through published summaries."""

USUAL_SHARE_OF_TIME = {"interconnected": "99.5 % of the year", "island": "95 % of the week"}
"""Network → share of time within the narrower band: EN 50160, that of an island from memory."""

VOLTAGE_SOURCE = "IEC 60038 / EN 50160 (a.c., ±10 %); common practice (d.c., -15 / +20 %)"
SHARES = "0.9 to 1.1 of nominal for a.c., 0.85 to 1.2 for d.c. (60 V at most: taken for d.c.)"
FREQUENCY_SOURCE = "EN 50160, through published summaries"
DATA_SHEET_DECIDES = "the meter's data sheet decides"


@calculation(gives="least-supply-voltage-allowed", formula=SHARES, source=VOLTAGE_SOURCE, valid=DATA_SHEET_DECIDES)
def supply_lower_limit(nominal_supply_voltage: float, supply_kind: str = "") -> float:
    """Return the lowest voltage [V] allowed for a nominal voltage [V] a.c. or d.c.; the data sheet decides.

    Where nobody says which kind it is, extra-low voltage (60 V at most) is taken for d.c., any other for a.c.

    Raises OutOfRange for a voltage that is not positive. Source: IEC 60038 (a.c. -10 %), common practice (d.c. -15 %).

    >>> supply_lower_limit(230.0, "a.c."), supply_lower_limit(24.0, "d.c.")
    (207.0, 20.4)
    """
    return nominal_supply_voltage * _limits(supply_kind or _usual_kind(nominal_supply_voltage))[0]


@calculation(gives="greatest-supply-voltage-allowed", formula=SHARES, source=VOLTAGE_SOURCE, valid=DATA_SHEET_DECIDES)
def supply_upper_limit(nominal_supply_voltage: float, supply_kind: str = "") -> float:
    """Return the highest voltage [V] allowed for a nominal voltage [V] a.c. or d.c.; the data sheet decides.

    Where nobody says which kind it is, extra-low voltage (60 V at most) is taken for d.c., any other for a.c.

    Raises OutOfRange for a voltage that is not positive. Source: IEC 60038 (a.c. +10 %), common practice (d.c. +20 %).

    >>> supply_upper_limit(230.0, "a.c."), supply_upper_limit(24.0, "d.c.")
    (253.0, 28.8)
    """
    return nominal_supply_voltage * _limits(supply_kind or _usual_kind(nominal_supply_voltage))[1]


@calculation(
    gives="expected-supply-current", formula="I = P / U", source="definition", valid="P in W for d.c., in VA for a.c."
)
def supply_current(power_consumption: float, nominal_supply_voltage: float) -> float:
    """Return the current [A] that a meter of ``power_consumption`` [VA or W] draws at a voltage [V].

    Raises OutOfRange for a voltage that is not positive. Source: definition; 20 VA at 230 V is 87 mA.

    >>> 1000 * supply_current(20.0, 230.0)
    86.957
    """
    return power_consumption / nominal_supply_voltage


@calculation(
    title="supply current over the allowed voltages",
    formula="I = P / U",
    source="definition",
    valid="constant power, P in W for d.c., in VA for a.c.",
)
def supply_current_over_range(
    power_consumption: float,
    nominal_supply_voltage: float,
    least_supply_voltage_allowed: float,
    greatest_supply_voltage_allowed: float,
) -> Table:
    """Return the current at the lowest, the nominal and the highest voltage [V] for a ``power_consumption`` [VA or W].

    Raises OutOfRange for a lowest voltage of zero. Source: definition; 20 VA at 207, 230, 253 V draw 97, 87, 79 mA.

    >>> [round(1000 * row[2]) for row in supply_current_over_range(20.0, 230.0, 207.0, 253.0).rows]
    [97, 87, 79]
    """
    if least_supply_voltage_allowed == 0:
        raise OutOfRange("the lowest allowed voltage must be greater than 0 V")
    voltages = {
        "lowest": least_supply_voltage_allowed,
        "nominal": nominal_supply_voltage,
        "highest": greatest_supply_voltage_allowed,
    }
    return Table(
        columns=(Column("voltage"), Column("at the terminals", "V"), Column("current", "mA")),
        rows=tuple((name, each, power_consumption / each) for name, each in voltages.items()),
    )


@calculation(
    title="limits of the supply voltage",
    formula="a.c. 0.9 to 1.1 of nominal, 0.85 to 1.1 always; d.c. 0.85 to 1.2",
    source=VOLTAGE_SOURCE,
    valid=DATA_SHEET_DECIDES,
)
def supply_voltage_limits(nominal_supply_voltage: float, supply_kind: str) -> Table:
    """Return the bands in which the supply of a nominal voltage [V] must lie.

    Raises OutOfRange for a voltage that is not positive. Source: EN 50160 through published summaries, 95 % of the
    10-minute means of a week within ±10 %, all of them within +10/-15 %; 230 V: 207 to 253 V, always 195.5 to 253 V.

    >>> supply_voltage_limits(230.0, "a.c.").rows[1]
    ('always', 195.5, 253.0)
    """
    bands = VOLTAGE_BANDS[supply_kind]
    return Table(
        columns=(Column("when"), Column("lowest", "V"), Column("highest", "V")),
        rows=tuple(
            (when, low * nominal_supply_voltage, high * nominal_supply_voltage) for when, (low, high) in bands.items()
        ),
    )


@calculation(
    title="limits of the mains frequency",
    formula="±1 % of nominal, +4 / -6 % always; island ±2 %, ±15 % always",
    source=FREQUENCY_SOURCE,
)
def mains_frequency_limits(nominal_frequency: float, mains_network: str = "interconnected") -> Table:
    """Return the bands in which the frequency of a network of ``nominal_frequency`` [Hz] must lie.

    Raises OutOfRange for a frequency that is not positive. Source: EN 50160 through published summaries; 50 Hz: 49.5
    to 50.5 Hz for 99.5 % of the year, always 47 to 52 Hz.

    >>> [row[1:] for row in mains_frequency_limits(50.0).rows]
    [(49.5, 50.5), (47.0, 52.0)]
    """
    bands = zip((USUAL_SHARE_OF_TIME[mains_network], "always"), FREQUENCY_LIMITS[mains_network], strict=True)
    return Table(
        columns=(Column("when"), Column("lowest", "Hz"), Column("highest", "Hz")),
        rows=tuple((when, low * nominal_frequency, high * nominal_frequency) for when, (low, high) in bands),
    )


EXTRA_LOW = 60.0
"""Highest nominal voltage [V] of supplies that are d.c. as a rule: common practice."""


def _usual_kind(nominal_supply_voltage: float) -> str:
    return "d.c." if nominal_supply_voltage <= EXTRA_LOW else "a.c."


def _limits(kind: str) -> tuple[float, float]:
    return next(iter(VOLTAGE_BANDS[kind].values()))
