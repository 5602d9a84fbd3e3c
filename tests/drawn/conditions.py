"""Drawn conditions of inference rules, each with what is given where it holds and where it does not."""

from __future__ import annotations

from typing import Any, NamedTuple

from tests.drawn.pen import Pen
from tests.drawn.plant import Drawn


class Told(NamedTuple):
    """A condition as an author writes it, what makes it true, and what makes it false."""

    raw: dict[str, Any]
    true: dict[str, Any]
    false: dict[str, Any]


def condition(pen: Pen, book: Drawn, depth: int = 2) -> Told | None:
    """Return a condition over findings and quantities of a drawn book, None where it has none left."""
    names = {*book.findings, *(each for each, unit in book.figures.items()), *book.choices}
    return _condition(pen, book, depth, names)


def _condition(pen: Pen, book: Drawn, depth: int, free: set[str]) -> Told | None:
    if depth and pen.seldom(3):
        return _joined(pen, book, depth, free)
    return _leaf(pen, book, free)


def _joined(pen: Pen, book: Drawn, depth: int, free: set[str]) -> Told | None:
    parts = [_condition(pen, book, depth - 1, free) for _ in range(pen.whole(1, 3))]
    known = [part for part in parts if part is not None]
    if not known:
        return None
    all_true = _merged([each.true for each in known])
    all_false = _merged([each.false for each in known])
    way = pen.one(("all", "any", "not", "side by side"))
    if way == "not":
        return Told({"not": known[0].raw}, {**all_true, **known[0].false}, {**all_true, **known[0].true})
    if way == "side by side":
        return Told({key: value for each in known for key, value in each.raw.items()}, all_true, all_false)
    return Told({way: [each.raw for each in known]}, all_true, all_false)


def _merged(given: list[dict[str, Any]]) -> dict[str, Any]:
    return {name: value for each in given for name, value in each.items()}


def _leaf(pen: Pen, book: Drawn, free: set[str]) -> Told | None:
    if not free:
        return None
    name = pen.one(sorted(free))
    free.discard(name)
    if name in book.findings:
        as_is, other = pen.one((("present", "absent"), ("absent", "present")))
        return Told({name: as_is}, {name: as_is}, {name: other})
    if name in book.choices:
        return _one_of(pen, name, book.choices[name])
    return _compared(pen, book, name, free)


def _one_of(pen: Pen, name: str, words: list[str]) -> Told | None:
    if len(words) < 2:
        return None
    chosen = pen.some(words[1:], 2, 1)
    raw: Any = {"is": chosen} if len(chosen) > 1 or pen.seldom() else pen.one((chosen[0], {"is": chosen[0]}))
    return Told({name: raw}, {name: chosen[0]}, {name: words[0]})


_WAYS = (
    *("below", "above", "by more", "at least", "at most", "equals", "between"),
    *("near", "differs", "share", "share", "tolerance"),
)


def _compared(pen: Pen, book: Drawn, name: str, free: set[str]) -> Told:
    unit = book.figures[name]
    others = sorted(each for each in free if book.figures.get(each) == unit and unit != "degC")

    def figure(number: float) -> str:
        return f"{number:g} {unit}".rstrip()

    way = pen.one(_WAYS)
    low, high = {name: figure(20)}, {name: figure(80)}
    sided = {
        "below": Told({name: {"below": figure(50)}}, low, pen.one((high, {name: f"> {figure(60)}"}))),
        "above": Told({name: {"above": figure(50)}}, pen.one((high, {name: f"> {figure(60)}"})), low),
        "at least": Told({name: {"at-least": figure(80)}}, pen.one((high, {name: f"> {figure(80)}"})), low),
        "at most": Told({name: {"at-most": figure(20)}}, low, high),
        "equals": Told({name: {"equals": figure(80)}}, high, low),
        "between": Told({name: {"between": [figure(70), figure(90)]}}, high, low),
    }
    if way in sided:
        return sided[way]
    if way == "by more" and unit != "degC":
        return Told({name: {"above": figure(50), "by-more-than": figure(10)}}, high, low)
    if way == "near" and unit != "degC":
        return Told({name: {"near": figure(81), "within": figure(5)}}, high, low)
    if way == "differs" and unit != "degC":
        return Told({name: {"differs-from": figure(81), "by-more-than": figure(5)}}, low, high)
    if way == "tolerance" and name in book.tolerances:
        return Told({name: {"differs-from": figure(80), "by-more-than": "tolerance"}}, low, high)
    if way == "share" and others:
        other = pen.one(others)
        free.discard(other)
        given = {other: figure(100)}
        return Told({name: {"below": f"50 % of {other}"}}, {**low, **given}, {**high, **given})
    return Told({name: {"below": figure(50)}}, low, high)
