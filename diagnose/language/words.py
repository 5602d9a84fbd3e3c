"""Words: their stems, what part they play, and what a misspelt one was meant to be."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from itertools import pairwise
from types import MappingProxyType
from typing import Literal, NamedTuple

from rapidfuzz.distance import OSA

from diagnose.language import english
from diagnose.language.ordinary import COMMON

Kind = Literal["word", "light", "stop", "not", "figure", "link", "comma", "break"]
NOT = "not"
NOT_ALWAYS = "not always"
ZERO = "zero"
THAN = "than"
POWER_OF_TEN = "1e+9"
"""Stem of any number written with a power of ten."""
TOKEN = re.compile(
    r"\bb4\b|\bw/o?(?=\s)|\d+(?:[.,]\d+)*(?:[eE](?:[-+]\d+|\d\d+))?|[^\W\d_]+(?:'[^\W\d_]+)*|[,()|&%:]|(?<=\s)[-–—]+>?(?=\s)|=>|->"
)
_RANGE_GOES_ON = re.compile(r"\s?(?:[-–—]|\.\.+|…|to\b)\s?\d")
_VOWEL = re.compile(r"[aeiouy]")
_AMERICAN = re.compile(r"(?<=[a-z]{3})iz(e[ds]?|ers?|ing|ations?)$")
_LETTERS_SAFE_TO_MEND = 4
_LONG_WORD = 10


class Word(NamedTuple):
    """A word or a mark in a text: as written in lower case, its stem, the part it plays, and where it stands."""

    text: str
    stem: str
    kind: Kind
    start: int
    end: int


@lru_cache(maxsize=20_000)
def stem(word: str) -> str:
    """Return what the forms of a word have in common; it need not be a word itself.

    >>> len({stem(word) for word in ("reads", "reading", "read")}), stem("went") == stem("goes")
    (1, True)
    >>> stem("tripping"), stem("varies") == stem("varying"), stem("supply"), stem("fused") == stem("fuse")
    ('trip', True, 'supply', False)
    """
    word = english.IRREGULAR.get(word, word)
    word = _AMERICAN.sub(r"is\1", word)
    if _without_plural(word) in english.KEPT_FORMS:
        return _without_plural(word)
    word = word.removesuffix("'s").removesuffix("'")
    for cut in (_without_plural, _without_tense, _without_ending):
        word = cut(word)
    if len(word) > 3 and word.endswith("e"):
        word = word[:-1]
    return word[:-1] if len(word) > 3 and word[-1] == word[-2] and word[-1] not in "aeiou" else word


def _without_plural(word: str) -> str:
    if len(word) > 4 and word.endswith("ies"):
        return word[:-3] + "y"
    if len(word) > 3 and word.endswith("s") and word[-2] not in "sui":
        return word[:-1]
    return word


def _without_tense(word: str) -> str:
    if word.endswith("ied") and len(word) > 4:
        return word[:-3] + "y"
    for suffix in ("ing", "ed"):
        rest = word.removesuffix(suffix)
        if rest != word and len(rest) > 1 and _VOWEL.search(rest) and not word.endswith("eed"):
            return rest
    return word


def _without_ending(word: str) -> str:
    if word.endswith("ment") and len(word) > 7:
        return word[:-4]
    if word.endswith("ically"):
        return word[:-4]
    if word.endswith("ly") and len(word) > 5 and not word.endswith("ply"):
        return word[:-2]
    return word


def kind_of(word: str) -> Kind:
    """Return the part that a word plays, by itself.

    >>> [kind_of(word) for word in ("the", "dosn't", "flow", "but", "and", ",")]
    ['stop', 'not', 'word', 'break', 'link', 'comma']
    """
    if word in english.NEGATIONS or english.NOT_FORMS.fullmatch(word):
        return "not"
    if word in english.BREAKS or word[0] in "-–—=>":
        return "break"
    if word in english.LINKS:
        return "link"
    if word in english.STOP or word == ":":
        return "stop"
    if word in english.LIGHT or word in english.NUMBERS:
        return "light"
    return "comma" if word in ",()|" else "word"


class Vocabulary:
    """The words of the rule book, by which misspelt and compound words of a text are mended."""

    def __init__(self, words: Iterable[str], same: Mapping[str, Sequence[str]] = MappingProxyType({})) -> None:
        self._surfaces: dict[str, str] = {}
        self._same = {stem(other): word for word, others in same.items() for other in others}
        for word in sorted({part for text in words for part in TOKEN.findall(text.lower())}):
            if word[0].isalpha():
                self._surfaces.setdefault(word, stem(word))
        self._stems = frozenset(self._surfaces.values())
        self._ordinary = frozenset(stem(word) for word in COMMON)
        self._by_start: dict[tuple[str, int], list[str]] = defaultdict(list)
        for surface in sorted({*self._surfaces, *self._stems, *_long_negations()}):
            if len(surface) >= _LETTERS_SAFE_TO_MEND:
                self._by_start[surface[0], len(surface)].append(surface)
        self._mended: dict[str, tuple[str, ...]] = {}

    def knows(self, word: str) -> bool:
        """Tell whether a word needs no mending: a word of the rule book in some form, or an ordinary one."""
        return (
            kind_of(word) != "word"
            or word in self._surfaces
            or stem(word) in self._stems
            or word in COMMON
            or stem(word) in self._ordinary
            or word in english.OK_WORDS
            or stem(word) in self._same
        )

    def mended(self, word: str) -> tuple[str, ...]:
        """Return the word as it was meant: itself, two words of a compound, the word that was misspelt, or one for it.

        >>> Vocabulary(["display", "flow meter", "loop"]).mended("flowmeters")
        ('flow', 'meters')
        >>> [Vocabulary(["display", "flow", "loop"]).mended(word)[0] for word in ("dispaly", "look", "low")]
        ['display', 'look', 'low']
        """
        found = self._mended.get(word)
        if found is None:
            if len(self._mended) > 50_000:
                self._mended.clear()
            found = tuple(self._same.get(stem(part), part) for part in self._mend(word))
            self._mended[word] = found
        return found

    def _mend(self, word: str) -> tuple[str, ...]:
        if len(word) < _LETTERS_SAFE_TO_MEND or len(word) > 30 or self._is_plain(word):
            return (word,)
        for cut in range(4, len(word) - 2):
            second = word[cut:]
            if word[:cut] in self._surfaces and stem(second) in self._stems and second not in english.ENDINGS:
                return (word[:cut], second)
        if self.knows(word):
            return (word,)
        return (self._nearest(word) or self._nearest(stem(word)) or word,)

    def _is_plain(self, word: str) -> bool:
        return kind_of(word) != "word" or word in COMMON or word in english.IRREGULAR or word in english.KEPT_FORMS

    def _nearest(self, word: str) -> str | None:
        """Return the one word of the vocabulary that a slip of the finger away, if there is one.

        The first letter must be right; of words with four letters only two neighbours may have changed places, for
        too many short words differ by one letter.
        """
        if len(word) < _LETTERS_SAFE_TO_MEND:
            return None
        allowed = 2 if len(word) >= _LONG_WORD else 1
        best: tuple[int, str] | None = None
        for length in range(len(word) - allowed, len(word) + allowed + 1):
            for candidate in self._by_start.get((word[0], length), ()):
                distance = OSA.distance(word, candidate, score_cutoff=allowed)
                if distance > allowed or (best is not None and (distance, candidate) >= best):
                    continue
                if max(len(word), length) > 4 or sorted(word) == sorted(candidate):
                    best = (distance, candidate)
        return best[1] if best else None


def _long_negations() -> list[str]:
    return [word for word in english.NEGATIONS if len(word) > 4]


def tokens(text: str, vocabulary: Vocabulary | None = None, start: int = 0, end: int | None = None) -> list[Word]:
    """Return the words and marks of a stretch of text; negations of every form have the stem ``not``.

    >>> [word.stem for word in tokens("It doesn't react, fails to start")]
    ['it', 'not', 'react', ',', 'not', 'to', 'start']
    """
    found: list[Word] = []
    for match in TOKEN.finditer(text, start, len(text) if end is None else end):
        raw = match[0].lower()
        if raw == "0" and _RANGE_GOES_ON.match(text, match.end()):
            # The lower end of a range is not a zero that somebody reads.
            found.append(Word(raw, raw, "word", match.start(), match.end()))
            continue
        parts = (raw,) if vocabulary is None or not raw[0].isalpha() else vocabulary.mended(raw)
        found.extend(_word(part, match.start(), match.end()) for part in parts)
    return _with_pairs(_with_idioms(found), text)


def _word(text: str, start: int, end: int) -> Word:
    return Word(*_as_written(text), start, end)


@lru_cache(maxsize=20_000)
def _as_written(text: str) -> tuple[str, str, Kind]:
    """Return text, stem and kind of a word."""
    if "e" in text and text[0].isdigit():
        return text, POWER_OF_TEN, "word"
    if text[0].isdigit():
        # `0` and `0.0` are how people write zero.
        return text, text.replace(",", ".") if text.strip("0.,") else ZERO, "word"
    text = english.SHORTHAND.get(text, text)
    kind = kind_of(text)
    if kind == "not":
        return text, NOT, kind
    return text, stem(text) if text[0].isalpha() else text, kind


_IDIOM_STARTS = {words[0] for words in english.IDIOMS}


def _with_idioms(words: list[Word]) -> list[Word]:
    """Put one word in the place of those that only together mean something (``now and then``)."""
    if not any(word.text in _IDIOM_STARTS for word in words):
        return words
    result: list[Word] = []
    at = 0
    while at < len(words):
        length, meaning = _idiom(words, at)
        word = words[at]
        result.append(_word(meaning, word.start, words[at + length - 1].end) if meaning else word)
        at += length
    return result


def _idiom(words: Sequence[Word], at: int) -> tuple[int, str]:
    if words[at].text in _IDIOM_STARTS:
        for idiom, meaning in english.IDIOMS.items():
            if tuple(word.text for word in words[at : at + len(idiom)]) == idiom:
                return len(idiom), meaning
    return 1, ""


def _with_pairs(words: Sequence[Word], text: str) -> list[Word]:
    """Turn ``fails to`` into a negation, and ``no. 5`` into none."""
    result = list(words)
    for at, (word, following) in enumerate(pairwise(words)):
        gives_up = word.stem in english.GIVING_UP and following.text.endswith("ing")
        if gives_up or (word.stem, following.text) in english.NOT_PAIRS:
            result[at] = word._replace(stem=NOT, kind="not")
        elif word.text in english.HARDLY and (
            following.text[0].isdigit() or following.text in english.NUMBERS | {"one"}
        ):
            result[at] = word._replace(kind="light", stem=word.text)
        elif word.kind == "not" and following.text in english.ALWAYS:
            result[at] = word._replace(stem=NOT_ALWAYS, kind="light")
        elif _is_no_negation(word, following, text):
            result[at] = word._replace(stem="no", kind="stop")
        elif word.text == "over" and _is_span(words[at + 1 : at + 6]):
            result[at] = word._replace(stem="during")
        elif following.text == "read" and word.text in english.READERS:
            result[at + 1] = following._replace(stem="read")
        elif following.text == "as" and word.text in english.COMPARED:
            result[at + 1] = Word(THAN, THAN, "link", following.start, following.end)
    return result


def _is_span(words: Sequence[Word]) -> bool:
    """Tell whether words start with a span of time, as those behind *over* may (``over the last few weeks``)."""
    for word in words:
        if word.text in english.TIME_UNITS:
            return True
        if not (word.text in english.SPANS or word.text in english.NUMBERS or word.text[0].isdigit()):
            return False
    return False


def _is_no_negation(word: Word, following: Word, text: str) -> bool:
    """Tell whether ``no`` is short for number, or ``not`` belongs to the next word (``not only``, ``no idea why``)."""
    if word.text == "no" and following.text[0].isdigit():
        return text[word.end : word.end + 1] == "."
    looked_up_later = (NOT, following.text) in english.UNCERTAIN_PAIRS
    return word.kind == "not" and following.text in english.NOT_REALLY and not looked_up_later
