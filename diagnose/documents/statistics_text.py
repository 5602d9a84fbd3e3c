"""How a fleet does, in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from diagnose.learning.calibration import Calibration
from diagnose.learning.checks_made import CheckMade
from diagnose.learning.statistics import Ranked, Statistics

MOST = 15
NONE_YET = "  none yet"


def in_words(told: Statistics) -> str:
    """Return statistics as lines."""
    parts = (_counted(told), _pareto(told), _repeats(told), _minutes(told), _checks(told), _calibration(told))
    return "\n".join(line for part in parts for line in part)


def _counted(told: Statistics) -> Iterator[str]:
    days = f", {told.first_day} to {told.last_day}" if told.first_day else ""
    yield f"{told.title}: {told.cases:,} closed cases{days}"
    yield f"  {told.found:,} with a cause that was found, {told.in_vain:,} in vain, {told.not_listed:,} not listed"
    if told.copies:
        yield f"  {told.copies:,} copies, or alike but for their causes: not counted"
    yield from (f"  not readable: {each}" for each in told.left_out)


def _pareto(told: Statistics) -> Iterator[str]:
    for title, rows in (("Causes", told.causes), ("Areas", told.areas)):
        yield ""
        yield f"{title}, the commonest first (share with 95 % limits; down to here; minutes as a rule)"
        yield from _shortened(_ranked(each) for each in rows)
        if not rows:
            yield NONE_YET


def _ranked(each: Ranked) -> str:
    minutes = "–" if each.minutes is None else f"{each.minutes:.0f}"
    limits = f"({100 * each.interval.low:.0f} to {100 * each.interval.high:.0f})"
    figures = f"{each.cases:5} {100 * each.share:4.0f} % {limits:>11} {100 * each.down_to_here:4.0f} % {minutes:>5}"
    return f"  {figures}  {each.title}"


def _repeats(told: Statistics) -> Iterator[str]:
    yield ""
    yield "Found on the same meter more than once"
    yield from _shortened(
        f"  {each.meter}: {each.title}, {len(each.days)} times ({', '.join(each.days)})" for each in told.repeats
    )
    if not told.repeats:
        yield "  nothing"
    back = told.coming_back
    if back:
        yield (
            f"  Of {back.pairs:,} pairs of cases of one meter {back.same:,} had the same cause; by chance "
            f"{back.by_chance:.1f} would: {back.times:.1f} times ({back.interval.low:.1f} to "
            f"{back.interval.high:.1f}). "
            f"The rule book takes {back.believed:g} (comes-back)."
        )


def _minutes(told: Statistics) -> Iterator[str]:
    yield ""
    yield "Minutes on site"
    if told.minutes:
        yield (
            f"  half of {told.minutes.cases:,} cases took {told.minutes.middle:.0f} min or less, nine in ten "
            f"{told.minutes.nine_in_ten:.0f} or less"
        )
    else:
        yield "  nobody told them"
    right = told.first_time_right
    if right:
        limits = f"{100 * right.interval.low:.0f} to {100 * right.interval.high:.0f}"
        yield f"  right with the first remedy: {right.hits:,} of {right.of:,}, {100 * right.share:.0f} % ({limits})"


def _checks(told: Statistics) -> Iterator[str]:
    yield ""
    if not told.checks:
        yield "What checks brought"
        yield NONE_YET
        return
    yield f"What checks brought in the latest {told.walked:,} cases: bits of information on the cause, each time"
    earned = [each for each in told.checks if each.earned]
    idle = [each for each in told.checks if each.earned is False]
    if earned or idle:
        yield "   made  minutes  brought  expected  bits/min"
    yield from _shortened(_check(each) for each in earned)
    if idle:
        yield "  not worth their minutes so far:"
        yield from _shortened(_check(each) for each in reversed(idle))
    few = sum(each.earned is None for each in told.checks)
    if few:
        more = " more" if earned or idle else ""
        yield f"  {few:,}{more} made too seldom to tell"


def _check(each: CheckMade) -> str:
    figures = f"{each.made:5} {each.minutes:8.0f} {each.brought:8.2f} {each.expected:9.2f} {each.by_minute:9.3f}"
    return f"  {figures}  {each.title}"


def _calibration(told: Statistics) -> Iterator[str]:
    for each in told.calibration:
        yield ""
        counted = f": {each.forecasts:,}" if each.forecasts else ""
        yield f"Our probabilities of {each.about}, before anything was put right{counted}"
        if not each.forecasts:
            yield NONE_YET
        else:
            yield f"  {parts_in_words(each)}"
            yield "      said     came true"
            yield from (
                f"  {100 * one.mean:6.1f} %  {100 * one.share:6.1f} % ({100 * one.interval.low:.0f} to "
                f"{100 * one.interval.high:.0f}): {one.true:,} of {one.forecasts:,}"
                for one in each.bins
            )


def parts_in_words(each: Calibration) -> str:
    """Return the Brier score with its parts in one line."""
    return (
        f"Brier score {each.brier:.4f} = reliability {each.reliability:.4f} - resolution {each.resolution:.4f} + "
        f"uncertainty {each.uncertainty:.4f}, and {each.left:+.4f} within the bins (Murphy 1973)"
    )


def _shortened(lines: Iterable[str]) -> Iterator[str]:
    lines = list(lines)
    yield from lines[:MOST]
    if len(lines) > MOST:
        yield f"  … and {len(lines) - MOST:,} more (--format json has them all)"
