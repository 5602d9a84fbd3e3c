"""Findings that a sentence states or denies."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.language import english
from diagnose.language.certainty import (
    about_another,
    has_own_negation,
    lapsed,
    negated,
    no_fact,
    over,
    so_at_times,
)
from diagnose.language.circumstances import tried_in_vain, well_then
from diagnose.language.denials import found_ok
from diagnose.language.lexicon import Claim, Lexicon
from diagnose.language.misleading import is_misleading, without_part
from diagnose.language.phrases import Match, most_specific
from diagnose.language.results import Said, Statement, is_short
from diagnose.language.sentences import Sentence

BY_SUBJECT = (0, 0)
"""Rank of a denial that has only a subject and an ok-word; whatever is said in so many words outweighs it."""


def statements(text: str, sentence: Sentence, following: Sentence | None, lexicon: Lexicon) -> list[Said]:
    """Return what a sentence says about findings, in order; ``following`` may answer or take back what it says."""
    matches = _matches(sentence, lexicon)
    matches = [match for match in matches if not is_misleading(sentence, match)]
    owned = [match for match in matches if has_own_negation(sentence.words, match)]
    said = [
        _said(text, sentence, following, match, _taken(sentence, match, owned), lexicon)
        for match in matches
        if not _pointless(sentence, following, match, lexicon)
    ]
    said = _best_of_each(sentence, said)
    said += _denied_by_subject(text, sentence, said, lexicon)
    return sorted(said, key=lambda each: (each.first, each.last))


def _matches(sentence: Sentence, lexicon: Lexicon) -> list[Match[Claim]]:
    """Return the most specific claims, and histories (``intermittent``, ``comes and goes``) within longer ones."""
    found = lexicon.claims.matches(sentence.words)
    kept = most_specific(found)
    single = [
        match
        for match in found
        if lexicon.findings[match.tag.finding].kind == "history"
        and match not in kept
        and _is_by_itself(sentence, match)
    ]
    return [*kept, *single]


def _is_by_itself(sentence: Sentence, match: Match[Claim]) -> bool:
    """Tell whether a history says the same within a longer statement: one word, or two with ``and`` between."""
    between = sentence.words[match.first + 1 : match.last]
    if any(sentence.words[at].text in english.PARTICLES for at in match.positions):
        return False
    return len(match.positions) == 1 or (len(match.positions) == len(between) + 1 and between[0].text == "and")


def _taken(sentence: Sentence, match: Match[Claim], owned: Sequence[Match[Claim]]) -> set[int]:
    """Return where negations stand that belong to other phrases.

    One of a phrase that denies the same finding denies this match too: ``no error`` in ``no error on the screen``.
    """
    return {
        at
        for owner in owned
        for at in owner.positions
        if sentence.words[at].kind == "not"
        and not _shares_denied(sentence, owner, match, at)
        and (owner.tag != (match.tag.finding, False) or not match.tag.present or at > match.first)
    }


def _shares_denied(sentence: Sentence, owner: Match[Claim], match: Match[Claim], at: int) -> bool:
    """Tell whether the very word that is denied is one of the match too: ``no alarm`` and ``alarm for empty pipe``."""
    denied = next((position for position in owner.positions if position > at), None)
    joined = any(word.kind == "link" for word in sentence.words[at : match.last])
    return denied in match.positions and at < match.last and match.last in sentence.clause(at) and not joined


def _pointless(sentence: Sentence, following: Sentence | None, match: Match[Claim], lexicon: Lexicon) -> bool:
    return lexicon.findings[match.tag.finding].kind != "symptom" and tried_in_vain(sentence, following, match)


def quoted(text: str, sentence: Sentence, first: int, last: int) -> str:
    """Return the words of the text around a match: the clause when it is short, else from first to last word."""
    words = sentence.words
    start, end = sentence.clause(first).start, sentence.clause(last).stop - 1
    whole = text[words[start].start : words[end].end]
    return " ".join((whole if is_short(whole) else text[words[first].start : words[last].end]).split())


def _said(
    text: str,
    sentence: Sentence,
    following: Sentence | None,
    match: Match[Claim],
    taken: set[int],
    lexicon: Lexicon,
) -> Said:
    finding = lexicon.findings[match.tag.finding]
    present = match.tag.present != negated(sentence.words, match, taken) or so_at_times(sentence.words, match, taken)
    if finding.kind == "history" and present and well_then(sentence, match):
        present = False
    quote = quoted(text, sentence, match.first, match.last)
    doubt = ""
    why = no_fact(sentence, match, finding.kind == "symptom")
    if why == "is asked":
        answer = _answer(following)
        if answer is None:
            doubt = f"`{quote}` is asked, not stated: is it so that “{finding.title}”?"
        else:
            present = present == answer
    elif why:
        doubt = f"`{quote}` {why}: please find out whether “{finding.title}”"
    elif present and over(sentence, following, match):
        doubt = f"`{quote}` seems to be over: is “{finding.title}” still so?"
    elif not present and lapsed(sentence, match.first):
        doubt = f"`{quote}` tells of the past: is “{finding.title}” so now?"
    item = None if doubt else Statement(quote=quote, finding=finding.id, present=present)
    return Said(match.first, match.last, item, doubt, match.rank())


def _answer(following: Sentence | None) -> bool | None:
    """Return what the sentence after a question answers, or None when it is no answer."""
    if following is None or (len(following.words) > 1 and following.words[1].kind not in ("comma", "break")):
        return None
    first = following.words[0].text
    return True if first in english.YES else False if first in english.NO else None


def _best_of_each(sentence: Sentence, said: Sequence[Said]) -> list[Said]:
    """Return one statement for each finding and clause: the most specific."""
    best: dict[tuple[str, int], Said] = {}
    for each in said:
        name = each.item.finding if each.item else each.doubt
        key = (name, sentence.clause(each.first).start)
        if key not in best or each.rank > best[key].rank or (each.rank == best[key].rank and _denies(each)):
            best[key] = each
    return list(best.values())


def _denies(said: Said) -> bool:
    """Tell whether a statement denies; of equals, that one counts, for words that deny must stand close together."""
    return said.item is not None and said.item.present is False


def _denied_by_subject(text: str, sentence: Sentence, said: Sequence[Said], lexicon: Lexicon) -> Iterator[Said]:
    subjects = most_specific(lexicon.subjects.matches(sentence.words))
    places = {at for match in subjects for at in match.positions}
    spoken_of = {each.item.finding for each in said if each.item}
    for match in subjects:
        concerned = lexicon.with_subject[match.tag]
        # Of a fuse that was `checked and found blown`, nothing else is denied.
        if any(each.item and each.item.present and each.item.finding in concerned for each in said):
            continue
        ok = found_ok(sentence, match, places)
        if (
            ok is None
            or without_part(sentence, match)
            or about_another(sentence, match)
            or no_fact(sentence, match, False)
            or lapsed(sentence, match.first)
        ):
            continue
        first, last = min(match.first, ok), max(match.last, ok)
        quote = quoted(text, sentence, first, last)
        for name in concerned:
            if name not in spoken_of:
                spoken_of.add(name)
                yield Said(first, last, Statement(quote=quote, finding=name, present=False), rank=BY_SUBJECT)
