"""What readings that were compared say of causes: one observation, weighed by the mechanism that they bring about.

Each cause that is there shows in the readings or not; what the readings are like if exactly one does is known from its
mechanisms. Where none shows they are like no difference, where several do like two faults at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from diagnose.observations import Compared
from diagnose.reasoning.sweep import Array, Showing
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.faults import Cause
from diagnose.rule_book.patterns import ComparedAt, Comparisons


@dataclass(frozen=True)
class Differences:
    """The forms that causes take in readings: shares [n causes × m mechanisms] by where they show.

    How strongly a cause shows the strongest of the findings of which a comparison speaks is how often it makes a
    difference at all. Without forms, comparisons say nothing of causes.
    """

    mechanisms: tuple[str, ...] = ()
    forms: Mapping[ComparedAt, Array] = field(default_factory=dict)
    known: Comparisons = field(default_factory=Comparisons)

    @property
    def column(self) -> dict[str, int]:
        """Where each mechanism stands."""
        return {name: number for number, name in enumerate(self.mechanisms)}


def differences_of(rule_book: RuleBook, causes: Sequence[Cause]) -> Differences:
    """Return the forms that these causes take; what no mechanism names is another difference."""
    known, mechanisms = rule_book.settings.comparisons, tuple(rule_book.mechanisms)
    row = {cause.id: number for number, cause in enumerate(causes)}
    forms = {}
    for place in known.speak_of if {known.nothing, known.another} <= rule_book.mechanisms.keys() else ():
        shares = np.zeros((len(causes), len(mechanisms)))
        for number, name in enumerate(mechanisms):
            for cause, share in rule_book.mechanisms[name].causes.get(place, {}).items():
                if cause in row:
                    shares[row[cause], number] = share
        shares[:, mechanisms.index(known.another)] += np.maximum(0.0, 1 - shares.sum(axis=1))
        forms[place] = shares
    return Differences(mechanisms, forms, known)


def spoken_for(known: Comparisons, compared: Iterable[Compared]) -> frozenset[str]:
    """Return the findings that say what the readings say already."""
    return frozenset(name for each in compared for name in (*known.speak_of.get(each.with_what, ()), *each.says))


LEAST_LIKENESS = 1e-12
"""Nothing is less likely than that, so that nothing is ever ruled out by readings alone."""


@dataclass(frozen=True)
class InReadings:
    """One comparison as the sums take it, with how often each cause shows as each mechanism [n × m], and its likeness.

    ``likeness`` [m] says how well each mechanism accounts for the readings, 1 at best; ``meant`` [m] is the share of it
    that is its own, and not that of readings which tell of something else.
    """

    showing: Showing
    takes: Array
    likeness: Array
    meant: Array


def in_readings(
    differences: Differences, strengths: Array, leaks: Array, column: Mapping[str, int], compared: Compared
) -> InReadings:
    """Return what a comparison says; ``strengths`` [n × f] and ``leaks`` [f] are those of all findings."""
    known, at = differences.known, differences.column
    supplied, likeness = np.zeros(len(at)), np.zeros(len(at))
    for name, decibans in compared.decibans.items():
        if name in at:
            supplied[at[name]], likeness[at[name]] = 1.0, 10 ** (min(decibans, 0.0) / 10)
    # Readings of something else are like any other difference, whatever is there.
    astray = likeness[at[known.another]]
    as_meant = (1 - known.mistaken) * likeness
    likeness = np.maximum(as_meant + known.mistaken * astray, LEAST_LIKENESS)
    takes = np.zeros((len(strengths), len(at)))
    for place in compared.between:
        if place in differences.forms:
            findings = dict.fromkeys((*known.speak_of[place], *compared.says))
            often = strengths[:, [column[name] for name in findings if name in column]].max(axis=1, initial=0.0)
            takes = np.maximum(takes, often[:, None] * differences.forms[place] * supplied)
    takes /= np.maximum(1.0, takes.sum(axis=1, keepdims=True))
    spoken = [column[name] for name in known.speak_of.get(compared.with_what, ()) if name in column]
    leak = max(known.unlisted, float(leaks[spoken].max(initial=0.0)))
    several = {at[name]: share for name, share in known.several.items() if name in at and supplied[at[name]]}
    two = sum(share * likeness[number] for number, share in several.items()) / (sum(several.values()) or 1.0)
    showing = Showing(
        shows=takes.sum(axis=1),
        weighted=takes @ likeness,
        nothing=float(likeness[at[known.nothing]]),
        several=float(two) if several else LEAST_LIKENESS,
        leak=leak,
        leak_weighted=leak * float(likeness[at[known.another]]),
    )
    return InReadings(showing, takes, likeness, as_meant / likeness)


def in_combinations(showing: Showing, shows: Array, weighted: Array) -> Array:
    """Return the likelihood of the readings for combinations: ``shows``, ``weighted`` [k × members], 0 for none."""
    silent = 1 - shows
    none = np.prod(silent, axis=1) * (1 - showing.leak)
    with np.errstate(divide="ignore", invalid="ignore"):
        others = np.stack([np.prod(np.delete(silent, one, axis=1), axis=1) for one in range(shows.shape[1])], axis=1)
    alone = (1 - showing.leak) * (weighted * others).sum(axis=1) + showing.leak_weighted * np.prod(silent, axis=1)
    one = (1 - showing.leak) * (shows * others).sum(axis=1) + showing.leak * np.prod(silent, axis=1)
    many = np.maximum(0.0, 1 - none - one)
    return np.asarray(none * showing.nothing + alone + many * showing.several)


def by_priors(showing: Showing, priors: Array) -> float:
    """Return the likelihood of the readings where all causes are at their priors."""
    silent = 1 - priors * showing.shows
    none = float(np.prod(silent))
    one = none * float((priors * showing.shows / silent).sum())
    alone = none * float((priors * showing.weighted / silent).sum())
    by_cause = (1 - showing.leak) * (none * showing.nothing + alone) + showing.leak_weighted * none
    many = max(0.0, 1 - (1 - showing.leak) * (none + one) - showing.leak * none)
    return by_cause + many * showing.several


def weights_of_readings(showing: Showing, priors: Array) -> Array:
    """Return decibans [n] that a comparison alone gives each cause, all others at their priors."""
    silent = 1 - priors * showing.shows
    none = (1 - showing.leak) * float(np.prod(silent))
    odds_one, odds_alone = priors * showing.shows / silent, priors * showing.weighted / silent
    leak_one = showing.leak / (1 - showing.leak)
    leak_alone = showing.leak_weighted / (1 - showing.leak)
    without = none / silent
    one = without * (odds_one.sum() - odds_one + leak_one)
    alone = without * (odds_alone.sum() - odds_alone + leak_alone)
    many = np.maximum(0.0, 1 - without - one)
    given_not = without * showing.nothing + alone + many * showing.several
    stays = 1 - showing.shows
    given = stays * given_not + without * showing.weighted + showing.shows * (1 - without) * showing.several
    return np.asarray(10 * np.log10(np.maximum(given, 1e-300) / np.maximum(given_not, 1e-300)))
