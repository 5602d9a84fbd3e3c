"""What the words of a heading mean: those of a rule book (``headings/``), or the shipped ones where it has none."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from fnmatch import fnmatchcase
from functools import cache, cached_property
from typing import TypeAlias

import msgspec

from diagnose.bounded import files_below
from diagnose.errors import ProblemsFound
from diagnose.rule_book.patterns import Heading, HeadingMeaning
from diagnose.shipped import shipped_folder

Phrase: TypeAlias = tuple[str, ...]
Meanings: TypeAlias = frozenset[HeadingMeaning]

_WORD = re.compile(r"[^\W_]+|±|\+/?-")
_TAG = re.compile(r"(?<![^\W_])[A-Z]{1,5}[-_ .]?\d{2,6}[A-Z]{0,2}(?![^\W_])")
"""A tag (`FT-101`, `FIQ 2003A`): its letters are no words."""

_JOINED = re.compile(r"(?<=[a-zäöü])(?=[A-ZÄÖÜ])")
"""Where one word ends and the next begins in `flowRef`."""


class HeadingWords:
    """The words that may stand in a heading, and what each says; without any, the shipped ones once they are needed."""

    def __init__(self, headings: Iterable[Heading] = ()) -> None:
        self._headings = tuple(headings)

    @cached_property
    def _index(self) -> tuple[Mapping[Phrase, Meanings], Sequence[tuple[str, Meanings]], int]:
        """Phrases and patterns with what they say, and the most words of a phrase."""
        phrases: dict[Phrase, Meanings] = {}
        patterns: list[tuple[str, Meanings]] = []
        for each in self._headings or shipped_headings():
            for word in each.words:
                if "*" in word:
                    patterns.append((word.casefold(), frozenset(each.means)))
                else:
                    parts = _parts(word)
                    phrases[parts] = phrases.get(parts, frozenset()) | frozenset(each.means)
        return phrases, patterns, max(map(len, phrases), default=1)

    def whole(self, text: str) -> Meanings:
        """Return what a heading says that is one word or phrase and nothing else.

        >>> sorted(HeadingWords().whole("Flow rate")), sorted(HeadingWords().whole("Flow rate of old meter"))
        (['flow'], [])
        """
        parts = _parts(text)
        phrases, patterns, _ = self._index
        found = phrases.get(parts, frozenset())
        if not found and len(parts) == 1:
            found = next((means for pattern, means in patterns if fnmatchcase(parts[0], pattern)), found)
        return found

    def meanings(self, text: str, least: int = 1) -> Meanings:
        """Return what the words of a heading say, of several that overlap the longest; single words from ``least``
        letters on.

        >>> sorted(HeadingWords().meanings("Reference meter, as found"))
        ['as-found', 'display', 'indicated', 'reference']
        >>> sorted(HeadingWords().meanings("FIQ 2003A")), sorted(HeadingWords().meanings("Wasserzähler Endstand"))
        ([], ['display', 'indicated', 'stop'])
        """
        parts = _parts(_TAG.sub(" ", text))
        found: set[HeadingMeaning] = set()
        at = 0
        while at < len(parts):
            phrases, patterns, longest = self._index
            short = len(parts[at]) < least
            size = next((n for n in range(longest, int(short), -1) if parts[at : at + n] in phrases), 0)
            own = next((means for pattern, means in patterns if fnmatchcase(parts[at], pattern)), frozenset())
            found |= phrases[parts[at : at + size]] if size else own
            at += size or 1
        return frozenset(found)


def _parts(text: str) -> Phrase:
    """Return the words of a text; of one letter alone the case is kept (`U` and `u` are two kinds of uncertainty)."""
    words = _WORD.findall(_JOINED.sub(" ", text))
    return tuple(word if len(word) == 1 else word.casefold() for word in words)


@cache
def shipped_headings() -> tuple[Heading, ...]:
    """Return the headings of the shipped rule book.

    Raises ProblemsFound when its files cannot be read.
    """
    from diagnose.yaml_places import read_document  # loads YAML, which nobody waits for whose rule book has headings

    found: list[Heading] = []
    for path in files_below(shipped_folder("rules") / "headings", "*.yaml"):
        document = read_document(path, path.name)
        if document.problems:
            raise ProblemsFound(document.problems)
        found += msgspec.convert(document.data["entries"], list[Heading])
    return tuple(found)
