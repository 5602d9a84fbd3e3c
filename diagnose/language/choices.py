"""Values that are words: ``remote version``, ``plastic pipe``, ``the medium is slurry``.

A mention counts unless it is negated, asked, supposed, said of something else, or part of a longer name (the *supply*
in *loop supply*). Of a field that may have several values every one that is mentioned is taken.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.language.certainty import about_another, negated, no_fact
from diagnose.language.lexicon import Choice, Lexicon
from diagnose.language.phrases import Match, most_specific
from diagnose.language.results import Said, Statement
from diagnose.language.sentences import Sentence
from diagnose.language.statements import quoted


def choices(text: str, sentence: Sentence, lexicon: Lexicon) -> Iterator[Said]:
    """Return the words for values of quantities that a sentence states."""
    words = sentence.words
    names = lexicon.quantity_words.matches(words)
    whole = [match.positions for match in (*names, *lexicon.subjects.matches(words)) if len(match.positions) > 1]
    found = [*lexicon.choice_words.matches(words), *_named(sentence, names, lexicon)]
    for match in most_specific(found):
        if negated(words, match) or about_another(sentence, match) or no_fact(sentence, match, True):
            continue
        if not any(_is_cut(match, longer) for longer in whole):
            item = Statement(
                quote=quoted(text, sentence, match.first, match.last),
                quantity=match.tag.quantity,
                value=match.tag.value,
                one_of_several=lexicon.quantities[match.tag.quantity].several,
            )
            yield Said(match.first, match.last, item)


def _named(sentence: Sentence, names: Sequence[Match[str]], lexicon: Lexicon) -> Iterator[Match[Choice]]:
    """Return bare values that stand in a clause with the words of their quantity."""
    for match in lexicon.choices.matches(sentence.words):
        clause = sentence.clause(match.first, soft=False)
        if any(each.tag == match.tag.quantity and each.first in clause for each in names):
            yield match


def _is_cut(match: Match[Choice], longer: Sequence[int]) -> bool:
    """Tell whether a name shares a word with a match and goes on beyond it."""
    own = set(match.positions)
    return not own.isdisjoint(longer) and not own.issuperset(longer)
