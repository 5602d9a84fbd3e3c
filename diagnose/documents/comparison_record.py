"""The record of a comparison that somebody files: figures, decision, uncertainties, method, picture; HTML or Markdown.

Both are made by templates (``templates/``); in HTML whatever comes from a table is escaped.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from io import BytesIO, StringIO
from typing import Any

from diagnose.comparison.mechanisms_of_own_curve import NO_DIFFERENCE
from diagnose.documents.comparison import limits_of
from diagnose.documents.comparison_picture import print_picture
from diagnose.documents.comparison_types import ComparisonDocument, amounts_in
from diagnose.documents.markdown import escaped
from diagnose.documents.text import make_console
from diagnose.errors import BadInput, WrongUse

KINDS = {".html": "comparison.html", ".md": "comparison.md"}
"""Ending of the file → template."""

DECISIONS = {
    "agrees": "They agree.",
    "cannot tell": "These readings cannot tell.",
    "disagrees": "They disagree.",
}
LEAST = 0.01
"""Probability from which a curve or a cause stands in the record."""

LEAST_OF_A_CURVE = 0.02
"""Share of the probability of its curve from which a mechanism is named."""

WIDTH = 88
"""Letters of a line of the picture made of letters."""


def comparison_record(documents: Sequence[ComparisonDocument], kind: str, at: datetime) -> str:
    """Return the record of a comparison, or of those as found and as left, as a page of HTML, or as Markdown.

    In Markdown the picture is made of letters, so that it is there wherever the text is pasted; in HTML it is drawn.

    Raises WrongUse for another ``kind`` than ``.html`` and ``.md``.
    """
    if kind not in KINDS:
        raise WrongUse(f"--record: a record is {' or '.join(KINDS)}; name the file accordingly")
    from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape

    of_html = kind == ".html"
    environment = Environment(
        loader=PackageLoader("diagnose.documents"),
        autoescape=select_autoescape(["html"]),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters |= {
        "flow": lambda value: f"{value:.5g}",
        "percent": _percent,
        "share": lambda value: ">99 %" if value > 0.995 else f"{100 * value:.0f} %",
        "signed": lambda value: "–" if value is None else f"{value:+.2f}",
        "interval": limits_of,
        "cell": escaped if not of_html else str,
    }
    several = len(documents) > 1
    title = "Comparison of a flow meter"
    names = " and ".join(each.part for each in documents if each.part)
    return environment.get_template(KINDS[kind]).render(
        parts=[_fields(each, of_html) for each in documents],
        title=f"{title}, {names}" if names else title,
        made=at.strftime("%Y-%m-%d %H:%M %Z").strip(),
        level=(3 if several else 2) if of_html else "###" if several else "##",
    )


def _fields(document: ComparisonDocument, of_html: bool) -> dict[str, Any]:
    by_id = {each.id: each for each in document.mechanisms}
    curves = [each for each in document.curves if each.probability >= LEAST]
    picture = _picture(document) if of_html else None
    return {
        "document": document,
        "decision": DECISIONS[document.verdict],
        "curves": [
            (
                each.probability,
                each.common,
                [
                    by_id[name].title
                    for name in each.mechanisms
                    if by_id[name].probability >= LEAST_OF_A_CURVE * each.probability
                ],
            )
            for each in curves
        ],
        "differs": bool(document.curves) and document.curves[0].curve != NO_DIFFERENCE.draws,
        "causes": [each for each in document.causes if each.probability >= LEAST],
        "limited": any(each.permissible_error is not None for each in document.pairs),
        "normalised": any(each.normalised_error is not None for each in document.pairs),
        "amounts": amounts_in(document.unit).capitalize(),
        "picture": picture,
        "letters": "" if picture else _letters(document),
    }


def _letters(document: ComparisonDocument) -> str:
    """Return the picture made of letters."""
    page = StringIO()
    print_picture(make_console(file=page, width=WIDTH, color_system=None), document)
    return page.getvalue().strip("\n").replace("`", "'")


def _picture(document: ComparisonDocument) -> str | None:
    """Return the picture as SVG that stands in the page, or None where nothing can draw it."""
    from diagnose.documents.comparison_plot import drawn

    try:
        figure = drawn(document)
    except BadInput:
        return None
    made = BytesIO()
    figure.savefig(made, format="svg", metadata={"Date": None})
    svg = made.getvalue().decode("utf-8")
    return svg[svg.index("<svg") :]


def _percent(share: float | None) -> str:
    return "–" if share is None else f"{100 * share:+.2f}"
