"""Detection and isolation in the words of IEEE 1522, from signatures and weights alone.

A *signature* is what all tests together show of a fault; faults with the same signature form an *ambiguity group*.
Weights are failure rates, or one for each fault where faults are only counted.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from itertools import combinations

Group = tuple[str, ...]
"""Faults that tests do not tell apart, in sorted order."""


def share(faults: Sequence[str], weights: Mapping[str, float]) -> float:
    """Return the weight of some faults over that of all: the fraction of faults detected, if those are given.

    >>> share(["leak"], {"leak": 3, "block": 1})
    0.75
    """
    total = sum(weights.values())
    return sum(weights[name] for name in faults) / total if total else 0.0


def groups_of(signatures: Mapping[str, Hashable]) -> list[Group]:
    """Return the ambiguity groups: faults with equal signatures.

    >>> groups_of({"leak": "10", "block": "01", "burst": "10"})
    [('block',), ('burst', 'leak')]
    """
    by_signature: dict[Hashable, list[str]] = {}
    for name, signature in sorted(signatures.items()):
        by_signature.setdefault(signature, []).append(name)
    return sorted(tuple(names) for names in by_signature.values())


def connected(faults: Sequence[str], same: Callable[[str, str], bool]) -> list[Group]:
    """Return the ambiguity groups where "not told apart" is a matter of degree.

    It then no longer carries over from pair to pair; the groups are the largest connected ones (every fault that
    reaches another by a chain of pairs not told apart), so that a group is rather too large than too small.

    >>> connected(["a", "b", "c", "d"], lambda one, other: {one, other} in ({"a", "b"}, {"b", "c"}))
    [('a', 'b', 'c'), ('d',)]
    """
    group = {name: {name} for name in faults}
    for one, other in combinations(faults, 2):
        if group[one] is not group[other] and same(one, other):
            joined = group[one] | group[other]
            group.update(dict.fromkeys(joined, joined))
    return sorted({tuple(sorted(names)) for names in group.values()})


def isolated(groups: Sequence[Group], weights: Mapping[str, float], size: int) -> float:
    """Return the fraction of fault isolation: the weight, among these groups, of those of at most ``size`` faults."""
    total = sum(weights[name] for group in groups for name in group)
    small = sum(weights[name] for group in groups if len(group) <= size for name in group)
    return small / total if total else 0.0


def mean_size(groups: Sequence[Group], weights: Mapping[str, float] | None = None) -> float:
    """Return the mean size of the groups; with weights, the size that a fault finds itself in on the average."""
    if not groups:
        return 0.0
    if weights is None:
        return sum(map(len, groups)) / len(groups)
    weight = [sum(weights[name] for name in group) for group in groups]
    return sum(len(group) * each for group, each in zip(groups, weight, strict=True)) / sum(weight)
