"""Exact posterior over every combination of causes, by additions of non-negative terms only.

Causes are independent a priori; each finding is a noisy-OR of its causes with a leak (Pearl 1988; Heckerman 1989).
Absent findings fold into each cause as one factor; :mod:`diagnose.reasoning.sweep` does the sums for the present ones.
Nothing is subtracted, so nothing cancels however improbable the evidence.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from diagnose.observations import Compared
from diagnose.reasoning.differences import Differences, InReadings, differences_of, in_readings
from diagnose.reasoning.frequencies import come_back, frequency_on
from diagnose.reasoning.steps import applies
from diagnose.reasoning.sweep import Array, Showing, ShownAlone, SweepResult, scaled, sweep
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.quantities import DataSheet

MOST_PRESENT = 16
"""Present findings that the exact method carries; each one more doubles time and memory."""

BITS_OF_READINGS = 2
"""A comparison of readings takes as much as so many findings."""


@dataclass(frozen=True)
class Network:
    """Causes that apply, with priors [n], strengths [n × f] and leaks [f] of all findings.

    ``unnamed`` [n × f] marks strengths by which "not listed" shows everything a little: enough to explain what was
    seen, but no reason to go and look for more. ``more_often`` are the causes that were found on this meter before,
    each with how many times as frequent it is there for that reason.
    """

    causes: tuple[str, ...]
    findings: tuple[str, ...]
    priors: Array
    strengths: Array
    leaks: Array
    column: Mapping[str, int] = field(repr=False, default_factory=dict)
    unnamed: npt.NDArray[np.bool_] | None = field(repr=False, default=None)
    more_often: Mapping[str, float] = field(repr=False, default_factory=dict)
    differences: Differences = field(repr=False, default_factory=Differences)

    def seen_by_chance(self, findings: Collection[str], share: float) -> Network:
        """Return the network in which these findings show only that share of the time."""
        columns = [self.column[name] for name in findings]
        scale = np.ones(len(self.findings))
        scale[columns] = share
        return replace(self, strengths=self.strengths * scale, leaks=self.leaks * scale)

    def without(self, findings: Collection[str]) -> Network:
        """Return the network in which no cause shows these findings, for something else speaks of them."""
        columns = [self.column[name] for name in findings if name in self.column]
        strengths = self.strengths.copy()
        strengths[:, columns] = 0.0
        return replace(self, strengths=strengths)

    def in_readings(self, compared: Compared) -> InReadings:
        """Return what readings say that were compared."""
        return in_readings(self.differences, self.strengths, self.leaks, self.column, compared)

    @cached_property
    def named(self) -> Array:
        """Return the strengths that the rule book names, zero elsewhere [n × f]."""
        return self.strengths if self.unnamed is None else np.where(self.unnamed, 0.0, self.strengths)

    @cached_property
    def finding_probabilities(self) -> Array:
        """The prior probability of every finding [f]: 1 - (1 - leak) Π (1 - prior × strength)."""
        nothing = np.prod(1 - self.priors[:, None] * self.strengths, axis=0)
        return np.asarray(1 - (1 - self.leaks) * nothing)


@dataclass(frozen=True)
class Evidence:
    """Findings known, and factors on the odds of causes: of remedies tried, of the words of a report (1: none).

    ``misread`` are those known from words alone, which may be misread: how much less likely these words are where it is
    not so than where it is (virtual evidence, Pearl 1988). What somebody saw is not among them. ``readings`` are
    comparisons.
    """

    present: tuple[str, ...]
    absent: tuple[str, ...]
    factors: Mapping[str, float] = field(default_factory=dict)
    misread: Mapping[str, float] = field(default_factory=dict)
    readings: tuple[InReadings, ...] = ()


@dataclass(frozen=True)
class Posterior:
    """Probability of each cause given the evidence and that at least one cause is there.

    ``evidence_probability`` is that of the evidence without that condition; ``left_out`` are present findings beyond
    what the exact method carries. ``mechanisms`` says of each comparison how probable each mechanism is [m].
    """

    probabilities: Array
    evidence_probability: float
    left_out: tuple[str, ...] = ()
    mechanisms: tuple[Array, ...] = ()


def scaled_priors(shares: Sequence[float], several_at_once: float) -> Array:
    """Return priors in the ratio of ``shares`` so that P(two or more | at least one) is ``several_at_once``.

    With a single cause, or shares that cannot reach it, the nearest that keeps every prior at most one half.

    >>> priors = scaled_priors([1.0] * 50, 0.08)
    >>> none, one = np.prod(1 - priors), np.prod(1 - priors) * np.sum(priors / (1 - priors))
    >>> float((1 - none - one) / (1 - none))
    0.08
    """
    share = np.asarray(shares, dtype=float)
    if not share.size:
        return share
    low, high = 0.0, 0.5 / float(share.max())
    for _ in range(80):
        middle = (low + high) / 2
        if _several(share * middle) > several_at_once:
            high = middle
        else:
            low = middle
    return share * high


def _several(priors: Array) -> float:
    none = float(np.prod(1 - priors))
    one = none * float(np.sum(priors / (1 - priors)))
    return (1 - none - one) / (1 - none) if none < 1 else 0.0


def build_network(
    rule_book: RuleBook, data_sheet: DataSheet, found_before: Mapping[str, int] = MappingProxyType({})
) -> Network:
    """Return the network of the causes that apply to this meter; ``found_before``, how often each was found on it."""
    causes = [cause for cause in rule_book.causes.values() if applies(cause.applies, data_sheet)]
    findings = tuple(rule_book.findings)
    column = {name: number for number, name in enumerate(findings)}
    strengths = np.zeros((len(causes), len(findings)))
    unnamed = np.zeros(strengths.shape, dtype=bool)
    for row, cause in enumerate(causes):
        if cause.shows_others:
            symptoms = [column[each.id] for each in rule_book.findings.values() if each.kind == "symptom"]
            strengths[row, symptoms] = cause.shows_others
            unnamed[row, symptoms] = True
        for name, strength in cause.shows.items():
            strengths[row, column[name]] = strength
            unnamed[row, column[name]] = False
    shares = {cause.id: frequency_on(rule_book, cause, data_sheet) for cause in causes}
    factors = _by_history(rule_book, shares, found_before)
    return Network(
        causes=tuple(shares),
        findings=findings,
        priors=scaled_priors(
            [share * factors.get(name, 1.0) for name, share in shares.items()],
            rule_book.settings.several_at_once,
        ),
        strengths=strengths,
        leaks=np.array([finding.leak for finding in rule_book.findings.values()]),
        unnamed=unnamed,
        column=column,
        differences=differences_of(rule_book, causes),
        more_often={name: factors[name] for name in found_before if name in factors},
    )


def _by_history(
    rule_book: RuleBook, shares: Mapping[str, float], found_before: Mapping[str, int]
) -> Mapping[str, float]:
    """Return by how much each cause is more or less frequent on a meter, for what was found on it before."""
    of, total, times = sum(found_before.values()), sum(shares.values()), rule_book.settings.comes_back.times
    if not of or not total:
        return {}
    return {name: come_back(times, found_before.get(name, 0), of, share / total) for name, share in shares.items()}


def posterior(network: Network, evidence: Evidence) -> Posterior:
    """Return the exact posterior of every cause.

    With more than MOST_PRESENT present findings those that tell causes apart least are left out and named; denials that
    may be misread count in full where there is no room for them.
    """
    most = MOST_PRESENT - BITS_OF_READINGS * len(evidence.readings)
    present, left_out = _most_telling(network, evidence.present, most)
    room = most - len(present)
    denied = tuple(name for name in evidence.absent if name in evidence.misread)[:room]
    columns = [network.column[name] for name in (*present, *denied)]
    strengths, leaks = network.strengths[:, columns], network.leaks[columns]
    for_good = tuple(name for name in evidence.absent if name not in denied)
    weights, rest = _cause_weights(network, evidence, for_good)
    heard = [(evidence.misread.get(name, 0.0), 1.0) for name in present]
    heard += [(1.0, evidence.misread[name]) for name in denied]
    showing = [each.showing for each in evidence.readings]
    swept = sweep(strengths, leaks, weights, rest, np.array(heard).reshape(-1, 2), showing)
    probabilities = swept.joint / swept.some if swept.some > 0 else np.zeros_like(swept.joint)
    absent = [network.column[name] for name in for_good]
    mechanisms = _of_mechanisms(network, evidence.readings, swept, leaks, np.array(heard).reshape(-1, 2), rest)
    return Posterior(probabilities, swept.total * float(np.prod(1 - network.leaks[absent])), left_out, mechanisms)


def mechanisms_believed(network: Network, compared: Compared) -> dict[str, float]:
    """Return how probable each mechanism is that may have brought about these readings, where nothing else is known."""
    found = posterior(network, Evidence((), (), readings=(network.in_readings(compared),)))
    return dict(zip(network.differences.mechanisms, found.mechanisms[0].tolist(), strict=True))


def _of_mechanisms(
    network: Network, readings: Sequence[InReadings], swept: SweepResult, leaks: Array, heard: Array, rest: Array
) -> tuple[Array, ...]:
    """Return for each comparison how probable each mechanism is [m], given that at least one cause is there."""
    if not readings:
        return ()
    nobody = sweep(np.zeros((0, len(leaks))), leaks, rest[:0], rest[:0], heard, [_of_nobody(each) for each in readings])
    nobody = scaled(nobody, float(np.prod(rest)))
    rows = zip(readings, swept.readings, nobody.readings, strict=True)
    return tuple(_shares(network, each, alone, without, swept.total - nobody.total) for each, alone, without in rows)


def _of_nobody(readings: InReadings) -> Showing:
    showing = readings.showing
    return replace(showing, shows=showing.shows[:0], weighted=showing.weighted[:0])


def _shares(network: Network, readings: InReadings, alone: ShownAlone, nobody: ShownAlone, total: float) -> Array:
    """Return how probable each mechanism is [m], if the readings tell of what was thought.

    Where nothing shows it is the one that stands for no difference; where one cause or several do, those that they
    take, by how well each accounts for the readings. What is left is another difference, which no cause brings about.
    """
    known, at = network.differences.known, network.differences.column
    found = _of_one(readings, alone.causes) + _of_several(network, readings, alone.several)
    # Where no cause is there at all, it is not asked what shows.
    found[at[known.nothing]] += max(0.0, alone.nothing - nobody.nothing)
    found[at[known.another]] += max(0.0, total - float(found.sum()))
    found *= readings.meant
    return np.asarray(found / found.sum()) if found.sum() > 0 else found


def _of_one(readings: InReadings, alone: Array) -> Array:
    """Return the joint probability of each mechanism [m], where just one cause shows (``alone`` [n])."""
    of_each = readings.takes * readings.likeness
    of_cause = of_each.sum(axis=1, keepdims=True)
    shares = np.divide(of_each, of_cause, out=np.zeros_like(of_each), where=of_cause > 0)
    return np.asarray(alone @ shares)


def _of_several(network: Network, readings: InReadings, several: float) -> Array:
    """Return the joint probability of each mechanism [m], where more than one cause shows."""
    known, at = network.differences.known, network.differences.column
    weights = np.zeros(len(at))
    for name, share in known.several.items():
        if name in at:
            weights[at[name]] = share * readings.likeness[at[name]]
    return several * weights / (weights.sum() or 1.0)


def _cause_weights(network: Network, evidence: Evidence, absent: Sequence[str]) -> tuple[Array, Array]:
    """Return for each cause P(there, absent findings do not show) and P(not there)."""
    columns = [network.column[name] for name in absent]
    factors = np.array([evidence.factors.get(name, 1.0) for name in network.causes])
    silent = np.prod(1 - network.strengths[:, columns], axis=1)
    return network.priors * silent * factors, 1 - network.priors


def _most_telling(network: Network, present: Sequence[str], most: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the findings that the exact method carries, and those left out."""
    if len(present) <= most:
        return tuple(present), ()

    def telling(name: str) -> float:
        column = network.column[name]
        alone = network.leaks[column] + network.priors @ network.strengths[:, column]
        return float(network.strengths[:, column].max() / alone)

    ranked = sorted(present, key=lambda name: (-telling(name), name))
    kept = set(ranked[:most])
    return tuple(name for name in present if name in kept), tuple(sorted(set(ranked[most:])))
