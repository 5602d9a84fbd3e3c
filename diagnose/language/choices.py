"""Values given in words: ``remote version``, ``plastic pipe``, ``the medium is slurry``.

A mention counts unless it is negated, a question, speculative, about another device, or part of a longer name (the
*supply* in *loop supply*). Every mention counts for a field that can have
several values.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.language.assertion import has_other_experiencer, is_negated, why_not_factual
from diagnose.language.english import grammar, negation
from diagnose.language.intentions import is_ordered
from diagnose.language.lexicon import Lexicon, QuantityValue
from diagnose.language.phrases import Match, most_specific
from diagnose.language.results import Mention, Statement
from diagnose.language.sentences import Sentence
from diagnose.language.statements import quoted
from diagnose.language.subjects import is_of_another_thing


def choices(text: str, sentence: Sentence, lexicon: Lexicon) -> Iterator[Mention]:
    """Yield the values of quantities that a sentence states in words."""
    tokens = sentence.tokens
    names = lexicon.quantity_words.matches(tokens)
    longer_names = [
        match.positions
        for match in (*names, *lexicon.subjects.matches(tokens))
        if sum(tokens[at].kind != "stop" for at in match.positions) > 1
    ]
    found = [
        *lexicon.choice_words.matches(tokens),
        *_bare_values(sentence, names, lexicon),
        *_whole_clauses(text, sentence, lexicon),
    ]
    for match in most_specific(found):
        if (
            _is_denied(sentence, match)
            or _is_unused(sentence, match)
            or has_other_experiencer(sentence, match)
            or why_not_factual(sentence, match, True)
            or is_ordered(sentence, match)
            or is_of_another_thing(sentence, match, lexicon)
        ):
            continue
        if not any(_is_part_of(match, longer) for longer in longer_names):
            item = Statement(
                quote=quoted(text, sentence, match.first, match.last),
                quantity=match.tag.quantity,
                value=match.tag.value,
                one_of_several=lexicon.quantities[match.tag.quantity].several,
            )
            yield Mention(match.first, match.last, item)


def _is_denied(sentence: Sentence, match: Match[QuantityValue]) -> bool:
    """Check for a negation; ``no reply on the bus`` denies the reply, not the bus."""
    tokens = sentence.tokens
    if not is_negated(tokens, match):
        return False
    placed = tokens[match.first].text in grammar.PLACE_WORDS
    return not (placed and match.first > 0 and tokens[match.first - 1].kind == "word")


def _is_unused(sentence: Sentence, match: Match[QuantityValue]) -> bool:
    """Check whether a value is said to be there without being used (``RS-485 unused``, ``pulse output not wired``)."""
    clause = sentence.clause(match.last)
    behind = [token for token in sentence.tokens[match.last + 1 : clause.stop] if token.kind not in ("stop", "light")]
    if not behind or sentence.tokens[match.last].text in negation.UNUSED_WORDS:
        return False
    denied = behind[0].kind == "not" and len(behind) > 1 and behind[1].stem in negation.USED_STEMS
    return behind[0].text in negation.UNUSED_WORDS or denied


def _bare_values(sentence: Sentence, names: Sequence[Match[str]], lexicon: Lexicon) -> Iterator[Match[QuantityValue]]:
    """Yield values that appear in the same clause as the name of their quantity."""
    for match in lexicon.choices.matches(sentence.tokens):
        clause = sentence.clause(match.first, soft=False)
        if any(each.tag == match.tag.quantity and each.first in clause for each in names):
            yield match


def _whole_clauses(text: str, sentence: Sentence, lexicon: Lexicon) -> Iterator[Match[QuantityValue]]:
    """Yield values that make a clause by their bare name, as in a list (``compact, PTFE, indication only``)."""
    at = 0
    while at < len(sentence.tokens):
        clause = sentence.clause(at)
        at = clause.stop
        said = text[sentence.tokens[clause[0]].start : sentence.tokens[clause[-1]].end].lower()
        value = lexicon.choice_names.get(" ".join(said.split()))
        if value is not None:
            yield Match(value, tuple(clause), 0)


def _is_part_of(match: Match[QuantityValue], longer: Sequence[int]) -> bool:
    """Check whether a match is part of a longer name: shares a word with it, but not all of them."""
    own = set(match.positions)
    return not own.isdisjoint(longer) and not own.issuperset(longer)
