"""Engines for tests: of the rule book that the project ships, made once, and of invented ones."""

from __future__ import annotations

from functools import lru_cache

from diagnose.reasoning.engine import Engine
from diagnose.rule_book.load import load_folder
from diagnose.shipped import shipped_folder


@lru_cache(maxsize=1)
def real_engine() -> Engine:
    """Return the engine of the rule book that the project ships."""
    return Engine(load_folder(shipped_folder("rules")))
