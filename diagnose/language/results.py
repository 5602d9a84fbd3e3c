"""Results of understanding a text: statements with their quotes, clauses not understood, and doubts."""

from __future__ import annotations

from typing import Literal, NamedTuple

import msgspec

from diagnose.language.word_scores import WordScores
from diagnose.observations import FindingSeen, Measurement, Observation
from diagnose.rule_book.book import WayOfReading
from diagnose.rule_book.competence import Competence
from diagnose.rule_book.quantities import Reading

_SHORT = 60


class Statement(msgspec.Struct, frozen=True, kw_only=True):
    """A finding, present or absent, or a quantity with its value (SI) and usual unit, and the quote behind it.

    ``one_of_several`` marks one value of a quantity that can have several at once.
    """

    quote: str
    finding: str = ""
    present: bool | None = None
    quantity: str = ""
    value: Reading | str | None = None
    unit: str = ""
    one_of_several: bool = False

    @property
    def says(self) -> tuple[str, bool | None, Reading | str | None]:
        """What it says, in whatever words: of which finding or quantity, and what."""
        return (self.finding or self.quantity, self.present, self.value)


About = Literal["a flow meter", "several flow meters", "no flow meter", "seems solved", "nothing wrong told"]
"""What a report is about."""

Ending = Literal["closed", "said to be over", ""]
"""How a report ends: it asks to be closed, or somebody says that all is well again."""

Kind = Literal["understood", "to clear up", "not understood", "set aside"]
"""Set aside: greetings, headers, signatures, and marks that say nothing of a meter."""


class Part(NamedTuple):
    """A part of a report, what became of it, and of which findings and quantities it tells."""

    text: str
    kind: Kind
    of: tuple[str, ...] = ()


class PlantTold(NamedTuple):
    """A state of the plant and the value that somebody says it has."""

    state: str
    value: str


class PersonTold(NamedTuple):
    """Words in which somebody says what they may do, and what that is."""

    quote: str
    competence: Competence


class DangerInDoubt(NamedTuple):
    """Words that may tell of a danger, and which dangers it could be, the likeliest first."""

    quote: str
    findings: tuple[str, ...]


class Understanding(msgspec.Struct, frozen=True):
    """What a text says, in order; clauses not understood; doubts, as questions; evidence from its words as a whole.

    ``plant`` is how the plant stands by it, as far as that may be taken from words; ``dangers`` are words that may tell
    of a danger; ``disturbed`` is what somebody has changed already, ``persons`` what people say of themselves.
    ``reading`` is the whole text in parts, with what became of each; ``sentences`` are those that say
    something, as written; ``ending`` is how the text ends.
    """

    understood: tuple[Statement, ...]
    not_understood: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    worded: WordScores | None = None
    plant: tuple[PlantTold, ...] = ()
    disturbed: tuple[str, ...] = ()
    persons: tuple[PersonTold, ...] = ()
    dangers: tuple[DangerInDoubt, ...] = ()
    sentences: tuple[str, ...] = ()
    reading: tuple[Part, ...] = ()
    ending: Ending = ""

    def observations(self) -> tuple[Observation, ...]:
        """Return what was understood, as observations."""
        understood = [_observation(item) for item in self.understood if not item.one_of_several]
        words: dict[str, list[Statement]] = {}
        for item in self.understood:
            if item.one_of_several:
                words.setdefault(item.quantity, []).append(item)
        understood += [_several(items) for items in words.values()]
        return tuple(understood) if self.worded is None else (*understood, self.worded.evidence())


class Mention(NamedTuple):
    """A mention in a sentence: its first and last token, the statement or the doubt, and how specific the match is.

    ``names`` are the first and last tokens of each name of a quantity that has a figure; ``plant`` is how the plant
    stands by it, in the words of ``quote``, ``disturbed`` what was changed already, ``person`` what somebody says that
    they may do.
    """

    first: int
    last: int
    statement: Statement | None = None
    doubt: str = ""
    specificity: tuple[int, int] = (1, 0)
    names: tuple[tuple[int, int], ...] = ()
    plant: PlantTold | None = None
    disturbed: str = ""
    person: PersonTold | None = None
    quote: str = ""


def _observation(item: Statement) -> Observation:
    if item.finding:
        heard: WayOfReading = "affirmed" if item.present else "denied"
        return FindingSeen(finding=item.finding, present=bool(item.present), quote=item.quote, heard=heard)
    value = 0.0 if item.value is None else item.value
    return Measurement(quantity=item.quantity, value=value, quote=item.quote, heard=True)


def _several(items: list[Statement]) -> Observation:
    values = tuple(dict.fromkeys(str(item.value) for item in items))
    quotes = dict.fromkeys(item.quote for item in items)
    return Measurement(quantity=items[0].quantity, value=values, quote=", ".join(quotes), heard=True)


def shortened(text: str, length: int = 2 * _SHORT) -> str:
    """Return a text on one line, truncated to ``length`` characters."""
    text = " ".join(text.split())
    return text if len(text) <= length else text[: length - 1] + "…"


def is_short(text: str) -> bool:
    """Check whether a clause is short enough to quote in full."""
    return len(text) <= _SHORT
