"""Engines ready to use: rule book and lexicon come from the cache."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.reasoning.engine import Engine
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.cache import kept, load_rule_book

if TYPE_CHECKING:
    from diagnose.language.lexicon import Lexicon


def load_engine(folder: Path) -> Engine:
    """Return the engine of the rule book in a folder.

    Raises ProblemsFound with all problems when the rule book has any, BadInput when there is no such folder.
    """
    rule_book = load_rule_book(folder)
    return Engine(rule_book, lambda: _lexicon(folder, rule_book))


def _lexicon(folder: Path, rule_book: RuleBook) -> Lexicon:
    from diagnose import language
    from diagnose.language.lexicon import Lexicon, Tables

    code = sorted(Path(language.__path__[0]).rglob("*.py"))
    return Lexicon(rule_book, kept(folder, "words", Tables, lambda: Tables.of(rule_book), *code))
