"""Engines for tests: of the rule book that the project ships, made once, and of invented ones."""

from __future__ import annotations

from functools import lru_cache

from diagnose.language.meaning import CauseMeaning
from diagnose.language.text_vectors import vectors_of
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.load import load_folder
from diagnose.shipped import shipped_folder


@lru_cache(maxsize=1)
def real_engine() -> Engine:
    """Return the engine of the rule book that the project ships."""
    return Engine(load_folder(shipped_folder("rules")))


@lru_cache(maxsize=1)
def reading_engine() -> Engine:
    """Return that engine with the meaning of what people write, as the commands have it."""
    book = real_engine().rule_book
    return Engine(book, lambda: real_engine().lexicon, lambda: CauseMeaning.read(book, vectors_of))
