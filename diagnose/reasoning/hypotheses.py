"""The few combinations of causes that carry almost all of the posterior, for planning and for "most probable".

The ranking of causes is exact over all combinations; looking ahead needs explicit ones. Enumerated are every single
cause, every pair of the likelier causes and every triple of the likeliest.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from diagnose.reasoning.differences import in_combinations
from diagnose.reasoning.posterior import Evidence, Network
from diagnose.reasoning.sweep import Array

PAIRS_OF = 40
TRIPLES_OF = 10
KEPT = 256


@dataclass(frozen=True)
class Hypotheses:
    """Combinations of causes [k × 3, -1 for none], their weights [k] summing to one, most probable first.

    ``silent`` [k × f] is the probability that a finding that is not known yet will not show under each combination.
    """

    members: npt.NDArray[np.intp]
    weights: Array
    silent: Array


def hypotheses(network: Network, evidence: Evidence, probabilities: Array) -> Hypotheses:
    """Return the most probable combinations given the evidence (at least one)."""
    members = _enumerate(probabilities)
    present = [network.column[name] for name in evidence.present]
    absent = [network.column[name] for name in evidence.absent]
    columns = [*present, *absent]
    silent = _silent(network, network.strengths, members, columns)
    factors = np.array([evidence.factors.get(name, 1.0) for name in network.causes])
    odds = network.priors * factors / (1 - network.priors)
    with np.errstate(divide="ignore"):
        weight = np.log(_gather(odds, members, 1.0)).sum(axis=1)
        misread = np.array([evidence.misread.get(name, 0.0) for name in (*evidence.present, *evidence.absent)])
        likely = np.hstack((1 - silent[:, : len(present)], silent[:, len(present) :]))
        weight += np.log(misread + (1 - misread) * likely).sum(axis=1)
        for each in evidence.readings:
            shown = (_gather(column, members, 0.0) for column in (each.showing.shows, each.showing.weighted))
            weight += np.log(in_combinations(each.showing, *shown))
    order = np.lexsort((np.arange(len(weight)), -weight))[:KEPT]
    order = order[np.isfinite(weight[order])]
    if not order.size:
        return Hypotheses(members[:0], weight[:0], np.zeros((0, len(network.findings))))
    kept = np.exp(weight[order] - weight[order[0]])
    members = members[order]
    every = list(range(len(network.findings)))
    silent = np.asfortranarray(_silent(network, network.named, members, every))  # planning reads it by columns
    return Hypotheses(members, kept / kept.sum(), silent)


def _enumerate(probabilities: Array) -> npt.NDArray[np.intp]:
    likely = np.argsort(-probabilities, kind="stable")
    rows = [(int(one), -1, -1) for one in likely]
    rows += [(int(a), int(b), -1) for a, b in combinations(likely[:PAIRS_OF], 2)]
    rows += [(int(a), int(b), int(c)) for a, b, c in combinations(likely[:TRIPLES_OF], 3)]
    return np.array(rows, dtype=np.intp).reshape(-1, 3)


def _gather(values: Array, members: npt.NDArray[np.intp], nothing: float) -> Array:
    """Return ``values`` of each member, ``nothing`` where there is none."""
    return np.concatenate((values, [nothing]))[members]


def _silent(network: Network, strengths: Array, members: npt.NDArray[np.intp], columns: list[int]) -> Array:
    """Return P(finding does not show | combination) [k × columns]."""
    silent = np.tile(1 - network.leaks[columns], (len(members), 1))
    for member in members.T:  # only the rows of those that are members: of a large rule book few are
        there = np.flatnonzero(member >= 0)
        silent[there] *= 1 - strengths[member[there]][:, columns]
    return silent
