"""Planning against the true optimum: expected minutes of repair as ratios to exact dynamic programming.

Random models with one fault among six, six two-valued tests and independent minutes. A strategy is charged for every
test and remedy until the fault is put right.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import NamedTuple

import numpy as np

from diagnose.reasoning.planning import Option, Tasks, information_gain, plan

CAUSES = 6
TESTS = 6
NEEDS = np.array([[number, -1, -1] for number in range(CAUSES)])
Results = tuple[int, ...]
"""For each test -1 (not done), 0 or 1."""


class Model(NamedTuple):
    """Prior [6], minutes of remedies [6] and tests [6], and P(test shows | cause) [6 tests × 6 causes]."""

    prior: np.ndarray
    remedies: np.ndarray
    tests: np.ndarray
    shows: np.ndarray


def random_model(seed: int) -> Model:
    """Return a model: priors from a flat Dirichlet, remedies of 10 to 120 minutes, tests of 1 to 30."""
    random = np.random.default_rng(seed)
    shows = random.choice([0.02, 0.2, 0.5, 0.8, 0.98], size=(TESTS, CAUSES))
    return Model(
        random.dirichlet(np.ones(CAUSES)),
        random.uniform(10, 120, CAUSES),
        random.uniform(1, 30, TESTS),
        shows,
    )


def weights_after(model: Model, results: Results, tried: int) -> np.ndarray:
    """Return unnormalised weights of the causes after test results and remedies tried (a bit mask)."""
    weights = model.prior.copy()
    for test, result in enumerate(results):
        if result >= 0:
            weights = weights * (model.shows[test] if result else 1 - model.shows[test])
    untried = np.array([not tried >> cause & 1 for cause in range(CAUSES)])
    return weights * untried


Choice = tuple[str, int]
Strategy = Callable[[Model, Results, int], Choice]


def expected_minutes(model: Model, strategy: Strategy) -> float:
    """Return the expected minutes of a strategy, exactly."""

    @cache
    def cost(results: Results, tried: int) -> float:
        weights = weights_after(model, results, tried)
        total = float(weights.sum())
        if total <= 0:
            return 0.0
        kind, number = strategy(model, results, tried)
        if kind == "remedy":
            return total * float(model.remedies[number]) + cost(results, tried | 1 << number)
        after = [cost((*results[:number], result, *results[number + 1 :]), tried) for result in (0, 1)]
        return total * float(model.tests[number]) + sum(after)

    return cost((-1,) * TESTS, 0)


def best_minutes(model: Model) -> float:
    """Return the expected minutes of the best possible strategy, by dynamic programming over all states."""

    @cache
    def cost(results: Results, tried: int) -> float:
        total = float(weights_after(model, results, tried).sum())
        if total <= 0:
            return 0.0
        options = [
            total * float(model.remedies[number]) + cost(results, tried | 1 << number)
            for number in range(CAUSES)
            if not tried >> number & 1
        ]
        options += [
            total * float(model.tests[number])
            + sum(cost((*results[:number], result, *results[number + 1 :]), tried) for result in (0, 1))
            for number in range(TESTS)
            if results[number] < 0
        ]
        return min(options)

    return cost((-1,) * TESTS, 0)


def one_step_ahead(model: Model, results: Results, tried: int) -> Choice:
    """The program's own planning."""
    weights = weights_after(model, results, tried)
    weights = weights / weights.sum()
    options = [
        Option(str(test), float(model.tests[test]), np.array([1 - model.shows[test], model.shows[test]]))
        for test in range(TESTS)
        if results[test] < 0
    ]
    made = plan(weights, NEEDS, Tasks.of(model.remedies), 0, options)
    if made.check:
        return "test", int(made.check)
    return "remedy", int(next(each for each in made.order if not tried >> int(each) & 1))


CERTAIN = 0.95
"""Probability of one cause at which the strategies beside ours stop testing."""


def by_information(model: Model, results: Results, tried: int) -> Choice:
    """The most informative test until one cause is 95 % certain; then remedies by probability over minutes."""
    weights = weights_after(model, results, tried)
    weights = weights / weights.sum()
    gains = {
        test: information_gain(weights, np.array([1 - model.shows[test], model.shows[test]]))
        for test in range(TESTS)
        if results[test] < 0
    }
    best = max(gains, key=lambda test: gains[test], default=-1)
    if best >= 0 and gains[best] > 1e-9 and weights.max() < CERTAIN:
        return "test", best
    return _likeliest_for_its_minutes(model, weights, tried)


def fixed_order(model: Model, results: Results, tried: int) -> Choice:
    """Tests from first to last until one cause is 95 % certain, then remedies by probability over minutes."""
    weights = weights_after(model, results, tried)
    weights = weights / weights.sum()
    undone = [test for test in range(TESTS) if results[test] < 0]
    if undone and weights.max() < CERTAIN:
        return "test", undone[0]
    return _likeliest_for_its_minutes(model, weights, tried)


def _likeliest_for_its_minutes(model: Model, weights: np.ndarray, tried: int) -> Choice:
    ratio = [-1.0 if tried >> cause & 1 else float(weights[cause] / model.remedies[cause]) for cause in range(CAUSES)]
    return "remedy", int(np.argmax(ratio))


STRATEGIES: dict[str, Strategy] = {
    "one step ahead (the program's)": one_step_ahead,
    "information gain": by_information,
    "fixed order": fixed_order,
}


def ratios(models: int) -> dict[str, np.ndarray]:
    """Return for each strategy its expected minutes over the optimum, model by model."""
    table: dict[str, list[float]] = {name: [] for name in STRATEGIES}
    for seed in range(models):
        model = random_model(seed)
        best = best_minutes(model)
        for name, strategy in STRATEGIES.items():
            table[name].append(expected_minutes(model, strategy) / best)
    return {name: np.array(values) for name, values in table.items()}


def report(models: int = 100) -> str:
    """Return the table that the benchmark command prints."""
    lines = [f"Expected minutes of repair over the true optimum, {models} random models (6 causes, 6 tests)"]
    for name, values in ratios(models).items():
        lines.append(f"  {name:32} mean {values.mean():.4f}  median {np.median(values):.4f}  worst {values.max():.4f}")
    return "\n".join(lines)
