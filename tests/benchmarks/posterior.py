"""The posterior against pyAgrum on the real rule book: the same sub-network, models built before the clock starts."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from diagnose.reasoning.posterior import Evidence, Network, build_network, posterior
from tests.benchmarks.timing import medians
from tests.engines import real_engine
from tests.reasoning.independent import LibraryModel, given_some_cause, library_model

PRESENT = (2, 6, 10, 12)
ABSENT = 6
TRIES = 400


class Compared(NamedTuple):
    """Milliseconds of both, and the largest difference of any probability."""

    present: int
    ours: float
    library: float
    difference: float

    @property
    def ratio(self) -> float:
        """Return how many times as long the library takes."""
        return self.library / self.ours


def part_of(network: Network, evidence: Evidence) -> Network:
    """Return the network of the evidence's findings alone, with every cause; the others sum out to 1."""
    names = (*evidence.present, *evidence.absent)
    columns = [network.column[name] for name in names]
    return Network(
        causes=network.causes,
        findings=names,
        priors=network.priors,
        strengths=network.strengths[:, columns],
        leaks=network.leaks[columns],
        column={name: number for number, name in enumerate(names)},
    )


def case(network: Network, present: int, seed: int = 1) -> LibraryModel:
    """Return evidence that the library can carry, drawn from all findings until its junction tree is narrow enough."""
    random = np.random.default_rng(seed)
    for _ in range(TRIES):
        names = random.choice(network.findings, present + ABSENT, replace=False)
        evidence = Evidence(tuple(map(str, names[:present])), tuple(map(str, names[present:])))
        model = library_model(part_of(network, evidence), evidence)
        if model:
            return model
    raise RuntimeError(f"no evidence of {present} present findings was narrow enough for the library")


def compare(present: int, runs: int) -> Compared:
    """Return the times of both for one set of evidence."""
    model = case(build_network(real_engine().rule_book, {}), present)
    ours, library = medians([lambda: posterior(model.network, model.evidence), model.infer], runs)
    wanted = given_some_cause(model.network, model.evidence, *model.infer())
    difference = float(np.abs(posterior(model.network, model.evidence).probabilities - wanted).max())
    return Compared(present, 1000 * ours, 1000 * library, difference)


def report(runs: int = 15) -> str:
    """Return the table that the benchmark command prints."""
    lines = [f"Posterior of all causes of the real rule book, {ABSENT} absent findings, median of {runs} runs"]
    for present in PRESENT:
        row = compare(present, runs)
        lines.append(
            f"  {row.present:2} present: ours {row.ours:8.3f} ms  pyAgrum {row.library:9.3f} ms  "
            f"ratio {row.ratio:7.1f}  greatest difference {row.difference:.1e}"
        )
    return "\n".join(lines)
