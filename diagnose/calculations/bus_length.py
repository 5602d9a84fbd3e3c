"""How long an RS-485 line and its stubs may be (common practice; Modbus over Serial Line V1.02, 3.4.3)."""

from __future__ import annotations

from diagnose.calculations.calculation import Column, Judgement, Table, calculation
from diagnose.calculations.terms import Term, declare
from diagnose.errors import OutOfRange

declare(
    Term(
        name="baud-rate",
        title="baud rate of the line",
        unit="Bd",
        symbol="f",
        above=0.0,
        at_most=1e7,
        short=("baud",),
        example="9600 Bd",
    ),
    Term(name="longest-line", title="longest line by common practice", unit="m", symbol="L_max"),
    Term(name="highest-baud-rate", title="highest baud rate by common practice", unit="Bd", symbol="f_max"),
    Term(
        name="stub-length", title="length of a stub off the line", unit="m", symbol="L_s", at_least=0.0, example="5 m"
    ),
    Term(name="stubs-at-box", title="number of stubs at one box", symbol="n", at_least=1.0, example="3"),
    Term(name="longest-stub", title="longest stub", unit="m", symbol="L_s,max"),
)

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

PRACTICE = "common practice (1200 m; baud rate × length up to 1e8 bit m/s)"
GUIDE = "Modbus over Serial Line V1.02, 3.4.3"


@calculation(
    gives="longest-line", formula="L = 1e8 m/s / f, at most 1200 m", source=PRACTICE, valid="good twisted pair"
)
def longest_line(baud_rate: float) -> float:
    """Return the longest line [m] for a baud rate [1/s] by common practice: 1e8 / f, at most 1200 m.

    Raises OutOfRange for a rate that is not positive or above 10 Mbit/s. Source: common practice; 115200 Bd: 868 m.

    >>> longest_line(9600.0), longest_line(115200.0)
    (1200.0, 868.06)
    """
    return min(LONGEST, LENGTH_TIMES_BAUD / baud_rate)


@calculation(
    gives="highest-baud-rate", formula="f = 1e8 m/s / L, at most 10 Mbit/s", source=PRACTICE, valid="up to 1200 m"
)
def highest_baud_rate(cable_length: float) -> float:
    """Return the highest baud rate [1/s] for a line [m] by common practice: 1e8 / L, at most 10 Mbit/s.

    Raises OutOfRange beyond 1200 m. Source: common practice; 1200 m: 83333 Bd.

    >>> highest_baud_rate(1200.0), highest_baud_rate(1.0)
    (83333.3, 10000000.0)
    """
    if cable_length > LONGEST:
        raise OutOfRange("a line longer than 1200 m needs a repeater; give the length of one segment")
    return min(FASTEST, LENGTH_TIMES_BAUD / max(cable_length, 1.0))


@calculation(title="length of the line at its baud rate", formula="L ≤ L_max", source=f"{PRACTICE}; {GUIDE}")
def length_check(cable_length: float, baud_rate: float) -> Table:
    """Compare the length [m] of a line with common practice and the Modbus guide at a baud rate [1/s].

    Raises OutOfRange for a negative length. Source: common practice; Modbus over Serial Line V1.02, 3.4.3 (1000 m at
    9600 Bd with AWG26 or thicker, 600 m with category 5 cable).

    >>> length_check(1100.0, 9600.0).verdict
    'longer than the 1000 m of the Modbus guide, but common practice: lower the baud rate if replies fail'
    """
    practice = longest_line(baud_rate)
    limits: list[tuple[str, float | None]] = [
        ("common practice", practice),
        ("Modbus guide, AWG26 or thicker", GUIDE_LENGTH if baud_rate <= GUIDE_BAUD else None),
        ("Modbus guide, category 5 cable", GUIDE_CATEGORY_5 if baud_rate <= GUIDE_BAUD else None),
    ]
    rows = tuple(
        (rule, "no figure above 9600 Bd", "-") if limit is None else (rule, limit, _kept(cable_length, limit))
        for rule, limit in limits
    )
    verdict, judgement = _length_verdict(cable_length, baud_rate, practice)
    return Table((Column("by"), Column("longest", "m"), Column("kept")), rows, verdict, judgement)


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


@calculation(title="length of a stub", formula="L_s ≤ 40 m / n, at most 20 m", source=GUIDE)
def stub_check(stub_length: float, stubs_at_box: float = 1.0) -> Table:
    """Compare the length [m] of a stub with the limit of the Modbus guide for the number of stubs at one box.

    Raises OutOfRange for a negative length or a number that is not whole. Source: Modbus over Serial Line V1.02, 3.4.3.

    >>> stub_check(12.0, 4.0).judgement, stub_check(12.0).judgement
    ('wrong', 'fine')
    """
    longest = longest_stub(stubs_at_box)
    fits = stub_length <= longest
    rows = ((stub_length, longest, _kept(stub_length, longest)),)
    verdict = "short enough" if fits else "too long: run the line through the device, or move the box closer"
    columns = (Column("stub", "m"), Column("longest", "m"), Column("kept"))
    return Table(columns, rows, verdict, "fine" if fits else "wrong")


def _kept(length: float, limit: float) -> str:
    return "yes" if length <= limit else "no"


def _length_verdict(length: float, baud_rate: float, practice: float) -> tuple[str, Judgement]:
    if length > practice:
        return f"too long: at most {practice:.0f} m at this baud rate; use a lower baud rate or a repeater", "wrong"
    if baud_rate > GUIDE_BAUD:
        return "short enough by common practice; the Modbus guide gives no figure above 9600 Bd", "fine"
    if length > GUIDE_LENGTH:
        return (
            "longer than the 1000 m of the Modbus guide, but common practice: lower the baud rate if replies fail",
            "doubtful",
        )
    if length > GUIDE_CATEGORY_5:
        return "short enough with AWG26 or thicker; category 5 cable reaches only 600 m", "fine"
    return "short enough", "fine"
