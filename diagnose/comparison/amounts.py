"""From what a rule book holds of an open amount to the prior of a parameter, in figures and in words."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from diagnose.calculations.flow_units import FLOW_UNITS
from diagnose.comparison.parameters import (
    AnyParameter,
    Parameter,
    Quantile,
    discrete,
    laplace,
    log_laplace,
    log_uniform,
    truncated_exponential,
    two_sided_exponential,
    uniform,
)
from diagnose.rule_book.analysis_names import AmountKind
from diagnose.rule_book.patterns import Spread
from diagnose.units import unit_info

Lists = Mapping[str, Sequence[float]]


@dataclass(frozen=True, slots=True)
class Scale:
    """What an amount is a share of (``size`` in SI, called ``whole``); 1 for what is no share of these readings."""

    kind: AmountKind
    size: float
    whole: str = ""
    unit: str = ""
    bore: float | None = None


def held_as(spread: Spread, title: str, unit: str, words: str, scale: Scale, lists: Lists) -> AnyParameter:
    """Return the prior of an amount around certain readings."""
    if spread.mixed_up:
        known = unit_factors(scale.unit, spread)
        return discrete(title, unit, words, list(known), [share for _, share in known.values()])
    if spread.ratios_of:
        return discrete(title, unit, words, _ratios(lists[spread.ratios_of], *spread.between))
    if spread.figures_of:
        return discrete(title, unit, words, _figures(lists[spread.figures_of], spread, scale))
    if spread.neighbours_of:
        return discrete(title, unit, words, *_neighbours(lists[spread.neighbours_of], spread.steps))
    if spread.one_of:
        return discrete(title, unit, words, [scale.size * each for each in spread.one_of], spread.weights)
    return Parameter(title, unit, words, _quantile(spread, scale))


def _quantile(spread: Spread, scale: Scale) -> Quantile:
    if spread.usually is not None and spread.at_most is not None:
        return truncated_exponential(scale.size * spread.at_most, scale.size * spread.usually)
    if spread.between:
        low, high = (scale.size * each for each in spread.between)
        return log_uniform(low, high) if spread.by_factor else uniform(low, high)
    return _around(spread, scale)


def _around(spread: Spread, scale: Scale) -> Quantile:
    middle, usual = scale.size * (spread.around or 0.0), _usual(spread, scale)
    if spread.by_factor:
        factor = log_laplace(spread.usually_off or 0.0)
        return lambda share: middle * factor(share)
    if spread.gained is not None:
        sides = two_sided_exponential(usual, spread.gained)
        return lambda share: middle + sides(share)
    return laplace(middle, usual)


def _usual(spread: Spread, scale: Scale) -> float:
    """Return by how much it is usually off; as a velocity where the bore is known and the rule book says one."""
    if spread.as_velocity is not None and scale.bore is not None:
        return spread.as_velocity * area(scale.bore)
    return scale.size * (spread.usually_off or 0.0)


def area(bore: float) -> float:
    """Return the cross-section [m²] of a bore [m]."""
    return math.pi * bore**2 / 4


def _ratios(figures: Sequence[float], low: float, high: float) -> list[float]:
    return sorted({round(a / b, 9) for a in figures for b in figures if a != b and low <= a / b <= high})


def _figures(figures: Sequence[float], spread: Spread, scale: Scale) -> list[float]:
    """Return the figures in the unit of the readings, times powers of ten, within limits; the limits if none is."""
    low, high = (scale.size * each for each in spread.between)
    unit = unit_info(scale.unit).factor
    powers = range(
        math.floor(math.log10(low / unit / max(figures))), math.ceil(math.log10(high / unit / min(figures))) + 1
    )
    inside = sorted({unit * each * 10.0**power for each in figures for power in powers})
    return [each for each in inside if low <= each <= high] or [low, high]


def _neighbours(figures: Sequence[float], steps: int) -> tuple[list[float], list[float]]:
    """Return the ratios of figures that are so many steps apart in a list, and their weights."""
    either_way = [sign * step for sign in (1, -1) for step in range(1, steps + 1)]
    ratios = [
        (figures[at + step] / figure, 1.0 / abs(step))
        for at, figure in enumerate(figures)
        for step in either_way
        if 0 <= at + step < len(figures)
    ]
    return [each for each, _ in ratios], [each for _, each in ratios]


def unit_factors(label: str, spread: Spread) -> dict[float, tuple[str, float]]:
    """Return factor → (most probable mix-up with this factor, probability) over all pairs of trade units.

    Pairs that include the ``label`` of the readings count more often.

    >>> unit_factors("m3/h", Spread(mixed_up={"L/s": 4.0}))[4.402868][0]
    'a number in US gal/min labelled m3/h'
    """
    found: dict[float, list[tuple[float, str]]] = {}
    for number, of_number in FLOW_UNITS.items():
        for label_unit, of_label in FLOW_UNITS.items():
            if number == label_unit:
                continue
            weight = spread.mixed_up.get(number, 1) * spread.mixed_up.get(label_unit, 1)
            weight *= spread.own_unit if label in (number, label_unit) else 1
            mix_up = f"a number in {number} labelled {label_unit}"
            found.setdefault(float(f"{of_label / of_number:.7g}"), []).append((float(weight), mix_up))
    every = sum(weight for pairs in found.values() for weight, _ in pairs)
    return {
        factor: (max(pairs, key=lambda pair: pair[0])[1], sum(weight for weight, _ in pairs) / every)
        for factor, pairs in sorted(found.items())
    }


def in_words(spreads: Sequence[Spread], scale: Scale) -> str:
    """Return what is held of an amount, as people are told: what is usual, then what comes besides.

    >>> in_words([Spread(around=0.0, usually_off=0.02)], Scale("flow", 1.0, "the largest flow"))
    'around 0, usually 2 % of the largest flow'
    >>> in_words([Spread(usually=0.03, at_most=0.3)], Scale("share", 1.0))
    'usually 3 %, up to 30 %'
    """
    first, *others = spreads
    words = _words(first, scale)
    for each in others:
        both = first.usually_off is not None and each.usually_off is not None and each.around == first.around
        words += f", sometimes {_off(each, scale)}" if both else f", or {_words(each, scale)}"
    return words


def _words(spread: Spread, scale: Scale) -> str:
    if spread.mixed_up:
        words = "all pairs of trade units, weighted towards common ones and the unit of the readings"
    elif spread.ratios_of:
        words = f"ratios of {spread.ratios_of.replace('-', ' ')}"
    elif spread.figures_of:
        words = f"a figure of {spread.figures_of.replace('-', ' ')}, times any power of ten"
    elif spread.neighbours_of:
        words = f"neighbours among {spread.neighbours_of.replace('-', ' ')}"
    elif spread.one_of:
        words = ", ".join(_figure(each, scale) for each in spread.one_of)
    elif spread.between:
        words = f"{'log-uniform' if spread.by_factor else 'uniform'} from {_from_to(spread.between, scale)}"
    elif spread.usually is not None and spread.at_most is not None:
        words = f"usually {_figure(spread.usually, scale)}, up to {_plain(spread.at_most, scale)}"
    else:
        words = f"around {spread.around or 0:g}, usually {_off(spread, scale)}"
    if spread.said and (spread.one_of or spread.neighbours_of):
        return spread.said
    return f"{words} ({spread.said})" if spread.said else words


def _off(spread: Spread, scale: Scale) -> str:
    if spread.as_velocity is not None and scale.bore is not None:
        return f"{1000 * spread.as_velocity:g} mm/s"
    usual = spread.usually_off or 0.0
    words = f"{100 * usual:g} % off" if scale.kind in ("ratio", "share") else _figure(usual, scale)
    return f"{words}, gained in {100 * spread.gained:g} %" if spread.gained is not None else words


def _from_to(between: tuple[float, ...], scale: Scale) -> str:
    low, high = between
    if scale.kind == "flow" and high >= 1:
        return f"{low:g} to {high:g} times {scale.whole}"
    if scale.kind in ("ratio", "current"):
        return f"{_plain(low, scale)} to {_plain(high, scale)}"
    return f"{100 * low:g} to {_figure(high, scale)}"


def _figure(figure: float, scale: Scale) -> str:
    of = f" of {scale.whole}" if scale.kind in ("flow", "range") else ""
    return _plain(figure, scale) + of


def _plain(figure: float, scale: Scale) -> str:
    if scale.kind == "ratio":
        return f"{figure:g}"
    return f"{1000 * figure:g} mA" if scale.kind == "current" else f"{100 * figure:g} %"
