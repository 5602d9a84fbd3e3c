"""The open amounts of mechanisms: all those of the curve and no others, each held in one way that makes sense."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import fsum
from typing import NamedTuple

import msgspec

from diagnose.calculations.flow_units import FLOW_UNITS
from diagnose.place import Problem, did_you_mean
from diagnose.rule_book.analysis_names import MODELS, ON_RANGE, AmountKind
from diagnose.rule_book.authored import Authored
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.limits import ROUNDING
from diagnose.rule_book.patterns import Mechanism, Spread
from diagnose.rule_book.referring import Entries, Found
from diagnose.yaml_places import Document, KeyPath

_WAYS: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "mixed-up": ((), ("own-unit",)),
    "neighbours-of": ((), ("steps",)),
    "ratios-of": (("between",), ()),
    "figures-of": (("between",), ()),
    "one-of": ((), ("weights",)),
    "usually-off": (("around",), ("by-factor", "gained", "as-velocity")),
    "usually": (("at-most",), ()),
    "between": ((), ("by-factor",)),
}
"""What says how large an amount may be → what has to stand beside it, and what may."""


class Wrong(NamedTuple):
    """Where something is wrong, the code of it, what is wrong, and help."""

    at: KeyPath
    code: str
    text: str
    help: str


def amounts_fit(book: RuleBook, entries: Entries) -> Found:
    """Mechanisms say of each open amount of their curve, and of no other, how large it may be."""
    lists = book.settings.comparisons.lists
    for mechanism in book.mechanisms.values():
        if mechanism.model not in MODELS:
            continue
        authored = entries["mechanisms"][mechanism.id]
        for at, code, text, help in (*_named(mechanism), *_shares(mechanism)):
            yield authored.problem(at, code, text, help, of_key=code == "unknown-amount")
        for at, name, spread in _all(mechanism):
            kind = MODELS[mechanism.model].get(name)
            wrong = wrong_spread(spread, kind, lists) if kind else ()
            yield from (authored.problem((*at, *more), code, text, help) for more, code, text, help in wrong)
        if mechanism.model in ON_RANGE and not book.settings.comparisons.unknown_upper_range:
            yield _without_range(authored)


def upper_range_fits(book: RuleBook, document: Document) -> Found:
    """What ``book.yaml`` holds of a range that nobody told, and the lists of figures, make sense."""
    said = book.settings.comparisons
    for name, figures in said.lists.items():
        if len(figures) < 2 or min(figures) <= 0:
            text = f"`{name}` is no list of two or more figures above zero"
            yield document.problem(("comparisons", "lists", name), "bad-figure", text, "list the figures")
    if said.unknown_upper_range:
        for more, code, text, help in wrong_spread(said.unknown_upper_range, "ratio", said.lists):
            yield document.problem(("comparisons", "unknown-upper-range", *more), code, text, help)


def _all(mechanism: Mechanism) -> Iterator[tuple[KeyPath, str, Spread]]:
    for name, spread in mechanism.amounts.items():
        yield ("amounts", name), name, spread
    for number, together in enumerate(mechanism.either):
        for name, spread in together.amounts.items():
            yield ("either", number, "amounts", name), name, spread


def _named(mechanism: Mechanism) -> Iterator[Wrong]:
    """Yield names of amounts that the curve does not have, or that stand twice, and those that are missing."""
    wanted = MODELS[mechanism.model]
    has = f"its open amounts are: {', '.join(wanted)}" if wanted else "it has none; leave `amounts` out"
    for at, name, _ in _all(mechanism):
        if name not in wanted:
            text = f"the curve `{mechanism.model}` has no amount `{name}`"
            yield Wrong(at, "unknown-amount", text, did_you_mean(name, wanted, has))
        elif at[0] == "either" and name in mechanism.amounts:
            yield Wrong(at, "bad-form", f"`{name}` stands under `amounts` as well", "leave it in one of them")
    for number, together in enumerate(mechanism.either or (None,)):
        given = mechanism.amounts.keys() | (together.amounts.keys() if together else set())
        at = ("either", number) if together else ("amounts",) if mechanism.amounts else ()
        for name in wanted.keys() - given:
            text = f"nothing says how large `{name}` may be, which the curve `{mechanism.model}` leaves open"
            yield Wrong(at, "missing-field", text, f"add `{name}:` under `amounts`, for example {{between: [...]}}")


def _shares(mechanism: Mechanism) -> Iterator[Wrong]:
    shares = [each.share for each in mechanism.either]
    if shares and (min(shares) <= 0 or abs(fsum(shares) - 1) > ROUNDING):
        text = f"the shares under `either` are {fsum(shares):g} together"
        yield Wrong(("either",), "bad-figure", text, "each is more than zero, and all together are 1")


def _without_range(authored: Authored) -> Problem:
    text = "this curve hangs on the range, and book.yaml does not say how large an unknown one may be"
    return authored.problem(("model",), "missing-field", text, "add `unknown-upper-range:` under `comparisons`")


def wrong_spread(spread: Spread, kind: AmountKind, lists: Mapping[str, tuple[float, ...]]) -> Iterator[Wrong]:
    """Yield what is wrong with how large an amount of this kind may be."""
    defaults = Spread()
    given = {
        item.encode_name
        for item in msgspec.structs.fields(Spread)
        if item.name != "said" and getattr(spread, item.name) != getattr(defaults, item.name)
    }
    way = next((each for each in _WAYS if each in given), None)
    if way is None:
        text = "nothing says how large it may be"
        yield Wrong((), "missing-field", text, f"write one of: {', '.join(_WAYS)}")
        return
    must, may = _WAYS[way]
    for name in sorted(given - {way, *must, *may}):
        help = f"beside it stand only: {', '.join(must + may)}"
        yield Wrong((name,), "bad-form", f"`{name}` does not go with `{way}`", help)
    for name in (each for each in must if each not in given):
        yield Wrong((), "missing-field", f"`{way}` wants `{name}` beside it", f"add `{name}:`")
        return
    yield from _wrong_figures(spread, kind)
    yield from _wrong_powers_of_ten(spread, kind)
    yield from _wrong_names(spread, lists)


def _wrong_figures(spread: Spread, kind: AmountKind) -> Iterator[Wrong]:
    both = spread.between
    if both and (len(both) != 2 or not both[0] < both[1]):
        yield Wrong(("between",), "bad-figure", "`between` is not the lowest and the highest, in this order", "[1, 2]")
        return
    above_zero = {"usually-off": spread.usually_off, "usually": spread.usually, "as-velocity": spread.as_velocity}
    for name, figure in above_zero.items():
        if figure is not None and figure <= 0:
            yield Wrong((name,), "bad-figure", f"`{name}` is not above zero", "how far off it usually is, either way")
    if spread.usually is not None and spread.at_most is not None and spread.at_most <= spread.usually:
        yield Wrong(
            ("at-most",), "bad-figure", "`at-most` is not more than `usually`", "write the largest that there is"
        )
    if spread.by_factor and min((*both, 1.0 if spread.around is None else spread.around)) <= 0:
        yield Wrong(("by-factor",), "bad-figure", "there is no factor from zero or less", "write figures above zero")
    if spread.gained is not None and not 0 < spread.gained < 1:
        yield Wrong(("gained",), "bad-figure", f"`gained` is a share, and {spread.gained:g} is none", "such as 33 %")
    figures = {"between": both, "one-of": spread.one_of, "at-most": (spread.at_most or 0.0,)}
    for name, held in figures.items():
        if held and kind != "current" and min(held) < 0:
            yield Wrong((name,), "bad-figure", "it cannot be less than zero", "write figures above zero")
        elif held and kind == "share" and max(held) > 1:
            yield Wrong((name,), "bad-figure", "a share is at most 100 %", "write for example 30 %")
    if kind != "flow" and spread.as_velocity is not None:
        yield Wrong(("as-velocity",), "bad-form", "it is no flow, so no velocity goes with it", "leave it out")


def _wrong_powers_of_ten(spread: Spread, kind: AmountKind) -> Iterator[Wrong]:
    if spread.figures_of and kind != "flow":
        yield Wrong(("figures-of",), "bad-form", "it is no flow, so it has no unit of readings", "leave it out")
    if spread.figures_of and min(spread.between) <= 0:
        yield Wrong(("between",), "bad-figure", "powers of ten have no end down to zero", "such as [5 %, 100 %]")


def _wrong_names(spread: Spread, lists: Mapping[str, tuple[float, ...]]) -> Iterator[Wrong]:
    named = {"ratios-of": spread.ratios_of, "figures-of": spread.figures_of, "neighbours-of": spread.neighbours_of}
    for key, name in named.items():
        if name and name not in lists:
            help = did_you_mean(name, lists, "the lists are in book.yaml under `comparisons`")
            yield Wrong((key,), "unknown-name", f"no list is called `{name}`", help)
    figures = lists.get(spread.ratios_of, ())
    ratios = [a / b for a in figures for b in figures if a != b and b > 0]
    if ratios and not any(spread.between[0] <= each <= spread.between[-1] for each in ratios):
        yield Wrong(("between",), "bad-figure", f"no ratio of `{spread.ratios_of}` lies there", "write wider limits")
    if spread.neighbours_of and not 0 < spread.steps < len(lists.get(spread.neighbours_of, (0,) * 99)):
        yield Wrong(("steps",), "bad-figure", "the list is shorter than that, or it is no step", "such as 2")
    if spread.weights and (len(spread.weights) != len(spread.one_of) or min(spread.weights) <= 0):
        text = f"there are {len(spread.one_of)} figures and {len(spread.weights)} weights above zero"
        yield Wrong(("weights",), "bad-figure", text, "give each figure its weight")
    for unit, weight in spread.mixed_up.items():
        if unit not in FLOW_UNITS:
            help = did_you_mean(unit, FLOW_UNITS, f"the units are: {', '.join(FLOW_UNITS)}")
            yield Wrong(("mixed-up", unit), "unknown-name", f"no unit of flow is called `{unit}`", help)
        elif weight <= 0:
            yield Wrong(("mixed-up", unit), "bad-figure", "a weight is above zero", "others count 1")
    if spread.own_unit <= 0:
        yield Wrong(("own-unit",), "bad-figure", "a weight is above zero", "others count 1")
