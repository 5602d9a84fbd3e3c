"""What is shown, as blocks that do not know where: a terminal, a ticket, a mail.

:mod:`diagnose.documents.parts` makes blocks; :mod:`diagnose.documents.text` writes them to a terminal and
:mod:`diagnose.documents.markdown` as Markdown. All text in them is shown as it stands, never read as markup.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple, TypeAlias

Style = Literal[
    "", "head", "quiet", "for", "against", "danger", "warning", "caution", "notice", "moved", "warning-text"
]
"""What a text is; terminals colour it, Markdown makes heads and signal words bold. Style alone never says anything."""


class Span(NamedTuple):
    """A piece of text in one style."""

    text: str
    style: Style = ""


Spans: TypeAlias = tuple[Span, ...]


def spans(*pieces: str | Span) -> Spans:
    """Return pieces as spans, without those that are empty.

    >>> spans("a ", Span("b", "head"), "")
    (Span(text='a ', style=''), Span(text='b', style='head'))
    """
    made = (Span(each) if isinstance(each, str) else each for each in pieces)
    return tuple(each for each in made if each.text)


@dataclass(frozen=True, slots=True)
class Heading:
    """The head of a part, set off by an empty line."""

    text: str


@dataclass(frozen=True, slots=True)
class Gap:
    """An empty line."""


@dataclass(frozen=True, slots=True)
class Line:
    """A paragraph; at a terminal ``indent`` letters in, its further lines ``hang`` letters further."""

    spans: Spans
    indent: int = 2
    hang: int = 2


@dataclass(frozen=True, slots=True)
class Item:
    """One entry of a list, and what goes below it (indents there count from its text).

    ``mark`` goes before it at a terminal: a bullet when None, nothing when empty.
    """

    spans: Spans
    mark: Span | None = None
    below: tuple[Block, ...] = ()


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list without numbers."""

    items: tuple[Item, ...]
    indent: int = 2


@dataclass(frozen=True, slots=True)
class Numbered:
    """A list with numbers from 1."""

    items: tuple[Item, ...]
    indent: int = 2


@dataclass(frozen=True, slots=True)
class Place:
    """One place of a ranking: a share between 0 and 1 (in per cent and as a bar), what has it, and what is below."""

    share: float
    spans: Spans
    below: tuple[Block, ...] = ()


@dataclass(frozen=True, slots=True)
class Ranking:
    """Places in order, with their numbers if ``numbered``; what is below them stands ``below_at`` letters in."""

    places: tuple[Place, ...]
    numbered: bool = False
    below_at: int = 10


@dataclass(frozen=True, slots=True)
class Choice:
    """An answer on offer: what is typed for it, and what it says. A page makes a button of it."""

    key: str
    text: str


@dataclass(frozen=True, slots=True)
class Typing:
    """How something is typed, for whoever has a keyboard; a page has buttons and fields in its place."""

    spans: Spans
    indent: int = 0


Block: TypeAlias = Heading | Gap | Line | Bullets | Numbered | Ranking | Choice | Typing


def line(*pieces: str | Span, indent: int = 2, hang: int = 2) -> Line:
    """Return a paragraph of these pieces."""
    return Line(spans(*pieces), indent, hang)


def item(*pieces: str | Span, mark: Span | None = None, below: tuple[Block, ...] = ()) -> Item:
    """Return an entry of a list of these pieces."""
    return Item(spans(*pieces), mark, below)


def percent(share: float) -> str:
    """Return a probability in whole per cent, without claiming certainty.

    >>> percent(0.4567), percent(0.9999), percent(0.0004)
    ('46 %', '>99 %', '<1 %')
    """
    if share >= 0.995:
        return ">99 %"
    return "<1 %" if share <= 0.005 else f"{share * 100:.0f} %"
