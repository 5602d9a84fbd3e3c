"""Coverage in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from diagnose.authoring.breadth import LEAST_CASES, LEAST_PHRASES, Breadth
from diagnose.authoring.coverage import Coverage
from diagnose.authoring.telling_apart import MOST_WRONG, TELLING

SIZE_WORDS = {1: "one", 2: "at most two", 3: "at most three"}


def in_words(covered: Coverage) -> str:
    """Return coverage as lines for the trainer."""
    return "\n".join([*_counts(covered), "", *_figures(covered), "", *_thin(covered.breadth)])


def _counts(covered: Coverage) -> Iterator[str]:
    breadth = covered.breadth
    counted = {**breadth.counts, "inference rules": breadth.counts["inference"]}
    yield covered.title
    yield "  " + ", ".join(
        f"{counted[name]} {name}" for name in ("causes", "findings", "checks", "inference rules", "cautions")
    )
    yield "  causes by area: " + _numbers(breadth.by_area)


def _figures(covered: Coverage) -> Iterator[str]:
    yield "Detection and isolation (IEEE 1522, weighted by frequency)"
    yield f"  detected: shows a symptom or complaint    {_percent(covered.detection)}"
    yield f"  chance that a fault shows one             {_percent(covered.likely_detection)}"
    for size, fraction in covered.isolation.items():
        yield f"  isolated to a group of {SIZE_WORDS[size]:18} {_percent(fraction)}"
    yield f"  mean size of a group {covered.mean_size:.3f}; weighted {covered.weighted_mean_size:.3f}"
    yield (
        f"  One group: with all checks done that apply, the likelier of two is wrong in more than "
        f"{_percent(MOST_WRONG).strip()}."
    )
    yield from _listed("Ambiguity groups of more than one", (", ".join(group) for group in covered.groups))
    yield from _listed("Causes without a symptom", covered.undetected)


def _thin(breadth: Breadth) -> Iterator[str]:
    yield "Where it is thin"
    yield from _listed(f"Symptoms with fewer than {LEAST_PHRASES} phrases", _each(breadth.few_phrases))
    if breadth.few_cases is None:
        yield "  Areas with few cases: not counted, no cases given (--cases)"
    else:
        yield from _listed(f"Areas with fewer than {LEAST_CASES} cases", _each(breadth.few_cases))
    yield from _listed("Causes that name no look-alike", breadth.no_look_alike)
    pairs = (f"{cause} from {other}" for cause, other in breadth.not_told)
    yield from _listed(f"Look-alikes that no single check tells apart (by {TELLING:g} in probability)", pairs)


def _listed(title: str, lines: Iterable[str]) -> Iterator[str]:
    lines = list(lines)
    yield f"  {title}: {len(lines) or 'none'}"
    yield from (f"    {line}" for line in lines)


def _each(numbers: dict[str, int]) -> Sequence[str]:
    return [f"{name} ({number})" for name, number in numbers.items()]


def _numbers(numbers: dict[str, int]) -> str:
    return ", ".join(_each(numbers))


def _percent(fraction: float) -> str:
    """Return a fraction in per cent; only what is all of it reads 100.

    >>> _percent(0.99996), _percent(1.0)
    (' 99.9 %', '100.0 %')
    """
    shown = 100.0 if fraction >= 1 - 1e-12 else min(99.9, round(100 * fraction, 1))
    return f"{shown:5.1f} %"
