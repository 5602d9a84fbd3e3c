"""Drawn quantities, states, cautions and disturbances: what the other entries of a drawn rule book refer to."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from diagnose.calculations import FUNCTIONS
from diagnose.terms import ANY_UNIT, TERMS, Term
from tests.drawn.pen import Pen

Entry = dict[str, Any]
COMPETENCES = ("ordinary", "instructed", "skilled")
UNITS = ("V", "mA", "degC", "m3/h", "", "%", "ohm", "Mohm", "mm", "s", "uS/cm", "Hz")
TOOLS = ("multimeter", "[torch]", "ladder {0}", "日本のペンチ")


@dataclass
class Drawn:
    """What of a rule book was drawn so far: files, and the names that later entries may refer to.

    ``figures`` gives the unit of each quantity with figures, ``choices`` the words of those with words.
    """

    sources: list[str] = field(default_factory=list)
    areas: list[str] = field(default_factory=list)
    figures: dict[str, str] = field(default_factory=dict)
    choices: dict[str, list[str]] = field(default_factory=dict)
    tolerances: set[str] = field(default_factory=set)
    on_sheet: list[str] = field(default_factory=list)
    states: dict[str, list[str]] = field(default_factory=dict)
    hazards: list[str] = field(default_factory=list)
    disturbances: dict[str, str] = field(default_factory=dict)
    findings: list[str] = field(default_factory=list)
    checks: list[str] = field(default_factory=list)
    causes: list[str] = field(default_factory=list)
    remedies: list[str] = field(default_factory=list)
    entries: dict[str, list[Entry]] = field(default_factory=dict)

    def add(self, part: str, entry: Entry) -> Entry:
        """Keep an entry under its part."""
        self.entries.setdefault(part, []).append(entry)
        return entry


def applies(pen: Pen, book: Drawn) -> dict[str, list[str]]:
    """Return words of some fields with choices."""
    fields = [name for name in book.choices if name in book.on_sheet or pen.seldom(50)]
    return {name: pen.some(book.choices[name], 2, 1) for name in pen.some(fields, 2)}


def frequencies(pen: Pen, book: Drawn) -> list[Entry]:
    """Return how often a cause comes by the data sheet, for fields with shares."""
    shared = {each["id"] for each in book.entries.get("quantities", []) if each.get("shares")}
    fields = [name for name in book.choices if name in shared and name in book.on_sheet]
    rows = [{name: pen.some(book.choices[name], 2, 1) for name in pen.some(fields, 2, 1)} for _ in range(2) if fields]
    return [{"where": row, "frequency": pen.one(("common", "rare", 3, 0.001))} for row in rows]


def needs(pen: Pen, book: Drawn) -> dict[str, Any]:
    """Return how some states must stand."""
    return {name: pen.one([pen.one(values), [pen.one(values)]]) for name, values in _some(pen, book.states)}


def _some(pen: Pen, states: dict[str, list[str]]) -> list[tuple[str, list[str]]]:
    return [(name, states[name]) for name in pen.some(list(states), 2)]


def draw_quantities(pen: Pen, book: Drawn) -> None:
    """Draw quantities of all kinds, and some that are calculated from others."""
    for name in pen.ids(5, 0):
        kind = pen.one(("figure", "figure", "words", "text"))
        entry = book.add("quantities", {"id": name, "title": pen.text(), "source": pen.one(book.sources)})
        if kind == "figure":
            _figure(pen, book, entry)
        elif kind == "words":
            _words(pen, book, entry)
        else:
            entry |= {"text": True, "where-to-find": pen.text()}
        if "where-to-find" not in entry and pen.seldom(3):
            entry["where-to-find"] = pen.text()
        pen.put(entry, "on-data-sheet", True, 5)
        pen.put(entry, "not-with", pen.phrases(2), 6)
    for _ in range(pen.whole(0, 2)):
        _calculated(pen, book)
    book.on_sheet = [
        each["id"]
        for each in book.entries.get("quantities", [])
        if each.get("where-to-find") or "on-data-sheet" in each
    ]


def _figure(pen: Pen, book: Drawn, entry: Entry) -> None:
    unit = pen.one(UNITS)
    book.figures[entry["id"]] = unit
    pen.put(entry, "words", pen.phrases(2), 2)
    pen.put(entry, "plausible", [f"0 {unit}".rstrip(), f"1000 {unit}".rstrip()], 2)
    pen.put(entry, "written", pen.some(("DN #", "{0} # [x]", "# lamps", "über #"), 2), 5)
    pen.put(entry, "written-values", [f"{each} {unit}".rstrip() for each in (1, 50)], 8)
    pen.put(entry, "column", pen.text(), 6)
    pen.put(entry, "above", f"-1 {unit}".rstrip(), 6)
    pen.put(entry, "at-least", f"0 {unit}".rstrip(), 6)
    pen.put(entry, "at-most", f"1000 {unit}".rstrip(), 6)
    pen.put(entry, "symbol", pen.text(), 6)
    pen.put(entry, "example", pen.text(), 6)
    if unit:
        entry["unit"] = unit
    if pen.seldom(3):
        book.tolerances.add(entry["id"])
        entry["tolerance"] = pen.one((f"1 {unit}".rstrip(), "1 %", f"0.5 {unit}".rstrip() + " + 1 %"))
    others = [each for each, other in book.figures.items() if other == unit and each != entry["id"]]
    if others and pen.seldom(5):
        entry["lower-end-of"] = pen.one(others)


def _words(pen: Pen, book: Drawn, entry: Entry) -> None:
    words = pen.some(
        ("inside", "outside", "yes", "no", "none", "1", "[red]", "{0}", "über", "4-20 mA", "null", "a: b"), 4, 1
    )
    book.choices[entry["id"]] = entry["choices"] = words
    pen.put(entry, "several", True, 4)
    pen.put(entry, "choice-words", {each: pen.phrases(2, 1) for each in pen.some(words, 2)}, 2)
    pen.put(entry, "alone", pen.some(words, 1, 1), 5)
    pen.put(entry, "may-be-more", True, 6)
    shares = (0.5, 1, 0.01) if "several" in entry else (0.3, 0.01)
    pen.put(entry, "shares", {each: pen.one(shares) for each in pen.some(words, 3)}, 2)


def _calculated(pen: Pen, book: Drawn) -> None:
    function = FUNCTIONS[pen.one(sorted(FUNCTIONS))]
    inputs = {key: _input(pen, book, TERMS[key]) for key in function.required}
    optional = {key: _input(pen, book, TERMS[key]) for key in pen.some(sorted(function.defaults), 1)}
    name = f"reckoned-{len(book.entries.get('quantities', []))}"
    calculate: Entry = {"function": function.name, "inputs": {**inputs, **optional}}
    pen.put(calculate, "may-be-unknown", list(optional), 2)
    _of_term(pen, book, name, TERMS[function.gives])["calculate"] = calculate


def _input(pen: Pen, book: Drawn, term: Term) -> str:
    if not (term.choices or term.text) and pen.seldom(3):
        return f"{pen.one((1, 10, 0, -1, 50))} {'' if term.unit == ANY_UNIT else term.unit}".rstrip()
    there = [each for each, unit in book.figures.items() if unit == term.unit and not term.choices and not term.text]
    if there and pen.seldom(2):
        return pen.one(there)
    name = f"input-{len(book.entries.get('quantities', []))}"
    _of_term(pen, book, name, term)
    return name


def _of_term(pen: Pen, book: Drawn, name: str, term: Term) -> Entry:
    entry = book.add("quantities", {"id": name, "title": pen.text(), "source": pen.one(book.sources)})
    if term.choices:
        book.choices[name] = entry["choices"] = list(term.choices)
    elif term.text:
        entry["text"] = True
    else:
        entry["unit"] = book.figures[name] = "" if term.unit == ANY_UNIT else term.unit
    if pen.seldom(2):
        entry["where-to-find"] = pen.text()
    return entry


def draw_states(pen: Pen, book: Drawn) -> None:
    """Draw states with every change between their values."""
    for order, name in enumerate(pen.ids(3, 0, [*book.figures, *book.choices])):
        values = pen.some(("in", "out", "live", "isolated", "no", "1", "[off]", "{0}"), 3, 1)
        entry: Entry = {"id": name, "title": pen.text(), "order": order, "values": values, "initial": values[0]}
        changes = [_change(pen, book, one, other) for one in values for other in values if one != other]
        entry |= {"changes": changes, "source": pen.one(book.sources)}
        goes_with = {other: pen.some(there, 2, 1) for other, there in _some(pen, book.states)}
        if len(values) > 1:
            pen.put(entry, "goes-with", {values[-1]: goes_with} if goes_with else {}, 3)
        pen.put(entry, "told-as", {each: pen.phrases(2, 1) for each in pen.some(values, 2)}, 3)
        pen.put(entry, "taken-at-once", values[:1], 3)
        pen.put(entry, "asked-as", {each: pen.text() for each in values}, 3)
        if pen.seldom(2):
            entry["ask"] = pen.text()
        book.states[name] = values
        book.add("states", entry)


def _change(pen: Pen, book: Drawn, one: str, other: str) -> Entry:
    change: Entry = {"from": one, "to": other, "minutes": pen.minutes(), "steps": pen.lines(2)}
    change["competence"] = pen.one(COMPETENCES)
    pen.put(change, "meets", pen.some(book.hazards, 2), 3)
    return change


def draw_hazards(pen: Pen, book: Drawn) -> None:
    """Draw the names of hazards that cautions will come up for."""
    book.hazards = pen.some(("live-parts", "hot glass", "[gas]", "1", "no", "{0}"), 3)


def draw_cautions(pen: Pen, book: Drawn) -> None:
    """Draw a caution for every hazard, and some for how the plant stands or where the meter is."""
    for number, hazard in enumerate([*book.hazards, *([""] if pen.seldom(2) else [])]):
        entry: Entry = {"id": f"caution-{number}", "title": pen.text(), "signal": pen.one(_SIGNALS)}
        entry |= {"hazard": pen.text(), "consequence": pen.text(), "avoid": pen.lines(2, 0)}
        met: list[Entry] = [{"meets": hazard, **applies(pen, book)} if pen.seldom() else {"meets": hazard}]
        entry["comes-up"] = (met if hazard else []) + [needs(pen, book)] * pen.whole(0, 1)
        if hazard:
            entry |= _forbidding(pen, book, hazard)
        pen.put(entry, "falls-away", applies(pen, book), 4)
        pen.put(entry, "short", pen.text(), 2)
        book.add("cautions", {**entry, "source": pen.one(book.sources)})


_SIGNALS = ("caution", "danger", "warning", "notice")


def _forbidding(pen: Pen, book: Drawn, hazard: str) -> Entry:
    found: Entry = {}
    item = {"meets": hazard, **needs(pen, book), **applies(pen, book)}
    if len(item) > 1:
        pen.put(found, "forbids", [item], 3)
    pen.put(found, "least-competence", {pen.one(COMPETENCES): [{"meets": hazard}]}, 4)
    return found


def step(pen: Pen, book: Drawn, entry: Entry) -> Entry:
    """Add to an entry what all steps have."""
    entry |= {"title": pen.text(), "steps": pen.lines(3), "minutes": pen.minutes()}
    entry["competence"] = pen.one(COMPETENCES)
    pen.put(entry, "tools", pen.some(TOOLS, 2), 3)
    pen.put(entry, "needs", needs(pen, book), 2)
    pen.put(entry, "meets", pen.some(book.hazards, 2), 2)
    pen.put(entry, "applies", applies(pen, book), 4)
    pen.put(entry, "not-when", applies(pen, book), 5)
    pen.put(entry, "leaves", {name: pen.one(values) for name, values in _some(pen, book.states)}, 5)
    return entry


def draw_disturbances(pen: Pen, book: Drawn) -> None:
    """Draw what steps leave otherwise than it was."""
    for name in pen.ids(2, 0):
        entry = step(pen, book, {"id": name, "source": pen.one(book.sources)})
        pen.put(entry, "holds", needs(pen, book), 4)
        pen.put(entry, "told-as", pen.phrases(2, 1), 3)
        if entry.get("needs"):
            pen.put(entry, "waits", True, 3)
        book.disturbances[name] = entry["competence"]
        book.add("disturbances", entry)


def disturbs(pen: Pen, book: Drawn, competence: str) -> list[str]:
    """Return some disturbances that somebody of this competence may put back."""
    able = COMPETENCES[: COMPETENCES.index(competence) + 1]
    return pen.some([name for name, who in book.disturbances.items() if who in able], 2)
