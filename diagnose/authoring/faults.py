"""Invented faults: a meter, what is wrong with it, who stands there and what they come with.

Drawn from the rule book itself: causes by frequency among those that the meter can have, complaints by how often the
causes show them.
"""

from __future__ import annotations

from random import Random

import msgspec

from diagnose.reasoning.evidence import completed
from diagnose.reasoning.frequencies import frequency_on
from diagnose.reasoning.steps import applies
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import Competence
from diagnose.rule_book.faults import Cause
from diagnose.rule_book.quantities import DataSheet, Quantity, Value

KNOWN_AT_FIRST = 0.5
"""Share of the data sheet's fields that are filled in before the interview; others are when a step asks for them."""

SECOND_COMPLAINT = 0.5
"""How often somebody who sees two things wrong names both."""


class Meter(msgspec.Struct, frozen=True):
    """One invented meter: ``sheet`` is what it is, ``known`` what is filled in of it before an interview."""

    sheet: DataSheet
    known: DataSheet


class Fault(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One invented fault; ``key`` makes everything drawn for it repeatable.

    ``sheet`` is what the meter is, ``known`` what is filled in of it, ``complaint`` the findings that somebody names.
    One that ``comes_and_goes`` shows at a look only part of the time.
    """

    key: str
    causes: tuple[str, ...]
    sheet: DataSheet
    known: DataSheet
    complaint: tuple[str, ...]
    competence: Competence = "skilled"
    comes_and_goes: bool = False

    def chance(self, *about: str) -> Random:
        """Return random numbers of their own for one occasion, the same whatever was drawn before."""
        return Random("/".join((self.key, *about)))


def draw_fault(
    rule_book: RuleBook, meter: Meter, key: str, causes: int, competence: Competence = "skilled"
) -> Fault | None:
    """Return an invented fault with so many causes; None when not as many can be together on this meter."""
    chance = Random(key)
    drawn: list[Cause] = []
    for _ in range(causes):
        possible = [
            cause
            for cause in rule_book.causes.values()
            if cause not in drawn and applies(cause.applies, meter.sheet) and reportable(rule_book, cause)
        ]
        if not possible:
            return None
        drawn += chance.choices(possible, [frequency_on(rule_book, cause, meter.sheet) for cause in possible])
    return Fault(
        key=key,
        causes=tuple(cause.id for cause in drawn),
        sheet=meter.sheet,
        known=meter.known,
        complaint=draw_complaint(rule_book, drawn, chance),
        competence=competence,
    )


def draw_intermittent_fault(rule_book: RuleBook, meter: Meter, key: str) -> Fault | None:
    """Return a fault that comes and goes, as the person knows; None when no cause of this meter does."""
    finding = rule_book.settings.intermittent
    chance = Random(key)
    possible = [
        cause
        for cause in rule_book.causes.values()
        if cause.shows.get(finding, 0.0) > 0 and applies(cause.applies, meter.sheet) and reportable(rule_book, cause)
    ]
    if not possible:
        return None
    shares = [frequency_on(rule_book, each, meter.sheet) * each.shows[finding] for each in possible]
    cause = chance.choices(possible, shares)[0]
    return Fault(
        key=key,
        causes=(cause.id,),
        sheet=meter.sheet,
        known=meter.known,
        complaint=tuple(dict.fromkeys((*draw_complaint(rule_book, [cause], chance), finding))),
        comes_and_goes=True,
    )


def draw_meter(rule_book: RuleBook, key: str) -> Meter:
    """Return an invented meter, of which some of the data sheet's fields are filled in."""
    chance = Random(key)
    sheet = draw_sheet(rule_book, chance)
    return Meter(sheet, {name: value for name, value in sheet.items() if chance.random() < KNOWN_AT_FIRST})


def draw_sheet(rule_book: RuleBook, chance: Random) -> DataSheet:
    """Return a meter: a word for every field that has words, or some of them where it may have several.

    Words come as often as the field's shares say, where it has any, else each as often as the others. Fields with
    figures stay open, since nothing is measured here.
    """
    sheet: dict[str, Value] = {}
    for name, quantity in sorted(rule_book.data_sheet_fields().items()):
        if quantity.several:
            words = [word for word in quantity.choices if chance.random() < _share(quantity, word, 0.5)]
            sheet[name] = tuple(words) or (chance.choice(quantity.choices),)
        elif quantity.choices:
            even = 1 / len(quantity.choices)
            shares = [_share(quantity, word, even) for word in quantity.choices]
            sheet[name] = chance.choices(quantity.choices, shares)[0]
    settled = {each.field for each in rule_book.contradictions.values() if each.adds}
    blank = {name for name in settled if not rule_book.quantities[name].several}
    # No meter is otherwise than its other fields leave it: what they settle they settle, whatever was drawn.
    other = completed(rule_book, {name: value for name, value in sheet.items() if name not in blank})
    return dict(completed(rule_book, {**sheet, **other}))


def _share(quantity: Quantity, word: str, unsaid: float) -> float:
    """Return of how many meters a word is so; ``unsaid`` where the field gives no shares at all."""
    return quantity.shares.get(word, 0.0) if quantity.shares else unsaid


def reportable(rule_book: RuleBook, cause: Cause) -> dict[str, float]:
    """Return what somebody may complain of when a cause is there, and how often it shows."""
    strengths = {name: strength for name, strength in cause.shows.items() if strength > 0}
    complaints = {name: each for name, each in strengths.items() if rule_book.findings[name].complaint}
    return complaints or {name: each for name, each in strengths.items() if rule_book.findings[name].kind == "symptom"}


def draw_complaint(rule_book: RuleBook, causes: list[Cause], chance: Random) -> tuple[str, ...]:
    """Return one or two findings, of those that the causes show, that somebody comes with.

    Somebody complained; so where chance shows nothing, one finding is taken in proportion to how often it shows.
    """
    silent: dict[str, float] = {}
    for cause in causes:
        for name, strength in reportable(rule_book, cause).items():
            silent[name] = silent.get(name, 1.0) * (1 - strength)
    if not silent:
        return ()
    shown = [name for name, quiet in silent.items() if chance.random() >= quiet]
    shown = shown or chance.choices(list(silent), [1 - quiet for quiet in silent.values()])
    said = [chance.choice(shown)]
    word = rule_book.findings[said[0]].alternatives
    others = [
        name for name in shown if name not in said and not (word and rule_book.findings[name].alternatives == word)
    ]
    if others and chance.random() < SECOND_COMPLAINT:
        said.append(chance.choice(others))
    return tuple(said)
