"""Whether a comparison is right as often as it says: invented comparisons of known truth, by what was said of them.

Each scenario is one thing that is wrong (or nothing, or something that no mechanism describes) with a size of its own,
read at 3, 5 and 12 flows: with the scatter stated, with nothing stated, and with 0.03 m3/h of noise that nobody stated.
Right is whoever puts first the curve that was drawn: mechanisms of one curve cannot be told apart by pairs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache, partial
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from diagnose.analyses.answering import compare_with
from diagnose.comparison import curves
from diagnose.comparison.comparing import Question
from diagnose.comparison.findings import Against, ReadAt
from diagnose.tables.arrays import Array
from diagnose.tables.readings import Readings
from diagnose.units import unit_info
from tests.engines import real_engine

HOUR = unit_info("m3/h").factor
UPPER, TOP, LOWEST = 100.0, 95.0, 5.0
"""Range of the meter, largest and lowest flow that is read [m3/h]."""

SCATTER = 0.003
"""Standard deviation of a reading over the reading, which is what is stated where anything is."""

UNSTATED = 0.03
"""Noise that nobody stated [m3/h], the same at every flow."""

STEP = 0.01
"""What the figures resolve [m3/h]."""

POINTS = (3, 5, 12)
RANGE = (0.0, UPPER)

Curve = Callable[[Array], Array]


class Scenario(NamedTuple):
    """One thing that is wrong: the curve that is right, what is shown at a true flow [m3/h], and where it was read."""

    curve: str
    shown: Curve
    read_at: ReadAt = "display"
    against: Against = "reference"


def _factor(by: float, read_at: ReadAt = "display", against: Against = "reference") -> Scenario:
    return Scenario("factor", lambda r: by * r, read_at, against)


def _offset(by: float, read_at: ReadAt = "display", against: Against = "reference") -> Scenario:
    return Scenario("constant", lambda r: r + by, read_at, against)


def _received(curve: str, shown: Curve) -> Scenario:
    return Scenario(curve, shown, "control-system", "display")


def _counted(curve: str, shown: Curve) -> Scenario:
    return Scenario(curve, shown, "counter", "display")


SCENARIOS: tuple[Scenario, ...] = (
    *(Scenario("no-difference", lambda r: r) for _ in range(4)),
    Scenario("no-difference", lambda r: r, "control-system", "display"),
    *(_factor(by) for by in (0.80, 0.93, 0.97, 1.015, 1.04, 1.25, 3.6, 0.2642)),
    *(_factor(by, "control-system", "display") for by in (0.8, 1.6, 1.25, 10.0)),
    *(_factor(by, "counter", "display") for by in (0.1, 2.0, 1.25)),
    *(_offset(by) for by in (-2.0, -0.6, 0.3, 1.0, 4.0)),
    *(_offset(by, "control-system", "display") for by in (-1.5, 0.8)),
    *(Scenario("low-flow-cut-off", lambda r, at=at: curves.cut_off(r, at)) for at in (9.0, 22.0)),
    *(
        Scenario(
            "part-filling-at-low-flow", partial(curves.filling, depth_at_rest=np.array(at), filled_from=np.array(full))
        )
        for at, full in ((0.6, 60.0), (0.8, 40.0))
    ),
    *(
        Scenario("gravity-line", partial(curves.gravity_line, full_at=np.array(full), dry_below=np.array(dry)))
        for full, dry in ((70.0, 0.5), (120.0, 0.1))
    ),
    Scenario("gas-growing", lambda r: curves.gas_growing(r, np.array(0.08), TOP)),
    Scenario("gas-growing", lambda r: curves.gas_growing(r, np.array(0.2), TOP)),
    Scenario("reversed", lambda r: -r),
    Scenario("flat", lambda r: 0 * r),
    Scenario("flat", lambda r: 0 * r + 41.3),
    _received("upper-end", lambda r: curves.sender_live_receiver_dead(r, RANGE)),
    _received("upper-end", lambda r: curves.sender_dead_receiver_live(r, RANGE)),
    _received("square-root", lambda r: curves.root(r, RANGE)),
    _received("current", lambda r: curves.part_of_current(r, 0.5, RANGE)),
    _received("current", lambda r: curves.part_of_current(r, 0.94, RANGE)),
    _received("limited", lambda r: np.minimum(r, 71.0)),
    _counted("pulse-loss", lambda r: curves.losing_above(r, np.array(50.0), np.array(0.2))),
    _counted("gradual-pulse-loss", lambda r: curves.losing_more_above(r, np.array(45.0), np.array(0.5))),
    *(
        _counted("dead-time", partial(curves.dead_after_each, busy_at_top=np.array(busy), top=TOP))
        for busy in (0.06, 0.3)
    ),
    _received("number-wraps", lambda r: curves.wrapped(r, np.array(32.768), np.array(2.0))),
    Scenario("zero-and-factor", lambda r: 1.5 + 1.04 * r),
    Scenario("zero-and-factor", lambda r: -1.0 + 1.08 * r),
    Scenario("hysteresis", lambda r: curves.lagging(r, np.array(1.5))),
    Scenario("any-smooth-curve", lambda r: r * (1 + 0.06 * np.sin(r / 15))),
    Scenario("any-smooth-curve", lambda r: r + 6 * np.exp(-(((r - 50) / 18) ** 2))),
    # nothing in the book draws these
    Scenario("any-smooth-curve", lambda r: r * (1 - 0.05 * (r > 52))),
    Scenario("any-smooth-curve", lambda r: r * (1 + 0.03 * np.log(r / 30))),
    Scenario("any-smooth-curve", lambda r: r - 0.8 * np.sqrt(r)),
    Scenario("any-smooth-curve", lambda r: np.minimum(r + 2, 78.0)),
    Scenario("any-smooth-curve", lambda r: r + 0.12 * np.maximum(r - 40, 0.0)),
    _received("any-smooth-curve", lambda r: np.where(r < 30, 1.1 * r, 0.9 * r + 6)),
    _counted("any-smooth-curve", lambda r: r * (1 + 0.04 * np.sin(r / 25))),
)

WAYS = ("scatter stated", "nothing stated", "noise unstated", "stated, noise not")
BINS = (0.0, 0.5, 0.7, 0.9, 0.97, 1.0001)


class Said(NamedTuple):
    """What was said of the first curve, whether it was right, and whether the verdict contradicts it."""

    probability: float
    right: bool
    contradicts: bool


def flows(points: int, scenario: Scenario) -> Array:
    """Return the flows that are read; up and down where it matters whether the flow rose."""
    rising = np.linspace(LOWEST, TOP, points)
    if scenario.curve == "hysteresis":
        half = points // 2
        return np.concatenate((np.linspace(LOWEST, TOP, points - half), np.linspace(TOP, LOWEST, half + 2)[1:-1]))
    return rising


def read(scenario: Scenario, points: int, way: str, random: np.random.Generator) -> Readings:
    """Return what somebody notes who reads both."""
    true = flows(points, scenario)
    scatter = SCATTER * random.standard_normal(len(true))
    noise = UNSTATED * random.standard_normal(len(true)) if "noise" in way else 0.0 * true
    shown = np.round((scenario.shown(true) * (1 + scatter) + noise) / STEP) * STEP
    stated = (
        tuple((SCATTER * np.maximum(np.abs(shown), 0.03 * TOP) * HOUR).tolist())
        if "stated," in way or way == WAYS[0]
        else ()
    )
    return Readings(
        tuple((true * HOUR).tolist()),
        tuple((shown * HOUR).tolist()),
        (),
        stated,
        "m3/h",
        resolution_reference=(STEP * HOUR,) * len(true),
        resolution_indicated=(STEP * HOUR,) * len(true),
    )


def said_of(scenario: Scenario, readings: Readings) -> Said:
    """Return what the comparison says of its first curve."""
    question = Question(upper=UPPER * HOUR, read_at=scenario.read_at, against=scenario.against)
    found = compare_with(real_engine(), {}, readings, question)
    first = found.groups[0]
    denied = found.agreement.verdict == "agrees" and first.curve != "no-difference"
    claimed = found.agreement.verdict == "disagrees" and first.curve == "no-difference"
    return Said(first.probability, first.curve == scenario.curve, denied or claimed)


@lru_cache(maxsize=4)
def tries(seeds: int) -> dict[tuple[int, str], tuple[Said, ...]]:
    """Return what is said of every scenario, by how many points and in which way they were read."""
    return {(points, way): tuple(_every(points, way, seeds)) for points in POINTS for way in WAYS}


def _every(points: int, way: str, seeds: int) -> Iterator[Said]:
    for number, scenario in enumerate(SCENARIOS):
        for seed in range(seeds):
            random = np.random.default_rng([number, points, WAYS.index(way), seed])
            yield said_of(scenario, read(scenario, points, way, random))


def _row(title: str, said: Sequence[Said]) -> str:
    cells = []
    for low, high in pairwise(BINS):
        inside = [each for each in said if low <= each.probability < high]
        share = f"{sum(each.right for each in inside)}/{len(inside)}" if inside else "-"
        cells.append(f"{share:>10}")
    return f"  {title:28}{''.join(cells)}{sum(each.contradicts for each in said):>10}"


def report(seeds: int = 3) -> str:
    """Return the table that the benchmark command prints."""
    found = tries(seeds)
    every = [each for said in found.values() for each in said]
    heads = [f"{low:g} to {min(high, 1):g}" for low, high in pairwise(BINS)]
    return "\n".join(
        [
            f"{len(SCENARIOS)} scenarios, {seeds} times each: how often the first curve was right, by its probability",
            f"  {'':28}{''.join(f'{each:>10}' for each in heads)}{'verdict?':>10}",
            *(_row(f"{points} points, {way}", said) for (points, way), said in found.items()),
            _row("all", every),
            "verdict?: where it contradicts what comes first",
        ]
    )
