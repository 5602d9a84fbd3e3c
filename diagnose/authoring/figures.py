"""The figures of a simulation: shares, medians, and where it goes wrong."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from math import sqrt
from statistics import median

import msgspec

from diagnose.authoring.simulated_interview import InterviewResult
from diagnose.authoring.simulation import SimulatedFault
from diagnose.rule_book.book import RuleBook

AMONG_FIRST = 3
"""Both causes of a double fault should be among so many."""

MOST_WORST = 25


class Share(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """So many of so many; ``give_or_take`` is half the 95 % interval that chance alone explains."""

    hits: int
    of: int
    share: float
    give_or_take: float


class Area(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Single faults of one area."""

    area: str
    faults: int
    first: int
    cured: int
    minutes: float
    fixed_minutes: float


class Worst(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A cause of which single faults end with another one first, and which others those are."""

    cause: str
    faults: int
    missed: int
    instead: dict[str, int]


class Figures(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What came of all interviews.

    Single faults: ``first`` true cause first on the ranking on which the last step was proposed; ``first_at_remedy``
    first when its own remedy was first proposed, or at the end where it never was; ``among_first`` among three;
    ``missed`` those not first at the end, by what was wrong on the way.
    Double faults: ``both`` when at the end each cause is either cured or among the first three;
    ``both_before_remedies`` when both are among the first three before any remedy (or at the end, without one).
    ``looking`` are median minutes before the remedy that cured, ``minutes`` median minutes altogether; ``saved`` is the
    share of the fixed order's median that is saved.
    ``questions`` are put before the first check and ``cautions`` shown in a whole interview (means); ``undecided`` have
    no end at all. Of faults outside the book, ``outside_told`` were told to be so, ``outside_handed_over`` handed over
    for another reason, ``outside_closed`` wrongly closed as cured; ``called_outside`` are faults inside the book that
    were told to be outside.
    """

    first: Share
    first_at_remedy: Share
    among_first: Share
    missed: dict[str, int]
    cured: Share
    handed_over_first: Share
    both: Share
    both_before_remedies: Share
    both_cured: Share
    looking: float
    minutes: float
    fixed_looking: float
    fixed_minutes: float
    saved: float
    saved_altogether: float
    steps: float
    needless: float
    questions: float
    cautions: float
    undecided: Share
    less_skilled: int
    less_skilled_cured: int
    intermittent_first: Share
    intermittent_cured: Share
    outside_told: Share
    outside_handed_over: Share
    outside_closed: Share
    called_outside: Share
    both_called_outside: Share
    steps_watched: int
    violations: dict[str, int]
    areas: tuple[Area, ...]
    worst: tuple[Worst, ...]


def figures(rule_book: RuleBook, faults: Sequence[SimulatedFault]) -> Figures:
    """Return the figures of simulated faults."""
    single = [each for each in faults if each.kind == "single"]
    double = [each for each in faults if each.kind == "double"]
    others = [each for each in faults if each.kind == "less skilled"]
    intermittent = [each for each in faults if each.kind == "intermittent"]
    outside = [each for each in faults if each.kind == "outside"]
    looking, fixed_looking = _minutes(single)
    minutes = _median([each.interview.minutes for each in single])
    fixed_minutes = _median([each.fixed.minutes for each in single if each.fixed])
    return Figures(
        first=_share(single, lambda each: _rank(each) <= 1),
        first_at_remedy=_share(single, lambda each: max(each.interview.ranks_at_remedy.values()) <= 1),
        among_first=_share(single, lambda each: _rank(each) <= AMONG_FIRST),
        missed=_missed([each.interview for each in single if _rank(each) > 1]),
        cured=_share(single, lambda each: each.interview.end == "cured"),
        handed_over_first=_share(
            [each for each in single if each.interview.end == "handed over"], lambda each: _rank(each) <= 1
        ),
        both=_share(double, lambda each: _rank(each) <= AMONG_FIRST),
        both_before_remedies=_share(double, lambda each: max(each.interview.ranks_before.values()) <= AMONG_FIRST),
        both_cured=_share(double, lambda each: each.interview.end == "cured"),
        looking=looking,
        minutes=minutes,
        fixed_looking=fixed_looking,
        fixed_minutes=fixed_minutes,
        saved=_saved(looking, fixed_looking),
        saved_altogether=_saved(minutes, fixed_minutes),
        steps=_mean([each.interview.steps for each in single]),
        needless=_mean([each.interview.needless for each in single]),
        questions=_mean([each.interview.questions for each in single]),
        cautions=_mean([each.interview.cautions for each in single]),
        undecided=_share(faults, lambda each: each.interview.end == "undecided"),
        intermittent_first=_share(intermittent, lambda each: _rank(each) <= 1),
        intermittent_cured=_share(intermittent, lambda each: each.interview.end == "cured"),
        outside_told=_share(outside, lambda each: each.interview.end == "outside the book"),
        outside_handed_over=_share(outside, lambda each: each.interview.end == "handed over"),
        outside_closed=_share(outside, lambda each: each.interview.end in ("cured", "wrongly closed")),
        called_outside=_share(single, lambda each: each.interview.end == "outside the book"),
        both_called_outside=_share(double, lambda each: each.interview.end == "outside the book"),
        less_skilled=len(others),
        less_skilled_cured=sum(each.interview.end == "cured" for each in others),
        steps_watched=sum(each.interview.steps for each in faults),
        violations=dict(Counter(text for each in faults for text in each.interview.violations).most_common()),
        areas=_areas(rule_book, single),
        worst=_worst(single),
    )


def _missed(interviews: Sequence[InterviewResult]) -> dict[str, int]:
    """Return how many ended with another cause first, by what had gone wrong on the way."""
    why = [
        "a remedy's result was wrong"
        if each.wrong_results
        else "an answer was wrong"
        if each.wrong_answers
        else "nothing"
        for each in interviews
    ]
    return dict(Counter(why).most_common())


def _rank(each: SimulatedFault) -> int:
    """Return the place of the true cause that is last in the ranking; 0 when all were cured before."""
    return max(each.interview.ranks.values())


def _share(faults: Sequence[SimulatedFault], is_hit: Callable[[SimulatedFault], bool]) -> Share:
    hits, many = sum(map(is_hit, faults)), len(faults)
    share = hits / many if many else 0.0
    # Agresti and Coull: honest with few faults, and at none or all of them
    middle = (hits + 2) / (many + 4)
    return Share(hits=hits, of=many, share=share, give_or_take=1.96 * sqrt(middle * (1 - middle) / (many + 4)))


def _minutes(single: Sequence[SimulatedFault]) -> tuple[float, float]:
    looking = _median([each.interview.looking for each in single])
    return looking, _median([each.fixed.looking for each in single if each.fixed])


def _median(values: Sequence[float]) -> float:
    return float(median(values)) if values else 0.0


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values) if values else 0.0


def _saved(minutes: float, fixed: float) -> float:
    return 1 - minutes / fixed if fixed else 0.0


def _areas(rule_book: RuleBook, single: Sequence[SimulatedFault]) -> tuple[Area, ...]:
    by_area: defaultdict[str, list[SimulatedFault]] = defaultdict(list)
    for each in single:
        by_area[rule_book.causes[each.fault.causes[0]].area].append(each)
    rows = []
    for area, faults in sorted(by_area.items()):
        looking, fixed = _minutes(faults)
        rows.append(
            Area(
                area=area,
                faults=len(faults),
                first=sum(_rank(each) <= 1 for each in faults),
                cured=sum(each.interview.end == "cured" for each in faults),
                minutes=looking,
                fixed_minutes=fixed,
            )
        )
    return tuple(rows)


def _worst(single: Sequence[SimulatedFault]) -> tuple[Worst, ...]:
    by_cause: defaultdict[str, list[SimulatedFault]] = defaultdict(list)
    for each in single:
        by_cause[each.fault.causes[0]].append(each)
    rows = []
    for cause, faults in by_cause.items():
        instead = Counter(each.interview.first for each in faults if _rank(each) > 1)
        if instead:
            missed = sum(instead.values())
            rows.append(Worst(cause=cause, faults=len(faults), missed=missed, instead=dict(instead.most_common())))
    rows.sort(key=lambda row: (-row.missed, row.faults, row.cause))
    return tuple(rows[:MOST_WORST])
