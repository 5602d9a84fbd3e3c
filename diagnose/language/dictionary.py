"""Words that are right as they are: the spelling correction turns none of them into a word of the trade.

American spellings are those of the package ``pyspellchecker``; British ones are told by what they end in.
"""

from __future__ import annotations

import re
from collections.abc import Container
from functools import cache

from diagnose.language.english.lists import words

_BRITISH = (
    (re.compile(r"our(?=s$|ed$|ing$|less$|able$|ite$|$)"), "or"),
    (re.compile(r"(?<=[tb])re(?=s$|d$|$)"), "er"),
    (re.compile(r"(?<=ly)s(?=e|ing)"), "z"),
    (re.compile(r"(?<=i)s(?=e|ing|ation)"), "z"),
    (re.compile(r"ph(?=[iua])"), "f"),
    (re.compile(r"mme(?=s?$)"), "m"),
    (re.compile(r"(?<=[aeiou])ll(?=ed$|ing$|er$)"), "l"),
)
"""How British spellings end, and American ones."""
_BRITISH_WORDS = words("""
    kerb aluminium cheque sceptical mould moulded draught manoeuvre backwash backwashed backwashing electrolyser
""")


def is_english(word: str) -> bool:
    """Check whether a word in small letters is one of everyday English.

    >>> [is_english(word) for word in ("county", "fibre", "neighbours", "dispaly", "curent")]
    [True, True, True, False, False]
    """
    known = _american()
    return word in known or word in _BRITISH_WORDS or any(end.sub(new, word) in known for end, new in _BRITISH)


@cache
def _american() -> Container[str]:
    """Return the words of American English; reading them takes a moment, so that is done when a word is in doubt."""
    from spellchecker import SpellChecker

    known: Container[str] = SpellChecker(language="en", distance=1).word_frequency.dictionary.keys()
    return known
