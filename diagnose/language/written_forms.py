"""Forms in which people write a quantity without its unit: ``DN #``, ``address #``, ``# D upstream``."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import NamedTuple

from diagnose.language.tokens import Vocabulary, tokenize
from diagnose.rule_book.quantities import Quantity

_FIGURE = "#"


class WrittenForm(NamedTuple):
    """The stems before a figure, last first, those after it, and the quantity that the figure then gives."""

    before: tuple[str, ...]
    behind: tuple[str, ...]
    quantity: str


WrittenForms = dict[str, tuple[WrittenForm, ...]]
"""Forms by the stem that stands next to the figure."""


def written_forms(quantities: Iterable[Quantity], vocabulary: Vocabulary) -> WrittenForms:
    """Return the forms of all quantities, the longest first."""
    found: defaultdict[str, list[WrittenForm]] = defaultdict(list)
    for quantity in quantities:
        for text in quantity.written:
            before, _, behind = text.lower().partition(_FIGURE)
            form = WrittenForm(_stems(before, vocabulary)[::-1], _stems(behind, vocabulary), quantity.id)
            for beside in (form.before or form.behind)[:1]:
                found[beside].append(form)
    return {stem: tuple(sorted(forms, key=length, reverse=True)) for stem, forms in found.items()}


def _stems(text: str, vocabulary: Vocabulary) -> tuple[str, ...]:
    return tuple(token.stem for token in tokenize(text, vocabulary) if token.kind != "stop" or token.text == "at")


def length(form: WrittenForm) -> int:
    """Return how many words a form has besides its figure."""
    return len(form.before) + len(form.behind)
