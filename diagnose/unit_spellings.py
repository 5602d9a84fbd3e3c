"""How people in the trade spell units. A spelling that is missing here is left to pint as it stands."""

from __future__ import annotations

from collections.abc import Mapping

_VOLUMES = {
    "m3": "meter**3",
    "m³": "meter**3",
    "m^3": "meter**3",
    "cbm": "meter**3",
    "cum": "meter**3",
    "cubic m": "meter**3",
    "cubic metre": "meter**3",
    "cubic metres": "meter**3",
    "cubic meter": "meter**3",
    "cubic meters": "meter**3",
    "kl": "meter**3",
    "l": "liter",
    "ltr": "liter",
    "litre": "liter",
    "litres": "liter",
    "liter": "liter",
    "liters": "liter",
    "dm3": "liter",
    "dm³": "liter",
    "dm^3": "liter",
    "ft3": "foot**3",
    "ft³": "foot**3",
    "ft^3": "foot**3",
    "cu ft": "foot**3",
    "cuft": "foot**3",
    "cubic feet": "foot**3",
    "cubic foot": "foot**3",
    "acre-ft": "acrefoot",
    "acre ft": "acrefoot",
    "ac-ft": "acrefoot",
    "acre-foot": "acrefoot",
    "acre-feet": "acrefoot",
}
"""As people write them → as the registry of `units` spells them."""

_GALLONS = {
    "gal": "gallon",
    "gals": "gallon",
    "gallon": "gallon",
    "gallons": "gallon",
}
_GALLONS_OF = {("us", "u.s."): "gallon", ("imp", "imp.", "imperial", "uk"): "imperial_gallon"}

_BARRELS = {"bbl": "oil_barrel", "bbls": "oil_barrel", "barrel": "oil_barrel", "barrels": "oil_barrel"}

_TIMES = {
    "s": "second",
    "sec": "second",
    "second": "second",
    "min": "minute",
    "minute": "minute",
    "h": "hour",
    "hr": "hour",
    "hour": "hour",
    "d": "day",
    "day": "day",
}
_PULSES = ("pulse", "pulses", "imp", "impulse", "impulses", "p", "pul")

_BY_TIME = {"gpm": "gallon/minute", "gph": "gallon/hour", "gpd": "gallon/day", "mgd": "megagallon/day"}


def _gallons() -> dict[str, str]:
    of_a_country = {
        f"{country} {name}": gallon
        for countries, gallon in _GALLONS_OF.items()
        for country in countries
        for name in _GALLONS
    }
    return {**_GALLONS, **of_a_country, "usgal": "gallon", "igal": "imperial_gallon"}


def _rates(volumes: Mapping[str, str]) -> dict[str, str]:
    """Return the volumes by time and by pulse, and pulses by volume."""
    by_time = {
        f"{volume}{link}{time}": f"{spelt}/{second}"
        for volume, spelt in volumes.items()
        for time, second in _TIMES.items()
        for link in ("/", " per ")
    }
    by_pulse = {
        f"{volume}{link}{pulse}": spelt
        for volume, spelt in volumes.items()
        for pulse in _PULSES
        for link in ("/", " per ")
    }
    pulses = {
        f"{pulse}{link}{volume}": f"1/{spelt}"
        for volume, spelt in volumes.items()
        for pulse in _PULSES
        for link in ("/", " per ")
    }
    return {**by_time, **by_pulse, **pulses}


def _abbreviated() -> dict[str, str]:
    """Return the short forms of gallons by time, without and with their country."""
    american = {f"{country}{name}": spelt for country in ("", "us", "us ") for name, spelt in _BY_TIME.items()}
    british = {
        f"{country}{name}": f"imperial_{spelt}"
        for country in ("i", "imp ", "imperial ", "uk ")
        for name, spelt in _BY_TIME.items()
    }
    return {**american, **british}


SPELLINGS = {
    **_VOLUMES,
    **_gallons(),
    **_BARRELS,
    **_rates({**_VOLUMES, **_gallons(), **_BARRELS}),
    **_abbreviated(),
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
    "cmh": "meter**3/hour",
    "m3h": "meter**3/hour",
    "ml/d": "megaliter/day",
    "mld": "megaliter/day",
    "lps": "liter/second",
    "lpm": "liter/minute",
    "lph": "liter/hour",
    "cfs": "foot**3/second",
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
    "sqmm": "millimeter**2",
    "sq mm": "millimeter**2",
    "qmm": "millimeter**2",
    "short ton": "short_ton",
    "long ton": "long_ton",
    "ml": "milliliter",
    "1/l": "1/liter",
    "/l": "1/liter",
    "/m3": "1/meter**3",
    "pulses/s": "hertz",
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
    "f": "degF",
    "degf": "degF",
    "deg f": "degF",
    "cfm": "foot**3/minute",
    "cfh": "foot**3/hour",
    "cfd": "foot**3/day",
    "cumec": "meter**3/second",
    "cumecs": "meter**3/second",
    "milliohm": "milliohm",
    "milliohms": "milliohm",
    "p/s": "hertz",
    "imp/s": "hertz",
    "pulses/sec": "hertz",
    "imp/min": "1/minute",
    "p/min": "1/minute",
    "pulses/min": "1/minute",
}
"""As people write them, in lower case → as pint spells them."""

CASE_MATTERS = {
    "mS": "millisiemens",
    "MW": "megawatt",
    "mW": "milliwatt",
    "MΩ": "megaohm",
    "mΩ": "milliohm",
    "mOhm": "milliohm",
    "mOhms": "milliohm",
    "mOHM": "milliohm",
    "mohm": "megaohm",
    "mPa": "millipascal",
    "ML": "megaliter",
    "Ml": "megaliter",
    "mL/d": "milliliter/day",
    "mL/day": "milliliter/day",
}
"""Units whose meaning depends on upper and lower case: milli or mega."""

UNCLEAR = {
    "mohm": ("milliohm", "Mohm"),
    "mohms": ("milliohm", "Mohm"),
    "mpa": ("mPa", "MPa"),
    "ml/d": ("mL/d", "ML/d"),
    "ml/day": ("mL/day", "ML/day"),
    "ton": ("t", "short ton", "long ton"),
    "tons": ("t", "short ton", "long ton"),
}
"""Units as typed by whoever writes no capitals: what may be meant. In a report nobody can be asked: it is mega."""

BESIDES = {"S": "siemens", "s": "siemens", "H": "henry", "d": "day", "D": "day"}
"""What a unit may also stand for, where that is what is measured."""

_US_GALLONS = "US gallons (3.785 L); write `imp` before the unit for imperial ones (4.546 L)"
_OF_OIL = "barrels of 42 US gallons (159 L), as for oil"

TAKEN_AS = {
    **dict.fromkeys({*_GALLONS, *_rates(_GALLONS), *_BY_TIME}, _US_GALLONS),
    **dict.fromkeys({*_BARRELS, *_rates(_BARRELS)}, _OF_OIL),
}
"""Units of which there are several, in lower case → the one for which they are taken, as whoever wrote them is told."""
