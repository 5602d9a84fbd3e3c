"""A comparison document for the terminal: verdict, mechanisms, what tells them apart, what to do; then the figures."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import UNSET
from rich.console import Console
from rich.padding import Padding
from rich.table import Table as Grid
from rich.text import Text

from diagnose.comparison.doubts import STRAIGHT_CURVES
from diagnose.comparison.fit import BY_SPREAD
from diagnose.comparison.mechanisms import ANY_SMOOTH
from diagnose.documents import parts
from diagnose.documents.blocks import Place, Ranking, Span, line, percent, spans
from diagnose.documents.comparison import limits_of, with_limits
from diagnose.documents.comparison_picture import print_picture
from diagnose.documents.comparison_types import (
    ComparisonDocument,
    ConstantDocument,
    CurveDocument,
    LackOfFitDocument,
    MechanismDocument,
    ParameterDocument,
    amounts_in,
)
from diagnose.documents.text import print_head, print_line, write
from diagnose.documents.typed import FindingDocument

STYLES = {"agrees": "for", "cannot tell": "caution", "disagrees": "danger"}
LEAST = 0.005
"""Probability from which a mechanism is listed."""

LEAST_SPLIT = 0.05
"""Probability of a curve from which the mechanisms that draw it are listed."""

LEAST_CAUSE = 0.02
"""Probability from which a cause is listed."""

MOST_CURVES, MOST_OF_A_CURVE = 4, 6
MOST_PAIRS = 12
"""Pairs up to which all are listed; of more, the first and the last few."""


def print_comparison(console: Console, document: ComparisonDocument, picture: bool = True) -> None:
    """Print a comparison document."""
    style = STYLES[document.verdict]
    verdict = Text.assemble((f" {document.verdict.upper()} ", style), f" {document.because}")
    print_line(console, verdict, indent=0)
    if document.decision:
        style = {"fail": "danger", "cannot tell": "caution"}.get(document.decision, "for")
        decision = Text.assemble((f" {document.decision.upper()} ", style), f" {document.decision_because}")
        print_line(console, decision, indent=0)
    _mechanisms(console, document)
    _causes(console, document)
    _paragraphs(console, "What would tell them apart", [each.text for each in document.separating])
    _paragraphs(console, "What to do", document.advice)
    _constant(console, document.new_constant)
    _paragraphs(console, "Note", [f"! {each}" for each in document.warnings], "warning-text")
    if picture:
        print_picture(console, document)
    _pairs(console, document)
    _fit(console, document)
    _evidence(console, document)
    _findings(console, document.findings)
    _paragraphs(console, "Assumed", (*document.assumed, document.decision_rule), "quiet")


def _paragraphs(console: Console, head: str, lines: Sequence[str], style: str = "") -> None:
    if not lines:
        return
    print_head(console, head)
    for text in lines:
        print_line(console, Text(text, style))


def _mechanisms(console: Console, document: ComparisonDocument) -> None:
    if not document.curves:
        return
    by_id = {each.id: each for each in document.mechanisms}
    shown = [each for each in document.curves[:MOST_CURVES] if each.probability >= LEAST] or document.curves[:1]
    places = tuple(_place(curve, [by_id[name] for name in curve.mechanisms]) for curve in shown)
    print_head(console, "Mechanisms, likeliest first")
    write(console, [Ranking(places, below_at=20)])


def _causes(console: Console, document: ComparisonDocument) -> None:
    """Print the causes behind the mechanisms, or why none follow."""
    if document.no_cause:
        _paragraphs(console, "Causes", [document.no_cause])
        return
    shown = [each for each in document.causes if each.probability >= LEAST_CAUSE]
    if not shown:
        return
    print_head(console, "Causes behind them, by these readings and how common each is")
    for each in shown:
        print_line(console, Text(f"{percent(each.probability):>5}  {each.title}"))


def _place(curve: CurveDocument, members: Sequence[MechanismDocument]) -> Place:
    """Return a curve with its only mechanism, or with those that draw it below."""
    common = curve.common or "the same curve"
    if len(members) == 1:
        return Place(curve.probability, spans(Span(members[0].title, "head"), _amounts(members[0])))
    if curve.probability < LEAST_SPLIT:
        return Place(curve.probability, spans(Span(common, "head")))
    least = max(LEAST, 0.03 * curve.probability)
    listed = [each for each in members if each.probability >= least][:MOST_OF_A_CURVE] or members[:1]
    below = [line(f"{percent(each.probability):>5}  {each.title}{_amounts(each)}", indent=0, hang=7) for each in listed]
    if len(members) > len(listed):
        below.append(line(Span(f"and {len(members) - len(listed)} less likely", "quiet"), indent=7))
    title = f"{common}; readings alone cannot tell these apart:" if len(listed) > 1 else f"{common}:"
    return Place(curve.probability, spans(Span(title, "head")), tuple(below))


def _amounts(mechanism: MechanismDocument) -> str:
    figures = [f"{name} {_figure(each)}" for name, each in mechanism.parameters.items() if name != "upper range value"]
    means = f" ({mechanism.means})" if mechanism.means else ""
    return means + (f"; {'; '.join(figures)}" if figures else "")


def _figure(parameter: ParameterDocument) -> str:
    value, low, high, unit = parameter.value, parameter.low, parameter.high, parameter.unit
    if high - low <= 1e-6 * abs(value):
        return f"{value:.5g} {unit}".strip()
    return f"{with_limits(value, low, high)} {unit}".strip()


def _pairs(console: Console, document: ComparisonDocument) -> None:
    unit, pairs = document.unit, document.pairs
    grid = Grid(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="quiet")
    columns = ["reference", "indicated", "deviation [%]", "U, 95 % [%]"]
    limited = any(pair.permissible_error is not None for pair in pairs)
    normalised = any(pair.normalised_error is not None for pair in pairs)
    further = (*(("E_n",) if normalised else ()), *(("limit [%]", "verdict") if limited else ()))
    for column in ["", *columns, *further]:
        grid.add_column(Text(column), justify="right", overflow="fold")
    apart = {
        each.pair for each in (document.fit.outliers if document.fit and not _first_is(document, bent=True) else ())
    }
    numbered = list(enumerate(pairs, 1))
    shown = numbered if len(pairs) <= MOST_PAIRS else [*numbered[: MOST_PAIRS // 2], *numbered[-MOST_PAIRS // 2 :]]
    shown += [each for each in numbered if each[0] in apart and each not in shown]
    for number, pair in sorted(shown, key=lambda each: each[0]):
        row = [f"{number}{'!' if number in apart else ''}", f"{pair.reference:.5g}", f"{pair.indicated:.5g}"]
        row += [_percent(pair.deviation, "+.2f"), _percent(pair.expanded_uncertainty, ".2f")]
        row += [_plain(pair.normalised_error)] if normalised else []
        row += [_percent(pair.permissible_error, ".2g"), pair.conformity or "-"] if limited else []
        grid.add_row(*map(Text, row))
    print_head(console, f"Readings, {amounts_in(unit)} in {unit}")
    console.print(Padding(grid, (0, 0, 0, 2), expand=False))
    if len(shown) < len(pairs):
        print_line(console, Text(f"and {len(pairs) - len(shown)} more in between", "quiet"))


def _plain(figure: float | None) -> str:
    return "-" if figure is None else f"{figure:+.2f}"


def _percent(share: float | None, form: str) -> str:
    return "-" if share is None else f"{100 * share:{form}}"


def _fit(console: Console, document: ComparisonDocument) -> None:
    fit, unit = document.fit, document.unit
    if fit is None:
        return
    print_head(console, "Line (weighted by the uncertainties)" if fit.weighted else "Line")
    certain = "" if fit.zero.low is None else "; 95 % limits in brackets"
    print_line(console, f"zero {limits_of(fit.zero)} {unit}; gain {limits_of(fit.gain)}{certain}")
    if fit.residual_deviation is not None:
        print_line(console, f"scatter about the line {fit.residual_deviation:.3g} {unit}")
    if fit.lack_of_fit:
        print_line(console, _straight(document, fit.lack_of_fit))
    if fit.chance_without_difference is not None:
        chance = _chance(fit.chance_without_difference)
        print_line(console, f"chance of such a line if there were no difference: {chance}")


def _straight(document: ComparisonDocument, lack: LackOfFitDocument) -> str:
    """Return whether the readings lie on a straight line, in words that go with what comes first."""
    what = "scatter about" if lack.test == BY_SPREAD else "bend on"
    by_chance = f"(chance of as much {what} a straight line: {_chance(lack.chance)})"
    if not lack.shown:
        fits = "a straight line is not excluded either" if _first_is(document, bent=True) else "a straight line fits"
        return f"{fits} {by_chance}"
    if not _first_is(document, bent=False):
        return f"not a straight line {by_chance}"
    if lack.test == BY_SPREAD:
        return f"straight, but the readings lie further off it than you state {by_chance}"
    return f"a straight line fits, though they hint at a bend {by_chance}"


def _first_is(document: ComparisonDocument, bent: bool) -> bool:
    """Check whether what comes first is a straight line, or a known curve that is bent."""
    first = document.curves[0].curve if document.curves else ""
    return first not in (*STRAIGHT_CURVES, ANY_SMOOTH.name, "") if bent else first in STRAIGHT_CURVES


def _chance(chance: float) -> str:
    return f"{100 * chance:.3g} %" if chance >= 0.995 else f"{100 * chance:.2g} %" if chance >= 1e-4 else "below 0.01 %"


def _evidence(console: Console, document: ComparisonDocument) -> None:
    evidence = document.evidence
    if evidence is None:
        return
    print_head(console, "What the readings alone say")
    titles = {each.id: each.title for each in document.mechanisms}
    first, second = titles[evidence.mechanism], titles[evidence.next]
    print_line(console, f"They are {_times(evidence.bayes_factor)} as likely with “{first}” as with “{second}”.")


def _times(factor: float) -> str:
    """Return a ratio in words.

    >>> _times(1432.0), _times(1.37), _times(3e7)
    ('about 1400 times', 'about 1.4 times', 'more than 10 000 times')
    """
    return f"about {float(f'{factor:.2g}'):g} times" if factor < 1e4 else "more than 10 000 times"


def _findings(console: Console, found: Sequence[FindingDocument]) -> None:
    if not found:
        return
    print_head(console, "What follows for the diagnosis")
    write(console, parts.findings((each.title, each.present, each.because) for each in found))


def _constant(console: Console, constant: ConstantDocument | None) -> None:
    if constant is None:
        return
    print_head(console, "Flow constant")
    if constant.refused is not UNSET:
        print_line(console, constant.refused)
        return
    told = (
        f"{constant.old:g} × {constant.meter_factor:.5f} = {constant.new:.6g} ± "
        f"{constant.expanded_uncertainty:.2g} (95 %, by the scatter; errors that all readings of the reference have in "
        "common come on top)"
    )
    print_line(console, told)
