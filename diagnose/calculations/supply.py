"""The power supply of the meter: voltage and frequency within their limits, and the current that it draws."""

from __future__ import annotations

from diagnose.calculations.calculation import Column, Table, calculation
from diagnose.calculations.limits import not_above, not_below
from diagnose.calculations.terms import Term, declare
from diagnose.errors import OutOfRange

declare(
    Term(name="power", title="power that the meter draws", unit="W", symbol="P", at_least=0.0, example="10 W"),
    Term(name="voltage", title="nominal voltage of the supply", unit="V", symbol="U", above=0.0, example="230 V"),
    Term(name="supply-kind", title="kind of supply", symbol="kind", choices=("a.c.", "d.c."), example="d.c."),
    Term(
        name="supply-voltage",
        title="supply voltage at the meter's terminals, meter running",
        unit="V",
        symbol="U_t",
        at_least=0.0,
        example="22.5 V",
    ),
    Term(
        name="supply-lower-limit",
        title="lowest allowed supply voltage",
        unit="V",
        symbol="U_min",
        at_least=0.0,
        example="207 V",
    ),
    Term(
        name="supply-upper-limit",
        title="highest allowed supply voltage",
        unit="V",
        symbol="U_max",
        above=0.0,
        example="253 V",
    ),
    Term(
        name="supply-voltage-verdict",
        title="supply voltage at the terminals",
        choices=("fine", "too low", "too high"),
    ),
    Term(
        name="expected-supply-current",
        title="current that the meter should draw",
        unit="mA",
        symbol="I",
        at_least=0.0,
        example="87 mA",
    ),
    Term(
        name="supply-current",
        title="measured supply current",
        unit="mA",
        symbol="I",
        at_least=0.0,
        example="80 mA",
    ),
    Term(
        name="supply-current-verdict",
        title="measured supply current against what is expected",
        choices=(
            "none: supply, fuse or power board open",
            "little: compare with the data sheet",
            "fine",
            "more than the nameplate says",
            "far too much: a short or a broken power board",
        ),
    ),
    Term(name="nominal-frequency", title="nominal frequency of the mains", unit="Hz", above=0.0, example="50 Hz"),
    Term(name="mains-frequency", title="measured frequency of the mains", unit="Hz", above=0.0, example="49.9 Hz"),
    Term(
        name="mains-network",
        title="network that the supply comes from",
        symbol="network",
        choices=("interconnected", "island"),
    ),
    Term(
        name="mains-frequency-verdict",
        title="measured frequency against its limits",
        choices=("fine", "only at times allowed", "wrong"),
    ),
)

VOLTAGE_BANDS = {
    "a.c.": {"95 % of the 10-minute means of a week": (0.90, 1.10), "always": (0.85, 1.10)},
    "d.c.": {"always": (0.85, 1.20)},
}
"""Kind of supply → when → lowest and highest share of nominal: IEC 60038, EN 50160 (a.c.), common practice (d.c.)."""

FREQUENCY_LIMITS = {"interconnected": ((0.99, 1.01), (0.94, 1.04)), "island": ((0.98, 1.02), (0.85, 1.15))}
"""Network → lowest and highest share of nominal, usually and always: EN 50160 through published summaries."""

USUAL_SHARE_OF_TIME = {"interconnected": "99.5 % of the year", "island": "95 % of the week"}
"""Network → share of time within the narrower band: EN 50160, that of an island from memory."""

NO_CURRENT, LITTLE, AS_EXPECTED, TOO_MUCH = 0.05, 0.2, 1.5, 2.5
"""Ratios of measured to expected current at which the verdict changes: common practice."""

VOLTAGE_SOURCE = "IEC 60038 / EN 50160 (a.c., ±10 %); common practice (d.c., -15 / +20 %)"
SHARES = "0.9 to 1.1 of nominal for a.c., 0.85 to 1.2 for d.c."
FREQUENCY_SOURCE = "EN 50160, through published summaries"
DATA_SHEET_DECIDES = "the meter's data sheet decides"


@calculation(gives="supply-lower-limit", formula=SHARES, source=VOLTAGE_SOURCE, valid=DATA_SHEET_DECIDES)
def supply_lower_limit(voltage: float, supply_kind: str = "a.c.") -> float:
    """Return the lowest voltage [V] allowed for a nominal ``voltage`` [V] a.c. or d.c.; the data sheet decides.

    Where nobody says which kind it is, the narrower band of a.c. counts.

    Raises OutOfRange for a voltage that is not positive. Source: IEC 60038 (a.c. -10 %), common practice (d.c. -15 %).

    >>> supply_lower_limit(230.0, "a.c."), supply_lower_limit(24.0, "d.c.")
    (207.0, 20.4)
    """
    return voltage * _limits(supply_kind)[0]


@calculation(gives="supply-upper-limit", formula=SHARES, source=VOLTAGE_SOURCE, valid=DATA_SHEET_DECIDES)
def supply_upper_limit(voltage: float, supply_kind: str = "a.c.") -> float:
    """Return the highest voltage [V] allowed for a nominal ``voltage`` [V] a.c. or d.c.; the data sheet decides.

    Where nobody says which kind it is, the narrower band of a.c. counts.

    Raises OutOfRange for a voltage that is not positive. Source: IEC 60038 (a.c. +10 %), common practice (d.c. +20 %).

    >>> supply_upper_limit(230.0, "a.c."), supply_upper_limit(24.0, "d.c.")
    (253.0, 28.8)
    """
    return voltage * _limits(supply_kind)[1]


@calculation(
    gives="supply-voltage-verdict", formula="U_min ≤ U_t ≤ U_max", source=VOLTAGE_SOURCE, valid=DATA_SHEET_DECIDES
)
def supply_voltage_verdict(supply_voltage: float, supply_lower_limit: float, supply_upper_limit: float) -> str:
    """Return whether the voltage at the terminals [V] lies within its limits [V].

    Raises OutOfRange for negative voltages. Source: the limits' own; 195 V at 230 V a.c. is too low.

    >>> supply_voltage_verdict(195.0, 207.0, 253.0), supply_voltage_verdict(24.0, 20.4, 28.8)
    ('too low', 'fine')
    """
    if not not_below(supply_voltage, supply_lower_limit):
        return "too low"
    return "fine" if not_above(supply_voltage, supply_upper_limit) else "too high"


@calculation(
    gives="expected-supply-current", formula="I = P / U", source="definition", valid="P in W for d.c., in VA for a.c."
)
def supply_current(power: float, voltage: float) -> float:
    """Return the current [A] that a meter of ``power`` [VA or W] draws at ``voltage`` [V].

    Raises OutOfRange for a voltage that is not positive. Source: definition; 20 VA at 230 V is 87 mA.

    >>> 1000 * supply_current(20.0, 230.0)
    86.957
    """
    return power / voltage


@calculation(
    gives="supply-current-verdict",
    formula="none below 5 %, fine from 20 to 150 %, far too much above 250 % of expected",
    source="common practice",
    valid="the nameplate gives the highest power; many meters draw less",
)
def supply_current_verdict(supply_current: float, expected_supply_current: float) -> str:
    """Return what a measured supply current [A] means compared with the expected one [A].

    Raises OutOfRange for negative currents. Source: common practice; 600 mA for 87 mA is far too much.

    >>> supply_current_verdict(0.080, 0.087), supply_current_verdict(0.6, 0.087)
    ('fine', 'far too much: a short or a broken power board')
    """
    if supply_current < NO_CURRENT * expected_supply_current or supply_current == 0:
        return "none: supply, fuse or power board open"
    if supply_current < LITTLE * expected_supply_current:
        return "little: compare with the data sheet"
    if supply_current <= AS_EXPECTED * expected_supply_current:
        return "fine"
    if supply_current <= TOO_MUCH * expected_supply_current:
        return "more than the nameplate says"
    return "far too much: a short or a broken power board"


@calculation(
    title="supply current over the allowed voltages",
    formula="I = P / U",
    source="definition",
    valid="constant power, P in W for d.c., in VA for a.c.",
)
def supply_current_over_range(
    power: float, voltage: float, supply_lower_limit: float, supply_upper_limit: float
) -> Table:
    """Return the current at the lowest, the nominal and the highest voltage [V] for a ``power`` [VA or W].

    Raises OutOfRange for a lowest voltage of zero. Source: definition; 20 VA at 207, 230, 253 V draw 97, 87, 79 mA.

    >>> [round(1000 * row[2]) for row in supply_current_over_range(20.0, 230.0, 207.0, 253.0).rows]
    [97, 87, 79]
    """
    if supply_lower_limit == 0:
        raise OutOfRange("the lowest allowed voltage must be greater than 0 V")
    voltages = {"lowest": supply_lower_limit, "nominal": voltage, "highest": supply_upper_limit}
    return Table(
        columns=(Column("voltage"), Column("at the terminals", "V"), Column("current", "mA")),
        rows=tuple((name, each, power / each) for name, each in voltages.items()),
    )


@calculation(
    title="limits of the supply voltage",
    formula="a.c. 0.9 to 1.1 of nominal, 0.85 to 1.1 always; d.c. 0.85 to 1.2",
    source=VOLTAGE_SOURCE,
    valid=DATA_SHEET_DECIDES,
)
def supply_voltage_limits(voltage: float, supply_kind: str) -> Table:
    """Return the bands in which the supply of a nominal ``voltage`` [V] must lie.

    Raises OutOfRange for a voltage that is not positive. Source: EN 50160 through published summaries, 95 % of the
    10-minute means of a week within ±10 %, all of them within +10/-15 %; 230 V: 207 to 253 V, always 195.5 to 253 V.

    >>> supply_voltage_limits(230.0, "a.c.").rows[1]
    ('always', 195.5, 253.0)
    """
    bands = VOLTAGE_BANDS[supply_kind]
    return Table(
        columns=(Column("when"), Column("lowest", "V"), Column("highest", "V")),
        rows=tuple((when, low * voltage, high * voltage) for when, (low, high) in bands.items()),
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


@calculation(
    gives="mains-frequency-verdict",
    formula="±1 % of nominal, +4 / -6 % always; island ±2 %, ±15 % always",
    source=FREQUENCY_SOURCE,
)
def mains_frequency_verdict(
    mains_frequency: float, nominal_frequency: float, mains_network: str = "interconnected"
) -> str:
    """Return whether a measured frequency [Hz] lies within what its network allows around the nominal one [Hz].

    Raises OutOfRange for frequencies that are not positive. Source: EN 50160 through published summaries.

    >>> mains_frequency_verdict(49.9, 50.0), mains_frequency_verdict(48.0, 50.0), mains_frequency_verdict(46.0, 50.0)
    ('fine', 'only at times allowed', 'wrong')
    """
    share = mains_frequency / nominal_frequency
    usual, always = (not_below(share, low) and not_above(share, high) for low, high in FREQUENCY_LIMITS[mains_network])
    if usual:
        return "fine"
    return "only at times allowed" if always else "wrong"


def _limits(kind: str) -> tuple[float, float]:
    return next(iter(VOLTAGE_BANDS[kind].values()))
