"""Drawing the parts of a rule book: a thin hand around hypothesis, or around plain luck where nothing is shrunk."""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from typing import Any, TypeVar

from hypothesis import strategies as st

from tests.drawn import texts

T = TypeVar("T")


_TURNING = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
"""Characters that turn the direction of writing."""
_LETTERS = st.text(
    st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp"), exclude_characters=_TURNING),
    min_size=1,
    max_size=12,
)  # fmt: skip


_RANGES = (0x20, 0x20, 0xC0, 0x370, 0x600, 0x905, 0x3041, 0x4E00, 0x1F600, 0x20000)
"""Where letters of several scripts begin."""


class Pen:
    """Draws numbers, words and choices; the first of several is what a failing example shrinks to."""

    def __init__(self, draw: st.DrawFn | random.Random) -> None:
        self._draw = draw

    def one(self, of: Sequence[T]) -> T:
        """Return one of these."""
        return of[0] if len(of) == 1 else of[self.whole(0, len(of) - 1)]

    def whole(self, least: int, most: int) -> int:
        """Return a whole number."""
        if isinstance(self._draw, random.Random):
            return self._draw.randint(least, most)
        return self._draw(st.integers(least, most))

    def seldom(self, one_in: int = 4) -> bool:
        """Tell whether something is so that is left out as a rule."""
        return self.whole(0, one_in - 1) == one_in - 1

    def some(self, of: Sequence[T], most: int = 3, least: int = 0) -> list[T]:
        """Return some of these, none of them twice, in any order."""
        left, taken = list(of), []
        for _ in range(min(len(left), self.whole(least, max(least, most)))):
            taken.append(left.pop(self.whole(0, len(left) - 1)))
        return taken

    def text(self) -> str:
        """Return a text of any kind; it says something."""
        kind = self.whole(0, 255)
        if kind < 120:
            return self.one(texts.PLAIN_TEXTS)
        if kind < 220:
            return self.one(texts.AWKWARD_TEXTS)
        return self._letters() if kind < 255 else self.one(texts.UNSEEN)

    def _letters(self) -> str:
        if isinstance(self._draw, random.Random):
            return "".join(
                chr(self._draw.choice(_RANGES) + self._draw.randint(0, 90)) for _ in range(self.whole(1, 12))
            )
        return self._draw(_LETTERS)

    def lines(self, most: int = 3, least: int = 1) -> list[str]:
        """Return some texts."""
        return [self.text() for _ in range(self.whole(least, most))]

    def phrases(self, most: int = 4, least: int = 0) -> list[str]:
        """Return some phrases as people use them."""
        return self.some(texts.PHRASES, most, least)

    def ids(self, most: int, least: int = 1, but: Iterable[str] = ()) -> list[str]:
        """Return some ids, none of them twice; plain ones as a rule, and seldom one of those that it must not be."""
        taken: list[str] = []
        for _ in range(self.whole(least, most)):
            name = self.one(texts.AWKWARD_IDS if self.seldom() else texts.PLAIN_IDS)
            if name not in taken and (name not in but or self.seldom(60)):
                taken.append(name)
        return taken or [f"n-{len(list(but))}"] * least

    def minutes(self) -> float:
        """Return minutes as somebody may write them."""
        return self.one((1, 5, 0.5, 30, 0, 240, 10_000))

    def put(self, entry: dict[str, Any], key: str, value: Any, one_in: int = 3) -> None:
        """Write something into an entry now and then, unless there is nothing to write."""
        if self.seldom(one_in) and value not in ([], {}, "", None):
            entry[key] = value
