"""The evidence of a mechanism: the likelihood averaged over its amounts, against quadrature by scipy."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.integrate
import scipy.stats

from diagnose.comparison import noise, smooth
from diagnose.comparison.marginal import Likelihood, marginal_likelihood
from diagnose.comparison.mechanism import Model, Scene
from diagnose.comparison.noise import SCATTER_GRID, SCATTER_PRIOR, log_likelihood_unknown
from diagnose.comparison.parameters import Branch, Parameter, discrete, laplace, log_laplace, uniform
from diagnose.comparison.ranking import Pairs, likelihood
from diagnose.tables.arrays import Array

FLOWS = np.array([10.0, 30.0, 50.0, 80.0])
SHOWN = np.array([10.4, 30.3, 50.6, 80.2])
SPREAD = np.array([0.1, 0.2, 0.25, 0.4])
PAIRS = Pairs(FLOWS, SHOWN, u_indicated=SPREAD)
SCENE = Scene(top=80.0, unit="m3/h")


def model() -> Model:
    """Return an invented model: a zero (and a factor, if there is a second amount)."""
    return Model(
        name="invented",
        formula=lambda r, parameters, _scene: parameters[0] + r * (parameters[1] if len(parameters) > 1 else 1.0),
    )


def as_stated(of: Model) -> Likelihood:
    """Return the likelihood of a model's amounts where the stated uncertainties hold."""

    def likely(parameters: tuple[Array, ...]) -> Array:
        shown = scipy.stats.norm.logpdf(SHOWN, of.predict(FLOWS, parameters, SCENE), SPREAD)
        return np.asarray(np.sum(shown, axis=-1), np.float64)

    return likely


def density(zero: float, factor: float = 1.0) -> float:
    """Return the likelihood of a zero and a factor."""
    return float(np.prod(scipy.stats.norm.pdf(SHOWN, zero + factor * FLOWS, SPREAD)))


def evidence(*branches: Branch) -> float:
    """Return the evidence as the ranking works it out."""
    return marginal_likelihood(as_stated(model()), branches).log_evidence


def test_nothing_open_is_the_likelihood_itself() -> None:
    """Listed sizes are a weighted mean of likelihoods."""
    found = evidence(Branch(1.0, (discrete("zero", "flow", "", (0.0, 0.3), (3, 1)),)))
    assert found == pytest.approx(math.log(0.75 * density(0.0) + 0.25 * density(0.3)), abs=1e-9)


def test_one_open_amount_is_the_integral() -> None:
    """A zero held around nothing (Laplace), against scipy.integrate.quad."""
    found = evidence(Branch(1.0, (Parameter("zero", "flow", "", laplace(0.0, 0.5)),)))
    prior = scipy.stats.laplace(0.0, 0.5).pdf
    whole, _ = scipy.integrate.quad(lambda zero: density(zero) * prior(zero), -1.5, 2.0, points=[0.0, 0.3], epsabs=0)
    assert found == pytest.approx(math.log(whole), abs=2e-3)


def test_two_open_amounts_are_the_double_integral() -> None:
    """A zero and a factor, against scipy.integrate.dblquad."""
    zero, factor = Parameter("zero", "flow", "", uniform(-2.0, 2.0)), Parameter("factor", "", "", uniform(0.9, 1.1))
    found = evidence(Branch(1.0, (zero, factor)))
    whole, _ = scipy.integrate.dblquad(
        lambda z, f: density(z, f) / (4.0 * 0.2), 0.98, 1.02, -0.5, 1.2, epsabs=0, epsrel=1e-5
    )
    assert found == pytest.approx(math.log(whole), abs=5e-3)


def test_a_narrow_ridge_is_found_too() -> None:
    """Two amounts of which only the product is told, against scipy: the inner integral in closed form, then quad."""
    first, second = Parameter("a", "", "", uniform(0.5, 2.0)), Parameter("b", "", "", uniform(0.5, 2.0))
    of = Model(
        name="invented",
        formula=lambda r, parameters, _scene: parameters[0] * parameters[1] * r,
    )
    found = marginal_likelihood(as_stated(of), [Branch(1.0, (first, second), ridge=True)]).log_evidence
    information = float(np.sum((FLOWS / SPREAD) ** 2))
    best = float(np.sum(FLOWS * SHOWN / SPREAD**2)) / information

    def inner(a: float) -> float:
        error = 1 / (a * math.sqrt(information))
        inside = np.diff(scipy.stats.norm.cdf([0.5, 2.0], best / a, error))[0]
        return float(density(0.0, best) * math.sqrt(2 * math.pi) * error * inside)

    whole, _ = scipy.integrate.quad(inner, 0.5, 2.0, epsabs=0)
    assert found == pytest.approx(math.log(whole / 1.5**2), abs=0.1)


def test_branches_are_averaged_by_their_shares() -> None:
    """Two ways in which a mechanism may be count by what is held of each."""
    near = Branch(0.7, (Parameter("zero", "flow", "", laplace(0.0, 0.1)),))
    far = Branch(0.3, (Parameter("zero", "flow", "", laplace(0.0, 3.0)),))
    alone = [evidence(Branch(1.0, each.parameters)) for each in (near, far)]
    assert evidence(near, far) == pytest.approx(math.log(0.7 * math.exp(alone[0]) + 0.3 * math.exp(alone[1])))


def test_an_amount_that_could_be_anything_pays_for_it() -> None:
    """A factor that is held ten times as wide has less evidence, by nearly ten, where both cover the readings."""
    one = discrete("zero", "flow", "", (0.2,))
    narrow = evidence(Branch(1.0, (one, Parameter("factor", "", "", uniform(0.95, 1.05)))))
    wide = evidence(Branch(1.0, (one, Parameter("factor", "", "", uniform(0.5, 1.5)))))
    assert narrow - wide == pytest.approx(math.log(10), abs=0.05)


def test_weights_after_the_readings_are_those_of_the_integral() -> None:
    """Mean of the zero after the readings, flat before: the weighted mean of what is left over (by hand)."""
    held = [Branch(1.0, (Parameter("zero", "flow", "", uniform(-2.0, 2.0)),))]
    ((_, parameters, log_weights),) = marginal_likelihood(as_stated(model()), held).posterior
    mean = float(np.sum(np.exp(log_weights) * parameters[0][:, 0]))
    assert mean == pytest.approx(float(np.average(SHOWN - FLOWS, weights=SPREAD**-2)), abs=1e-4)


def test_scatter_that_is_not_known_is_integrated_out() -> None:
    """Against a plain sum over sizes and kinds of scatter, each with the normal density of scipy."""
    predictions = np.array([[10.2, 30.2, 50.2, 80.2]])
    units = noise.units_of_scatter(predictions, 1e-3)
    whole = sum(
        0.5 * share * float(np.prod(scipy.stats.norm.pdf(SHOWN, predictions[0], size * unit[0])))
        for unit in units
        for size, share in zip(SCATTER_GRID, SCATTER_PRIOR, strict=True)
    )
    assert log_likelihood_unknown(SHOWN, predictions, 1e-3)[0] == pytest.approx(math.log(whole), abs=2e-2)


def test_stated_uncertainties_may_be_too_small() -> None:
    """As stated, all larger by a factor, or with a scatter on top: a plain sum with the normal density of scipy."""
    found = float(likelihood(PAIRS, SCENE, model())((np.array([[0.3]]),))[0])
    spreads = [(noise.STATED_HOLDS, SPREAD)]
    rest = (1 - noise.STATED_HOLDS) / 2
    spreads += [(rest / len(noise.LARGER), each * SPREAD) for each in noise.LARGER]
    spreads += [(rest / len(noise.ON_TOP), np.hypot(SPREAD, each * 80.2)) for each in noise.ON_TOP]
    slip = noise.SLIPS / (2 * 80.2)  # the largest reading
    whole = sum(
        share * np.prod((1 - noise.SLIPS) * scipy.stats.norm.pdf(SHOWN, 0.3 + FLOWS, spread) + slip)
        for share, spread in spreads
    )
    assert found == pytest.approx(math.log(whole), abs=1e-9)


def test_what_figures_do_not_resolve_counts_beside_an_unknown_scatter() -> None:
    """Whole numbers that agree to the last digit are no better than their digits."""
    shown = np.round(FLOWS)
    step = np.full(4, 1.0) / math.sqrt(12)
    fine, coarse = Pairs(FLOWS, shown), Pairs(FLOWS, shown, r_indicated=step)
    held = [Branch(1.0, (Parameter("zero", "flow", "", uniform(-2.0, 2.0)),))]
    zero = [marginal_likelihood(likelihood(each, SCENE, model()), held).posterior[0] for each in (fine, coarse)]
    spread = [math.sqrt(float(np.sum(np.exp(weights) * parameters[0][:, 0] ** 2))) for _, parameters, weights in zero]
    assert spread[1] > 0.1
    assert spread[1] > 2 * spread[0]


def test_the_usual_factor_is_a_laplace_spread_of_its_logarithm() -> None:
    """Quantiles against scipy.stats.laplace."""
    shares = np.array([0.01, 0.3, 0.5, 0.9])
    wanted = np.exp(scipy.stats.laplace(0.0, 0.03).ppf(shares))
    assert log_laplace(0.03)(shares) == pytest.approx(wanted)


def plain(features: Array, size: float) -> float:
    """Return the density of the differences as a normal sum of curves of one size, by scipy's multivariate normal."""
    features = size * float(np.max(SHOWN)) * features
    return float(
        scipy.stats.multivariate_normal(np.zeros(4), features @ features.T + np.diag(SPREAD**2)).pdf(SHOWN - FLOWS)
    )


def test_any_other_difference_is_a_normal_density() -> None:
    """The broad alternative in closed form, each of its forms against scipy.stats.multivariate_normal."""
    smoothly = np.polynomial.legendre.legvander((2 * FLOWS - 90.0) / 70.0, smooth.DEGREES - 1)
    forms = [(smooth.SMOOTH, smoothly * smooth.DECAY ** np.arange(smooth.DEGREES))]
    for place in (FLOWS[1:] + FLOWS[:-1]) / 2:
        beyond = (FLOWS - place) / 70.0
        forms.append((smooth.JUMPS / 3, np.column_stack((0 * FLOWS + 1, place < FLOWS))))
        forms.append((smooth.BENDS / 3, np.column_stack((0 * FLOWS + 1, beyond, np.maximum(beyond, 0.0)))))
    of_reading = (FLOWS / FLOWS.max())[:, None]
    whole = sum(
        share * np.mean([plain(scale * features, size) for scale in (1.0, of_reading) for size in smooth.SIZES])
        for share, features in forms
    )
    assert smooth.log_evidence(FLOWS, SHOWN, [(0.0, SPREAD**2)]) == pytest.approx(math.log(whole), abs=1e-8)


def test_a_difference_that_jumps_is_another_one_as_well() -> None:
    """A jump in the middle is told better than the same figures strewn along the flow."""
    flows = np.linspace(10.0, 80.0, 8)
    jump, strewn = (np.array(each) for each in ([0, 0, 0, 0, -4, -4, -4, -4.0], [0, -4, 0, -4, -4, 0, -4, 0.0]))
    spread = [(0.0, 0.2 + 0 * flows)]
    assert smooth.log_evidence(flows, flows + jump, spread) > smooth.log_evidence(flows, flows + strewn, spread) + 10


@pytest.mark.parametrize("shown", [np.zeros(4), np.full(4, 1e-9), FLOWS, 1e6 * FLOWS])
def test_readings_without_any_scatter_break_nothing(shown: Array) -> None:
    """All zero, all alike or exact: the evidence of a smooth difference stays finite and below that of what is so."""
    found = smooth.log_evidence(FLOWS, shown)
    exact = float(log_likelihood_unknown(shown, np.atleast_2d(shown), noise.least_unit(FLOWS, shown))[0])
    assert math.isfinite(found)
    assert found < exact
