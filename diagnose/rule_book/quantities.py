"""What has a value: quantities, and the values they take."""

from __future__ import annotations

from collections.abc import Container
from typing import Literal, TypeAlias

import msgspec

from diagnose.bounded import LARGEST_FIGURE
from diagnose.terms import Term
from diagnose.units import show_short


class Limit(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A reading of which only one side is known: above (``>20 Mohm``, over range) or below (``<0.1 ohm``) a bound, SI.

    The bound itself does not belong to it; what varies continuously never stands exactly there, so ``≥`` says no less.
    """

    bound: float
    direction: Literal["above", "below"]


Reading: TypeAlias = float | Limit
"""What an instrument gave: a figure in SI units, or a limit."""

Value: TypeAlias = float | str | tuple[str, ...] | Limit
"""A figure in SI units, a word, several words, or a limit."""

AND_MORE = "…"
"""The last of several words where there may be others that nobody has told."""

DataSheet: TypeAlias = dict[str, Value]
"""Known fields of the data sheet; what is not there is unknown."""


class Calculation(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """How a quantity follows from others: a function of the calculations table and what goes in by name.

    Nothing is worked out while an input is unknown, but for those in ``may_be_unknown``: the function then takes its
    own default. ``or_else`` are quantities that stand in for an input that is unknown.
    """

    function: str
    inputs: dict[str, str]
    may_be_unknown: tuple[str, ...] = ()
    or_else: dict[str, str] = {}

    @property
    def sources(self) -> tuple[str, ...]:
        """All that it may go by: quantities, or figures that stand in the rule book."""
        return (*self.inputs.values(), *self.or_else.values())

    def source(self, name: str, values: Container[str]) -> str:
        """Return what an input is taken from where ``values`` are known."""
        source, other = self.inputs[name], self.or_else.get(name, "")
        return other if other in values and source not in values else source


class Quantity(Term, frozen=True, kw_only=True):
    """Something with a value: measured, calculated, a field of the data sheet, or a term of a calculation.

    ``unit`` is what people read and write; values inside the program are SI: ``si = value * si_factor + si_offset``.
    The limits of a term (``above``, ``at_least``, ``at_most``, SI) are what calculations cannot go beyond;
    ``plausible`` are those beyond which a value is asked about again. A quantity with ``where_to_find``
    belongs to the data sheet, and is asked for where a step hangs on it; one that is ``on_data_sheet`` may stand
    there as well, though a check finds it out. ``text`` is kept as it stands. One with ``choices`` has a word for its
    value; with ``several``, one or more words; ``choice_words`` are the phrases that people use for each. A word that
    is ``alone`` excludes the others (no output at all); with ``may_be_more``, who tells one word does not say that
    there are no others, so the value ends with :data:`AND_MORE`. ``written`` are forms with ``#`` for the figure where
    people leave the unit or the name out (``DN #``); with ``written_values`` (SI) only those figures are read so.
    ``not_with`` are words beside which its words and figures speak of something else (a beer *over a beer*).
    ``lower_end_of`` names the quantity with which it forms a range ("0 to 100"); ``range_words`` are names that the
    upper one has only beside a range (*nameplate 100-240 V*). ``tolerance`` (SI) and
    ``tolerance_share`` (of the value) say how far a reading, or a value calculated for it, may lie from the truth.
    ``column`` is the heading of its column where such readings stand side by side.
    ``disagreement`` names, for another quantity, the finding that the two differ: for readings told without a unit;
    ``larger`` and ``smaller`` the finding where this one is the larger or the smaller of the two.
    """

    several: bool = False
    choice_words: dict[str, tuple[str, ...]] = {}
    alone: tuple[str, ...] = ()
    may_be_more: bool = False
    written: tuple[str, ...] = ()
    written_values: tuple[float, ...] = ()
    not_with: tuple[str, ...] = ()
    lower_end_of: str = ""
    plausible: tuple[float, float] | None = None
    where_to_find: str = ""
    on_data_sheet: bool = False
    words: tuple[str, ...] = ()
    range_words: tuple[str, ...] = ()
    calculate: Calculation | None = None
    tolerance: float | None = None
    tolerance_share: float = 0.0
    disagreement: dict[str, str] = {}
    larger: dict[str, str] = {}
    smaller: dict[str, str] = {}
    column: str = ""
    si_factor: float = 1.0
    si_offset: float = 0.0

    @property
    def of_data_sheet(self) -> bool:
        """Whether it says how the meter is built or set, and so may stand on its data sheet."""
        return bool(self.where_to_find) or self.on_data_sheet

    def shown(self, value: Value) -> str:
        """Return a value (SI) as people read it, with the quantity's unit; above all that is plausible is over range.

        >>> coil = Quantity(id="coil", title="coil", unit="ohm", plausible=(0.0, 1e9))
        >>> coil.shown(85.0), coil.shown(Limit(2e7, "above")), coil.shown(Limit(1e9, "above"))
        ('85 ohm', 'above 20 Mohm', 'over range')
        """
        if isinstance(value, tuple):
            return ", ".join(value)
        if isinstance(value, str):
            return value
        if isinstance(value, Limit):
            return self._limit_shown(value)
        return show_short(value, self.unit, self.si_factor, self.si_offset)

    def _limit_shown(self, limit: Limit) -> str:
        beyond = self.plausible is not None and limit.direction == "above" and limit.bound >= self.plausible[1]
        return "over range" if beyond else f"{limit.direction} {self.shown(limit.bound)}"

    def limits_of(self, value: float) -> float:
        """Return how far (SI) a value may lie from the truth; zero when nothing is said."""
        return (self.tolerance or 0.0) + self.tolerance_share * abs(value)

    def plausible_range(self) -> str:
        """Return the plausible limits as people read them."""
        return f"{self.shown(self.plausible[0])} to {self.shown(self.plausible[1])}" if self.plausible else "any"

    def reads_plausible(self, value: float) -> bool:
        """Tell whether a value (SI) lies within the plausible limits, and is one that anybody can have measured."""
        least, greatest = self.plausible or (-LARGEST_FIGURE, LARGEST_FIGURE)
        return least <= value <= greatest
