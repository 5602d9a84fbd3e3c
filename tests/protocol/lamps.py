"""The engine of the small rule book about a desk lamp, for whole interviews that fit on a page."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from diagnose.reasoning.engine import Engine
from diagnose.rule_book.load import load_folder

LAMP = Path(__file__).parent.parent / "interview" / "lamp"


@lru_cache(maxsize=1)
def lamp_book_engine() -> Engine:
    """Return the engine of the desk lamp, made once."""
    return Engine(load_folder(LAMP))


def lamp_engine() -> Engine:
    """Return an engine of the desk lamp that remembers nothing of earlier cases."""
    made = lamp_book_engine()
    fresh = Engine(made.rule_book, lambda: made.lexicon)
    fresh.__dict__["inference"] = made.inference
    return fresh
