"""A comparison document as a picture file: indicated against reference, and the deviations with their limits.

matplotlib is an extra of its own (``pip install 'diagnose[plots]'``) and loaded only here.
"""

from __future__ import annotations

from pathlib import Path
from textwrap import wrap
from typing import Any

from diagnose.documents.comparison_picture import deviations_shown
from diagnose.documents.comparison_types import ComparisonDocument
from diagnose.documents.plotting import empty_figure, new_figure, save_figure

_COLOURS = ("#0072b2", "#d55e00", "#009e73")
"""Colours that colour-blind people can tell apart too; every curve has a dash of its own as well."""
_DASHES = ("-", "--", "-.")

SIZE = (9.0, 5.4)
"""Inches."""

WIDTH = 100
"""Letters of a line of the heading."""


def save_plot(document: ComparisonDocument, path: Path) -> None:
    """Draw a comparison into a PNG, SVG or PDF file.

    Raises WrongUse for another kind of file, BadInput without matplotlib or when the file cannot be written.
    """
    figure = new_figure(path, SIZE)
    _draw(figure, document)
    save_figure(figure, path)


def drawn(document: ComparisonDocument) -> Any:
    """Return the picture of a comparison as a figure.

    Raises BadInput without matplotlib.
    """
    figure = empty_figure(SIZE)
    _draw(figure, document)
    return figure


def _draw(figure: Any, document: ComparisonDocument) -> None:
    figure.suptitle("\n".join(wrap(f"{document.verdict}: {document.because}", WIDTH)), fontsize="medium")
    left, right = figure.subplots(1, 2)
    _readings(left, document)
    _deviations(right, document)
    handles = {
        label: line for axes in (left, right) for line, label in zip(*axes.get_legend_handles_labels(), strict=True)
    }
    figure.legend(handles.values(), handles, loc="outside lower center", ncols=2, fontsize="small", frameon=False)


def _readings(axes: Any, document: ComparisonDocument) -> None:
    picture, unit, pairs = document.picture, document.unit, document.pairs
    flows = picture.flows
    axes.plot(flows, flows, color="0.7", linewidth=1, label="no difference")
    if picture.line:
        axes.plot(flows, picture.line, color="0.3", linewidth=1, linestyle=":", label="fitted line")
    for curve, colour, dash in zip(picture.curves, _COLOURS, _DASHES, strict=False):
        axes.plot(flows, curve.indicated, color=colour, linestyle=dash, linewidth=1.2, label=curve.title)
    shown = [pair.indicated for pair in pairs]
    axes.plot([pair.reference for pair in pairs], shown, "ko", markersize=5)
    axes.set_xlabel(f"reference [{unit}]")
    axes.set_ylabel(f"indicated [{unit}]")


def _deviations(axes: Any, document: ComparisonDocument) -> None:
    told = [(pair, 100 * pair.deviation) for pair in document.pairs if pair.deviation is not None]
    pairs, offs = [pair for pair, _ in told], [deviation for _, deviation in told]
    spreads = [100 * (pair.expanded_uncertainty or 0.0) for pair in pairs]
    flows = [pair.reference for pair in pairs]
    axes.axhline(0, color="0.7", linewidth=1)
    axes.errorbar(flows, offs, yerr=spreads, fmt="ko", markersize=5, capsize=2, label="readings, U (95 %)")
    _limits(axes, sorted((pair.reference, pair.permissible_error) for pair in pairs if pair.permissible_error))
    for curve, colour, dash in zip(document.picture.curves, _COLOURS, _DASHES, strict=False):
        drawn = [
            (flow, 100 * (shown - flow) / flow)
            for flow, shown in zip(document.picture.flows, curve.indicated, strict=True)
            if flow
        ]
        axes.plot(*zip(*drawn, strict=True), color=colour, linestyle=dash, linewidth=1.2)
    axes.set_ylim(*deviations_shown(document))
    axes.set_xlabel(f"reference [{document.unit}]")
    axes.set_ylabel("deviation [%]")


def _limits(axes: Any, limited: list[tuple[float, float]]) -> None:
    for sign, label in ((1, "permissible error"), (-1, None)):
        if limited:
            ends = [sign * 100 * limit for _, limit in limited]
            axes.step([flow for flow, _ in limited], ends, where="post", color="#cc0000", linewidth=1, label=label)
