"""What is worked out once for a rule book."""

from __future__ import annotations

from diagnose.reasoning.compiled import compiled
from diagnose.rule_book.types import Outcome
from tests.reasoning.books import book, cause, check, finding, real_rule_book


def test_an_outcome_that_sets_nothing_is_no_outcome_for_planning() -> None:
    """An answer like "cannot tell" would else seem as probable as all others together."""
    look = check(
        "look", Outcome(answer="yes", present=("f",)), Outcome(answer="no", absent=("f",)), Outcome(answer="?")
    )
    assert compiled(book(finding("f"), cause("c", {"f": 0.9}), look)).outcomes["look"] == ({"f": True}, {"f": False})


def test_a_rule_book_is_compiled_once() -> None:
    """Asked for again, the same object comes back."""
    assert compiled(real_rule_book()) is compiled(real_rule_book())
