"""Readings of the receiver of a current signal: as flow, as share of the meter's range, and with a given mistake."""

from __future__ import annotations

import math

from diagnose.calculations.calculation import Column, Table, calculation
from diagnose.calculations.current_loop import LIVE_ZERO, SPAN, flow_at, share_of
from diagnose.calculations.receiver_mistakes import MISTAKES, SCALING, Mistake

ALL_MISTAKES = "all"


@calculation(gives="receiver-reading", formula="x_rx = (Q_rx - LRV) / (URV - LRV)", source="definition")
def receiver_reading(receiver_flow: float, upper_range_value: float, lower_range_value: float = 0.0) -> float:
    """Return the flow that the receiver shows as a share of the meter's range; all in one unit [m³/s].

    Raises OutOfRange when both range values are equal. Source: definition; 60 of 0 to 100 is 60 %.

    >>> receiver_reading(60.0, 100.0)
    0.6
    """
    return share_of(receiver_flow, upper_range_value, lower_range_value)


@calculation(gives="receiver-flow", formula="Q_rx = LRV + x_rx (URV - LRV)", source="definition")
def receiver_flow_from_reading(
    receiver_reading: float, upper_range_value: float, lower_range_value: float = 0.0
) -> float:
    """Return the flow [m³/s] that the receiver shows, from its share of the meter's range [m³/s].

    Raises OutOfRange when both range values are equal. Source: definition; 60 % of 0 to 100 is 60.

    >>> receiver_flow_from_reading(0.6, 100.0)
    60.0
    """
    return flow_at(receiver_reading, upper_range_value, lower_range_value)


@calculation(gives="mistaken-flow", formula="Q' = LRV_rx + x (URV_rx - LRV_rx)", source=SCALING)
def flow_in_receiver_range(
    share_of_range: float, receiver_upper_range_value: float, receiver_lower_range_value: float = 0.0
) -> float:
    """Return the flow [m³/s] that a receiver with another range shows at a share of the meter's range.

    With both zeros right it is Q URV_rx/URV. Raises OutOfRange when the receiver's range has no span. Source: scaling
    of both ends; half of the range is 100 in a receiver of 0 to 200.

    >>> flow_in_receiver_range(0.5, 200.0)
    100.0
    """
    return flow_at(share_of_range, receiver_upper_range_value, receiver_lower_range_value)


@calculation(gives="mistaken-flow", formula="Q' = LRV + x' (URV - LRV)", source="definition")
def mistaken_flow(mistaken_reading: float, upper_range_value: float, lower_range_value: float = 0.0) -> float:
    """Return the flow [m³/s] that a receiver with the meter's range shows, from the share that it shows.

    Raises OutOfRange when both range values are equal. Source: definition; 46.875 % of 0 to 100 is 46.875.

    >>> mistaken_flow(0.46875, 100.0)
    46.875
    """
    return flow_at(mistaken_reading, upper_range_value, lower_range_value)


@calculation(
    title="what the receiver shows with a mistake",
    formula="each mistake's own; I' = 4 mA + 16 mA x'",
    source="scaling of both ends, Ohm's law",
    valid="a receiver that clips stays at its limit beyond 0 and 100 %",
)
def readings_with_mistakes(share_of_range: float, mistake: str) -> Table:
    """Return what the receiver shows at a share of the range, with one mistake named or with all.

    Columns: mistake, share shown, the current that this would be, how else to recognise the mistake. Source: facts of
    each mistake in ``receiver_mistakes``.

    >>> readings_with_mistakes(0.25, "square root left on").rows[0][:2]
    ('square root left on', 0.5)
    """
    columns = (
        Column("mistake"),
        Column("receiver shows", "%"),
        Column("as if it got", "mA"),
        Column("recognised by"),
    )
    return Table(columns, tuple(_row(each, share_of_range) for each in _chosen(mistake)))


@calculation(
    title="flow that the receiver shows with a mistake",
    formula="Q' = LRV + x' (URV - LRV)",
    source="scaling of both ends, Ohm's law",
    valid="a receiver that clips stays at its limit beyond 0 and 100 %",
)
def flows_with_mistakes(
    share_of_range: float, mistake: str, upper_range_value: float, lower_range_value: float = 0.0
) -> Table:
    """Return the flow [m³/s] that the receiver shows with one mistake or with all, and its ratio to the true flow.

    Raises OutOfRange when both range values are equal. Source: as for the shares; 25 of 0 to 100 m³/h with the square
    root left on shows 50, twice the true flow.

    >>> flows_with_mistakes(0.25, "square root left on", 100.0).rows[0]
    ('square root left on', 50.0, 2.0)
    """
    true = flow_at(share_of_range, upper_range_value, lower_range_value)
    rows: list[tuple[float | str, ...]] = []
    for each in _chosen(mistake):
        if each.reading is None:
            rows.append((each.name, each.recognised_by, "-"))
            continue
        shown = flow_at(each.reading(share_of_range), upper_range_value, lower_range_value)
        ratio = shown / true if true else math.inf
        rows.append((each.name, shown, ratio if math.isfinite(ratio) else "-"))  # at next to no flow there is none
    return Table((Column("mistake"), Column("receiver shows", "m3/h"), Column("shown / true")), tuple(rows))


def _chosen(mistake: str) -> tuple[Mistake, ...]:
    return tuple(each for each in MISTAKES if mistake in (ALL_MISTAKES, each.name))


def _row(mistake: Mistake, share: float) -> tuple[float | str, ...]:
    if mistake.reading is None:
        return (mistake.name, "-", "-", mistake.recognised_by)
    shown = mistake.reading(share)
    current = LIVE_ZERO + SPAN * shown
    return (mistake.name, shown, current, mistake.recognised_by)
