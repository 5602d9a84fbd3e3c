"""What checks brought in closed cases: information on the cause, beside their minutes and what was expected."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from math import log2
from typing import NamedTuple

import msgspec
import numpy as np

from diagnose.learning.closed_cases import ClosedCase, weighed_words
from diagnose.observations import CheckDone, Measurement, Observation
from diagnose.reasoning.chances import Chances
from diagnose.reasoning.diagnosis import Weighed, weighed
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.hypotheses import hypotheses
from diagnose.rule_book.work import Check

EARNS = 0.5
"""A check has earned its minutes where it brought at least this share of what all checks brought by the minute."""

LEAST_MADE = 3
"""Made less often than this, nothing is said of what it earned."""

LEAST_PROBABILITY = 1e-6
"""What is less probable than this counts as this: no answer costs or brings more than twenty bits."""


class CheckMade(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """One check: how often it was made, its minutes each time, and the bits it brought and was expected to, each time.

    What it ``brought`` is how much more probable the confirmed cause was after the answer, in doublings: below zero
    where it led away from it. ``earned`` is none where it was made too seldom to tell.
    """

    check: str
    title: str
    made: int
    minutes: float
    brought: float
    expected: float
    earned: bool | None = None

    @property
    def by_minute(self) -> float:
        """Bits that it brought for each minute."""
        return self.brought / self.minutes if self.minutes else 0.0


class _Made(NamedTuple):
    check: str
    brought: float
    expected: float


def checks_made(engine: Engine, cases: Iterable[ClosedCase]) -> tuple[CheckMade, ...]:
    """Return the checks made in cases whose cause was found, those first that brought most by the minute."""
    found: defaultdict[str, list[_Made]] = defaultdict(list)
    for case in cases:
        if case.outcome == "found":
            for made in _walk(engine, case):
                found[made.check].append(made)
    rows = [_row(engine.rule_book.checks[name], made) for name, made in found.items()]
    minutes = sum(each.made * each.minutes for each in rows)
    usual = sum(each.made * each.brought for each in rows) / minutes if minutes else 0.0
    judged = [
        msgspec.structs.replace(each, earned=each.by_minute >= EARNS * usual) if each.made >= LEAST_MADE else each
        for each in rows
    ]
    return tuple(sorted(judged, key=lambda each: (-each.by_minute, each.check)))


def _row(check: Check, made: list[_Made]) -> CheckMade:
    return CheckMade(
        check=check.id,
        title=check.title,
        made=len(made),
        minutes=check.minutes,
        brought=sum(each.brought for each in made) / len(made),
        expected=sum(each.expected for each in made) / len(made),
    )


def _walk(engine: Engine, case: ClosedCase) -> Iterator[_Made]:
    """Yield what each check brought, in order, as long as the fault was there."""
    measuring = _measuring(engine)
    observations = weighed_words(engine, case.before_the_cure)
    held: Weighed | None = None
    for number, observation in enumerate(observations):
        check = _check(engine, measuring, observation)
        if check is None:
            held = None
            continue
        before = held or weighed(engine, case.data_sheet, observations[:number])
        held = weighed(engine, case.data_sheet, observations[: number + 1])
        brought = log2(_probability(held, case.cause) / _probability(before, case.cause))
        yield _Made(check.id, brought, _expected(engine, before, check))


def _measuring(engine: Engine) -> dict[str, Check]:
    """Return by quantity the check that measures it, where only one does."""
    by_quantity: defaultdict[str, list[Check]] = defaultdict(list)
    for check in engine.rule_book.checks.values():
        by_quantity[check.measures].append(check)
    return {name: checks[0] for name, checks in by_quantity.items() if name and len(checks) == 1}


def _check(engine: Engine, measuring: dict[str, Check], observation: Observation) -> Check | None:
    if isinstance(observation, CheckDone):
        return engine.rule_book.checks.get(observation.check)
    if isinstance(observation, Measurement) and not observation.heard:
        return measuring.get(observation.quantity)
    return None


def _probability(held: Weighed, cause: str) -> float:
    """Return how probable a cause is; one that this meter cannot have is not impossible, for it was found."""
    known = held.network.causes
    share = float(held.result.probabilities[known.index(cause)]) if cause in known else 0.0
    return max(share, LEAST_PROBABILITY)


def _expected(engine: Engine, held: Weighed, check: Check) -> float:
    """Return the information that the answer was expected to bring: mutual information with what is wrong, in bits."""
    likely = hypotheses(held.network, held.evidence, held.result.probabilities)
    outcomes = engine.outcomes[check.id]
    if not len(likely.weights) or len(outcomes) < 2:
        return 0.0
    table = Chances(likely.silent, held.network.column, held.inferred.findings).at(check, outcomes)
    joint = table * likely.weights
    alone = joint.sum(axis=1, keepdims=True)
    with np.errstate(divide="ignore", invalid="ignore"):
        bits = np.where(joint > 0, joint * np.log2(table / alone), 0.0)
    return float(bits.sum())
