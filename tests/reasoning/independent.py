"""The posterior by other ways: an exact-inference library, and plain enumeration in fractions."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import numpy as np
import pyagrum

from diagnose.reasoning.posterior import Evidence, Network

WIDEST = 15
"""Nodes in the largest clique of the library's junction tree; beyond that it takes seconds and gigabytes."""


def network_of(priors: list[float], strengths: list[list[float]], leaks: list[float]) -> Network:
    """Return a network with causes c0, c1 … and findings f0, f1 …."""
    findings = tuple(f"f{number}" for number in range(len(leaks)))
    return Network(
        causes=tuple(f"c{number}" for number in range(len(priors))),
        findings=findings,
        priors=np.array(priors, dtype=float),
        strengths=np.array(strengths, dtype=float).reshape(len(priors), len(leaks)),
        leaks=np.array(leaks, dtype=float),
        column={name: number for number, name in enumerate(findings)},
    )


class LibraryModel:
    """The sub-network of the evidence, built for pyAgrum with noisy-OR nodes (`addNoisyORNet`).

    In it are all causes and the findings that are known, each with every cause that shows it. Left out are findings
    that nobody asked about: they have no children, so summing them out gives 1. Two rewritings keep the nodes small;
    both are the definition of a noisy-OR and so change nothing. A present finding of many causes is a chain: each
    link holds the one before (strength 1) or is produced by the next few causes. An absent finding is one node for
    each cause, "this cause produced it", and one for the leak, all of them absent.

    What was only heard is virtual evidence on such a node (a likelihood of each of its values); a denial then keeps
    its chain, too.
    """

    def __init__(self, network: Network, evidence: Evidence, most_parents: int = 3) -> None:
        self.network, self.evidence, self.most_parents = network, evidence, most_parents
        self.model = pyagrum.BayesNet()
        self.seen: dict[str, int | list[float]] = {}
        for name, prior in zip(network.causes, network.priors, strict=True):
            self.model.add(pyagrum.LabelizedVariable(name, "", 2))
            self.model.cpt(name).fillWith([1 - prior, prior])
        for name in evidence.present:
            misread = evidence.misread.get(name)
            self.seen[self._chain(name)] = [misread, 1.0] if misread else 1
        for name in evidence.absent:
            misread = evidence.misread.get(name)
            if misread:
                self.seen[self._chain(name)] = [1.0, misread]
            else:
                self._absent(name)

    def _parents(self, finding: str) -> list[tuple[str, float]]:
        column = self.network.strengths[:, self.network.column[finding]]
        return [(self.network.causes[row], float(column[row])) for row in np.flatnonzero(column)]

    def _leak(self, finding: str) -> float:
        return float(self.network.leaks[self.network.column[finding]])

    def _node(self, name: str, leak: float, parents: list[tuple[str, float]]) -> str:
        self.model.addNoisyORNet(pyagrum.LabelizedVariable(name, "", 2), leak)
        for parent, strength in parents:
            self.model.addWeightedArc(parent, name, strength)
        return name

    def _chain(self, finding: str) -> str:
        waiting, before = self._parents(finding), []
        link, leak = 0, self._leak(finding)
        while True:
            taken, waiting = waiting[: self.most_parents], waiting[self.most_parents :]
            last = self._node(f"{finding} link {link}", leak, [*before, *taken])
            before, link, leak = [(last, 1.0)], link + 1, 0.0
            if not waiting:
                return last

    def _absent(self, finding: str) -> None:
        self.seen[self._node(f"{finding} by itself", self._leak(finding), [])] = 0
        for parent, strength in self._parents(finding):
            self.seen[self._node(f"{finding} by {parent}", 0.0, [(parent, strength)])] = 0

    def engine(self) -> pyagrum.LazyPropagation:
        """Return the library's engine with the evidence set."""
        engine = pyagrum.LazyPropagation(self.model)
        engine.setEvidence(self.seen)
        engine.setTargets(set(self.network.causes))
        return engine

    def width(self) -> int:
        """Return how many nodes the largest clique has."""
        tree = self.engine().junctionTree()
        return max(len(tree.clique(node)) for node in tree.nodes())

    def infer(self) -> tuple[np.ndarray, float]:
        """Return P(cause | evidence) and P(evidence), both without the condition that some cause is there."""
        engine = self.engine()
        engine.makeInference()
        marginals = np.array([engine.posterior(name)[1] for name in self.network.causes])
        return marginals, engine.evidenceProbability()


def library_model(network: Network, evidence: Evidence) -> LibraryModel | None:
    """Return the model whose links make the library's work small, or None where none of three does."""
    for most_parents in (3, 1, 2):
        model = LibraryModel(network, evidence, most_parents)
        if model.width() <= WIDEST:
            return model
    return None


def no_cause(network: Network, evidence: Evidence) -> float:
    """Return P(no cause there, evidence): every finding that shows comes from its leak."""
    names = (*evidence.present, *evidence.absent)
    likely = network.leaks[[network.column[name] for name in names]].copy()
    likely[len(evidence.present) :] = 1 - likely[len(evidence.present) :]
    misread = np.array([evidence.misread.get(name, 0.0) for name in names])
    return float(np.prod(1 - network.priors) * np.prod(misread + (1 - misread) * likely))


def given_some_cause(network: Network, evidence: Evidence, marginals: np.ndarray, joint: float) -> np.ndarray:
    """Return P(cause | evidence, at least one cause) from P(cause | evidence) and P(evidence)."""
    return marginals * joint / (joint - no_cause(network, evidence))


def enumerated(network: Network, evidence: Evidence) -> tuple[list[Fraction], Fraction]:
    """Return P(cause | evidence, at least one) and P(evidence) by summing over all combinations, in exact fractions."""
    causes = range(len(network.causes))
    there = [Fraction(float(p)) * Fraction(evidence.factors.get(n, 1.0)) for n, p in _priors(network)]
    not_there = [1 - Fraction(float(p)) for _, p in _priors(network)]
    silent = [[1 - Fraction(float(s)) for s in row] for row in network.strengths]
    joint = [Fraction(0) for _ in causes]
    total = some = Fraction(0)
    for combination in product((False, True), repeat=len(network.causes)):
        weight = Fraction(1)
        for number in causes:
            weight *= there[number] if combination[number] else not_there[number]
        for name, present in [(n, True) for n in evidence.present] + [(n, False) for n in evidence.absent]:
            column = network.column[name]
            quiet = 1 - Fraction(float(network.leaks[column]))
            for number in causes:
                if combination[number]:
                    quiet *= silent[number][column]
            misread = Fraction(evidence.misread.get(name, 0.0))
            weight *= misread + (1 - misread) * (1 - quiet if present else quiet)
        total += weight
        some += weight if any(combination) else 0
        for number in causes:
            joint[number] += weight if combination[number] else 0
    return [each / some if some else Fraction(0) for each in joint], total


def _priors(network: Network) -> list[tuple[str, float]]:
    return list(zip(network.causes, network.priors, strict=True))
