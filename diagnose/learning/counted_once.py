"""Which closed cases count: a copy does not count twice, and two that contradict each other teach nothing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable
from typing import NamedTuple

from diagnose.learning.closed_cases import ClosedCase


class Counted(NamedTuple):
    """Cases that count, in the order in which they were closed; ``copies`` of others; ``contradictory`` groups.

    Of those the same was answered on the same day at the same meter, and another cause was confirmed each time: all of
    a group are left out.
    """

    cases: tuple[ClosedCase, ...]
    copies: tuple[ClosedCase, ...] = ()
    contradictory: tuple[tuple[ClosedCase, ...], ...] = ()


def counted_once(cases: Iterable[ClosedCase]) -> Counted:
    """Return which cases count.

    Two cases of one meter, or of none that is named, are the same where all that stands in them is, with its times
    (imported twice, under whatever name), or where the same was answered on the same day.
    """
    every = sorted(cases, key=lambda each: (each.closed_on, each.name))
    copies: list[ClosedCase] = []
    contradictory: list[tuple[ClosedCase, ...]] = []
    for alike in (
        lambda case: (case.of_meter, case.marks[0]),
        lambda case: (case.of_meter, case.closed_on, case.marks[1]),
    ):
        groups: defaultdict[Hashable, list[ClosedCase]] = defaultdict(list)
        for case in every:
            groups[alike(case)].append(case)
        agreeing = [group for group in groups.values() if len(set(map(_came_to, group))) == 1]
        contradictory += [tuple(group) for group in groups.values() if len(set(map(_came_to, group))) > 1]
        copies += (case for group in agreeing for case in group[1:])
        every = [group[0] for group in agreeing]
    return Counted(tuple(every), tuple(copies), tuple(contradictory))


def _came_to(case: ClosedCase) -> tuple[str, str]:
    return case.outcome, case.cause
