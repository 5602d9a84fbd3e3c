"""A simulation in words, and as an object for other programs."""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from diagnose.authoring.figures import Figures, Share
from diagnose.authoring.simulation import Order, SimulatedFault

MOST_VIOLATIONS = 20


class SimulationDocument(
    msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="format", tag="simulation/1"
):
    """A simulation as other programs get it, every fault with its steps; not ``complete`` when it was left early."""

    complete: bool
    order: Order
    figures: Figures
    faults: tuple[SimulatedFault, ...]


def in_words(figures: Figures, order: Order, complete: bool) -> str:
    """Return the figures of a simulation as lines for the trainer."""
    parts = [_head(figures, order, complete), _single(figures), _double(figures), _others(figures)]
    parts += [_safety(figures), _tables(figures)]
    return "\n".join(line for part in parts for line in part)


def _head(figures: Figures, order: Order, complete: bool) -> Iterator[str]:
    many = f"{figures.first.of} single, {figures.both.of} double, {figures.less_skilled} with less skilled people"
    yield f"Simulated faults: {many}; {100 * order.wrong:g} % of answers wrong; seed {order.seed}"
    if not complete:
        yield "Left early: the figures are those of the faults that were finished."


def _single(figures: Figures) -> Iterator[str]:
    if not figures.first.of:
        return
    yield ""
    yield "Single faults, met by a skilled person"
    yield _line("true cause first when the interview ends", figures.first)
    yield _line("first when its own remedy is first proposed", figures.first_at_remedy)
    yield _line("among the first three when it ends", figures.among_first)
    if figures.missed:
        yield "  not first, by what was wrong on the way: " + ", ".join(
            f"{why} {n}" for why, n in figures.missed.items()
        )
    yield _line("cured and proved", figures.cured)
    yield _line("true cause first where handed over", figures.handed_over_first)
    yield _line("reported as outside the rule book", figures.called_outside)
    means = f"steps {figures.steps:.1f}, needless remedies {figures.needless:.2f}"
    yield f"  {means}, prompts before the first check {figures.questions:.1f}, cautions {figures.cautions:.1f} (means)"
    yield "  median minutes                                 interview   fixed order   saved"
    yield _minutes("before the remedy that cures", figures.looking, figures.fixed_looking, figures.saved)
    yield _minutes("with it, proved and put back", figures.minutes, figures.fixed_minutes, figures.saved_altogether)


def _double(figures: Figures) -> Iterator[str]:
    if not figures.both.of:
        return
    yield ""
    yield "Double faults, met by a skilled person"
    yield _line("each cause cured or in the first three at the end", figures.both)
    yield _line("both in the first three before any remedy", figures.both_before_remedies)
    yield _line("both cured and proved", figures.both_cured)


def _others(figures: Figures) -> Iterator[str]:
    if figures.both.of:
        yield _line("reported as outside the rule book", figures.both_called_outside)
    if figures.intermittent_first.of:
        yield ""
        yield "Faults that come and go"
        yield _line("true cause first or cured when it ends", figures.intermittent_first)
        yield _line("cured and proved", figures.intermittent_cured)
    if figures.outside_told.of:
        yield ""
        yield "Faults with their cause taken out of the rule book"
        yield _line("reported as outside the rule book", figures.outside_told)
        yield _line("handed over for another reason", figures.outside_handed_over)
        yield _line("closed as cured (a result was misread)", figures.outside_closed)
    yield ""
    yield _line("of all, ended undecided", figures.undecided)


def _safety(figures: Figures) -> Iterator[str]:
    yield ""
    yield f"Safety: {sum(figures.violations.values())} violations in {figures.steps_watched} steps"
    for text, many in list(figures.violations.items())[:MOST_VIOLATIONS]:
        yield f"  {many} × {text}"
    if len(figures.violations) > MOST_VIOLATIONS:
        yield f"  and {len(figures.violations) - MOST_VIOLATIONS} more kinds"
    if figures.less_skilled:
        cured = f"{figures.less_skilled_cured} of {figures.less_skilled}"
        yield f"  less skilled people cured {cured}; for the others somebody was fetched"


def _tables(figures: Figures) -> Iterator[str]:
    if figures.areas:
        yield ""
        yield "Single faults by area    faults   first   cured   median minutes before the remedy (fixed order)"
    for area in figures.areas:
        shares = f"{_percent(area.first / area.faults)} {_percent(area.cured / area.faults)}"
        yield f"  {area.area:22} {area.faults:6}  {shares}   {area.minutes:6.0f} ({area.fixed_minutes:.0f})"
    if figures.worst:
        yield ""
        yield "Causes most often not first   missed of faults   first instead"
    for row in figures.worst:
        instead = ", ".join(name if many == 1 else f"{name} {many}" for name, many in list(row.instead.items())[:4])
        yield f"  {row.cause:32} {row.missed:3} of {row.faults:<4} {instead}"


def _line(what: str, share: Share) -> str:
    if not share.of:
        return f"  {what:50} none"
    return f"  {what:50} {_percent(share.share)} ± {100 * share.give_or_take:.1f}  ({share.hits} of {share.of})"


def _minutes(what: str, minutes: float, fixed: float, saved: float) -> str:
    return f"    {what:44} {minutes:9.0f} {fixed:13.0f}  {_percent(saved)}"


def _percent(share: float) -> str:
    return f"{100 * share:5.1f} %"
