"""Invented plants whose figures are not those of the rule book, and closed cases drawn from them without interviews.

A case here is a meter, a cause by its true frequency there, a complaint, and some findings that somebody looked for:
what the cause shows and what its look-alikes show, drawn from the network. Nobody is interviewed and no step is chosen,
which takes a thousandth of the time; what it cannot tell is minutes.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from math import exp
from random import Random
from typing import NamedTuple

import msgspec

from diagnose.authoring.faults import Meter, draw_complaint, draw_meter, reportable
from diagnose.learning.closed_cases import ClosedCase
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.frequencies import frequency_on
from diagnose.reasoning.posterior import Evidence, posterior
from diagnose.reasoning.steps import applies
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.faults import Cause

LOOKED = 8
"""So many findings are looked for in a case, where there are as many."""

METERS = 250
FIRST_DAY = date(2026, 1, 1)


class Seen(NamedTuple):
    """One case as it is drawn: the meter, the cause, the complaint, and what was looked for."""

    meter: int
    cause: str
    complaint: tuple[str, ...]
    looked: dict[str, bool]


class Plant:
    """Meters, and how often what goes wrong with them; ``frailty`` varies it from meter to meter (1: each its own)."""

    def __init__(self, book: RuleBook, key: str, frailty: float | None = None, meters: int = METERS) -> None:
        self.book = book
        self.key = key
        self.meters = [draw_meter(book, f"{key}/meter {number}") for number in range(meters)]
        self.shares = [self._shares_on(number, frailty) for number in range(meters)]

    def _shares_on(self, number: int, frailty: float | None) -> dict[str, float]:
        chance = Random(f"{self.key}/frailty {number}")
        sheet = self.meters[number].sheet
        return {
            cause.id: frequency_on(self.book, cause, sheet)
            * (chance.gammavariate(frailty, 1 / frailty) if frailty else 1.0)
            for cause in self.book.causes.values()
            if applies(cause.applies, sheet) and reportable(self.book, cause)
        }

    def draw(self, key: str, meter: int | None = None) -> Seen:
        """Return one case, at a meter or at any."""
        chance = Random(f"{self.key}/{key}")
        number = chance.randrange(len(self.meters)) if meter is None else meter
        shares = self.shares[number]
        cause = self.book.causes[chance.choices(list(shares), list(shares.values()))[0]]
        complaint = draw_complaint(self.book, [cause], chance)
        return Seen(number, cause.id, complaint, dict(self._looked(cause, complaint, chance)))

    def _looked(self, cause: Cause, complaint: tuple[str, ...], chance: Random) -> Mapping[str, bool]:
        """Return what is found of what the cause and its look-alikes show; of alternatives no more than one."""
        findings = self.book.findings
        alike = [self.book.causes[name] for name in cause.looks_like if name in self.book.causes]
        named = sorted({name for each in (cause, *alike) for name in each.shows} - set(complaint))
        taken = {findings[name].alternatives for name in complaint} - {""}
        found: dict[str, bool] = {}
        for name in chance.sample(named, min(LOOKED, len(named))):
            word = findings[name].alternatives
            if word and word in taken:
                continue
            shows = 1 - (1 - cause.shows.get(name, 0.0)) * (1 - findings[name].leak)
            found[name] = chance.random() < shows
            taken |= {word} if word and found[name] else set()
        return found

    def known(self, number: int) -> Meter:
        """Return a meter."""
        return self.meters[number]


def closed(plant: Plant, seen: Seen, name: str, day: int = 0) -> ClosedCase:
    """Return a case closed with its true cause."""
    return ClosedCase(
        name=name,
        meter=f"M-{seen.meter}",
        closed_on=FIRST_DAY + timedelta(days=day),
        outcome="found",
        cause=seen.cause,
        data_sheet=plant.known(seen.meter).known,
        marks=(name, name),
    )


def another_plant(book: RuleBook, seed: int, spread: float = 1.0, looks: float | None = 10.0) -> RuleBook:
    """Return what is true elsewhere: frequencies times e to the power of a normal variate, strengths drawn about ours.

    A ``spread`` of 1 means that one cause in three comes more than 2.7 times as often as we believe, or as seldom.
    ``looks`` says how near ours the strengths are: as near as if ours had been counted on so many cases.
    """
    chance = Random(seed)
    causes = {}
    for name, cause in book.causes.items():
        factor = exp(chance.gauss(0, spread))
        rows = tuple(msgspec.structs.replace(row, frequency=row.frequency * factor) for row in cause.frequency_where)
        shows = {
            finding: min(max(chance.betavariate(looks * each, looks * (1 - each)), 0.005), 0.995) if looks else each
            for finding, each in cause.shows.items()
        }
        causes[name] = msgspec.structs.replace(
            cause, frequency=cause.frequency * factor, frequency_where=rows, shows=shows
        )
    return msgspec.structs.replace(book, causes=causes)


def probabilities(engine: Engine, plant: Plant, seen: Seen) -> dict[str, float]:
    """Return how probable each cause is by what was complained of and looked for."""
    network = engine.network(plant.known(seen.meter).known)
    findings = engine.rule_book.findings
    present = tuple(sorted({*seen.complaint, *(name for name, there in seen.looked.items() if there)}))
    groups = {findings[name].alternatives for name in present} - {""}
    absent = tuple(
        sorted(name for name, there in seen.looked.items() if not there and findings[name].alternatives not in groups)
    )
    found = posterior(network, Evidence(present, absent))
    return dict(zip(network.causes, found.probabilities.tolist(), strict=True))
