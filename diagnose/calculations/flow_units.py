"""Units of flow by their exact definitions, and the effect of a wrong unit label."""

from __future__ import annotations

from itertools import permutations

from diagnose.calculations.calculation import Column, Table, calculation

FOOT = 12 * 0.0254
US_GALLON = 0.003785411784
IMPERIAL_GALLON = 0.00454609
BARREL = 42 * US_GALLON
ACRE_FOOT = 43560 * FOOT**3
MINUTE, HOUR, DAY = 60.0, 3600.0, 86400.0

FLOW_UNITS = {
    "m3/h": 1 / HOUR,
    "m3/min": 1 / MINUTE,
    "m3/s": 1.0,
    "m3/day": 1 / DAY,
    "L/s": 0.001,
    "L/min": 0.001 / MINUTE,
    "L/h": 0.001 / HOUR,
    "ML/day": 1000 / DAY,
    "US gal/min": US_GALLON / MINUTE,
    "imp gal/min": IMPERIAL_GALLON / MINUTE,
    "US MGD": 1e6 * US_GALLON / DAY,
    "imp MGD": 1e6 * IMPERIAL_GALLON / DAY,
    "ft3/s": FOOT**3,
    "acre-ft/day": ACRE_FOOT / DAY,
    "barrel/day": BARREL / DAY,
}
"""Unit → m³/s. Inch 25.4 mm, US gallon 231 in³, imperial gallon 4.54609 L, all exact; acre of 43560 ft², barrel of
42 US gallons."""

DEFINITIONS = "inch 25.4 mm, US gallon 231 in³, imperial gallon 4.54609 L (exact)"

USUAL_TOLERANCE = 0.01
"""One per cent: two readings taken one after the other are rarely closer."""


@calculation(gives="shown-to-true", formula="label unit / actual unit", source=DEFINITIONS)
def label_ratio(number_unit: str, label_unit: str) -> float:
    """Return shown/true flow for a number in ``number_unit`` that is labelled ``label_unit``.

    Source: exact definitions; a number of US gal/min taken for m³/h shows 4.40287 times the flow.

    >>> label_ratio("US gal/min", "m3/h")
    4.40287
    """
    return FLOW_UNITS[label_unit] / FLOW_UNITS[number_unit]


@calculation(
    title="effect of a wrong unit label",
    formula="shown / true = label unit / actual unit",
    source=DEFINITIONS,
)
def label_mistakes(label_unit: str) -> Table:
    """Return, for every possible actual unit, its size in m³/h and shown/true flow.

    Source: exact definitions.

    >>> [row[2] for row in label_mistakes("m3/h").rows if row[0] == "L/min"]
    [16.6667]
    """
    columns = (
        Column("actual unit"),
        Column("1 unit is", "m3/h"),
        Column("shown / true"),
        Column("true / shown"),
    )
    rows = [
        (unit, FLOW_UNITS[unit], label_ratio(unit, label_unit), label_ratio(label_unit, unit))
        for unit in FLOW_UNITS
        if unit != label_unit
    ]
    return Table(columns, tuple(rows))


@calculation(
    title="which mix-up of units fits",
    formula="|ratio of the units / (Q_rx / Q) - 1| ≤ tolerance",
    source=DEFINITIONS,
    valid="a ratio that is the same at every flow",
)
def unit_mixups_of_flows(receiver_flow: float, flow: float, ratio_tolerance: float = USUAL_TOLERANCE) -> Table:
    """Return the pairs of units whose mix-up turns ``flow`` into ``receiver_flow`` (one unit, [m³/s]).

    Without flow a mix-up does not show: zero is zero in every unit. Source: exact definitions; 22.7 shown as 100 m³/h
    is a number of US gal/min.

    >>> unit_mixups_of_flows(100.0, 22.7).rows[0][:2]
    ('US gal/min', 'm3/h')
    """
    if flow == 0:
        return Table(_COLUMNS, (), "a mix-up of units does not show without flow; take a reading with flow")
    return _mixups(receiver_flow / flow, ratio_tolerance)


@calculation(
    title="which mix-up of units gives this ratio",
    formula="|ratio of the units / (shown / true) - 1| ≤ tolerance",
    source=DEFINITIONS,
    valid="a ratio that is the same at every flow",
)
def unit_mixups_of_ratio(shown_to_true: float, ratio_tolerance: float = USUAL_TOLERANCE) -> Table:
    """Return the pairs of units whose mix-up shows this ratio within a relative tolerance, the nearest first.

    Raises OutOfRange for a ratio that is not positive. Source: exact definitions; 4.4 fits a number of US gal/min
    taken for m³/h.

    >>> unit_mixups_of_ratio(4.4).rows[0][:2]
    ('US gal/min', 'm3/h')
    """
    return _mixups(shown_to_true, ratio_tolerance)


_COLUMNS = (
    Column("actual unit"),
    Column("label says"),
    Column("shown / true"),
    Column("off by", "%"),
)


def _mixups(shown_to_true: float, tolerance: float) -> Table:
    near = sorted(
        (abs(ratio - shown_to_true) / abs(ratio), number, label, ratio)
        for (number, label), ratio in all_label_ratios().items()
        if abs(ratio - shown_to_true) <= tolerance * ratio
    )
    rows = tuple((number, label, ratio, off) for off, number, label, ratio in near)
    if abs(shown_to_true - 1) <= tolerance:
        return Table(_COLUMNS, rows, "the unit is right: shown and true flow agree")
    if not rows:
        return Table(_COLUMNS, rows, "no mix-up of units gives this ratio")
    return Table(_COLUMNS, rows, f"a number in {near[0][1]} labelled {near[0][2]} gives this ratio")


def all_label_ratios() -> dict[tuple[str, str], float]:
    """Return (actual unit, label unit) → shown/true flow, for every pair of different units.

    >>> all_label_ratios()["US gal/min", "imp gal/min"]
    1.20095
    """
    return {(number, label): FLOW_UNITS[label] / FLOW_UNITS[number] for number, label in permutations(FLOW_UNITS, 2)}
