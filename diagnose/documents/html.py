"""Blocks as HTML, for a page. All text in them is shown as it stands, never read as markup."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import singledispatch
from html import escape
from itertools import groupby
from typing import Any

from diagnose.documents.blocks import (
    Block,
    Bullets,
    Choice,
    Gap,
    Heading,
    Item,
    Line,
    Numbered,
    Ranking,
    Spans,
    Typing,
    percent,
)

_STRONG = ("head", "moved", "danger", "warning", "caution", "notice", "warning-text")


def to_html(blocks: Iterable[Block]) -> str:
    """Return blocks as HTML; answers on offer become buttons of the form that they stand in.

    >>> from diagnose.documents.blocks import line
    >>> print(to_html([Heading("A & B"), line("<b>"), Choice("1", "yes")]))
    <h2>A &amp; B</h2>
    <p>&lt;b&gt;</p>
    <div class="choices">
    <button name="typed" value="1">yes</button>
    </div>
    """
    parts: list[str] = []
    for chosen, group in groupby(blocks, key=lambda each: isinstance(each, Choice)):
        written = [_html(each) for each in group]
        parts += ['<div class="choices">', *written, "</div>"] if chosen else written
    return "\n".join(filter(None, parts))


def text_html(spans: Spans) -> str:
    """Return spans as HTML."""
    return "".join(
        f'<strong class="{style}">{escape(text)}</strong>'
        if style in _STRONG
        else f'<span class="{style}">{escape(text)}</span>'
        if style
        else escape(text)
        for text, style in spans
    )


@singledispatch
def _html(block: Any) -> str:
    raise TypeError(f"no HTML for a {type(block).__name__}")


@_html.register
def _(block: Heading) -> str:
    return f"<h2>{escape(block.text)}</h2>"


@_html.register
def _(block: Gap) -> str:
    return ""


@_html.register
def _(block: Typing) -> str:
    return ""


@_html.register
def _(block: Line) -> str:
    return f"<p>{text_html(block.spans)}</p>"


@_html.register
def _(block: Choice) -> str:
    return f'<button name="typed" value="{escape(block.key)}">{escape(block.text)}</button>'


@_html.register
def _(block: Bullets) -> str:
    return _list("ul", block.items)


@_html.register
def _(block: Numbered) -> str:
    return _list("ol", block.items)


@_html.register
def _(block: Ranking) -> str:
    tag = "ol" if block.numbered else "ul"
    places = "\n".join(
        f'<li><strong class="share">{percent(each.share)}</strong> {text_html(each.spans)}'
        f'<meter min="0" max="1" value="{each.share:.3f}" aria-hidden="true"></meter>{_below(each.below)}</li>'
        for each in block.places
    )
    return f'<{tag} class="ranking">\n{places}\n</{tag}>'


def _list(tag: str, items: Sequence[Item]) -> str:
    entries = "\n".join(
        f"<li>{text_html((each.mark, *each.spans) if each.mark and each.mark.text.strip() else each.spans)}"
        f"{_below(each.below)}</li>"
        for each in items
    )
    return f"<{tag}>\n{entries}\n</{tag}>"


def _below(blocks: tuple[Block, ...]) -> str:
    return f"\n{to_html(blocks)}" if blocks else ""
