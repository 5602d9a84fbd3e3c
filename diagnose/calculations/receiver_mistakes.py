"""Classic mistakes between a current output and its receiver: from the true share of the range to the share shown.

Each function takes the true share of the sender's range (x) and returns the share that the receiver shows (x').
``MISTAKES`` lists them for tables and comparisons. Rules may use the functions; ``receiver`` and
``receiver_fits`` show them to people in tables.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from diagnose.calculations.calculation import calculation
from diagnose.calculations.current_loop import LIVE_ZERO, SPAN, flow_at, share_of

SCALING = "scaling of both ends (IEC 60381-1)"


@calculation(gives="mistaken-reading", formula="x' = 0.2 + 0.8 x", source=SCALING)
def sender_4_20_receiver_0_20(share_of_range: float) -> float:
    """Return what a receiver set to 0–20 mA shows of a 4–20 mA signal: (4 + 16 x)/20 = 0.2 + 0.8 x.

    Source: scaling of both ends; 25 % is shown as 40 %.

    >>> sender_4_20_receiver_0_20(0.25)
    0.4
    """
    return 0.2 + 0.8 * share_of_range


@calculation(gives="mistaken-reading", formula="x' = 1.25 x - 0.25", source=SCALING)
def sender_0_20_receiver_4_20(share_of_range: float) -> float:
    """Return what a receiver set to 4–20 mA shows of a 0–20 mA signal: (20 x - 4)/16 = 1.25 x - 0.25.

    Source: scaling of both ends; 25 % is shown as 6.25 %.

    >>> sender_0_20_receiver_4_20(0.25)
    0.0625
    """
    return 1.25 * share_of_range - 0.25


@calculation(gives="mistaken-reading", formula="x' = √x", source="definition", valid="0 below zero")
def square_root_left_on(share_of_range: float) -> float:
    """Return the reading of a receiver that takes the square root of a linear signal: √x, and 0 below zero.

    Source: definition; 25 % is shown as 50 %.

    >>> square_root_left_on(0.25)
    0.5
    """
    return math.sqrt(max(0.0, share_of_range))


@calculation(gives="mistaken-reading", formula="x' = x²", source="definition", valid="0 below zero")
def square_root_missing(share_of_range: float) -> float:
    """Return what is shown for a squared signal without square-root extraction: x², and 0 below zero.

    Source: definition; 25 % is shown as 6.25 %.

    >>> square_root_missing(0.25)
    0.0625
    """
    return max(0.0, share_of_range) ** 2


@calculation(gives="mistaken-reading", formula="x' = 0.5 x - 0.125", source="current divider")
def half_the_current(share_of_range: float) -> float:
    """Return the reading of a receiver that gets half the current: ((4 + 16 x)/2 - 4)/16 = 0.5 x - 0.125.

    Two equal loads in parallel, or a second earth that bypasses the shunt. Source: current divider; 25 % is shown as 0.

    >>> half_the_current(0.25)
    0.0
    """
    return 0.5 * share_of_range - 0.125


@calculation(gives="mistaken-reading", formula="x' = x - d / 16 mA", source="current divider")
def reading_with_current_lost(share_of_range: float, lost_current: float) -> float:
    """Return the reading of a receiver that misses ``lost_current`` [A]: x - d/16 mA; negative if current is added.

    Leakage and parallel paths; two earths can do so with either sign. Source: current divider; at 50 %, 0.5 mA lost is
    46.875 %.

    >>> 100 * reading_with_current_lost(0.5, 0.0005)
    46.875
    """
    return share_of_range - lost_current / SPAN


@calculation(
    gives="mistaken-reading",
    formula="x' = ((4 mA + 16 mA x) R_s / R_set - 4 mA) / 16 mA",
    source="Ohm's law",
    valid="up to the end of the receiver's input (5 V for 1 to 5 V)",
)
def reading_with_shunt(share_of_range: float, shunt_resistance: float, expected_shunt_resistance: float) -> float:
    """Return what a voltage input shows with a shunt [ohm] other than the one it is set for [ohm].

    ((4 + 16 x) R_s/R_set - 4)/16. Raises OutOfRange unless both are positive. Source: Ohm's law; 500 instead of
    250 ohm shows 2 x + 0.25, so 125 % at 50 %.

    >>> 100 * reading_with_shunt(0.5, 500.0, 250.0)
    125.0
    """
    current = (LIVE_ZERO + SPAN * share_of_range) * shunt_resistance / expected_shunt_resistance
    return (current - LIVE_ZERO) / SPAN


@calculation(
    gives="mistaken-reading",
    formula="x' = (LRV_rx + x (URV_rx - LRV_rx) - LRV) / (URV - LRV)",
    source=SCALING,
)
def reading_with_other_range(
    share_of_range: float,
    receiver_upper_range_value: float,
    upper_range_value: float,
    receiver_lower_range_value: float = 0.0,
    lower_range_value: float = 0.0,
) -> float:
    """Return what a receiver shows whose range is not the meter's, as a share of the meter's range.

    All range values in one unit [m³/s]. Raises OutOfRange when a range has no span. Source: scaling of both ends;
    -100 to 100 read as 0 to 100 shows 50 + Q/2: at 0 (x 0.5) 50, which is 75 % of -100 to 100.

    >>> reading_with_other_range(0.5, 100.0, 100.0, 0.0, -100.0)
    0.75
    """
    flow = flow_at(share_of_range, receiver_upper_range_value, receiver_lower_range_value)
    return share_of(flow, upper_range_value, lower_range_value)


@calculation(gives="mistaken-reading", formula="x' = (0 - 4 mA) / 16 mA", source=SCALING)
def no_current(share_of_range: float) -> float:
    """Return what a receiver shows without current, whatever the share of the range: -25 %, and not 0 %.

    Reversed polarity, a broken wire, no loop power, a passive output at a passive input. Many receivers show 0 or a
    fault instead. Source: scaling.

    >>> no_current(0.5)
    -0.25
    """
    return -LIVE_ZERO / SPAN


@calculation(gives="mistaken-reading", formula="x' = x_held", source="definition")
def reading_of_held_output(share_of_range: float, held_share: float) -> float:
    """Return what a receiver shows while the output is held or in test: ``held_share``, whatever the flow.

    Source: definition.

    >>> reading_of_held_output(0.5, 0.3)
    0.3
    """
    return held_share


@dataclass(frozen=True, slots=True)
class Mistake:
    """A classic mistake: its name, true share → share shown (None if there is no figure), and how to recognise it."""

    name: str
    reading: Callable[[float], float] | None
    recognised_by: str


MISTAKES = (
    Mistake("sender 4-20, receiver 0-20", sender_4_20_receiver_0_20, "shows 20 % at no flow, right at full range"),
    Mistake("sender 0-20, receiver 4-20", sender_0_20_receiver_4_20, "shows -25 % at no flow, right at full range"),
    Mistake("square root left on", square_root_left_on, "right at 0 and 100 %, high between"),
    Mistake("square root missing", square_root_missing, "right at 0 and 100 %, low between"),
    Mistake("half the current", half_the_current, "two equal loads in parallel, or a second earth beside the shunt"),
    Mistake(
        "shunt 500 instead of 250 ohm",
        partial(reading_with_shunt, shunt_resistance=500.0, expected_shunt_resistance=250.0),
        "a 1 to 5 V input ends at 5 V",
    ),
    Mistake(
        "shunt 249 instead of 250 ohm",
        partial(reading_with_shunt, shunt_resistance=249.0, expected_shunt_resistance=250.0),
        "0.4 % of the current",
    ),
    Mistake(
        "receiver's range twice the meter's",
        partial(reading_with_other_range, receiver_upper_range_value=2.0, upper_range_value=1.0),
        "zero right, the ratio constant: shown = true · URV_rx / URV",
    ),
    Mistake(
        "receiver's range half the meter's",
        partial(reading_with_other_range, receiver_upper_range_value=0.5, upper_range_value=1.0),
        "zero right, the ratio constant: shown = true · URV_rx / URV",
    ),
    Mistake(
        "both directions sent, one read",
        partial(
            reading_with_other_range, receiver_upper_range_value=1.0, upper_range_value=1.0, lower_range_value=-1.0
        ),
        "-100 to 100 read as 0 to 100: full reverse flow shows 0, no flow 50",
    ),
    Mistake(
        "one direction sent, both read",
        partial(
            reading_with_other_range,
            receiver_upper_range_value=1.0,
            upper_range_value=1.0,
            receiver_lower_range_value=-1.0,
        ),
        "0 to 100 read as -100 to 100: no flow shows full reverse flow",
    ),
    Mistake(
        "0.5 mA lost", partial(reading_with_current_lost, lost_current=0.0005), "leakage or a path beside the receiver"
    ),
    Mistake("no current", no_current, "reversed polarity, broken wire, no loop power, passive output at passive input"),
    Mistake("both ends feed", None, "active output at active input: stuck high, or damaged"),
    Mistake("output held", None, "constant current while the display moves: test, simulation, hold"),
    Mistake("two earths", None, "follows the voltage between the earths: hum, jumps when plant is switched"),
)
"""The classic mistakes of commissioning, with usual figures."""
