"""False matches: phrases whose words belong to another device, a compound noun, a mere number or a trial."""

from __future__ import annotations

from typing import Any

from diagnose.language.assertion import contains_negation, has_other_experiencer
from diagnose.language.english import all_well, around_figures, experiencer, grammar, negation
from diagnose.language.lexicon import Claim
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.tokens import THAN, ZERO, Token

_SUBJECT_SCOPE = 4


def is_with_part_removed(sentence: Sentence, match: Match[Any]) -> bool:
    """Check whether it was so only with something removed (``we disconnected it and the breaker held``)."""
    return any(
        sentence.tokens[at].stem in all_well.REMOVAL_STEMS and at not in match.positions for at in range(match.first)
    )


def _is_denied_trouble(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether what is denied is some trouble named after it (``no display alarm`` is not ``no display``)."""
    tokens = sentence.tokens
    named = match.last + 1 < len(tokens) and tokens[match.last + 1].text in all_well.TROUBLE_NOUNS
    return named and match.tag.present and contains_negation(tokens, match)


def _shows_zero(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether the reading is zero though the phrase says it shows something (``shows 0 with the pump off``)."""
    tokens = sentence.tokens
    reading_verbs = [at for at in match.positions if tokens[at].stem in around_figures.READING_STEMS]
    if len(reading_verbs) != 1:
        return False
    behind = next(
        (at for at in range(reading_verbs[0] + 1, len(tokens)) if tokens[at].kind not in ("stop", "light")), None
    )
    return behind is not None and tokens[behind].stem == ZERO and behind not in match.positions


def is_about_something_else(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether a clause is about no device at all (``the price is way off``)."""
    tokens = sentence.tokens
    near = [tokens[at].text for at in sentence.clause(match.first)]
    opening = tokens[0].text if tokens else ""
    return opening in experiencer.FARAWAY_THINGS or not experiencer.FARAWAY_THINGS.isdisjoint(near)


def _is_of_another_instrument(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether what is read is no flow (``the gauge shows zero``, ``reads 0 bar``)."""
    tokens = sentence.tokens
    verb = next((at for at in match.positions if tokens[at].stem in around_figures.READING_STEMS), None)
    if verb is None:
        return False
    before = range(max(sentence.clause(verb).start, verb - _SUBJECT_SCOPE), verb)
    if any(tokens[at].text in experiencer.OTHER_INSTRUMENTS and at not in match.positions for at in before):
        return True
    behind = tokens[match.last + 1].text if match.last + 1 < len(tokens) else ""
    return tokens[match.last].stem == ZERO and behind in around_figures.UNITS_OF_OTHERS


def is_false_match(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether a match does not mean what its phrase means."""
    return (
        has_other_experiencer(sentence, match)
        or _names_another_device(sentence, match)
        or _modifies_noun(sentence, match)
        or _is_mere_number(sentence, match)
        or _shows_zero(sentence, match)
        or _is_of_another_instrument(sentence, match)
        or (not match.tag.present and is_with_part_removed(sentence, match))
        or _is_denied_trouble(sentence, match)
    )


def _modifies_noun(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether a word modifies a noun after it: ``reads … at high flow`` is not ``reads high``."""
    tokens = sentence.tokens
    reading_verbs = any(tokens[place].stem in around_figures.READING_STEMS for place in match.positions)
    for at in match.positions:
        behind = tokens[at + 1] if at + 1 < len(tokens) and at + 1 not in match.positions else None
        before = tokens[at - 1].text if at and at - 1 not in match.positions else ""
        # The second of two words for the same thing (`mag meter`) is not another noun.
        if behind is None or behind.kind != "word" or behind.stem == tokens[at].stem:
            continue
        opposite = tokens[at].stem in negation.ANTONYMS
        if before == "at" and (opposite or (tokens[at].stem == ZERO and reading_verbs)):
            return True
        if opposite and reading_verbs and at == match.last and not _is_adverbial(behind):
            return True
        if reading_verbs and behind.stem in (
            around_figures.NOUNS_AFTER_ZERO if tokens[at].stem == ZERO else grammar.COMPOUND_NOUNS
        ):
            return True
    return False


def _is_adverbial(token: Token) -> bool:
    """Check whether a word after ``reads high`` is about the reading (``reads high compared with the tank``)."""
    return token.text[0].isdigit() or token.text.endswith("ly") or token.stem in around_figures.VALUE_STEMS


def _names_another_device(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether a noun of the phrase names another device (``lower than the master meter``)."""
    return any(
        at - 1 not in match.positions and sentence.tokens[at - 1].text in experiencer.OTHER_EXPERIENCER_MODIFIERS
        for at in match.positions[1:]
        if sentence.tokens[at].kind == "word"
    )


def _is_mere_number(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check for a mere number: ``more than 5 m3/h`` compares nothing, ``at full flow 5 m3/h`` is a reading."""
    tokens = sentence.tokens
    behind = [token for token in tokens[match.last + 1 :] if token.text not in around_figures.BEFORE_NUMBERS][:1]
    if not behind or not behind[0].text[0].isdigit():
        return False
    return tokens[match.last].stem == THAN or tokens[match.first].text == "at"
