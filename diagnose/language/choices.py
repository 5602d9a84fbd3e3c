"""Values given in words: ``remote version``, ``plastic pipe``, ``the medium is slurry``.

A mention counts unless it is negated, a question, speculative, about another device, or part of a longer name (the
*supply* in *loop supply*). Every mention counts for a field that can have
several values. Where somebody asks whether to do what may be dangerous, the place that the question names is one that
is there (``may we open it live in zone 1?``).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.language.as_found import speaks_of_something_else
from diagnose.language.assertion import has_other_experiencer, is_negated, why_not_factual
from diagnose.language.ended import was_measured_before
from diagnose.language.english import experiencer, grammar, negation, parting
from diagnose.language.intentions import is_ordered
from diagnose.language.lexicon import Lexicon, QuantityValue
from diagnose.language.phrases import Match, most_specific
from diagnose.language.results import Mention, Statement
from diagnose.language.sentences import Sentence
from diagnose.language.statements import quoted
from diagnose.language.subjects import is_of_another_thing
from diagnose.language.tokens import stem

_MOST_ADJECTIVES = 3
_MISTAKEN = 6
"""A word of so many letters or fewer is soon another one with a letter changed."""


def choices(text: str, sentence: Sentence, mentions: Sequence[Mention], lexicon: Lexicon) -> Iterator[Mention]:
    """Yield the values of quantities that a sentence states in words, beside the ``mentions`` of findings in it."""
    tokens = sentence.tokens
    risked = any(_may_be_dangerous(each, lexicon) for each in mentions)
    names = lexicon.quantity_words.matches(tokens)
    longer_names = [
        match.positions
        for match in (*names, *lexicon.subjects.matches(tokens))
        if sum(tokens[at].kind != "stop" for at in match.positions) > 1 and not _is_a_predicate(sentence, match)
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
            or (why_not_factual(sentence, match, True) and not risked)
            or is_ordered(sentence, match)
            or is_of_another_thing(sentence, match, lexicon)
            or speaks_of_something_else(sentence, match, match.tag.quantity, lexicon)
            or _is_place_of_another(sentence, match, lexicon)
            or _is_time(sentence, match)
            or _is_a_means(sentence, match)
            or _is_kept_elsewhere(sentence, match)
            or _is_only_alike(text, sentence, match)
            or _is_figure_of_then(sentence, match)
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


def _may_be_dangerous(mention: Mention, lexicon: Lexicon) -> bool:
    said = mention.statement
    return bool(said and said.present and said.finding and lexicon.findings[said.finding].part_of_danger)


def _is_a_predicate(sentence: Sentence, name: Match[str]) -> bool:
    """Check whether something is told with the words of a name, which then is none (``the meter is for billing``)."""
    return any(token.text in grammar.COPULA for token in sentence.tokens[name.first : name.last])


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


def _is_place_of_another(sentence: Sentence, match: Match[QuantityValue], lexicon: Lexicon) -> bool:
    """Check whether a place is that of a thing named right before (``in the sight glass after the pump``)."""
    if _is_where_something_goes_on(sentence, match):
        return True
    if sentence.tokens[match.first].text not in grammar.RELATIONS:
        return False
    return any(each.last == match.first - 1 for each in lexicon.other_things.matches(sentence.tokens))


def _is_where_something_goes_on(sentence: Sentence, match: Match[QuantityValue]) -> bool:
    """Check whether a place is that of a deed, or of another one (``welders work on the roof``, ``the one in B``)."""
    tokens = sentence.tokens
    nearest = range(match.last, max(sentence.clause(match.first).start, match.first - _MOST_ADJECTIVES - 1), -1)
    at = next((at for at in nearest if tokens[at].text in ("in", "on", "into", "onto")), 0)
    before = tokens[at - 1] if at else None
    if before is None or before.text in ("one", "ones"):
        return before is not None
    subject = {token.text for token in tokens[sentence.clause(match.first).start : at]}
    own = experiencer.OWN_DEVICES | {"i", "we"}
    return before.stem in parting.GOING_ON_STEMS and subject.isdisjoint(own)


def _is_time(sentence: Sentence, match: Match[QuantityValue]) -> bool:
    """Check whether words for a place are those for a time (``after the pump starts``)."""
    tokens = sentence.tokens
    timed = tokens[match.first].text in ("after", "before") and match.last + 1 < len(tokens)
    return timed and tokens[match.last + 1].text in grammar.HAPPENING


def _is_a_means(sentence: Sentence, match: Match[QuantityValue]) -> bool:
    """Check whether words only tell with what somebody did something (``wiped the electrodes with hot water``)."""
    tokens = sentence.tokens
    start = sentence.clause(match.first).start
    nearest = range(match.first - 1, max(start, match.first - _MOST_ADJECTIVES) - 1, -1)
    means = next((at for at in nearest if tokens[at].text in parting.BY_MEANS_OF), start)
    return any(token.text in parting.TREATED for token in tokens[start:means])


def _is_kept_elsewhere(sentence: Sentence, match: Match[QuantityValue]) -> bool:
    """Check whether words only name what something else is for (``the bleach skid``)."""
    tokens = sentence.tokens
    near = tokens[max(sentence.clause(match.first).start, match.first - _MOST_ADJECTIVES) : match.last]
    if any(token.text in experiencer.OWN_DEVICES for token in near):
        return False
    return any(token.text in parting.KEPT_ELSEWHERE for token in tokens[match.last + 1 : match.last + 2])


def _is_only_alike(text: str, sentence: Sentence, match: Match[QuantityValue]) -> bool:
    """Check whether a single short word only resembles one that says it (*saute* is no misspelt *sauce*)."""
    token = sentence.tokens[match.first]
    written = text[token.start : token.end].lower()
    return len(match.positions) == 1 and len(written) <= _MISTAKEN and stem(written) != token.stem


def _is_figure_of_then(sentence: Sentence, match: Match[QuantityValue]) -> bool:
    """Check whether a value read from a figure was so for once (``a week ago somebody put 230 V on it``)."""
    figure = any(sentence.tokens[at].text[0].isdigit() for at in match.positions)
    return figure and was_measured_before(sentence, match)


def _bare_values(sentence: Sentence, names: Sequence[Match[str]], lexicon: Lexicon) -> Iterator[Match[QuantityValue]]:
    """Yield values that appear in the same clause as the name of their quantity."""
    for match in lexicon.choices.matches(sentence.tokens):
        clause = sentence.clause(match.first, soft=False)
        own = [each for each in names if each.tag == match.tag.quantity and each.first in clause]
        if match.tag.value in negation.EMPTY_CHOICES:
            own = [each for each in own if _says_at_once(sentence, each, match)]
        if own:
            yield match


def _says_at_once(sentence: Sentence, name: Match[str], match: Match[QuantityValue]) -> bool:
    """Check whether a value follows its quantity, but for words like *is* (``electrode material: other``)."""
    between = sentence.tokens[name.last + 1 : match.first]
    return name.last < match.first and all(token.kind == "stop" for token in between)


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
