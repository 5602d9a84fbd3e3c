"""Units of the trade: reads numbers and units as people write them, and converts to and from SI.

``0,0036 A`` is 3.6 mA and ``117 V AC`` is 117 volts. Conversion is left to pint, which is imported only for a unit that
is not in the cache yet: it takes longer to load than everything else.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import Any, NamedTuple

from diagnose.errors import UnitError

NUMBER = r"[-+−–]?(?:\d{1,3}(?:[ '\u00a0\u202f]\d{3})+(?:[.,]\d+)?|\d+(?:[.,]\d+)*)(?:[eE][-+]?\d+)?"
"""A number as people write it: decimal point or comma, thousands separated by a space or an apostrophe."""

_MEASUREMENT = re.compile(rf"^\s*(?P<number>{NUMBER})\s*(?P<unit>.*?)\s*$")

# As people write them → as pint spells them, in lower case.
_SPELLINGS = {
    "": "dimensionless",
    "%": "percent",
    "°c": "degC",
    "c": "degC",
    "degc": "degC",
    "deg c": "degC",
    "°f": "degF",
    "ohm": "ohm",
    "ohms": "ohm",
    "ω": "ohm",
    "r": "ohm",
    "kohm": "kiloohm",
    "kω": "kiloohm",
    "kohms": "kiloohm",
    "mohm": "megaohm",
    "mohms": "megaohm",
    "mω": "megaohm",
    "megohm": "megaohm",
    "megohms": "megaohm",
    "kilohm": "kiloohm",
    "kilohms": "kiloohm",
    "kiloohm": "kiloohm",
    "kiloohms": "kiloohm",
    "megaohm": "megaohm",
    "megaohms": "megaohm",
    "gohm": "gigaohm",
    "m3/h": "meter**3/hour",
    "m³/h": "meter**3/hour",
    "m^3/h": "meter**3/hour",
    "m3/hr": "meter**3/hour",
    "m3/hour": "meter**3/hour",
    "m3 per hour": "meter**3/hour",
    "m³/hr": "meter**3/hour",
    "m³ per hour": "meter**3/hour",
    "cubic metres per hour": "meter**3/hour",
    "cubic meters per hour": "meter**3/hour",
    "cubic m/h": "meter**3/hour",
    "cmh": "meter**3/hour",
    "m3/min": "meter**3/minute",
    "m³/min": "meter**3/minute",
    "cbm/h": "meter**3/hour",
    "cum/h": "meter**3/hour",
    "m3h": "meter**3/hour",
    "m3/s": "meter**3/second",
    "m³/s": "meter**3/second",
    "m3/d": "meter**3/day",
    "m³/d": "meter**3/day",
    "m3/day": "meter**3/day",
    "ml/d": "megaliter/day",
    "mld": "megaliter/day",
    "litre": "liter",
    "litres": "liter",
    "liter": "liter",
    "liters": "liter",
    "ltr": "liter",
    "l/s": "liter/second",
    "lps": "liter/second",
    "l/sec": "liter/second",
    "ltr/s": "liter/second",
    "litres/s": "liter/second",
    "l per second": "liter/second",
    "litres per second": "liter/second",
    "liters per second": "liter/second",
    "litres per minute": "liter/minute",
    "liters per minute": "liter/minute",
    "litres per hour": "liter/hour",
    "liters per hour": "liter/hour",
    "l/min": "liter/minute",
    "lpm": "liter/minute",
    "l/h": "liter/hour",
    "lph": "liter/hour",
    "gpm": "gallon/minute",
    "usgpm": "gallon/minute",
    "us gpm": "gallon/minute",
    "gallons per minute": "gallon/minute",
    "gal/min": "gallon/minute",
    "us gal/min": "gallon/minute",
    "igpm": "imperial_gallon/minute",
    "imp gpm": "imperial_gallon/minute",
    "imperial gpm": "imperial_gallon/minute",
    "uk gpm": "imperial_gallon/minute",
    "imp gal/min": "imperial_gallon/minute",
    "imperial gallons per minute": "imperial_gallon/minute",
    "mgd": "megagallon/day",
    "us mgd": "megagallon/day",
    "imp mgd": "imperial_megagallon/day",
    "cfs": "foot**3/second",
    "ft3/s": "foot**3/second",
    "ft³/s": "foot**3/second",
    "m3": "meter**3",
    "m³": "meter**3",
    "m/s": "meter/second",
    "mps": "meter/second",
    "us/cm": "microsiemens/centimeter",
    "µs/cm": "microsiemens/centimeter",
    "μs/cm": "microsiemens/centimeter",
    "ms/cm": "millisiemens/centimeter",
    "s/m": "siemens/meter",
    "ma": "milliampere",
    "milliamp": "milliampere",
    "milliamps": "milliampere",
    "milliampere": "milliampere",
    "milliamperes": "milliampere",
    "amp": "ampere",
    "amps": "ampere",
    "ua": "microampere",
    "µa": "microampere",
    "a": "ampere",
    "v": "volt",
    "volt": "volt",
    "volts": "volt",
    "mv": "millivolt",
    "millivolt": "millivolt",
    "millivolts": "millivolt",
    "kv": "kilovolt",
    "mm": "millimeter",
    "m2": "meter**2",
    "m²": "meter**2",
    "mm2": "millimeter**2",
    "mm²": "millimeter**2",
    "l": "liter",
    "ml": "milliliter",
    "1/l": "1/liter",
    "/l": "1/liter",
    "/m3": "1/meter**3",
    "pulses/l": "1/liter",
    "pulse/l": "1/liter",
    "imp/l": "1/liter",
    "p/l": "1/liter",
    "pulses/gal": "1/gallon",
    "pulses/s": "hertz",
    "l/pulse": "liter",
    "m3/pulse": "meter**3",
    "us gal": "gallon",
    "imp gal": "imperial_gallon",
    "pulses/m3": "1/meter**3",
    "1/m3": "1/meter**3",
    "kg": "kilogram",
    "kg/m3": "kilogram/meter**3",
    "kg/m³": "kilogram/meter**3",
    "mt": "millitesla",
    "pf": "picofarad",
    "pf/m": "picofarad/meter",
    "mm2/s": "millimeter**2/second",
    "mm²/s": "millimeter**2/second",
    "cst": "millimeter**2/second",
    "%/k": "percent/kelvin",
    "ohm/km": "ohm/kilometer",
    "ω/km": "ohm/kilometer",
    "ms": "millisecond",
    "cm": "centimeter",
    "km": "kilometer",
    "m": "meter",
    "inch": "inch",
    "in": "inch",
    '"': "inch",
    "hz": "hertz",
    "khz": "kilohertz",
    "bar": "bar",
    "kpa": "kilopascal",
    "mpa": "megapascal",
    "psi": "psi",
    "s": "second",
    "sec": "second",
    "secs": "second",
    "seconds": "second",
    "min": "minute",
    "mins": "minute",
    "minutes": "minute",
    "h": "hour",
    "hours": "hour",
    "wks": "week",
    "yr": "year",
    "yrs": "year",
    "va": "volt_ampere",
    "w": "watt",
    "baud": "1/second",
    "bd": "1/second",
    "bit/s": "1/second",
    "pulses": "dimensionless",
    "d": "dimensionless",
    "bytes": "dimensionless",
}
# Units whose meaning depends on upper and lower case: milli or mega.
_CASE_MATTERS = {
    "mS": "millisiemens",
    "MW": "megawatt",
    "mW": "milliwatt",
    "MΩ": "megaohm",
    "mΩ": "milliohm",
    "mohm": "megaohm",
}
# Pint evaluates expressions before it checks for units, and a power of a large number could take for ever.
_NO_UNIT = re.compile(
    r"[^\w\s*/^·.%°\x22²³¹⁰⁴-⁹⁻+-]|\d\s*(?:\*\*|\^|[⁰¹²³⁴-⁹⁻])|(?:\*\*|\^)\s*[-+]?\s*\d\d|[⁰¹²³⁴-⁹⁻]{2}"
)
_LONGEST_UNIT = 40
_KIND_OF_VOLTAGE = re.compile(r"\s*\b(?:a\.?c\.?|d\.?c\.?|rms)$|(?<=[vVaA])(?:ac|dc|AC|DC)$", re.IGNORECASE)


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

    registry: Any = pint.UnitRegistry(cache_folder=":auto:")
    registry.define("megagallon = 1e6 gallon")
    registry.define("imperial_megagallon = 1e6 imperial_gallon")
    registry.define("megaliter = 1e6 liter")
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
    registry = _registry()
    try:
        parsed = registry.parse_units(spelt)
        zero = registry.Quantity(0.0, parsed).to_base_units()
        one = registry.Quantity(1.0, parsed).to_base_units()
    except Exception as error:  # pint raises many kinds of error, even AttributeError and tokenize errors
        raise UnitError(f"`{unit}` is not a known unit") from error
    zero_value, one_value = float(zero.magnitude), float(one.magnitude)
    return UnitInfo(one_value - zero_value, zero_value, str(zero.dimensionality))


def spelling(unit: str) -> str:
    """Return ``unit`` as pint spells it, without AC or DC."""
    bare = _bare(unit)
    if bare in _CASE_MATTERS:
        return _CASE_MATTERS[bare]
    return _SPELLINGS.get(bare.lower(), bare)


def _bare(unit: str) -> str:
    """Return a unit without the kind of voltage, its ohm sign (U+2126) as the Greek letter that the tables have."""
    return _KIND_OF_VOLTAGE.sub("", unit.strip()).strip().rstrip(".").replace("\u2126", "Ω")


def is_unit(unit: str) -> bool:
    """Check whether ``unit`` is a usual spelling in the trade, without loading pint."""
    bare = _bare(unit)
    return bool(bare) and (bare in _CASE_MATTERS or bare.lower() in _SPELLINGS)


def read_number(text: str) -> float | None:
    """Return the number in ``text``, or None if it is not a number or is ambiguous.

    A comma before exactly three digits (``1,250``) may be a thousands separator or a decimal comma; unless the number
    starts with a zero, it is not guessed.

    >>> read_number("0,0036"), read_number("1 250,5"), read_number("−2.5"), read_number("1,250")
    (0.0036, 1250.5, -2.5, None)
    >>> read_number("1,250.5"), read_number("1.250,5")
    (1250.5, 1250.5)
    """
    text = re.sub(r"[ '\u00a0\u202f]", "", text.strip()).replace("−", "-").replace("–", "-")
    if not re.fullmatch(r"[-+]?\d+(?:[.,]\d+)*(?:[eE][-+]?\d+)?", text):
        return None
    commas, points = text.count(","), text.count(".")
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
    match = _MEASUREMENT.match(text)
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
