"""Findings that a sentence affirms or denies."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from diagnose.language.alone import cries
from diagnose.language.answers import answer_in, asks_why_not
from diagnose.language.as_found import is_reported_by_the_meter
from diagnose.language.assertion import (
    INTENTION,
    QUESTION,
    contains_negation,
    has_other_experiencer,
    is_negated,
    is_partially_negated,
    why_not_factual,
)
from diagnose.language.circumstances import (
    is_failed_attempt,
    is_fine_then,
    is_time_of_a_check,
    is_trial,
    tells_how_long_somebody_acted,
)
from diagnose.language.denials import holds_no_longer, ok_word_of, ok_word_of_it
from diagnose.language.ended import happened_long_ago, has_ended, is_historical, was_another_time
from diagnose.language.english import grammar
from diagnose.language.false_matches import is_about_something_else, is_false_match, is_with_part_removed, says_less
from diagnose.language.figurative import is_figure_of_speech
from diagnose.language.lexicon import Claim, Lexicon
from diagnose.language.parted import denies_nothing, is_parted
from diagnose.language.phrases import Match, most_specific
from diagnose.language.results import Mention, Statement, is_short
from diagnose.language.sentences import Sentence
from diagnose.language.subjects import is_of_another_thing
from diagnose.language.together import words_together
from diagnose.rule_book.faults import Finding

SUBJECT_DENIAL = (0, 0)
"""Specificity of a denial by subject and ok-word; anything said explicitly outweighs it."""


def statements(text: str, sentence: Sentence, following: Sentence | None, lexicon: Lexicon) -> list[Mention]:
    """Return the findings mentioned in a sentence, in order; the ``following`` one may answer or revoke them."""
    matches = _matches(sentence, lexicon)
    matches = [match for match in matches if not is_false_match(sentence, match)]
    negated_phrases = [match for match in matches if contains_negation(sentence.tokens, match)]
    matches = [match for match in matches if not _says_less(sentence, match, lexicon)]
    mentions = [
        _mention(text, sentence, following, match, _negations_of_others(sentence, match, negated_phrases), lexicon)
        for match in matches
        if not _is_failed_attempt_at_check(sentence, following, match, lexicon)
    ]
    mentions += _words_together(text, sentence, following, mentions, lexicon)
    mentions += _cried(text, sentence, following, mentions, lexicon)
    mentions = _most_specific_of_each(sentence, mentions)
    mentions += _denials_by_subject(text, sentence, mentions, lexicon)
    return sorted(mentions, key=lambda each: (each.first, each.last))


def _says_less(sentence: Sentence, match: Match[Claim], lexicon: Lexicon) -> bool:
    return not lexicon.findings[match.tag.finding].heard_as_danger and says_less(sentence, match)


def _matches(sentence: Sentence, lexicon: Lexicon) -> list[Match[Claim]]:
    """Return the most specific matches, and history phrases (``intermittent``) inside longer ones."""
    said = [*lexicon.claims.matches(sentence.tokens), *lexicon.word_for_word.matches(sentence.tokens)]
    found = _meant(sentence, said, lexicon)
    found = [each for each in found if not _only_denies_a_denial(sentence, each, lexicon)]
    found = [
        each for each in found if not denies_nothing(sentence, each) and not _is_elsewhere(sentence, each, lexicon)
    ]
    excused = list(lexicon.not_with.matches(sentence.tokens))
    found = [each for each in found if not any(_is_excused(sentence, each, other) for other in excused)]
    kept = _without_times_of_denials(sentence, most_specific(found), lexicon)
    single = [
        match
        for match in found
        if lexicon.findings[match.tag.finding].kind == "history"
        and match not in kept
        and _stands_alone(sentence, match)
    ]
    return [*kept, *single]


def _is_elsewhere(sentence: Sentence, match: Match[Claim], lexicon: Lexicon) -> bool:
    """Check whether the words of a match are about something else, or each about another thing.

    A danger is one whatever it is about, unless that has no body.
    """
    if lexicon.findings[match.tag.finding].heard_as_danger:
        return match.tag.present and is_figure_of_speech(sentence, match, lexicon)
    return (
        is_about_something_else(sentence, match)
        or is_of_another_thing(sentence, match, lexicon)
        or is_parted(sentence, match)
    )


def _is_excused(sentence: Sentence, match: Match[Claim], circumstance: Match[str]) -> bool:
    """Check whether a circumstance in the same clause says that nothing is amiss (zero, with the pump off)."""
    same = circumstance.tag == match.tag.finding and match.tag.present
    denied = is_negated(sentence.tokens, circumstance)
    near = circumstance.first in sentence.clause(match.first, soft=False)
    return same and near and not denied and set(circumstance.positions).isdisjoint(match.positions)


def _without_times_of_denials(
    sentence: Sentence, found: Sequence[Match[Claim]], lexicon: Lexicon
) -> list[Match[Claim]]:
    """Leave out times that only belong to a denial (``both show zero when the pump is off``)."""
    denied = [set(each.positions) for each in found if not each.tag.present]
    return [
        each
        for each in found
        if lexicon.findings[each.tag.finding].kind != "history"
        or not each.tag.present
        or not any(_words(sentence, each) <= other and other != set(each.positions) for other in denied)
    ]


def _words(sentence: Sentence, match: Match[Claim]) -> set[int]:
    return {at for at in match.positions if sentence.tokens[at].text not in grammar.WHEN_LINKS}


def _words_together(
    text: str, sentence: Sentence, following: Sentence | None, said: Sequence[Mention], lexicon: Lexicon
) -> Iterator[Mention]:
    """Yield the findings that only words near each other affirm, where no phrase says more of them."""
    alike = {(each.tag, at) for each in lexicon.sounds_like.matches(sentence.tokens) for at in each.positions}
    near = (
        each
        for each in words_together(sentence.tokens, lexicon.word_groups)
        if not any((each.tag, at) in alike for at in each.positions)
    )
    yield from _affirmed(text, sentence, following, near, said, lexicon)


def _cried(
    text: str, sentence: Sentence, following: Sentence | None, said: Sequence[Mention], lexicon: Lexicon
) -> Iterator[Mention]:
    """Yield the findings that a cry affirms: words that are all that is said."""
    yield from _affirmed(text, sentence, following, cries(text, sentence, lexicon.cries), said, lexicon)


def _affirmed(
    text: str,
    sentence: Sentence,
    following: Sentence | None,
    found: Iterable[Match[str]],
    said: Sequence[Mention],
    lexicon: Lexicon,
) -> Iterator[Mention]:
    """Yield the findings that are present by what was found, where no phrase says more of them."""
    excused = list(lexicon.not_with.matches(sentence.tokens))
    for each in found:
        match = Match(Claim(each.tag, True), each.positions, each.gap)
        if any(_says_more(sentence, other, each) for other in said) or is_figure_of_speech(sentence, match, lexicon):
            continue
        if any(_is_excused(sentence, match, other) for other in excused):
            continue
        mention = _mention(text, sentence, following, match, set(), lexicon)
        if mention.doubt or (mention.statement and mention.statement.present):
            yield mention


def _says_more(sentence: Sentence, said: Mention, found: Match[str]) -> bool:
    """Check whether a finding was told already, or denied in the same clause (``not smoke, it is flames``)."""
    if said.statement is None or said.statement.finding != found.tag:
        return False
    return bool(said.statement.present) or said.first in sentence.clause(found.first)


def _meant(sentence: Sentence, found: Sequence[Match[Claim]], lexicon: Lexicon) -> list[Match[Claim]]:
    """Return the matches without those whose words only sound like their finding (*smoke* in ``smoke detector``)."""
    alike = {(each.tag, at) for each in lexicon.sounds_like.matches(sentence.tokens) for at in each.positions}
    return [each for each in found if not any((each.tag.finding, at) in alike for at in each.positions)]


def _only_denies_a_denial(sentence: Sentence, match: Match[Claim], lexicon: Lexicon) -> bool:
    """Check for the negation of words that deny a danger: a pipe that is not earthed is not therefore live."""
    danger = lexicon.findings[match.tag.finding].keep_away is not None
    return danger and not match.tag.present and is_negated(sentence.tokens, match)


def _stands_alone(sentence: Sentence, match: Match[Claim]) -> bool:
    """Check whether a history phrase means the same inside a longer match: one word, or two joined by ``and``."""
    between = sentence.tokens[match.first + 1 : match.last]
    if any(sentence.tokens[at].text in grammar.PARTICLES for at in match.positions):
        return False
    return len(match.positions) == 1 or (len(match.positions) == len(between) + 1 and between[0].text == "and")


def _negations_of_others(sentence: Sentence, match: Match[Claim], negated_phrases: Sequence[Match[Claim]]) -> set[int]:
    """Return the positions of negations that belong to other phrases.

    A phrase that denies the same finding denies this match as well: ``no error`` in ``no error on the screen``.
    """
    return {
        at
        for owner in negated_phrases
        for at in owner.positions
        if sentence.tokens[at].kind == "not"
        and not _shares_negated_word(sentence, owner, match, at)
        and (owner.tag != (match.tag.finding, False) or not match.tag.present or at > match.first)
    }


def _shares_negated_word(sentence: Sentence, owner: Match[Claim], match: Match[Claim], at: int) -> bool:
    """Check whether the negated word is part of this match too: ``no alarm`` and ``alarm for empty pipe``."""
    denied = next((position for position in owner.positions if position > at), None)
    joined = any(token.kind == "link" for token in sentence.tokens[at : match.last])
    return denied in match.positions and at < match.last and match.last in sentence.clause(at) and not joined


def _is_failed_attempt_at_check(
    sentence: Sentence, following: Sentence | None, match: Match[Claim], lexicon: Lexicon
) -> bool:
    return lexicon.findings[match.tag.finding].kind != "symptom" and is_failed_attempt(sentence, following, match)


def quoted(text: str, sentence: Sentence, first: int, last: int) -> str:
    """Quote the clause around a match if it is short, otherwise from its first to its last token."""
    tokens = sentence.tokens
    start, end = sentence.clause(first).start, sentence.clause(last).stop - 1
    whole = text[tokens[start].start : tokens[end].end]
    return " ".join((whole if is_short(whole) else text[tokens[first].start : tokens[last].end]).split())


def _mention(
    text: str,
    sentence: Sentence,
    following: Sentence | None,
    match: Match[Claim],
    others_negations: set[int],
    lexicon: Lexicon,
) -> Mention:
    finding = lexicon.findings[match.tag.finding]
    present = match.tag.present != is_negated(sentence.tokens, match, others_negations) or is_partially_negated(
        sentence.tokens, match, others_negations
    )
    if finding.kind == "history" and present and is_fine_then(sentence, match):
        present = False
    if _is_only_a_time(sentence, match, finding, lexicon):
        return Mention(match.first, match.last, specificity=match.specificity())
    begun = finding.keep_away is not None and not present and holds_no_longer(sentence, match)
    present = present or begun
    quote = quoted(text, sentence, match.first, match.last)
    doubt = ""
    # What somebody believes to be dangerous, or asks about, counts as what is plain to see.
    why = why_not_factual(sentence, match, finding.kind == "symptom" or finding.heard_as_danger)
    if why == QUESTION:
        answer = answer_in(following)
        if answer is None and not finding.heard_as_danger:
            doubt = f"`{quote}` {QUESTION}: is it true that “{finding.title}”?"
        elif answer is not None:
            present = present == answer
    elif why and not (finding.part_of_danger or (why == INTENTION and finding.keep_away)):
        doubt = f"`{quote}` {why}: is it true that “{finding.title}”?"
    elif finding.kind == "history" and present and is_trial(sentence, match):
        doubt = f"`{quote}` may have been only a trial: is it true that “{finding.title}”?"
    elif present and not begun and _is_of_the_past(sentence, following, match, finding):
        doubt = f"`{quote}` seems to be over: is it still true that “{finding.title}”?"
    elif finding.kind == "result" and present and is_reported_by_the_meter(sentence, match, finding.phrases):
        doubt = f"`{quote}` is what the meter reports of itself: was it found so, that “{finding.title}”?"
    elif not present and asks_why_not(sentence):
        doubt = f"`{quote}` {QUESTION}: is it true that “{finding.title}”?"
    elif not present and is_historical(sentence, match.first):
        doubt = f"`{quote}` is about the past: is it true now that “{finding.title}”?"
    statement = None if doubt else Statement(quote=quote, finding=finding.id, present=present)
    return Mention(match.first, match.last, statement, doubt, match.specificity())


def _is_only_a_time(sentence: Sentence, match: Match[Claim], finding: Finding, lexicon: Lexicon) -> bool:
    """Check whether a time is that of what somebody did or measured, not of a fault."""
    if finding.id == lexicon.rule_book.settings.intermittent and tells_how_long_somebody_acted(sentence, match):
        return True
    return finding.kind == "history" and is_time_of_a_check(sentence, match)


def _is_of_the_past(sentence: Sentence, following: Sentence | None, match: Match[Claim], finding: Finding) -> bool:
    """Check whether what was stated is over; how a fault came about stays true, but for that of another case."""
    danger = finding.keep_away is not None
    if has_ended(sentence, following, match, danger) or was_another_time(sentence, match):
        return True
    if danger:
        return happened_long_ago(sentence, match)
    lasts = finding.kind in ("history", "circumstance") or any(
        token.text == "since" for token in sentence.tokens[match.last :]
    )
    return not lasts and happened_long_ago(sentence, match, weeks=False)


def _most_specific_of_each(sentence: Sentence, mentions: Sequence[Mention]) -> list[Mention]:
    """Return the most specific mention of each finding in each clause."""
    best: dict[tuple[str, int], Mention] = {}
    for each in mentions:
        name = each.statement.finding if each.statement else each.doubt
        key = (name, sentence.clause(each.first).start)
        if (
            key not in best
            or each.specificity > best[key].specificity
            or (each.specificity == best[key].specificity and _is_denial(each))
        ):
            best[key] = each
    return list(best.values())


def _is_denial(mention: Mention) -> bool:
    """Check for a denial; among equals it wins, since the words of a denial must be close together."""
    return mention.statement is not None and mention.statement.present is False


def _denials_by_subject(
    text: str, sentence: Sentence, mentions: Sequence[Mention], lexicon: Lexicon
) -> Iterator[Mention]:
    subjects = most_specific(lexicon.subjects.matches(sentence.tokens))
    places = {at for match in subjects for at in match.positions}
    mentioned = {each.statement.finding for each in mentions if each.statement}
    for match in subjects:
        findings_of_subject = lexicon.with_subject[match.tag]
        # A fuse that was `checked and found blown` is not otherwise fine.
        if any(
            each.statement and each.statement.present and each.statement.finding in findings_of_subject
            for each in mentions
        ):
            continue
        contradicted = ok_word_of_it(sentence, match)
        ok = contradicted if contradicted is not None else ok_word_of(sentence, match, places)
        if (
            ok is None
            or is_with_part_removed(sentence, match)
            or has_other_experiencer(sentence, match)
            or (contradicted is None and why_not_factual(sentence, match, False))
            or is_historical(sentence, match.first)
        ):
            continue
        first, last = min(match.first, ok), max(match.last, ok)
        quote = quoted(text, sentence, first, last)
        for name in findings_of_subject:
            if name not in mentioned:
                mentioned.add(name)
                yield Mention(
                    first, last, Statement(quote=quote, finding=name, present=False), specificity=SUBJECT_DENIAL
                )
