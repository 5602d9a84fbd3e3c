"""A comparison document for the terminal: verdict, mechanisms, what tells them apart, what to do; then the figures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from rich.console import Console
from rich.padding import Padding
from rich.table import Table as Grid
from rich.text import Text

from diagnose.documents import parts
from diagnose.documents.comparison_picture import print_picture
from diagnose.documents.text import bar, percent, print_head, print_line, write

Document = dict[str, Any]

STYLES = {"agrees": "for", "cannot tell": "caution", "disagrees": "danger"}
LEAST = 0.005
"""Probability from which a mechanism is listed."""

MOST_CURVES, MOST_OF_A_CURVE = 4, 6
MOST_PAIRS = 12
"""Pairs up to which all are listed; of more, the first and the last few."""

CURVES = {
    "factor": "the same factor at every flow",
    "constant": "the same amount at every flow",
    "current": "a part of the current",
    "upper-end": "right at the upper end of the range, wrong below",
    "limited": "right up to some flow, then it stays",
    "flat": "the same number at every flow",
}


def print_comparison(console: Console, document: Document, picture: bool = True) -> None:
    """Print a comparison document."""
    style = STYLES[document["verdict"]]
    verdict = Text.assemble((f" {document['verdict'].upper()} ", style), f" {document['because']}")
    print_line(console, verdict, indent=0)
    _mechanisms(console, document)
    _paragraphs(console, "Told apart by", [each["text"] for each in document["separating"]])
    _paragraphs(console, "What to do", document["advice"])
    _constant(console, document["new_constant"])
    _paragraphs(console, "Mind", [f"! {each}" for each in document["warnings"]], "warning-text")
    if picture:
        print_picture(console, document)
    _pairs(console, document)
    _fit(console, document)
    _evidence(console, document)
    _findings(console, document["findings"])
    _paragraphs(console, "Held beforehand", document["assumed"], "quiet")


def _paragraphs(console: Console, head: str, lines: Sequence[str], style: str = "") -> None:
    if not lines:
        return
    print_head(console, head)
    for line in lines:
        print_line(console, Text(line, style))


def _mechanisms(console: Console, document: Document) -> None:
    if not document["curves"]:
        return
    print_head(console, "Mechanisms, most probable first")
    by_id = {each["id"]: each for each in document["mechanisms"]}
    for curve in document["curves"][:MOST_CURVES]:
        if curve["probability"] < LEAST and curve is not document["curves"][0]:
            break
        _curve(console, curve, [by_id[name] for name in curve["mechanisms"]])


def _curve(console: Console, curve: Document, members: Sequence[Document]) -> None:
    share = curve["probability"]
    start = Text.assemble(f"{percent(share):>5} ", (bar(share, console), "bar"), "  ")
    if len(members) == 1:
        print_line(console, Text.assemble(start, (members[0]["title"], "head"), _amounts(members[0])), 0, 20)
        return
    listed = [each for each in members if each["probability"] >= max(LEAST, 0.03 * share)][:MOST_OF_A_CURVE]
    title = CURVES.get(curve["curve"], curve["curve"])
    print_line(console, Text.assemble(start, (f"{title}; pairs cannot tell apart:", "head")), 0, 20)
    for each in listed or members[:1]:
        print_line(console, f"{percent(each['probability']):>5}  {each['title']}{_amounts(each)}", 20, 7)
    rest = len(members) - len(listed or members[:1])
    if rest:
        print_line(console, Text(f"and {rest} less probable", "quiet"), 27)


def _amounts(mechanism: Document) -> str:
    figures = [
        f"{name} {_figure(each)}" for name, each in mechanism["parameters"].items() if name != "upper range value"
    ]
    means = f" ({mechanism['means']})" if mechanism["means"] else ""
    return means + (f": {'; '.join(figures)}" if figures else "")


def _figure(parameter: Document) -> str:
    value, low, high, unit = (parameter[name] for name in ("value", "low", "high", "unit"))
    if high - low <= 1e-6 * abs(value):
        return f"{value:.5g} {unit}".strip()
    return f"{_with_limits(value, low, high)} {unit}".strip()


def _with_limits(value: float, low: float, high: float) -> str:
    """Return a figure and its limits with as many digits as the limits bear.

    >>> _with_limits(1.020144, 1.01919, 1.02109)
    '1.0201 (1.0192 to 1.0211)'
    """
    width = high - low
    decimals = min(8, max(0, 1 - math.floor(math.log10(width)))) if 0 < width < math.inf else 4
    value, low, high = (round(each, decimals) + 0.0 for each in (value, low, high))
    return f"{value:.{decimals}f} ({low:.{decimals}f} to {high:.{decimals}f})"


def _pairs(console: Console, document: Document) -> None:
    unit, pairs = document["unit"], document["pairs"]
    grid = Grid(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="quiet")
    columns = ["reference", "indicated", "deviation [%]", "U, 95 % [%]"]
    limited = any(pair["permissible_error"] is not None for pair in pairs)
    for column in ["", *columns, *(("limit [%]", "verdict") if limited else ())]:
        grid.add_column(Text(column), justify="right")
    apart = {each["pair"] for each in (document["fit"] or {"outliers": ()})["outliers"]}
    numbered = list(enumerate(pairs, 1))
    shown = numbered if len(pairs) <= MOST_PAIRS else [*numbered[: MOST_PAIRS // 2], *numbered[-MOST_PAIRS // 2 :]]
    shown += [each for each in numbered if each[0] in apart and each not in shown]
    for number, pair in sorted(shown, key=lambda each: each[0]):
        row = [f"{number}{'!' if number in apart else ''}", f"{pair['reference']:.5g}", f"{pair['indicated']:.5g}"]
        row += [_percent(pair["deviation"], "+.2f"), _percent(pair["expanded_uncertainty"], ".2f")]
        row += [_percent(pair["permissible_error"], ".2g"), pair["conformity"] or "-"] if limited else []
        grid.add_row(*map(Text, row))
    print_head(console, f"Pairs, flows in {unit}")
    console.print(Padding(grid, (0, 0, 0, 2), expand=False))
    if len(shown) < len(pairs):
        print_line(console, Text(f"and {len(pairs) - len(shown)} pairs between", "quiet"))


def _percent(share: float | None, form: str) -> str:
    return "-" if share is None else f"{100 * share:{form}}"


def _fit(console: Console, document: Document) -> None:
    fit, unit = document["fit"], document["unit"]
    if fit is None:
        return
    print_head(console, "Line (weighted by the uncertainties)" if fit["weighted"] else "Line")
    certain = "" if fit["zero"]["low"] is None else ", with limits of 95 %"
    print_line(console, f"zero {_limits(fit['zero'])} {unit}; gain {_limits(fit['gain'])}{certain}")
    if fit["residual_deviation"] is not None:
        print_line(console, f"scatter about the line {fit['residual_deviation']:.3g} {unit}")
    if fit["lack_of_fit"]:
        lack = fit["lack_of_fit"]
        word = "no straight line" if lack["shown"] else "nothing against a straight line"
        print_line(console, f"{word} (by the {lack['test']}, chance {_chance(lack['chance'])})")
    if fit["chance_without_difference"] is not None:
        chance = _chance(fit["chance_without_difference"])
        print_line(console, f"chance of such a line if there were no difference: {chance}")


def _limits(figure: Document) -> str:
    if figure["low"] is None:
        return f"{figure['value']:.5g}"
    return _with_limits(figure["value"], figure["low"], figure["high"])


def _chance(chance: float) -> str:
    return f"{100 * chance:.2g} %" if chance >= 1e-4 else "below 0.01 %"


def _evidence(console: Console, document: Document) -> None:
    evidence = document["evidence"]
    if evidence is None:
        return
    print_head(console, "Evidence of the readings alone (log marginal likelihood, amounts averaged out)")
    titles = {each["id"]: each["title"] for each in document["mechanisms"]}
    for which, figure in (("mechanism", "log_marginal_likelihood"), ("next", "log_marginal_likelihood_of_next")):
        print_line(console, f"{evidence[figure]:8.2f}  {titles[evidence[which]]}", 2, 10)
    print_line(console, f"Bayes factor of the first over the second: {_times(evidence['bayes_factor'])}")


def _times(factor: float) -> str:
    return f"{factor:.3g}" if factor < 1e4 else "above 10 000"


def _findings(console: Console, found: Sequence[Document]) -> None:
    if not found:
        return
    print_head(console, "What follows for the diagnosis")
    write(console, parts.findings((each["title"], each["present"], each["because"]) for each in found))


def _constant(console: Console, constant: Document | None) -> None:
    if constant is None:
        return
    print_head(console, "Flow constant")
    if "refused" in constant:
        print_line(console, constant["refused"])
        return
    line = (
        f"{constant['old']:g} × {constant['meter_factor']:.5f} = {constant['new']:.6g} ± "
        f"{constant['expanded_uncertainty']:.2g} (95 %, by the scatter; what all readings of the reference have in "
        "common comes on top)"
    )
    print_line(console, line)
