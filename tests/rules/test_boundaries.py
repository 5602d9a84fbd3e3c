"""Rules that judge one reading leave no gap and never contradict each other: at a limit, and just beside it.

All rules on one quantity alone, and on one quantity held against one other, are walked from limit to limit. Readings
from which nothing follows, although something does on either side, are a gap. Those that are meant are told below.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import pytest

from diagnose.rule_book.condition_types import Condition, FindingIs, Relation
from diagnose.rule_book.conditions import names_in, truth
from diagnose.rule_book.data_sheet import read_value
from diagnose.rule_book.limits import value_of
from diagnose.rule_book.rules import InferenceRule
from diagnose.units import unit_info
from tests.engines import real_engine

BOOK = real_engine().rule_book

BESIDE = 1e-6
"""How far beside a limit a reading is tried, as a share of it: far more than what counts as rounding."""

HAIRLINE = 1e-4
"""A gap that is narrower than this share of its limit is a slip of whoever wrote the limits, never meant."""

EITHER_WAY = "between what is surely a fault and what is surely none the figure alone decides nothing"
LEAKS = "so small a current is neither a signal nor surely none: a leak, or the zero of the milliammeter"
COILS = "few coils have so little or so much, and few faults give it: the nameplate decides"
RATIOS = "between the ratios of units and those that surely are none there is room for a reading that is off besides"
MANY = "many"

MEANT: dict[tuple[str, str], tuple[str, str]] = {
    ("ambient-temperature", "ambient-too-cold"): ("-20 to -10", EITHER_WAY),
    ("ambient-temperature", "ambient-too-hot"): ("45 to 55", EITHER_WAY),
    ("bond-current", "current-in-bond"): ("20 to 100", EITHER_WAY),
    ("bond-resistance", "bond-bad"): ("0.2 to 1", EITHER_WAY),
    ("bus-idle-voltage", "bus-lines-reversed"): (
        "-0.2 to 0.2",
        "lines that nobody drives say nothing of which is which",
    ),
    ("bus-line-resistance", "bus-lines-shorted"): (
        "10 to 200",
        "a short far away reads as the copper up to it, among terminations",
    ),
    ("coil-resistance", "coil-circuit-open"): ("500 to 1e+03", COILS),
    ("coil-resistance", "coil-circuit-shorted"): ("5 to 10", COILS),
    ("coil-resistance", "coil-resistance-low"): ("5 to 1e+03", "low or not is a matter of the nameplate"),
    ("count-to-meter", "counts-exact-fraction"): (MANY, RATIOS),
    ("count-to-meter", "counts-exactly-double"): (MANY, RATIOS),
    ("damping", "damping-set-too-long"): ("0.3 to 1, 15 to 60", EITHER_WAY),
    ("damping", "damping-set-too-short"): ("0.3 to 1, 15 to 60", EITHER_WAY),
    ("deviation-from-reference", "ratio-fits-two-units"): (MANY, RATIOS),
    ("earth-continuity", "protective-earth-poor"): ("0.5 to 1", EITHER_WAY),
    ("electrode-dc-voltage", "electrode-dc-voltage-high"): ("-0.5 to -0.2, 0.2 to 0.5", EITHER_WAY),
    ("fault-current", "current-good-while-error"): ("3.6 to 3.8, 20.5 to 21", "the standard leaves it undefined"),
    ("highest-loop-current", "loop-budget-exceeded"): (
        "20.5 to 21",
        "what was measured of load and supply has a tolerance",
    ),
    ("leakage-current", "leakage-current-high"): ("3.5 to 9", EITHER_WAY),
    ("liquid-earth-dc-voltage", "dc-between-liquid-and-earth"): ("-0.8 to -0.5, 0.5 to 0.8", EITHER_WAY),
    ("liquid-earth-voltage", "ac-between-liquid-and-earth"): ("0.1 to 1", EITHER_WAY),
    ("loop-cable-insulation", "loop-cable-insulation-low"): ("0.5 to 5", EITHER_WAY),
    ("loop-current", "current-beyond-fault-level"): ("0.5 to 1", LEAKS),
    ("loop-current", "current-flows-backwards"): ("0.5 to 1", LEAKS),
    ("loop-current", "output-at-fault-level"): ("3.6 to 3.8, 20.6 to 21", "the standard leaves it undefined"),
    ("loop-current", "output-at-upper-limit"): (
        "0.5 to 1, 3.6 to 20.4",
        "what flows now says nothing of what flowed when the output was at its end",
    ),
    ("loop-current", "output-dead"): ("0.5 to 1", LEAKS),
    ("measured-conductivity", "liquid-hardly-conducts"): ("20 to 100", EITHER_WAY),
    ("receiver-current", "current-flows-backwards"): ("0.5 to 1", LEAKS),
    ("receiver-current", "no-current-at-receiver"): ("0.5 to 1", LEAKS),
    ("receiver-to-display", "receiver-off-by-ten"): (MANY, RATIOS),
    ("receiver-to-display", "receiver-off-by-unit-factor"): (MANY, RATIOS),
    ("record-clock-offset", "record-clock-off"): ("-5 to -2, 2 to 5", EITHER_WAY),
    ("usual-velocity", "velocity-too-low"): (
        "-10 to -5, 5 to 10",
        "the rule on fast flow needs the liquid; too low it is surely not",
    ),
    ("velocity-at-standstill", "zero-check-fails"): ("-0.03 to -0.001, 0.001 to 0.03", "the data sheet's zero decides"),
}
"""Quantity and finding → the gaps in the quantity's unit (or that there are many), and why they are meant."""


@dataclass(frozen=True)
class Group:
    """The rules on one quantity alone, or held against another, which then has the value of an example."""

    quantity: str
    other: str
    at: float
    rules: tuple[InferenceRule, ...]

    def __str__(self) -> str:
        """Return the group as a sayable id."""
        return f"{self.quantity} against {self.other}" if self.other else self.quantity

    def findings(self) -> list[str]:
        """Return what some of these rules find present and others absent."""
        present = {name for rule in self.rules for name in rule.present}
        return sorted(present & {name for rule in self.rules for name in rule.absent})

    def points(self) -> list[float]:
        """Return readings: each limit, just below and above it, and one in every stretch between and beyond."""
        limits = sorted({each for rule in self.rules for each in limits_of(rule.when, self)})
        beside = [limit + sign * (abs(limit) or 1.0) * BESIDE for limit in limits for sign in (-1, 0, 1)]
        middles = [(one + two) / 2 for one, two in itertools.pairwise(limits)]
        span = (limits[-1] - limits[0]) or abs(limits[0]) or 1.0
        low, high = BOOK.quantities[self.quantity].plausible or (-math.inf, math.inf)
        tried = {*beside, *middles, limits[0] - span, limits[-1] + span}
        return sorted(each for each in tried if low <= each <= high)

    def said(self, finding: str, point: float) -> set[bool]:
        """Return whether a finding is found present, absent, both or neither at a reading."""
        fired = [rule for rule in self.rules if truth(rule.when, {}, {self.quantity: point, self.other: self.at})]
        return {finding in rule.present for rule in fired if finding in {*rule.present, *rule.absent}}

    def gaps(self, finding: str) -> Iterator[tuple[float, float]]:
        """Yield the readings between which a finding is undecided, although it is decided at both."""
        undecided, last = False, None
        for point in self.points():
            if not self.said(finding, point):
                undecided = True
                continue
            if undecided and last is not None:
                yield last, point
            undecided, last = False, point


def limits_of(condition: Condition, group: Group) -> Iterator[float]:
    """Yield the limits that a condition sets to the quantity of a group."""
    if isinstance(condition, FindingIs):
        return
    if not isinstance(condition, Relation):
        for part in condition.of:
            yield from limits_of(part, group)
        return
    if condition.quantity == group.quantity:
        for operand in condition.operands:
            limit = group.at
            for _ in range(50):  # a tolerance may grow with the reading itself: the limit is where the two meet
                limit = value_of(operand, {group.other: group.at, group.quantity: limit})
            yield limit


def groups() -> Iterator[Group]:
    """Yield every quantity by itself, and with every other one that rules hold it against."""
    by_names: dict[frozenset[str], list[InferenceRule]] = {}
    for rule in BOOK.inference.values():
        findings, quantities = names_in(rule.when)
        if not findings and not any(BOOK.quantities[name].choices for name in quantities):
            by_names.setdefault(quantities, []).append(rule)
    for names, rules in by_names.items():
        for quantity in sorted(names) if len(names) <= 2 else ():
            (other,) = names - {quantity} or {""}
            alone = by_names.get(frozenset({quantity}), []) if other else []
            group = Group(quantity, other, example_of(rules, other), (*rules, *alone))
            if any(True for rule in rules for _ in limits_of(rule.when, group)):
                yield group


def example_of(rules: Iterable[InferenceRule], name: str) -> float:
    """Return the value that an example gives to a quantity."""
    given = (example.given[name] for rule in rules for example in rule.examples if name in example.given)
    read = (read_value(BOOK.quantities[name], each) for each in given)
    return next((each for each in read if isinstance(each, float)), 0.0)


def in_words(gaps: Iterable[tuple[float, float]], quantity: str) -> str:
    """Return gaps in the unit of a quantity."""
    unit = unit_info(BOOK.quantities[quantity].unit)
    ends = [[f"{(end - unit.offset) / unit.factor:.3g}" for end in gap] for gap in gaps]
    return ", ".join(f"{low} to {high}" for low, high in ends)


GROUPS = list(groups())
ALONE = [each for each in GROUPS if not each.other]


@pytest.mark.parametrize("group", GROUPS, ids=str)
def test_no_reading_makes_a_finding_present_and_absent(group: Group) -> None:
    """Neither at a limit nor beside it nor anywhere between."""
    torn = {(name, point) for name in group.findings() for point in group.points() if len(group.said(name, point)) > 1}
    assert torn == set()


@pytest.mark.parametrize("group", GROUPS, ids=str)
def test_no_reading_slips_through_at_a_limit(group: Group) -> None:
    """The healthy side begins where the other one ends: exactly at the limit one of the two says something."""
    slips = [
        f"{name}: {in_words([gap], group.quantity)}"
        for name in group.findings()
        for gap in group.gaps(name)
        if gap[1] - gap[0] < HAIRLINE * max(abs(gap[0]), abs(gap[1]))
    ]
    assert slips == []


def test_every_gap_is_meant() -> None:
    """What a quantity alone leaves undecided is told above, with limits and reason; nothing more is told there."""
    found = {
        (group.quantity, name): in_words(group.gaps(name), group.quantity)
        for group in ALONE
        for name in group.findings()
        if list(group.gaps(name))
    }
    meant = {key: found.get(key) if gap == MANY else gap for key, (gap, _) in MEANT.items()}
    assert found == meant


def test_the_walk_reaches_most_of_what_rules_judge() -> None:
    """Were quantities no longer recognised, nothing would be walked."""
    assert len(ALONE) > 25
    assert sum(len(group.findings()) for group in GROUPS) > 100
