"""How a report ends: closed, said to be over, or neither.

What a closed report tells of trouble was so, and is so no more; that all is well now still counts. Whether one that is
only said to be over is so hangs on whether it tells of anything that is wrong.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from diagnose.language.english import closing
from diagnose.language.results import Ending, Mention
from diagnose.language.sentences import Sentence
from diagnose.rule_book.book import RuleBook

_WORD = re.compile(r"[^\W_]+(?:'[^\W_]+)*")


def plain_words(text: str) -> str:
    """Return the words of a text in small letters, with a space before and behind each.

    >>> plain_words("Solved - it's fine.")
    " solved it's fine "
    """
    return f" {' '.join(_WORD.findall(text.casefold()))} "


def ending_of(text: str, sentences: Sequence[Sentence]) -> Ending:
    """Return how a report ends: whoever says later that it came back, or asks on, has not closed it."""
    lines = [(text[each.start : each.end].lower(), each.question) for each in sentences]
    if any(closing.REOPENED.search(line) for line, _ in lines):
        return ""
    told = [line for line, question in lines if not question]
    if any(closing.CLOSED.search(line) or closing.ALL_SAID.fullmatch(line.strip()) for line in told):
        return "closed"
    last = max((number for number, (line, _) in enumerate(lines) if _says_that_it_is_over(line)), default=None)
    if last is None or any(question or _goes_on(line) for line, question in lines[last:]):
        return ""
    return "said to be over"


def _says_that_it_is_over(line: str) -> bool:
    spoken = plain_words(line)
    first = any(spoken.startswith(f" {each} ") for each in closing.SOLVED_FIRST)
    return first or any(f" {each} " in spoken for each in closing.SOLVED)


def _goes_on(line: str) -> bool:
    spoken = plain_words(line)
    return any(f" {each} " in spoken for each in closing.NOT_SOLVED)


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
