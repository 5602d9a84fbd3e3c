"""Units of the trade: reads numbers and units as people write them, and converts to and from SI.

``0,0036 A`` is 3.6 mA and ``117 V AC`` is 117 volts. Conversion is left to pint; that of usual units was worked out
before, since pint takes longer to load than everything else. The cache of pint is left alone: it would be unpickled
unchecked.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import Any, NamedTuple

from diagnose.errors import UnitError
from diagnose.unit_conversions import CONVERSIONS
from diagnose.unit_spellings import forgotten_with_them, in_use

NUMBER = r"[-+−–]?(?:\d{1,3}(?:[ '\u00a0\u202f]\d{3}){1,8}(?:[.,]\d+)?|\d+(?:[.,]\d+)*)(?:[eE][-+]?\d+)?"
"""A number as people write it: decimal point or comma, thousands separated by a space or an apostrophe."""

_WITHOUT_WHOLE = r"[-+−–]?[.,]\d+(?:[eE][-+]?\d+)?"
"""A figure typed by itself may leave out the zero: ``.5``. In a sentence that is the end of another one."""

_MEASUREMENT = re.compile(rf"(?P<number>(?>{NUMBER}|{_WITHOUT_WHOLE}))\s*+(?P<unit>.*+)")

# Pint evaluates expressions before it checks for units, and a power of a large number could take for ever.
_NO_UNIT = re.compile(
    r"[^\w\s*/^·.%°\x22²³¹⁰⁴-⁹⁻+-]|\d\s*(?:\*\*|\^|[⁰¹²³⁴-⁹⁻])|(?:\*\*|\^)\s*[-+]?\s*\d\d|[⁰¹²³⁴-⁹⁻]{2}"
)
_LONGEST_UNIT = 40
_COMMA_OR_THOUSANDS = re.compile(r"[-+−–]?(?!0{1,3},)\d{1,3},\d{3}")
_THOUSANDS = re.compile(r"[-+]?\d{1,3}(?:(?:\.\d{3})+(?:,\d+)?|(?:,\d{2,3})*,\d{3}(?:\.\d+)?)(?:[eE][-+]?\d+)?")
"""Points or commas between thousands, or as in India between lakhs, and the other mark once behind them."""
_KIND_OF_VOLTAGE = re.compile(
    r"(?<!\s)\s*\b(?:a\.?c\.?|d\.?c\.?|rms)$|(?<=[vVaA])(?:ac|dc|AC|DC)$|(?<=[vVaA])[~=⎓]$", re.IGNORECASE
)


class UnitInfo(NamedTuple):
    """Conversion of a unit to SI, ``si = value * factor + offset``, and its dimension as text."""

    factor: float
    offset: float
    dimension: str


class WrittenFigure(NamedTuple):
    """A number and the unit after it, as written."""

    number: float
    unit: str


@lru_cache(maxsize=1)
def _registry() -> Any:
    """Return pint's unit registry with a few units of the trade added."""
    import pint

    registry: Any = pint.UnitRegistry()
    registry.define("megagallon = 1e6 gallon")
    registry.define("imperial_megagallon = 1e6 imperial_gallon")
    registry.define("megaliter = 1e6 liter")
    registry.define("acrefoot = 43560 * foot ** 3")
    return registry


@lru_cache(maxsize=512)
def unit_info(unit: str) -> UnitInfo:
    """Return the conversion of ``unit`` to SI and its dimension.

    Raises UnitError for an unknown unit.

    >>> unit_info("mA").factor
    0.001
    >>> unit_info("V AC").dimension == unit_info("mV").dimension
    True
    >>> unit_info("m3/h").factor * 3600
    1.0
    """
    spelt = spelling(unit)
    if len(spelt) > _LONGEST_UNIT or _NO_UNIT.search(spelt):
        raise UnitError(f"`{unit[:_LONGEST_UNIT]}` is not a known unit")
    if spelt in CONVERSIONS:
        return UnitInfo(*CONVERSIONS[spelt])
    try:
        return worked_out(spelt)
    except Exception as error:  # pint raises many kinds of error, even AttributeError and tokenize errors
        raise UnitError(f"`{unit}` is not a known unit") from error


def worked_out(spelt: str) -> UnitInfo:
    """Return the conversion of a unit as pint works it out.

    Raises what pint raises for a unit that it does not know.
    """
    registry = _registry()
    parsed = registry.parse_units(spelt)
    zero = registry.Quantity(0.0, parsed).to_base_units()
    one = registry.Quantity(1.0, parsed).to_base_units()
    zero_value, one_value = float(zero.magnitude), float(one.magnitude)
    return UnitInfo(one_value - zero_value, zero_value, str(zero.dimensionality))


@lru_cache(maxsize=4096)
def spelling(unit: str) -> str:
    """Return ``unit`` as pint spells it, without AC or DC."""
    bare = _bare(unit)
    tables = in_use()
    if bare in tables.case_matters:
        return tables.case_matters[bare]
    return tables.spelt.get(bare.lower(), bare)


forgotten_with_them(spelling.cache_clear)
forgotten_with_them(unit_info.cache_clear)


def _bare(unit: str) -> str:
    """Return a unit without the kind of voltage, its ohm sign (U+2126) as the Greek letter that the tables have."""
    if " " in unit:
        unit = " ".join(unit.split()).replace(" /", "/").replace("/ ", "/")
    return _KIND_OF_VOLTAGE.sub("", unit.strip()).strip().rstrip(".").replace("\u2126", "Ω")


def is_unit(unit: str) -> bool:
    """Check whether ``unit`` is a usual spelling in the trade, without loading pint."""
    bare = _bare(unit)
    tables = in_use()
    return bool(bare) and (bare in tables.case_matters or bare.lower() in tables.spelt)


def could_be(number: str, unit: str, wanted: str = "") -> tuple[str, ...]:
    """Return what somebody may mean by a figure that can be read in two ways, each as it is to be written.

    ``wanted`` is the unit in which such figures are given: of what is measured in megohms, ``mOhm`` may mean either.

    >>> could_be("20", "mohm"), could_be("1,250", "m3/h"), could_be("1.25", "m3/h")
    (('20 milliohm', '20 Mohm'), ('1250 m3/h', '1.250 m3/h'), ())
    """
    figures = (
        (number.replace(",", ""), number.replace(",", ".")) if _COMMA_OR_THOUSANDS.fullmatch(number) else (number,)
    )
    small = spelling(unit) == "milliohm" and not _bare(unit).lower().startswith("milli")
    unclear = in_use().unclear
    units = unclear.get("mohm" if small and spelling(wanted) == "megaohm" else _bare(unit), (unit,))
    choices = tuple(f"{figure} {each}".strip() for figure in figures for each in units)
    return choices if len(choices) > 1 else ()


def refuse_unclear(text: str, wanted: str = "") -> None:
    """Raise UnitError, with the choices, for a figure with its unit that can be read in two ways."""
    match = _MEASUREMENT.fullmatch(text.strip())
    choices = could_be(match["number"], match["unit"], wanted) if match else ()
    if choices:
        raise UnitError(f"`{text.strip()}` is not clear; did you mean {' or '.join(f'`{each}`' for each in choices)}?")


def taken_as(text: str) -> str:
    """Return what is to be said of a unit that was read as the commonest of several (gallons), or nothing.

    >>> taken_as("50 gal/h"), taken_as("50 imp gal/h")
    ('`50 gal/h` is taken to be in US gallons (3.785 L); write `imp` before the unit for imperial ones (4.546 L)', '')
    """
    match = _MEASUREMENT.fullmatch(text.strip())
    taken = taken_for(match["unit"]) if match else ""
    return f"`{text.strip()}` is taken to be in {taken}" if taken else ""


def taken_for(unit: str) -> str:
    """Return for which of several units one of them is taken, in words; "" where there is only one.

    >>> taken_for("gal"), taken_for("l")
    ('US gallons (3.785 L); write `imp` before the unit for imperial ones (4.546 L)', '')
    """
    return in_use().taken_as.get(_bare(unit).lower(), "")


_INCHES = re.compile(
    r"(?:(?P<whole>\d{1,2})(?:\s+|\s*-\s*))?(?P<part>\d{1,2})/(?P<of>2|4|8|16|32|64)\s*(?P<unit>in|inch|inches|\x22|″)",
    re.IGNORECASE,
)


def in_inches(text: str) -> tuple[str, str] | None:
    """Return inches with a fraction as a figure, and what is to be said of them; None for anything else.

    >>> in_inches("1/2in")[0], in_inches('2-1/2"')[0], in_inches("1/2 mm")
    ('0.5 in', '2.5 in', None)
    """
    match = _INCHES.fullmatch(text.strip())
    if match is None:
        return None
    inches = int(match["whole"] or 0) + int(match["part"]) / int(match["of"])
    said = f"`{text.strip()}` is taken as {25.4 * inches:.5g} mm; the bore of a pipe of that nominal size is another"
    return f"{inches:g} in", said


def read_number(text: str) -> float | None:
    """Return the number in ``text``, or None if it is not a number or is ambiguous.

    A comma before exactly three digits (``1,250``) may be a thousands separator or a decimal comma; unless the number
    starts with a zero, it is not guessed.

    >>> read_number("0,0036"), read_number("1 250,5"), read_number("−2.5"), read_number("1,250")
    (0.0036, 1250.5, -2.5, None)
    >>> read_number("1,250.5"), read_number("1.250,5")
    (1250.5, 1250.5)

    Several points or commas set off thousands, or it is no number: nobody knows which digit of ``1.2.3`` is a slip.

    >>> read_number("1.234.567"), read_number("12,34,567"), read_number("1.2.3"), read_number("1,2.3,4")
    (1234567.0, 1234567.0, None, None)
    """
    text = re.sub(r"[ '\u00a0\u202f]", "", text.strip()).replace("−", "-").replace("–", "-")
    if not re.fullmatch(r"[-+]?(?:\d+(?:[.,]\d+)*|[.,]\d+)(?:[eE][-+]?\d+)?", text):
        return None
    commas, points = text.count(","), text.count(".")
    if commas + points > 1 and not _THOUSANDS.fullmatch(text):
        return None
    if commas and points:
        decimal = "," if text.rindex(",") > text.rindex(".") else "."
        text = text.replace("." if decimal == "," else ",", "").replace(",", ".")
    elif commas == 1:
        whole, _, part = text.lstrip("+-").partition(",")
        if len(part) == 3 and whole.strip("0"):
            return None
        text = text.replace(",", ".")
    elif commas > 1:
        text = text.replace(",", "")
    if text.count(".") > 1:
        text = text.replace(".", "")
    value = float(text)
    return value if math.isfinite(value) else None


def read_measurement(text: str) -> WrittenFigure | None:
    """Return number and unit of ``text``, or None if it does not start with an unambiguous number.

    >>> read_measurement("0,0036 A")
    WrittenFigure(number=0.0036, unit='A')
    >>> read_measurement("about three") is None
    True
    """
    match = _MEASUREMENT.fullmatch(text.strip())
    number = read_number(match["number"]) if match else None
    return WrittenFigure(number, match["unit"]) if match and number is not None else None


def to_si(number: float, unit: str, expected_unit: str) -> float:
    """Convert to SI; raises UnitError if ``unit`` and ``expected_unit`` differ in dimension.

    >>> to_si(0.0036, "A", "mA")
    0.0036
    >>> to_si(21, "V", "mA")
    Traceback (most recent call last):
    diagnose.errors.UnitError: `V` does not measure the same thing as `mA`
    """
    info, expected = unit_info(unit), unit_info(expected_unit)
    if info.dimension != expected.dimension and (besides := in_use().besides.get(_bare(unit))):
        info = UnitInfo(*CONVERSIONS[besides])
    if info.dimension != expected.dimension:
        raise UnitError(f"`{unit}` does not measure the same thing as `{expected_unit}`")
    return number * info.factor + info.offset


def show(value: float, unit: str, factor: float = 1.0, offset: float = 0.0, digits: int = 4) -> str:
    """Format an SI value in ``unit``, to ``digits`` significant figures.

    >>> show(0.0036, "mA", 0.001)
    '3.6 mA'
    """
    shown = (value - offset) / factor
    text = f"{shown:.{digits}g}"
    if "e" in text:
        text = f"{shown:.0f}" if 1 <= abs(shown) < 1e12 else text
    return f"{text} {unit}".strip()


_OHMS = {"ohm": 1.0, "kohm": 1e3, "Mohm": 1e6, "Gohm": 1e9}
_FEW_OHMS, _MANY_OHMS = 0.001, 10_000


def show_short(value: float, unit: str, factor: float = 1.0, offset: float = 0.0) -> str:
    """Return an SI value as people read it; a resistance of many digits has the prefix that makes it short.

    >>> show_short(2e7, "ohm"), show_short(10, "Mohm", 1e6), show_short(0.0036, "mA", 0.001)
    ('20 Mohm', '10 ohm', '3.6 mA')
    """
    shown = abs((value - offset) / factor)
    if unit not in _OHMS or not shown or _FEW_OHMS <= shown < _MANY_OHMS:
        return show(value, unit, factor, offset)
    ohms = shown * _OHMS[unit]
    short = max((name for name, size in _OHMS.items() if size <= ohms), key=_OHMS.__getitem__, default="ohm")
    return show(value, short, factor * _OHMS[short] / _OHMS[unit], offset)
