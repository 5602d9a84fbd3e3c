"""Tokens: stemming, token kinds (stop words, negations, …) and spelling correction."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from itertools import pairwise
from types import MappingProxyType
from typing import Literal, NamedTuple

import msgspec
from rapidfuzz.distance import OSA

from diagnose.language.dictionary import is_english
from diagnose.language.english import all_well, grammar, negation, speculation, temporality, word_forms

Kind = Literal["word", "light", "stop", "not", "figure", "link", "comma", "break"]
NOT = "not"
NOT_ALWAYS = "not always"
ZERO = "zero"
THAN = "than"
POWER_OF_TEN = "1e+9"
"""Stem of every number in exponential notation."""
_TOKEN = re.compile(
    r"\bb4\b|\bw/o?(?=\s)|\d+(?:[.,]\d+)*(?:[eE](?:[-+]\d+|\d\d+))?|[^\W\d_]+(?:'[^\W\d_]+)*|[,()|&%:]|(?<=\s)[-–—]+>?(?=\s)|=>|->"
)
_RANGE_GOES_ON = re.compile(r"\s?(?:[-–—]|\.\.+|…|to\b)\s?\d")
_VOWEL = re.compile(r"[aeiouy]")
_AMERICAN = re.compile(r"(?<=[a-z]{3})iz(e[ds]?|ers?|ing|ations?)$")
_SHORTEST_CORRECTED = 4
_LONG_WORD = 10


class Token(NamedTuple):
    """A word or punctuation mark: its text in lower case, stem and kind, and its start and end in the text."""

    text: str
    stem: str
    kind: Kind
    start: int
    end: int


@lru_cache(maxsize=20_000)
def stem(word: str) -> str:
    """Return the stem shared by the inflected forms of a word; it need not be a word itself.

    >>> len({stem(word) for word in ("reads", "reading", "read")}), stem("went") == stem("goes")
    (1, True)
    >>> stem("tripping"), stem("varies") == stem("varying"), stem("supply"), stem("fused") == stem("fuse")
    ('trip', True, 'supply', False)
    """
    word = word_forms.IRREGULAR_FORMS.get(word, word)
    word = _AMERICAN.sub(r"is\1", word)
    if _strip_plural(word) in word_forms.UNSTEMMED_FORMS:
        return _strip_plural(word)
    word = word.removesuffix("'s").removesuffix("'")
    for cut in (_strip_plural, _strip_tense, _strip_suffix):
        word = cut(word)
    if len(word) > 3 and word.endswith("e"):
        word = word[:-1]
    return word[:-1] if len(word) > 3 and word[-1] == word[-2] and word[-1] not in "aeiou" else word


def _strip_plural(word: str) -> str:
    if len(word) > 4 and word.endswith("ies"):
        return word[:-3] + "y"
    if len(word) > 3 and word.endswith("s") and word[-2] not in "sui":
        return word[:-1]
    return word


def _strip_tense(word: str) -> str:
    if word.endswith("ied") and len(word) > 4:
        return word[:-3] + "y"
    for suffix in ("ing", "ed"):
        rest = word.removesuffix(suffix)
        if rest != word and len(rest) > 1 and _VOWEL.search(rest) and not word.endswith("eed"):
            return rest
    return word


def _strip_suffix(word: str) -> str:
    if word.endswith("ment") and len(word) > 7:
        return word[:-4]
    if word.endswith("ically"):
        return word[:-4]
    if word.endswith("ly") and len(word) > 5 and not word.endswith("ply"):
        return word[:-2]
    return word


def token_kind(word: str) -> Kind:
    """Return the kind of a token, regardless of context.

    >>> [token_kind(word) for word in ("the", "dosn't", "flow", "but", "and", ",")]
    ['stop', 'not', 'word', 'break', 'link', 'comma']
    """
    if word in negation.NEGATIONS or negation.NEGATED_VERBS.fullmatch(word):
        return "not"
    if word in grammar.CLAUSE_BREAKS or word[0] in "-–—=>":
        return "break"
    if word in grammar.COORDINATORS:
        return "link"
    if word in grammar.STOP_WORDS or word == ":":
        return "stop"
    if word in grammar.LIGHT_WORDS or word in grammar.NUMBER_WORDS:
        return "light"
    return "comma" if word in ",()|" else "word"


class Spellings(msgspec.Struct, frozen=True):
    """All of a vocabulary that takes long to work out, as the cache keeps it."""

    surface_forms: dict[str, str]
    synonyms: dict[str, str]
    alike: dict[str, list[str]]
    """Words that a misspelt one may be meant for, by initial and length (``d7``)."""

    @classmethod
    def of(cls, words: Iterable[str], same: Mapping[str, Sequence[str]]) -> Spellings:
        """Return the spellings of the words of some texts; ``same`` are other words for one."""
        known = sorted({part for text in words for part in _TOKEN.findall(text.lower())})
        surface_forms = {word: stem(word) for word in known if word[0].isalpha()}
        # A stem that is cut again would become the stem of another word (*puls* of *pulled*).
        lasting = {each for each in surface_forms.values() if stem(each) == each}
        alike: dict[str, list[str]] = defaultdict(list)
        for surface in sorted({*surface_forms, *lasting, *_long_negations()}):
            if len(surface) >= _SHORTEST_CORRECTED:
                alike[f"{surface[0]}{len(surface)}"].append(surface)
        synonyms = {stem(other): word for word, others in same.items() for other in others}
        return cls(surface_forms, synonyms, alike)


class Vocabulary:
    """The words of the rule book, used to correct misspellings and split compounds in a text."""

    def __init__(
        self,
        words: Iterable[str],
        same: Mapping[str, Sequence[str]] = MappingProxyType({}),
        spellings: Spellings | None = None,
    ) -> None:
        """Take the words of some texts, or what was worked out of them before."""
        self.spellings = spellings or Spellings.of(words, same)
        self._surface_forms = self.spellings.surface_forms
        self._synonyms = self.spellings.synonyms
        self._stems = frozenset(self._surface_forms.values())
        self._corrected: dict[str, tuple[str, ...]] = {}

    def is_known(self, word: str) -> bool:
        """Check whether a word needs no correction: some form of a rule-book word or a word of everyday English."""
        return self._is_of_the_trade(word) or is_english(word)

    def _is_of_the_trade(self, word: str) -> bool:
        return (
            token_kind(word) != "word"
            or word in self._surface_forms
            or stem(word) in self._stems
            or word in all_well.OK_WORDS
            or stem(word) in self._synonyms
        )

    def corrected(self, word: str) -> tuple[str, ...]:
        """Return the corrected word: itself, the two parts of a compound, the right spelling, or a synonym.

        >>> Vocabulary(["display", "flow meter", "loop"]).corrected("flowmeters")
        ('flow', 'meters')
        >>> [Vocabulary(["display", "flow", "loop"]).corrected(word)[0] for word in ("dispaly", "look", "low")]
        ['display', 'look', 'low']
        """
        found = self._corrected.get(word)
        if found is None:
            if len(self._corrected) > 50_000:
                self._corrected.clear()
            found = tuple(self._synonyms.get(stem(part), part) for part in self._correct(word))
            self._corrected[word] = found
        return found

    def _correct(self, word: str) -> tuple[str, ...]:
        if len(word) < _SHORTEST_CORRECTED or len(word) > 30 or self._is_plain(word):
            return (word,)
        parts = self._parts(word)
        if not parts and self._is_of_the_trade(word):
            return (word,)
        nearest = parts or self._nearest(word) or self._nearest(stem(word))
        if not nearest or is_english(word):
            return (word,)
        return nearest if isinstance(nearest, tuple) else (nearest,)

    def _parts(self, word: str) -> tuple[str, str] | None:
        """Return the two words of the vocabulary that a compound is made of, if it is (``flowmeter``)."""
        for cut in range(4, len(word) - 2):
            first, second = word[:cut], word[cut:]
            if (
                first in self._surface_forms
                and stem(second) in self._stems
                and second not in grammar.NON_COMPOUND_ENDINGS
            ):
                return (first, second)
        return None

    def _is_plain(self, word: str) -> bool:
        return token_kind(word) != "word" or word in word_forms.IRREGULAR_FORMS or word in word_forms.UNSTEMMED_FORMS

    def _nearest(self, word: str) -> str | None:
        """Return the nearest word of the vocabulary within one typing error (two for long words), if any.

        The first letter must be right. In words of four letters only transpositions are corrected, since too many
        short words differ by a single letter.
        """
        if len(word) < _SHORTEST_CORRECTED:
            return None
        allowed = 2 if len(word) >= _LONG_WORD else 1
        best: tuple[int, str] | None = None
        for length in range(len(word) - allowed, len(word) + allowed + 1):
            for candidate in self.spellings.alike.get(f"{word[0]}{length}", ()):
                distance = OSA.distance(word, candidate, score_cutoff=allowed)
                if distance > allowed or (best is not None and (distance, candidate) >= best):
                    continue
                if max(len(word), length) > 4 or sorted(word) == sorted(candidate):
                    best = (distance, candidate)
        return best[1] if best else None


def _long_negations() -> list[str]:
    return [word for word in negation.NEGATIONS if len(word) > 4]


def tokenize(text: str, vocabulary: Vocabulary | None = None, start: int = 0, end: int | None = None) -> list[Token]:
    """Return the tokens of a stretch of text; every form of negation has the stem ``not``.

    >>> [word.stem for word in tokenize("It doesn't react, fails to start")]
    ['it', 'not', 'react', ',', 'not', 'to', 'start']
    """
    found: list[Token] = []
    for match in _TOKEN.finditer(text, start, len(text) if end is None else end):
        raw = match[0].lower()
        if raw == "000" and _is_group_of_digits(text, match):
            found.append(Token(raw, raw, "word", match.start(), match.end()))
            continue
        if (raw == "0" and _RANGE_GOES_ON.match(text, match.end())) or (raw == "00" and _is_of_clock(text, match)):
            # The lower end of a range is not a reading of zero, nor are the minutes of a full hour.
            found.append(Token(raw, raw, "word", match.start(), match.end()))
            continue
        parts = (raw,) if vocabulary is None or not raw[0].isalpha() else vocabulary.corrected(raw)
        found.extend(_token(part, match.start(), match.end()) for part in parts)
    return _with_word_pairs(_with_idioms(found), text)


def _is_group_of_digits(text: str, match: re.Match[str]) -> bool:
    """Check whether three zeros belong to the digits before them (``61 000``)."""
    before = text[max(0, match.start() - 2) : match.start()]
    return before[:1].isdigit() and before[1:] == " "


def _is_of_clock(text: str, match: re.Match[str]) -> bool:
    """Check whether a double zero is part of a time of day (``22:00``, ``00:15``)."""
    return text[match.start() - 1 : match.start()] == ":" or text[match.end() : match.end() + 1] == ":"


def _token(text: str, start: int, end: int) -> Token:
    return Token(*_analysed(text), start, end)


@lru_cache(maxsize=20_000)
def _analysed(text: str) -> tuple[str, str, Kind]:
    """Return the text, stem and kind of a token."""
    if "e" in text and text[0].isdigit():
        return text, POWER_OF_TEN, "word"
    if text[0].isdigit():
        # `0` and `0.0` are how people write zero.
        return text, text.replace(",", ".") if text.strip("0.,") else ZERO, "word"
    text = word_forms.SHORTHAND.get(text, text)
    kind = token_kind(text)
    if kind == "not":
        return text, NOT, kind
    return text, stem(text) if text[0].isalpha() else text, kind


_IDIOM_STARTS = {idiom[0] for idiom in word_forms.IDIOMS}


def _with_idioms(tokens: list[Token]) -> list[Token]:
    """Replace idioms by a single token (``now and then``)."""
    if not any(token.text in _IDIOM_STARTS for token in tokens):
        return tokens
    result: list[Token] = []
    at = 0
    while at < len(tokens):
        length, meaning = _idiom(tokens, at)
        token = tokens[at]
        result.append(_token(meaning, token.start, tokens[at + length - 1].end) if meaning else token)
        at += length
    return result


def _idiom(tokens: Sequence[Token], at: int) -> tuple[int, str]:
    if tokens[at].text in _IDIOM_STARTS:
        for idiom, meaning in word_forms.IDIOMS.items():
            if tuple(token.text for token in tokens[at : at + len(idiom)]) == idiom:
                return len(idiom), meaning
    return 1, ""


def _with_particles(tokens: Sequence[Token]) -> list[Token]:
    """Return tokens in which *back* that only tells of a return, and the *over* of *all over*, mean nothing else."""
    result = list(tokens)
    for at, (token, following) in enumerate(pairwise(tokens)):
        if token.text == "all" and following.text == "over":
            result[at + 1] = following._replace(stem="everywhere")
        elif following.text == "back" and token.text in grammar.COPULA:
            result[at + 1] = following._replace(stem="returned")
        elif token.text == "back" and (following.text in grammar.AFTER_RETURN or _is_value(tokens[at + 1 : at + 3])):
            result[at] = token._replace(stem="returned")
    return result


def _is_value(tokens: Sequence[Token]) -> bool:
    """Check whether tokens say at which value something is (``at 410``)."""
    return [token.text for token in tokens[:1]] == ["at"] and any(token.text[0].isdigit() for token in tokens[1:])


_ABOVE = stem("above")


def _with_word_pairs(tokens: Sequence[Token], text: str) -> list[Token]:
    """Resolve kinds that depend on the next token: ``fails to`` is a negation, ``no. 5`` is not."""
    result = _with_particles(tokens)
    for at, (token, following) in enumerate(pairwise(tokens)):
        ceases = token.stem in negation.CESSATION_STEMS and following.text.endswith("ing")
        if ceases or (token.stem, following.text) in negation.NEGATION_PAIRS:
            result[at] = token._replace(stem=NOT, kind="not")
        elif token.text in negation.APPROXIMATE_NEGATIONS and (
            following.text[0].isdigit() or following.text in grammar.NUMBER_WORDS | {"one"}
        ):
            result[at] = token._replace(kind="light", stem=token.text)
        elif token.kind == "not" and following.text in negation.ALWAYS_WORDS:
            result[at] = token._replace(stem=NOT_ALWAYS, kind="light")
        elif _is_pseudo_negation(token, following, text):
            result[at] = token._replace(stem="no", kind="stop")
        elif following.text[0].isdigit() and text[token.start : token.end].lower() in grammar.NUMBER_SIGNS_IN_FULL:
            # `Sump number 4` is a name, whatever a number may be elsewhere.
            result[at] = token._replace(text="number", stem="number", kind="stop")
        elif token.text == "over" and following.text[0].isdigit():
            result[at] = token._replace(stem=_ABOVE)
        elif token.text == "over" and _is_time_span(tokens[at + 1 : at + 6]) and not _rolls(tokens[:at]):
            result[at] = token._replace(stem="during")
        elif following.text == "read" and token.text in grammar.HUMAN_SUBJECTS:
            result[at + 1] = following._replace(stem="read")
        elif following.text == "as" and token.text in grammar.COMPARISON_WORDS:
            result[at + 1] = Token(THAN, THAN, "link", following.start, following.end)
    return result


def _rolls(before: Sequence[Token]) -> bool:
    """Check whether *over* belongs to the verb before it (``rolled over last night``)."""
    return any(token.stem in temporality.ROLLING for token in before[-1:])


def _is_time_span(tokens: Sequence[Token]) -> bool:
    """Check whether tokens begin with a span of time, as after *over* (``over the last few weeks``)."""
    for token in tokens:
        if token.text in temporality.TIME_UNITS:
            return True
        if not (
            token.text in temporality.TIME_SPAN_WORDS or token.text in grammar.NUMBER_WORDS or token.text[0].isdigit()
        ):
            return False
    return False


def _is_pseudo_negation(token: Token, following: Token, text: str) -> bool:
    """Check for a pseudo-negation: ``no`` short for number, ``not only``, ``no idea why``."""
    if token.text == "no" and following.text[0].isdigit():
        return text[token.end : token.end + 1] == "."
    looked_up_later = (NOT, following.text) in speculation.HEDGE_PAIRS
    return token.kind == "not" and following.text in negation.PSEUDO_NEGATIONS and not looked_up_later
