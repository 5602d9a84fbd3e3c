"""False matches: phrases whose words belong to another device, a compound noun, a mere number or a trial."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from diagnose.language.assertion import contains_negation, has_other_experiencer
from diagnose.language.english import all_well, around_figures, experiencer, grammar, negation
from diagnose.language.lexicon import Claim
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.tokens import THAN, ZERO, Token

_SUBJECT_SCOPE = 4
_SET_UP_SCOPE = 6
_SAYS_ENOUGH = 3
_TURNS_ROUND = {"on": "off", "off": "on"}
_VALUES = around_figures.VALUE_STEMS | {"output", "signal", "total"}


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
        or _is_half_a_word(sentence, match)
        or _is_part_of_a_name(sentence, match)
        or _is_set_otherwise(sentence, match)
    )


def _is_half_a_word(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether a particle is only the second part of a word (``timeouts``)."""
    tokens = sentence.tokens
    return any(
        tokens[at].stem in grammar.PARTICLES
        and at
        and at - 1 not in match.positions
        and tokens[at - 1].start == tokens[at].start
        for at in match.positions
    )


def _is_part_of_a_name(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether a figure of a phrase is only part of a name (``fuse F2`` is no two fuses)."""
    tokens = sentence.tokens
    return any(
        tokens[at].text[0].isdigit()
        and at
        and at - 1 not in match.positions
        and tokens[at - 1].end == tokens[at].start
        and tokens[at - 1].text.isalpha()
        for at in match.positions
    )


def _is_set_otherwise(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether an *on* only tells where (``the switch on unit 34 is off``) or is turned round (``on = OFF``)."""
    tokens = sentence.tokens
    at = match.last
    if tokens[at].text not in _TURNS_ROUND:
        return False
    behind = tokens[at + 1 : at + 1 + _SET_UP_SCOPE]
    ends = next((place for place, token in enumerate(behind) if token.kind in ("comma", "break", "link")), len(behind))
    return any(token.text == _TURNS_ROUND[tokens[at].text] for token in behind[:ends])


def says_less(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether the words around a match take back what its phrase says; a danger counts all the same."""
    return (
        _is_numbered(sentence, match)
        or is_in_a_trial(sentence, match)
        or _is_due(sentence, match)
        or _is_without_its_circumstance(sentence, match)
        or _was_never_set_up(sentence, match)
        or _is_what_is_not_seen(sentence, match)
        or _is_as_due(sentence, match)
        or _is_of_a_part(sentence, match)
        or _is_a_verb_apart(sentence, match)
        or _is_a_circumstance(sentence, match)
    )


def _is_numbered(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether a phrase of names alone is one of many (``new meter number 7``)."""
    tokens = sentence.tokens
    return match.last + 1 < len(tokens) and tokens[match.last + 1].stem == "number"


def _is_as_due(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether it is said to be as it should (``now it reads 0.0 like it should``)."""
    behind = [token.text for token in sentence.tokens[match.last + 1 : match.last + 4]]
    due = behind[:1] in (["like"], ["as"]) and behind[2:3] == ["should"]
    return match.tag.present and (due or behind[:2] == ["as", "expected"])


def _is_of_a_part(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether a verb is about a part, not about what it is a part of (``the terminals of the meter are dead``).

    The screen or the reading of a thing stands for the thing itself.
    """
    tokens = sentence.tokens
    at = match.first - 1
    while at >= 0 and tokens[at].text in grammar.DETERMINERS:
        at -= 1
    if at < 1 or tokens[at].text not in ("of", "to") or at + 1 == match.first:
        return False
    head = tokens[at - 1]
    between = tokens[match.first + 1 : match.last]
    own_verb = any(token.text in grammar.COPULA for token in between) or match.last > match.first + 1
    return head.kind == "word" and own_verb and head.text not in experiencer.FACES and head.stem not in _VALUES


def _is_a_verb_apart(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether a particle belongs to a verb that a phrase does not have (``the display tops out``)."""
    tokens = sentence.tokens
    before = tokens[match.last - 1]
    if tokens[match.last].text not in grammar.PARTICLES or match.last - 1 in match.positions:
        return False
    moves = before.stem in around_figures.MOVING | around_figures.RUNNING
    return before.kind == "word" and not moves and len(match.positions) == len(("display", "out"))


def _is_a_circumstance(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether what is denied is only when something is read (``with no flow the screen shows 20``)."""
    tokens = sentence.tokens
    circumstance = any(
        at and tokens[at].kind == "not" and tokens[at - 1].text in ("with", "at") and at - 1 not in match.positions
        for at in range(match.first, match.last)
        if tokens[at + 1].text != "time"
    )
    return circumstance and any(tokens[at].stem in around_figures.READING_STEMS for at in match.positions)


def _is_without_its_circumstance(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check for a denial whose circumstance is not given (``shows zero though the valves are not closed``)."""
    inside = range(match.first + 1, match.last)
    link = next((at for at in inside if sentence.tokens[at].text in grammar.TIME_LINKS), match.last)
    denied = any(sentence.tokens[at].kind == "not" and at not in match.positions for at in range(link, match.last))
    return denied and not match.tag.present


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
        zero = tokens[at].stem == ZERO
        if before == "at" and (opposite or (zero and (reading_verbs or match.gap))):
            return True
        if opposite and reading_verbs and at == match.last and not _is_adverbial(behind):
            return True
        if zero and behind.stem in around_figures.DEEDS_AT_ZERO:
            return True
        if reading_verbs and behind.stem in (around_figures.NOUNS_AFTER_ZERO if zero else grammar.COMPOUND_NOUNS):
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
    # A phrase that begins or ends with such a word, and says more than one thing, wants a figure there (`goes negative
    # above 327`), and so does one that names it.
    ends = {match.first, match.last} if len(match.positions) >= _SAYS_ENOUGH else set()
    limits = (at for at in match.positions if tokens[at].text in grammar.BEFORE_NOUNS and at not in ends)
    if any(_is_figure(tokens[at + 1 : at + 2]) for at in limits if at + 1 not in match.positions):
        return True
    behind = [token for token in tokens[match.last + 1 :] if token.text not in around_figures.BEFORE_NUMBERS][:1]
    if not _is_figure(behind):
        return False
    return tokens[match.last].stem == THAN or tokens[match.first].text == "at"


def _is_figure(tokens: Sequence[Token]) -> bool:
    return any(token.text[0].isdigit() for token in tokens)


def is_in_a_trial(sentence: Sentence, match: Match[Any]) -> bool:
    """Check whether it was so only with something else in place (``with the spare one``), or alone (``no trip``)."""
    tokens = sentence.tokens
    start = sentence.clause(match.first).start
    opening = next((at for at in range(start, match.first) if tokens[at].text == "with"), None)
    if opening is not None and any(token.text in all_well.STAND_INS for token in tokens[opening + 1 : match.first]):
        return True
    denied = contains_negation(tokens, match) or not match.tag.present
    whole = range(sentence.clause(match.first, soft=False).start, match.last)
    return denied and any(tokens[at].text == "alone" for at in whole)


def _is_due(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether it is only said how it has to be (``low has to be under 5 V``)."""
    behind = [token.text for token in sentence.tokens[match.last + 1 : match.last + 4]]
    return behind[:3] in (["has", "to", "be"], ["have", "to", "be"], ["had", "to", "be"]) or behind[:2] == [
        "must",
        "be",
    ]


def _was_never_set_up(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether there is no such thing (``the alarm for comms was never configured``)."""
    behind = sentence.tokens[match.last + 1 : match.last + 1 + _SET_UP_SCOPE]
    at = next((place for place, token in enumerate(behind) if token.kind == "not"), 0)
    if not at or behind[at - 1].text not in grammar.COPULA:
        return False
    parted = any(token.kind in ("comma", "break", "link") for token in behind[:at])
    return not parted and any(token.text in negation.SET_UP_WORDS for token in behind[at + 1 : at + 2])


def _is_what_is_not_seen(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether what is denied is another thing, of which a word only tells more.

    ``does not see any pulses from the meter``, ``no clamps for 4-20``.
    """
    tokens = sentence.tokens
    denied = tokens[match.first].kind == "not"
    return denied and any(_only_tells_more(tokens, match, at) for at in match.positions[1:])


def _only_tells_more(tokens: Sequence[Token], match: Match[Claim], place: int) -> bool:
    """Check whether a word of a denial stands behind *from* or *for* and a thing that is not in the phrase."""
    at = place - 1
    while at > match.first and tokens[at].text in grammar.DETERMINERS:
        at -= 1
    if at - 1 <= match.first or tokens[at].text not in ("from", "for"):
        return False
    head = tokens[at - 1]
    return head.kind == "word" and at - 1 not in match.positions and head.stem not in _VALUES
