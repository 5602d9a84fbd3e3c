"""How long an RS-485 line and its stubs may be (common practice; Modbus over Serial Line V1.02, 3.4.3)."""

from __future__ import annotations

from diagnose.calculations.calculation import Column, Table, calculation
from diagnose.errors import OutOfRange

LENGTH_TIMES_BAUD = 1e8
"""Common limit of the product of length [m] and baud rate [1/s]."""

LONGEST = 1200.0
"""Classic longest line [m], 4000 ft: common practice."""

FASTEST = 1e7
"""Highest baud rate [1/s] of TIA-485: from memory."""

GUIDE_BAUD, GUIDE_LENGTH, GUIDE_CATEGORY_5 = 9600.0, 1000.0, 600.0
"""Up to this baud rate [1/s] the Modbus guide states these lengths [m], AWG26 or thicker and category 5."""

LONGEST_STUB, STUBS_TOGETHER = 20.0, 40.0
"""Longest stub [m], and longest total of the stubs at one box: Modbus guide."""

NO_FIGURE = "no figure above 9600 Bd"

PRACTICE = "common practice (1200 m; baud rate × length up to 1e8 bit m/s)"
GUIDE = "Modbus over Serial Line V1.02, 3.4.3"


@calculation(
    gives="longest-bus-line", formula="L = 1e8 m/s / f, at most 1200 m", source=PRACTICE, valid="good twisted pair"
)
def longest_line(bus_baud_rate: float) -> float:
    """Return the longest line [m] for a baud rate [1/s] by common practice: 1e8 / f, at most 1200 m.

    Raises OutOfRange for a rate that is not positive or above 10 Mbit/s. Source: common practice; 115200 Bd: 868 m.

    >>> longest_line(9600.0), longest_line(115200.0)
    (1200.0, 868.06)
    """
    return min(LONGEST, LENGTH_TIMES_BAUD / bus_baud_rate)


@calculation(
    gives="highest-baud-rate", formula="f = 1e8 m/s / L, at most 10 Mbit/s", source=PRACTICE, valid="up to 1200 m"
)
def highest_baud_rate(bus_length: float) -> float:
    """Return the highest baud rate [1/s] for a line [m] by common practice: 1e8 / L, at most 10 Mbit/s.

    Raises OutOfRange beyond 1200 m. Source: common practice; 1200 m: 83333 Bd.

    >>> highest_baud_rate(1200.0), highest_baud_rate(1.0)
    (83333.3, 10000000.0)
    """
    if bus_length > LONGEST:
        raise OutOfRange("a line longer than 1200 m needs a repeater; give the length of one segment")
    return min(FASTEST, LENGTH_TIMES_BAUD / max(bus_length, 1.0))


@calculation(title="longest lines at this baud rate", formula="table", source=f"{PRACTICE}; {GUIDE}")
def longest_lines(bus_baud_rate: float) -> Table:
    """Return the longest line [m] by common practice and by the Modbus guide for a baud rate [1/s].

    Raises OutOfRange for a rate that is not positive. Source: common practice; Modbus over Serial Line V1.02, 3.4.3
    (1000 m at 9600 Bd with AWG26 or thicker, 600 m with category 5 cable).

    >>> [row[1] for row in longest_lines(9600.0).rows]
    [1200.0, 1000.0, 600.0]
    """
    known = bus_baud_rate <= GUIDE_BAUD
    rows: tuple[tuple[str, float | str], ...] = (
        ("common practice", longest_line(bus_baud_rate)),
        ("Modbus guide, AWG26 or thicker", GUIDE_LENGTH if known else NO_FIGURE),
        ("Modbus guide, category 5 cable", GUIDE_CATEGORY_5 if known else NO_FIGURE),
    )
    return Table((Column("by"), Column("longest", "m")), rows)


@calculation(gives="longest-stub", formula="L_s = 40 m / n, at most 20 m", source=GUIDE)
def longest_stub(stubs_at_box: float) -> float:
    """Return the longest stub [m] if several leave one box: 40 m / n, at most 20 m.

    Raises OutOfRange for less than one, or a number that is not whole. Source: Modbus over Serial Line V1.02, 3.4.3.

    >>> longest_stub(1.0), longest_stub(4.0)
    (20.0, 10.0)
    """
    if abs(stubs_at_box - round(stubs_at_box)) > 1e-9:
        raise OutOfRange(f"the number of stubs must be whole; it is {stubs_at_box:.4g}")
    return min(LONGEST_STUB, STUBS_TOGETHER / stubs_at_box)
