"""Pasted text to what it says: findings present or absent and values of quantities, each with the words that gave it.

A pure function of text and rule book. What is unclear is not guessed but asked back, as a doubt.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from itertools import combinations, zip_longest

import msgspec

from diagnose.language.bare_numbers import bare_numbers
from diagnose.language.choices import choices
from diagnose.language.cleaning import tidy
from diagnose.language.figures import figures
from diagnose.language.lexicon import lexicon
from diagnose.language.measurements import measurements
from diagnose.language.results import Said, Statement, Understanding, shortened
from diagnose.language.sentences import Sentence, masked, sentences
from diagnose.language.statements import BY_SUBJECT, statements
from diagnose.language.wording import words_of
from diagnose.rule_book.types import Reading, RuleBook

__all__ = ["LONGEST_TEXT", "Statement", "Understanding", "understand", "understand_further"]

LONGEST_TEXT = 250_000
"""Characters that are read; what comes after is left out, and a doubt says so."""

_WORDS_WORTH_LISTING = 2


def understand(text: str, rule_book: RuleBook) -> Understanding:
    """Return what a report says about the findings and quantities of a rule book.

    The text should have gone through :func:`diagnose.language.cleaning.clean`; quotes are words of the text so
    cleaned, with line ends as spaces.
    """
    text = tidy(text)
    doubts: list[str] = []
    if len(text) > LONGEST_TEXT:
        doubts.append(f"the text is very long: only its first {LONGEST_TEXT:,} characters were read")
        text = text[:LONGEST_TEXT]
    known = lexicon(rule_book)
    searched = masked(text)
    numbers = figures(searched)
    starts = [figure.start for figure in numbers]
    spans = [
        (figure.start, figure.end) for figure in numbers if figure.kind != "unknown unit" and not figure.over_range
    ]
    found: list[Said] = []
    not_understood: list[str] = []
    all_sentences = sentences(searched, known.vocabulary, spans)
    for sentence, following in zip_longest(all_sentences, all_sentences[1:]):
        said = statements(text, sentence, following, known)
        if not sentence.quiet:
            own = numbers[bisect_left(starts, sentence.start) : bisect_left(starts, sentence.end)]
            own = sorted([*own, *bare_numbers(searched, sentence, own, numbers, known)], key=lambda each: each.start)
            said += [*measurements(text, sentence, own, known), *choices(text, sentence, known)]
            said = _without_names(said)
            said.sort(key=lambda each: each.first)
            not_understood += _missed(text, sentence, said)
        found += _without_both(said, rule_book)
    found = _without_weak_denials(found)
    kept, contradictions = _without_rivals(found, rule_book)
    kept, unclear = _without_two_words(kept, rule_book)
    doubts += [each.doubt for each in found if each.doubt] + contradictions + unclear
    return Understanding(
        understood=tuple(_without_repetitions(kept)),
        not_understood=tuple(dict.fromkeys(not_understood)),
        doubts=tuple(dict.fromkeys(doubts)),
        worded=known.cause_words.weigh(words_of(all_sentences), text) if known.cause_words else None,
    )


def understand_further(text: str, before: str, rule_book: RuleBook) -> Understanding:
    """Return what a text says that goes on from ``before``: its findings, and the words of both together."""
    said = understand(text, rule_book)
    if not before or said.worded is None:
        return said
    return msgspec.structs.replace(said, worded=understand(f"{before}\n\n{text}", rule_book).worded)


def _missed(text: str, sentence: Sentence, said: Sequence[Said]) -> Iterator[str]:
    """Return the sentence, or those of its clauses, in which nothing was understood."""
    if not said:
        if _worth_listing(sentence, range(len(sentence.words))):
            yield shortened(text[sentence.start : sentence.end], 300)
        return
    for clause in sentence.clauses():
        touched = any(each.first in clause or each.last in clause for each in said)
        if not touched and _worth_listing(sentence, clause):
            yield shortened(text[sentence.words[clause[0]].start : sentence.words[clause[-1]].end], 300)


def _worth_listing(sentence: Sentence, places: range) -> bool:
    return sum(sentence.words[at].kind in ("word", "not", "figure") for at in places) >= _WORDS_WORTH_LISTING


def _without_weak_denials(found: Sequence[Said]) -> list[Said]:
    """Leave out that something was checked or fine where the text says in so many words that it is not."""
    stated = {each.item.finding for each in found if each.item and each.item.present}
    return [each for each in found if not (each.rank == BY_SUBJECT and each.item and each.item.finding in stated)]


def _without_names(said: Sequence[Said]) -> list[Said]:
    """Leave out findings read from nothing but the name of what was measured (``coil to earth 500 Mohm``)."""
    names = [name for each in said for name in each.names]
    return [
        each
        for each in said
        if not (each.item and each.item.finding and any(a <= each.first and each.last <= b for a, b in names))
    ]


def _without_both(said: Sequence[Said], rule_book: RuleBook) -> list[Said]:
    """Turn symptoms that exclude each other into doubts where one sentence states both (``3 % above, then 4 % below``).

    Of two readings of the same words the rest of the report decides as ever.
    """
    result = list(said)
    for (one, first), (other, second) in combinations(enumerate(said), 2):
        group = _rivalry(first, rule_book)
        if not group or group != _rivalry(second, rule_book) or first.item is None or second.item is None:
            continue
        finding, rival = (rule_book.findings[each.item.finding] for each in (first, second) if each.item)
        apart = first.last < second.first or second.last < first.first
        if apart and finding.kind == "symptom" and finding.id != rival.id:
            quotes = f"`{first.item.quote}` and `{second.item.quote}`"
            doubt = f"{quotes}: is it “{finding.title}” or “{rival.title}”, or now this, now that?"
            result[one] = result[other] = first._replace(item=None, doubt=doubt)
    return result


def _without_rivals(found: Sequence[Said], rule_book: RuleBook) -> tuple[list[Statement], list[str]]:
    """Return what was understood, of findings that exclude each other only the one stated most specifically.

    Among equals the last one holds. What is left out becomes a doubt.
    """
    winners: dict[str, Said] = {}
    for each in found:
        group = _rivalry(each, rule_book)
        if group and (group not in winners or each.rank >= winners[group].rank):
            winners[group] = each
    kept: list[Statement] = []
    doubts: list[str] = []
    for each in found:
        if each.item is None:
            continue
        winner = winners.get(_rivalry(each, rule_book))
        if winner is None or winner.item is None or winner.item.finding == each.item.finding:
            kept.append(each.item)
        else:
            both = f"`{each.item.quote}` and `{winner.item.quote}`"
            doubts.append(f"{both} exclude each other; the latter was taken: is that right?")
    return kept, doubts


def _without_two_words(items: Sequence[Statement], rule_book: RuleBook) -> tuple[list[Statement], list[str]]:
    """Return the items without quantities for whose value different words were used; each becomes a doubt."""
    quotes: dict[str, dict[str, str]] = {}
    for item in items:
        if isinstance(item.value, str):
            quotes.setdefault(item.quantity, {}).setdefault(item.value, item.quote)
    unclear = {name: said for name, said in quotes.items() if len(said) > 1}
    doubts = [
        f"`{'`, `'.join(dict.fromkeys(said.values()))}`: {rule_book.quantities[name].title}: {' or '.join(said)}?"
        for name, said in unclear.items()
    ]
    return [item for item in items if item.quantity not in unclear], doubts


def _rivalry(said: Said, rule_book: RuleBook) -> str:
    return rule_book.findings[said.item.finding].alternatives if said.item and said.item.present else ""


def _without_repetitions(items: Sequence[Statement]) -> Iterator[Statement]:
    """Go through the items without those that only say again what was said of the same thing before."""
    latest: dict[str, tuple[bool | None, Reading | str | None]] = {}
    for item in items:
        name, what = item.finding or item.quantity, (item.present, item.value)
        if latest.get(name) != what:
            latest[name] = what
            yield item
