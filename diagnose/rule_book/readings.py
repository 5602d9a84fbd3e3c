"""What somebody typed as a reading: a figure, a limit (``> 20 Mohm``), or what an instrument shows over its range.

People type what they see and as they speak: ``OL``, ``4k7``, ``0.3 meg``, ``less than 0,1``. What the words mean stands
here once; pasted reports are read by the same words.
"""

from __future__ import annotations

import math
import re
from typing import Literal

from diagnose.errors import UnitError
from diagnose.rule_book.quantities import Limit, Quantity, Reading
from diagnose.units import NUMBER, is_unit, read_measurement, read_number, refuse_unclear, show, to_si, unit_info

Direction = Literal["above", "below"]

ABOVE = (
    r"(?:[>≥⩾≧]=?|=>|(?:above|over|more than|greater than|higher than|bigger than|better than|in excess of|upwards of"
    r"|at least|not less than|no less than|exceeding|exceeds|beyond)\b)"
)
BELOW = r"(?:[<≤⩽≦]=?|=<|(?:below|under|less than|lower than|smaller than|at most|not more than|no more than)\b)"
"""Before a figure they say that it is a limit."""

OVER_RANGE = (
    r"(?:[o0] ?[./]? ?l\.?|ofl|ovld?|overld|over[ -]?load(?:ed)?|over[ -]?rang(?:e|ed|ing)|over[ -]?flow"
    r"|off[ -]scale|out of range|above range)"
)
"""What an instrument shows, or somebody says, where a resistance, voltage or current is beyond its ranges."""

OPEN = (
    r"(?:open(?:[ -]?(?:circuit(?:ed)?|cct|ckt|line))?|o/?c|(?:infinit[ey]|infinity|inf)\.?(?: (?:resistance|ohms?))?"
    r"|∞)"
)
"""The same, of a resistance only."""

NO_CONTINUITY = r"(?:no (?:continuity|beep|buzz(?:er)?)|does ?n[o']t beep|buzzer silent)"
NO_CONTINUITY_ABOVE = 10.0
"""Ohm. Buzzers sound up to some tens of ohms (from memory of common multimeters): silence says no more than this."""

_AFTER_ABOVE = r"(?:\+|plus|(?:or|and) (?:more|above|over|higher|better|up))"
_AFTER_BELOW = r"(?:(?:or|and) (?:less|below|under|lower))"
_FILLER = re.compile(r"^(?:[=~≈:]|(?:about|approx\.?|approximately|roughly|around|some|reads?|shows?|is)(?=[\s\d]))\s*")
_BEFORE = re.compile(rf"^(?:(?P<above>{ABOVE})|(?P<below>{BELOW}))\s*", re.IGNORECASE)
_AFTER = re.compile(rf"\s*(?:(?P<above>{_AFTER_ABOVE})|(?P<below>{_AFTER_BELOW}))$", re.IGNORECASE)
_SHOWN_OVER = re.compile(
    rf"(?:{ABOVE}\s*)?(?:(?P<over>{OVER_RANGE})|(?P<open>{OPEN}))"
    rf"(?:[\s,(:]*(?:(?:on|at|in|with)\s+(?:the\s+|its\s+)?|{ABOVE}\s*)?(?P<range>\d.*?)(?:\s*(?:range|scale))?\)?"
    rf"|\s*(?P<unit>\D{{1,10}}))?",
    re.IGNORECASE,
)
_SILENT = re.compile(NO_CONTINUITY, re.IGNORECASE)

_MULTIPLIERS = {"r": 1.0, "k": 1e3, "kilo": 1e3, "M": 1e6, "meg": 1e6, "megs": 1e6, "mega": 1e6, "g": 1e9, "gig": 1e9}
"""Of an ohm. The small m is none: it may be meant as milli or as mega."""
_OHM = r"\s*(?:ohms?|[Ωω])?"
_MULTIPLIED = re.compile(rf"(?P<number>{NUMBER})\s*(?P<by>r|k|kilo|m|meg|megs|mega|g|gig){_OHM}", re.IGNORECASE)
_LETTER_AS_POINT = re.compile(rf"(?P<whole>\d{{1,4}})(?P<by>[rkmg])(?P<part>\d{{1,3}}){_OHM}", re.IGNORECASE)
_RANGE = re.compile(rf"{NUMBER}\s*(?:[-–—~]|\.{{2,3}}|…|to\b)\s*{NUMBER}", re.IGNORECASE)
_LONGEST = 60


_MILLI_OHM = re.compile(r"m(?:Ohms?|OHMS?|Ω)(?!\w)")


def read_reading(text: str, quantity: Quantity) -> Reading:
    """Return what somebody typed as a reading of ``quantity`` in SI units; ``quantity.shown`` repeats it to them.

    A bare number is in the quantity's own unit, a bare multiplier (``20M``, ``4k7``) counts ohms where they are
    measured. Over range without a figure is a limit above all that is plausible.
    Raises UnitError, in words that help, for what cannot be read or is beyond anything plausible.

    >>> coil = Quantity(id="coil", title="resistance of the coil", unit="ohm", plausible=(0.0, 1e9))
    >>> read_reading("0,3 meg", coil), read_reading("4k7", coil), read_reading("85", coil)
    (300000.0, 4700.0, 85.0)
    >>> read_reading("> 20 MΩ", coil), coil.shown(read_reading("O.L", coil))
    (Limit(bound=20000000.0, direction='above'), 'over range')
    >>> read_reading("20m", coil)
    Traceback (most recent call last):
    diagnose.errors.UnitError: `20m`: milli or mega? Write `20 milliohm` or `20 Mohm`
    """
    typed = _tidied(text)
    if not typed or len(typed) > _LONGEST or quantity.choices or quantity.text:
        raise _no_figure(typed, quantity)
    limit = read_limit(typed, quantity)
    return _figure(quantity.with_unit(_bare(typed))[0], typed, quantity) if limit is None else limit


def read_limit(text: str, quantity: Quantity, needs_unit: bool = False) -> Limit | None:
    """Return the limit that somebody wrote, in SI units, or None where it is not written as one.

    With ``needs_unit`` a figure without its unit is refused. Raises UnitError where it cannot be understood.
    """
    typed = _bare(_tidied(text))
    if len(typed) > _LONGEST:
        return None
    over = _SHOWN_OVER.fullmatch(typed) if _is_electrical(quantity) else None
    if over and _fits(over["unit"], quantity):
        return _over_range(over, typed, quantity)
    if _SILENT.fullmatch(typed) and _is_resistance(quantity):
        return Limit(NO_CONTINUITY_ABOVE, "above")
    before, after = _BEFORE.match(typed), _AFTER.search(typed)
    if not before and not after:
        return None
    figure = _bare(typed[before.end() if before else 0 : after.start() if after else len(typed)])
    directions: set[Direction] = {"above" if each["above"] else "below" for each in (before, after) if each}
    if len(directions) > 1:
        raise _no_figure(typed, quantity)
    return _with_room(Limit(_figure(figure, typed, quantity, needs_unit), directions.pop()), typed, quantity)


def read_multiplied(text: str, quantity: Quantity) -> float | None:
    """Return ohms written with a bare multiplier (``4k7``, ``20M``), or None where nothing of the kind is written.

    Raises UnitError where milli or mega may be meant.
    """
    return _ohms(_tidied(text)) if _is_resistance(quantity) else None


def _tidied(text: str) -> str:
    return " ".join(text.replace("\u2126", "Ω").split()).rstrip("!").strip("`\"'")


def _bare(text: str) -> str:
    """Return a text without the words that say nothing (``about``, ``reads``, ``=``)."""
    while match := _FILLER.match(text):
        text = text[match.end() :]
    return text


def _over_range(match: re.Match[str], typed: str, quantity: Quantity) -> Limit:
    if match["open"] and not _is_resistance(quantity):
        raise UnitError(f"`{typed}` is only said of a resistance; type a figure{_example(quantity)}")
    if match["range"]:
        return Limit(_figure(match["range"], typed, quantity), "above")
    if quantity.plausible is None or not _is_resistance(quantity):
        # A voltmeter on too low a range shows it as well: that is no high voltage.
        raise _no_range(typed, quantity)
    return Limit(quantity.plausible[1], "above")


def _fits(unit: str | None, quantity: Quantity) -> bool:
    """Tell whether what follows ``OL`` on the display is nothing or a unit of the quantity (``OL MΩ``)."""
    return unit is None or not unit.strip() or _measures(unit, quantity.unit)


def _measures(unit: str, same_as: str) -> bool:
    return is_unit(unit) and unit_info(unit).dimension == unit_info(same_as).dimension


def _figure(text: str, typed: str, quantity: Quantity, needs_unit: bool = False) -> float:
    """Return the figure in a part of what was ``typed``, in SI units."""
    value = _ohms(text) if _is_resistance(quantity) else None
    if value is None:
        refuse_unclear(text, quantity.unit)
        measured = None if _RANGE.match(text) else read_measurement(text)
        if measured is None:
            raise _no_figure(typed, quantity)
        if needs_unit and quantity.unit and not measured.unit:
            raise UnitError(f"`{typed}` has no unit")
        try:
            value = to_si(measured.number, measured.unit or quantity.unit, quantity.unit)
        except UnitError as error:
            raise UnitError(f"{error}; the reading is in {quantity.unit or 'no unit'}") from error
    if math.isfinite(value) and quantity.reads_plausible(value):
        return value
    raise _implausible(typed, quantity)


def _ohms(text: str) -> float | None:
    """Return ohms written with a bare multiplier, or with a letter for the decimal point (IEC 60062: ``4k7``)."""
    inside, behind = _LETTER_AS_POINT.fullmatch(text), _MULTIPLIED.fullmatch(text)
    match = inside or behind
    if match is None or _has_unit(text):
        return None
    number = read_number(f"{inside['whole']}.{inside['part']}" if inside else match["number"])
    if number is None:
        return None
    letter = match["by"] if match["by"] in ("m", "M") else match["by"].lower()
    if letter == "m":
        either = f"`{show(number, 'milliohm')}` or `{show(number, 'Mohm')}`"
        raise UnitError(f"`{text}`: milli or mega? Write {either}")
    return number * _MULTIPLIERS[letter]


def _has_unit(text: str) -> bool:
    """Tell whether a figure has a unit of resistance that is written as one (``20 mΩ``)."""
    measured = read_measurement(text)
    return measured is not None and _measures(measured.unit, "ohm")


def _with_room(limit: Limit, typed: str, quantity: Quantity) -> Limit:
    """Return a limit, refused where nothing plausible is left below it (``<0 ohm``)."""
    if quantity.plausible and limit.direction == "below" and limit.bound <= quantity.plausible[0]:
        raise _implausible(typed, quantity)
    return limit


def _implausible(typed: str, quantity: Quantity) -> UnitError:
    within = f"{quantity.title} ({quantity.plausible_range()})"
    # `mOhm` is typed by some for megohms; it is read as what it says.
    milli = _MILLI_OHM.search(typed)
    meant = f"for megohms write `{typed[: milli.start()].strip()} Mohm`" if milli else "look again"
    return UnitError(f"`{typed}` is beyond anything plausible for {within}; {meant}")


def _no_figure(typed: str, quantity: Quantity) -> UnitError:
    if quantity.choices:
        return UnitError(f"{quantity.title} is one of: {', '.join(quantity.choices)}")
    if not typed:
        return UnitError(f"type the reading{_example(quantity)}")
    if _SHOWN_OVER.fullmatch(typed):
        return _no_range(typed, quantity)
    if _RANGE.match(typed):
        return UnitError(f"`{typed}` is a range; type the one figure that is typical")
    shown = typed if len(typed) <= _LONGEST else f"{typed[:_LONGEST]}…"
    return UnitError(f"`{shown}` is not a figure, or is ambiguous{_example(quantity)}")


def _no_range(typed: str, quantity: Quantity) -> UnitError:
    wanted = f">20 {quantity.unit}".strip()
    return UnitError(f"`{typed}` does not say over which range; type the instrument's range, for example `{wanted}`")


def _example(quantity: Quantity) -> str:
    figure = f"12.5 {quantity.unit}".strip()
    return f"; for example {figure}{', >20 Mohm or OL' if _is_resistance(quantity) else ''}"


def _is_resistance(quantity: Quantity) -> bool:
    return bool(quantity.unit) and unit_info(quantity.unit).dimension == unit_info("ohm").dimension


def _is_electrical(quantity: Quantity) -> bool:
    dimensions = {unit_info(unit).dimension for unit in ("ohm", "V", "A")}
    return bool(quantity.unit) and unit_info(quantity.unit).dimension in dimensions
