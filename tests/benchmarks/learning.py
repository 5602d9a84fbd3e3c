"""Learning from a simulated year of closed cases, and a meter's history: does the right cause come first more often?

Cases to learn from are drawn from the network without interviews (:mod:`tests.learning.simulated`); so is the first
table. Minutes are those of whole interviews about other faults of the same plant, the same ones before and after.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import log2, sqrt
from statistics import mean, stdev
from typing import NamedTuple

from diagnose.authoring.faults import draw_fault
from diagnose.authoring.simulated_interview import interview
from diagnose.learning.learning import learn, learned_engine
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.book import RuleBook
from tests.engines import real_engine
from tests.learning.simulated import Plant, Seen, another_plant, closed, probabilities

YEAR = 2000
RANKED = 600
INTERVIEWS = 50
WRONG = 0.05
SEED = 11

PER_METER = 10
METERS = 120


class Change(NamedTuple):
    """A figure before and after in the same cases, and by how much it changes, give or take (95 %)."""

    before: float
    after: float
    by: float
    give_or_take: float

    def __str__(self) -> str:
        """Return it as a cell."""
        return f"{self.before:7.3f} {self.after:7.3f}  {self.by:+.3f} ± {self.give_or_take:.3f}"


def change(pairs: Sequence[tuple[float, float]]) -> Change:
    """Return how a figure changes, from what it was before and after in each case."""
    differences = [after - before for before, after in pairs]
    error = 1.96 * stdev(differences) / sqrt(len(differences)) if len(differences) > 1 else 0.0
    return Change(mean(each[0] for each in pairs), mean(each[1] for each in pairs), mean(differences), error)


def plants(book: RuleBook) -> dict[str, RuleBook]:
    """Return what is true on each plant."""
    return {
        "like ours": book,
        "other frequencies": another_plant(book, SEED, looks=None),
        "other frequencies and strengths": another_plant(book, SEED),
    }


def after_a_year(engine: Engine, plant: Plant, many: int = YEAR) -> Engine:
    """Return the engine that learned from so many closed cases of a plant."""
    seen = [plant.draw(f"year {number}") for number in range(many)]
    looks = {f"case {number}": each.looked for number, each in enumerate(seen)}
    cases = [closed(plant, each, f"case {number}", number * 365 // many) for number, each in enumerate(seen)]
    return learned_engine(engine, learn(engine, cases, looks=lambda _, case: looks[case.name]))


def ranked(before: Engine, after: Engine, plant: Plant, many: int) -> Iterator[tuple[float, float, float, float]]:
    """Yield for fresh cases whether the true cause comes first, and log2 of its probability, before and after."""
    for number in range(many):
        seen = plant.draw(f"next year {number}")
        one, other = (probabilities(engine, plant, seen) for engine in (before, after))
        yield (*of_case(one, seen), *of_case(other, seen))


def of_case(shares: dict[str, float], seen: Seen) -> tuple[float, float]:
    """Return whether the true cause comes first, and log2 of its probability."""
    first = max(shares, key=lambda name: shares[name])
    return float(first == seen.cause), log2(max(shares.get(seen.cause, 0.0), 1e-6))


def report(size: int = INTERVIEWS) -> str:
    """Return both tables; ``size`` is how many interviews are made about each plant, before and after."""
    engine = real_engine()
    lines = [
        f"Learning from {YEAR:,} closed cases of each plant (drawn without interviews); paired differences, 95 %",
        "",
        f"{'':34}before   after",
    ]
    for name, truth in plants(engine.rule_book).items():
        plant = Plant(truth, name)
        after = after_a_year(engine, plant)
        rows = list(ranked(engine, after, plant, RANKED))
        lines.append(f"{name} ({RANKED:,} fresh cases, no interviews)")
        lines.append(f"  right cause first            {change([(each[0], each[2]) for each in rows])}")
        lines.append(f"  log2 of its probability      {change([(each[1], each[3]) for each in rows])}")
        lines += _interviewed(engine, after, truth, plant, size)
    return "\n".join([*lines, "", *_history(engine)])


def _interviewed(before: Engine, after: Engine, truth: RuleBook, plant: Plant, size: int) -> Iterator[str]:
    """Yield what whole interviews come to; the world is the true one, whatever we believe."""
    world = Engine(truth, lambda: before.lexicon)
    results = []
    for number in range(size):
        fault = draw_fault(truth, plant.known(number // 4 % len(plant.meters)), f"{plant.key}/fault {number}", 1)
        if fault is not None:
            results.append(tuple(interview(engine, fault, WRONG, world) for engine in (before, after)))
    if len(results) < 2:
        return
    yield f"  whole interviews ({len(results)} faults, {100 * WRONG:.0f} % of answers wrong)"
    told = {
        "right cause first at the end": lambda each: float(max(each.ranks.values()) <= 1),
        "cured": lambda each: float(each.end == "cured"),
        "minutes of looking": lambda each: each.looking,
        "minutes altogether": lambda each: each.minutes,
    }
    for name, figure in told.items():
        yield f"    {name:28} {change([(figure(one), figure(other)) for one, other in results])}"


def _history(engine: Engine) -> Iterator[str]:
    """Yield what it helps to count what was found on a meter before, where causes come back and where they do not."""
    times = engine.rule_book.settings.comes_back.times
    yield f"A meter's history ({METERS} meters, {PER_METER} cases each, no interviews), not counted and counted"
    yield f"{'':34}without    with"
    for name, frailty in (
        (f"causes come back {times:g} times as often, as believed", 1 / (times - 1)),
        ("they come back no more than anywhere", None),
    ):
        rows = list(with_history(engine, Plant(engine.rule_book, f"history {name}", frailty, METERS)))
        yield name
        yield f"  right cause first            {change([(each[0], each[2]) for each in rows])}"
        yield f"  log2 of its probability      {change([(each[1], each[3]) for each in rows])}"


def with_history(engine: Engine, plant: Plant, cases: int = PER_METER) -> Iterator[tuple[float, float, float, float]]:
    """Yield, for every case of each meter but the first, how its true cause fares without and with the history."""
    for meter in range(len(plant.meters)):
        found: dict[str, int] = {}
        for number in range(cases):
            seen = plant.draw(f"meter {meter} case {number}", meter)
            if found:
                one, other = (probabilities(each, plant, seen) for each in (engine, engine.with_history(found)))
                yield (*of_case(one, seen), *of_case(other, seen))
            found[seen.cause] = found.get(seen.cause, 0) + 1
