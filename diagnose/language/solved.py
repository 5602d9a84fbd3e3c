"""Reports of what is over: somebody writes that it was put right, and the ticket may be closed.

What such a report tells of trouble was so, and is so no more; that all is well now still counts.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.language.english import closing
from diagnose.language.results import Mention
from diagnose.language.sentences import Sentence
from diagnose.rule_book.book import RuleBook


def is_closed(text: str, sentences: Sequence[Sentence]) -> bool:
    """Check whether a report asks for itself to be closed, and nobody says that it is there again."""
    lines = [text[each.start : each.end].lower() for each in sentences if not each.question]
    closed = any(closing.CLOSED.search(line) or closing.ALL_SAID.fullmatch(line.strip()) for line in lines)
    return closed and not any(closing.REOPENED.search(line) for line in lines)


def without_what_is_over(found: Sequence[Mention], rule_book: RuleBook) -> list[Mention]:
    """Return the mentions of a closed report, with trouble as doubts; a danger counts all the same."""
    return [_as_doubt(each, rule_book) for each in found]


def _as_doubt(mention: Mention, rule_book: RuleBook) -> Mention:
    said = mention.statement
    if said is None or not said.present or rule_book.findings[said.finding].keep_away:
        return mention
    title = rule_book.findings[said.finding].title
    doubt = f"`{said.quote}` seems to be over, since the report may be closed: is it still true that “{title}”?"
    return mention._replace(statement=None, doubt=doubt)
