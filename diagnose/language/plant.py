"""How somebody says that the plant stands (``the supply is off``, ``the cover is already open``).

Nobody is safe by hearsay: only what makes a state *less* safe is taken at once (``taken-at-once`` at the state).
Everything else is asked back, and counts when the step that needs it is reached. What was so, or would be, and what
some finding says of it (``shows flow though the pump is off``), is no state of now.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.language.assertion import has_other_experiencer, is_negated, why_not_factual
from diagnose.language.cleaning import clean, tidy
from diagnose.language.english import grammar, speculation, temporality
from diagnose.language.lexicon import Lexicon, QuantityValue
from diagnose.language.phrases import Match, most_specific
from diagnose.language.results import Mention, PlantTold, Statement
from diagnose.language.sentences import Sentence, sentences
from diagnose.language.statements import quoted
from diagnose.rule_book.book import RuleBook

_NOT_NOW = temporality.PAST_VERBS | grammar.WHEN_LINKS | speculation.CONDITIONAL_CONJUNCTIONS | speculation.MODALS
_UNSURE = grammar.WHEN_LINKS | speculation.CONDITIONAL_CONJUNCTIONS | speculation.MODALS
_TURNED = frozenset({"but", "again", "however", "though", "although", "until", "before", "back"})
_PUT_BACK = frozenset({"automatic", "auto", "cascade", "restored", "removed", "reset", "again", "back", "before"})
_SOMETIMES = frozenset({"with", "after", "before", "until", "once", "only", "every", "each", "since", "even", "as"})


def plant_told(text: str, sentence: Sentence, said: Sequence[Mention], lexicon: Lexicon) -> Iterator[Mention]:
    """Yield what a sentence says of the plant as it stands now; ``said`` is what was understood of it otherwise."""
    for match in most_specific(lexicon.plant_words.matches(sentence.tokens)):
        state = lexicon.rule_book.states[match.tag.quantity]
        at_once = match.tag.value in state.taken_at_once
        if not _is_so_now(sentence, match) or (not at_once and _serves_a_finding(match, said)):
            continue
        told = PlantTold(match.tag.quantity, match.tag.value)
        quote = quoted(text, sentence, match.first, match.last)
        if at_once:
            doubt = f"`{quote}`: kept as {state.title}: {match.tag.value}; is that right?"
        else:
            doubt = f"`{quote}`: is that so now? Words make nothing safe: it counts once a step has asked for it"
        yield Mention(match.first, match.last, doubt=doubt, plant=told if at_once else None, quote=quote)


def said_by_states(found: Sequence[Mention], rule_book: RuleBook) -> Iterator[Mention]:
    """Yield the findings that states tell which a text names, maybe far apart (``The cover is off. It has power.``)."""
    told = {each.plant.state: each for each in found if each.plant}
    stands = {state: each.plant.value for state, each in told.items() if each.plant}
    said = {each.statement.finding for each in found if each.statement}
    for finding in rule_book.findings.values():
        if not finding.with_states or finding.id in said or not finding.with_states.items() <= stands.items():
            continue
        quote = " … ".join(dict.fromkeys(told[state].quote for state in finding.with_states))
        yield Mention(0, 0, Statement(quote=quote, finding=finding.id, present=True))


def changed_already(text: str, sentence: Sentence, lexicon: Lexicon) -> Iterator[Mention]:
    """Yield what a sentence says that somebody has changed and that must be put back (a loop put in manual).

    It is kept at once, also where it is told of the past, or along with a finding (``in manual it is steady``): nothing
    says that it was put back.
    """
    for match in most_specific(lexicon.disturbed_words.matches(sentence.tokens)):
        clause = {sentence.tokens[at].text for at in sentence.clause(match.first) if at not in match.positions}
        later = {token.text for token in sentence.tokens[match.last + 1 :]}
        unsure = _UNSURE & clause or is_negated(sentence.tokens, match) or _PUT_BACK & later
        if unsure or why_not_factual(sentence, match, is_symptom=False) or has_other_experiencer(sentence, match):
            continue
        quote = quoted(text, sentence, match.first, match.last)
        title = lexicon.rule_book.disturbances[match.tag].title
        doubt = f"`{quote}`: kept as {title}, to be put back at the end; is that right?"
        yield Mention(match.first, match.last, doubt=doubt, disturbed=match.tag)


def state_answered(text: str, state: str, lexicon: Lexicon) -> str:
    """Return the value that an answer gives to the state that was asked for, "" unless it is plainly one of them."""
    answer, values = tidy(clean(text)), set[str]()
    for sentence in sentences(answer, lexicon.vocabulary, ()):
        for match in most_specific(lexicon.plant_words.matches(sentence.tokens)):
            around = {token.text for at, token in enumerate(sentence.tokens) if at not in match.positions}
            if match.tag.quantity != state:
                continue
            unsure = (_UNSURE | _TURNED) & around or why_not_factual(sentence, match, is_symptom=False)
            not_so = is_negated(sentence.tokens, match) or has_other_experiencer(sentence, match)
            values.add("" if unsure or not_so else match.tag.value)
    return values.pop() if len(values) == 1 else ""


def _is_so_now(sentence: Sentence, match: Match[QuantityValue]) -> bool:
    tokens = sentence.tokens
    clause = sentence.clause(match.first)
    around = {tokens[at].text for at in clause if at not in match.positions}
    before = {tokens[at].text for at in range(clause.start, match.first)}
    return not (
        _NOT_NOW & around
        or _SOMETIMES & before
        or is_negated(tokens, match)
        or has_other_experiencer(sentence, match)
        or why_not_factual(sentence, match, is_symptom=True)
    )


def _serves_a_finding(match: Match[QuantityValue], said: Sequence[Mention]) -> bool:
    return any(each.statement and each.first <= match.last and match.first <= each.last for each in said)
