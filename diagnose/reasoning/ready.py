"""Engines, ready to use."""

from __future__ import annotations

from pathlib import Path

from diagnose.reasoning.engine import Engine
from diagnose.rule_book.cache import load_rule_book


def load_engine(folder: Path) -> Engine:
    """Return the engine of the rule book in a folder.

    Raises ProblemsFound with all problems when the rule book has any, BadInput when there is no such folder.
    """
    return Engine(load_rule_book(folder))
