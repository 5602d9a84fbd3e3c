"""Who somebody says they are (``I am only the operator``, ``I am a qualified electrician``).

Less than was known counts at once. More is asked back: words give nobody permission.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.language.assertion import is_negated, why_not_factual
from diagnose.language.english import experiencer, grammar, speculation, temporality
from diagnose.language.lexicon import Lexicon
from diagnose.language.phrases import most_specific
from diagnose.language.results import Mention, PersonTold
from diagnose.language.sentences import Sentence
from diagnose.language.statements import quoted

_NOT_NOW = temporality.PAST_VERBS | speculation.CONDITIONAL_CONJUNCTIONS | speculation.MODALS | grammar.WHEN_LINKS


def with_persons(text: str, sentence: Sentence, mentions: Sequence[Mention], lexicon: Lexicon) -> list[Mention]:
    """Return the mentions of a sentence with what its writer may do; the same words say nothing else besides."""
    persons = list(persons_told(text, sentence, lexicon))
    others = (each for each in mentions if not any(p.first <= each.first and each.last <= p.last for p in persons))
    return [*others, *persons]


def persons_told(text: str, sentence: Sentence, lexicon: Lexicon) -> Iterator[Mention]:
    """Yield what a sentence says of what its writer may do."""
    for match in most_specific(lexicon.person_words.matches(sentence.tokens)):
        before = {sentence.tokens[at].text for at in range(sentence.clause(match.first).start, match.first)}
        behind = {token.text for token in sentence.tokens[match.last + 1 : match.last + 2]}
        whose = text[: sentence.tokens[match.last].end].endswith(("'s", "s'"))
        if _NOT_NOW & before or experiencer.HELPERS & behind or whose or is_negated(sentence.tokens, match):
            continue
        if why_not_factual(sentence, match, is_symptom=True):
            continue
        quote = quoted(text, sentence, match.first, match.last)
        yield Mention(match.first, match.last, person=PersonTold(quote, match.tag))
