"""What the sentence before or after says that makes a reading right (``It shows 0. The pump has been off all day.``).

In one clause with a finding such a circumstance excuses it at once (``not-with`` at the finding). Told beside it, it
only makes one ask: nobody says that both were so at the same time.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.language.assertion import has_other_experiencer, is_negated, why_not_factual
from diagnose.language.english import grammar, speculation, temporality
from diagnose.language.lexicon import Lexicon
from diagnose.language.results import Mention
from diagnose.language.sentences import Sentence
from diagnose.language.statements import quoted

_NOT_NOW = temporality.PAST_VERBS | grammar.WHEN_LINKS | speculation.CONDITIONAL_CONJUNCTIONS


def excused_beside(
    text: str, mentions: Sequence[Mention], beside: Sequence[Sentence | None], lexicon: Lexicon
) -> list[Mention]:
    """Return the mentions of a sentence; those that a sentence ``beside`` it may excuse become doubts."""
    affirmed = {each.statement.finding for each in mentions if each.statement and each.statement.present}
    if not affirmed:
        return list(mentions)
    excuses = {finding: quote for finding, quote in _excuses(text, beside, lexicon) if finding in affirmed}
    return [_doubted(each, excuses, lexicon) for each in mentions]


def _doubted(mention: Mention, excuses: dict[str, str], lexicon: Lexicon) -> Mention:
    said = mention.statement
    if said is None or not said.present or said.finding not in excuses:
        return mention
    title = lexicon.findings[said.finding].title
    why = f"`{said.quote}` may be as it should, since `{excuses[said.finding]}`"
    return mention._replace(statement=None, doubt=f"{why}: is it true all the same that “{title}”?")


def _excuses(text: str, beside: Sequence[Sentence | None], lexicon: Lexicon) -> Iterator[tuple[str, str]]:
    for sentence in beside:
        if sentence is None:
            continue
        for match in lexicon.not_with.matches(sentence.tokens):
            around = {sentence.tokens[at].text for at in sentence.clause(match.first)}
            unsure = _NOT_NOW & around or is_negated(sentence.tokens, match) or has_other_experiencer(sentence, match)
            if not unsure and not why_not_factual(sentence, match, is_symptom=False):
                yield match.tag, quoted(text, sentence, match.first, match.last)
