"""Every mechanism of ``diagnose compare`` simulated and looked for again: how often the right one comes first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache
from typing import NamedTuple

import numpy as np

from diagnose.comparison.comparing import between
from diagnose.comparison.marginal import marginal_likelihood
from diagnose.comparison.mechanism import Model, ModelledMechanism, Scene
from diagnose.comparison.mechanisms import ANY_SMOOTH, mechanisms_of
from diagnose.comparison.parameters import DiscreteParameter
from diagnose.comparison.ranking import Likely, Pairs, RankedMechanism, ambiguity_groups, likelihood, rank
from diagnose.comparison.separating import separate
from diagnose.observations import Compared
from diagnose.reasoning.posterior import mechanisms_believed
from diagnose.tables.arrays import Array
from tests.engines import real_engine

UPPER = 100.0
SHOWS = 5.0
"""A fault is drawn anew until it lies so many standard deviations (root mean square) from no difference, and of two at
once from each alone."""

WEAK = 3.0
"""What comes first instead draws the same curve when such readings tell, on the mean, by less than exp(3), 20 to 1."""

DRAWS = 20_000
NAME = 26


class Design(NamedTuple):
    """A comparison: its flows, the scatter of a reading, whether range and uncertainties are told to the analysis."""

    name: str
    flows: tuple[float, ...]
    scatter: float
    range_told: bool = True
    scatter_told: bool = False


DESIGNS = (
    Design("10 points, 0.5 %", tuple(float(each) for each in range(10, 101, 10)), 0.005),
    Design("5 points, 1 %", (10.0, 25.0, 50.0, 75.0, 100.0), 0.01),
    Design("3 points, 2 %", (20.0, 50.0, 100.0), 0.02),
)


class Trial(NamedTuple):
    """One comparison: the curve that came first, whether it is the right one or draws the same, the mechanism too.

    ``separating`` tells, where another curve came first, at which share of the range one more reading tells both apart
    best, and by how many of its standard deviations; None when nowhere.
    """

    first: str
    right_curve: bool
    same_within_scatter: bool
    right_mechanism: bool
    separating: tuple[float, float] | None


@cache
def mechanisms() -> tuple[ModelledMechanism, ...]:
    """Return the mechanisms of the rule book of this repository."""
    book = real_engine().rule_book
    return mechanisms_of(book.mechanisms, book.settings.comparisons)


def believed(decibans: Likely) -> dict[str, float]:
    """Return how probable mechanisms are where the reading may come from anywhere."""
    compared = Compared(with_what="reference", between=between("", "reference"), decibans=dict(decibans))
    return mechanisms_believed(real_engine().network({}), compared)


def simulated_ones() -> tuple[ModelledMechanism, ...]:
    """Return the mechanisms that can be simulated: all that have a model."""
    return tuple(each for each in mechanisms() if each.model is not ANY_SMOOTH)


def scene(design: Design, told: bool) -> Scene:
    """Return what is known around the readings."""
    return Scene(top=max(design.flows), unit="m3/h", upper=UPPER if told else None)


def unit_of(truth: Array, design: Design) -> Array:
    """Return the standard deviation of readings: a share of the reading, at low flow of the largest."""
    return np.asarray(design.scatter * np.hypot(truth, 0.03 * max(design.flows)), np.float64)


def simplest(model: Model, flows: Array, parameters: tuple[Array, ...], around: Scene) -> list[Array]:
    """Return the curves from which a fault must stand out: no difference, and of two at once each alone."""
    nothing, one = np.zeros((1, 1)), np.ones((1, 1))
    alone: dict[str, Callable[..., list[tuple[Array, ...]]]] = {
        "zero-and-factor": lambda zero, factor: [(zero, one), (nothing, factor)],
        "cut-off-and-zero": lambda zero, cut: [(nothing, cut), (zero, nothing)],
        "square-root-and-span": lambda _span: [(one,)],
    }
    parts = alone[model.name](*parameters) if model.name in alone else []
    return [flows, *(model.predict(flows, each, around)[0] for each in parts)]


def draw(mechanism: ModelledMechanism, around: Scene, random: np.random.Generator) -> tuple[Array, ...]:
    """Return amounts drawn from what is held of them beforehand."""
    branches = mechanism.branches(around)
    branch = branches[random.choice(len(branches), p=[each.share for each in branches])]
    return tuple(
        np.array([[random.choice(each.values, p=each.probabilities)]])
        if isinstance(each, DiscreteParameter)
        else each.quantile(random.random((1, 1)))
        for each in branch.parameters
    )


def simulate(mechanism: ModelledMechanism, design: Design, random: np.random.Generator) -> tuple[Array, Array] | None:
    """Return what a mechanism shows without and with scatter; None when it is never large enough to show."""
    flows, around, model = np.array(design.flows), scene(design, told=True), mechanism.model
    for _ in range(DRAWS):
        parameters = draw(mechanism, around, random)
        truth = model.predict(flows, parameters, around)[0]
        unit = unit_of(truth, design)
        apart = [np.sqrt(np.mean(((truth - each) / unit) ** 2)) for each in simplest(model, flows, parameters, around)]
        if model.name == "no-difference" or min(apart) > SHOWS:
            return truth, truth * (1 + design.scatter * random.standard_normal(len(flows)))
    return None


def same_within_scatter(curve: str, truth: Array, design: Design, around: Scene) -> bool:
    """Tell whether a model of this curve comes so near to the truth that such readings hardly tell."""
    flows, unit = np.array(design.flows), unit_of(truth, design)
    pairs, least = Pairs(flows, truth, u_indicated=unit), np.inf
    for each in {one.model.name: one for one in simulated_ones()}.values():
        model = each.model
        if model.draws == curve:
            found = marginal_likelihood(likelihood(pairs, around, model), each.branches(around))
            for _, parameters, _ in found.posterior:
                apart = (model.predict(flows, parameters, around) - truth) / unit
                least = min(least, float(np.min(np.sum(apart**2, axis=-1))))
    return bool(least / 2 < WEAK)


def separating(
    ranked: Sequence[RankedMechanism], mechanism: ModelledMechanism, around: Scene
) -> tuple[float, float] | None:
    """Return where one more reading tells the mechanism from what came first instead, and how well."""
    truth = next(each for each in ranked if each.mechanism is mechanism)
    first = ambiguity_groups(ranked)[0].members[0]
    found = separate(truth, first, around) if first.is_a_model else None
    return (found.share, found.ratio) if found else None


def tries(mechanism: ModelledMechanism, design: Design, runs: int, seed: int = 1) -> Iterator[Trial]:
    """Go through simulated comparisons of one mechanism."""
    random = np.random.default_rng([seed, mechanisms().index(mechanism), round(1000 * design.scatter)])
    flows, around = np.array(design.flows), scene(design, design.range_told)
    for _ in range(runs):
        simulated = simulate(mechanism, design, random)
        if simulated is None:
            return
        truth, shown = simulated
        spread = unit_of(truth, design) if design.scatter_told else None
        ranked = rank(Pairs(flows, shown, u_indicated=spread), around, mechanisms(), believed)
        first = ambiguity_groups(ranked)[0]
        right = first.curve == mechanism.model.draws
        same = right or same_within_scatter(first.curve, truth, design, around)
        apart = None if right else separating(ranked, mechanism, around)
        yield Trial(first.curve, right, same, right and first.members[0].mechanism is mechanism, apart)


def row(mechanism: ModelledMechanism, found: Sequence[Trial]) -> str:
    """Return one line of a confusion table."""
    if not found:
        return f"  {mechanism.id:{NAME}}  never large enough to show at this scatter"
    instead = Counter(each.first for each in found if not each.right_curve)
    told = ", ".join(f"{curve} {count}{_apart(curve, found)}" for curve, count in instead.most_common())
    return f"  {mechanism.id:{NAME}}{''.join(f'{each:9.0%}' for each in _shares(found))}   {told}".rstrip()


def _apart(curve: str, found: Sequence[Trial]) -> str:
    """Return the flow at which one more reading tells a curve from the truth best, most often, and how well."""
    known = [each.separating for each in found if each.first == curve and each.separating]
    if not known:
        return ""
    share = Counter(share for share, _ in known).most_common(1)[0][0]
    ratio = float(np.median([ratio for at, ratio in known if at == share]))
    return f" (at {share:.0%}: {ratio:.1f} s)"


def _shares(found: Iterable[Trial]) -> list[float]:
    """Return the shares of itself first, its curve first, and that or one that draws the same."""
    every = [(each.right_mechanism, each.right_curve, each.same_within_scatter) for each in found]
    return [float(np.mean(column)) for column in zip(*every, strict=True)]


def confusion(design: Design, runs: int) -> str:
    """Return the confusion table of one design."""
    head = f"  {'simulated':{NAME}}{'itself':>9}{'curve':>9}{'or same':>9}   first instead (of {runs})"
    lines, every = [f"\n{design.name}", head], []
    for mechanism in simulated_ones():
        found = list(tries(mechanism, design, runs))
        lines.append(row(mechanism, found))
        every += found
    return "\n".join([*lines, f"  {'all':{NAME}}{''.join(f'{each:9.1%}' for each in _shares(every))}"])


def report(runs: int = 20) -> str:
    """Return the tables that the benchmark command prints."""
    head = (
        "Recovery of mechanisms from simulated comparisons. itself: the mechanism comes first; curve: its curve does\n"
        "(mechanisms of one curve cannot be told apart by pairs); or same: that, or what came first draws the same\n"
        "curve within the scatter. In brackets: at which share of the range one more reading tells both apart best,\n"
        "and by how many of its standard deviations"
    )
    return "\n".join([head, *(confusion(design, runs) for design in DESIGNS)])
