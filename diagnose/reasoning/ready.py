"""Engines ready to use: rule book, lexicon and meanings come from the cache."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.reasoning.engine import Engine
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.cache import keep, kept, kept_before, kept_rule_book, key_of, with_code

if TYPE_CHECKING:
    from diagnose.language.lexicon import Lexicon
    from diagnose.language.meaning import CauseMeaning

EXTRA = "With the extra `meaning` what a report means counts as well, in whatever words: see the README."
SWITCH = "DIAGNOSE_MEANING"
"""Variable of the environment: `off` leaves the meaning of reports out, as if the extra were not installed."""

_TOLD = "extra.told"


def load_engine(
    folder: Path, tell: Callable[[str], None] = lambda _: None, add: Callable[[str], None] = lambda _: None
) -> Engine:
    """Return the engine of the rule book in a folder; ``tell`` hears of what takes a while, ``add`` of what can wait.

    Raises ProblemsFound with all problems when the rule book has any, BadInput when there is no such folder.
    """
    key = key_of(folder)
    rule_book, digest = kept_rule_book(folder, key, tell)
    return Engine(rule_book, lambda: _lexicon(key, rule_book), lambda: _meaning(rule_book, tell, add), digest)


def _lexicon(key: str, rule_book: RuleBook) -> Lexicon:
    from diagnose import language
    from diagnose.language.lexicon import Lexicon, Tables

    code = sorted(Path(language.__path__[0]).rglob("*.py"))
    key = key and with_code(key, code)
    return Lexicon(rule_book, kept(key, "words", Tables, lambda: Tables.of(rule_book)).built)


def _meaning(rule_book: RuleBook, tell: Callable[[str], None], add: Callable[[str], None]) -> CauseMeaning | None:
    settings = rule_book.settings
    if not (settings.meaning_of_sentences or settings.meaning_of_report) or os.environ.get(SWITCH, "") == "off":
        return None
    from diagnose.language import meaning
    from diagnose.language.text_vectors import vectors_of

    if not meaning.is_installed():
        if kept_before(_TOLD, bool) is None:
            add(EXTRA)
            keep(_TOLD, True)
        return None
    return meaning.CauseMeaning.read(rule_book, lambda texts, encode: vectors_of(texts, encode, tell))
