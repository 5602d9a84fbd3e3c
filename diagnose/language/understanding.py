"""Understands a pasted text: findings present or absent and values of quantities, each with its quote.

A pure function of text and rule book. Anything unclear becomes a doubt to ask about, never a guess.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations

import msgspec

from diagnose.bounded import REPORT_LETTERS
from diagnose.language import doubtful_denials
from diagnose.language.bare_numbers import bare_numbers
from diagnose.language.choices import choices
from diagnose.language.cleaning import tidy
from diagnose.language.compared import with_comparisons
from diagnose.language.danger_words import dangers_in_doubt
from diagnose.language.english import around_figures
from diagnose.language.excuses import excused_beside
from diagnose.language.figures import FigureInText, figures
from diagnose.language.figures_in_forms import figures_written
from diagnose.language.forms import read_forms
from diagnose.language.leftovers import left_over, quoted_run
from diagnose.language.lexicon import Lexicon
from diagnose.language.marked import SentenceRead, parts
from diagnose.language.measurements import measurements
from diagnose.language.pairs import pairs
from diagnose.language.persons import with_persons
from diagnose.language.plain_units import in_plain_units
from diagnose.language.plant import changed_already, plant_told, said_by_states
from diagnose.language.prose_pairs import ProsePairs, pairs_in_prose, unnamed_pairs, which_is_the_reference
from diagnose.language.results import DangerInDoubt, Mention, Statement, Understanding
from diagnose.language.sentences import Sentence, mask_addresses, sentences
from diagnose.language.solved import ending_of, without_what_is_over
from diagnose.language.statements import SUBJECT_DENIAL, statements
from diagnose.language.tags import first_tag, without_comparison
from diagnose.language.wording import words_of
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.quantities import Reading
from diagnose.units import spelling

__all__ = ["Statement", "Understanding", "understand", "understand_further"]


def understand(text: str, index: Lexicon) -> Understanding:
    """Return what a report says about the findings and quantities of a rule book.

    Pass the text through :func:`diagnose.language.cleaning.clean` first; quotes are taken from the cleaned text, with
    line ends as spaces.
    """
    whole = tidy(text)
    text = whole[:REPORT_LETTERS]
    doubts: list[str] = []
    if len(whole) > REPORT_LETTERS:
        doubts.append(f"the text is very long: only its first {REPORT_LETTERS:,} characters were read")
    rule_book = index.rule_book
    searched = read_forms(mask_addresses(text))
    numbers = figures(searched)
    starts = [figure.start for figure in numbers]
    everywhere = list({spelling(figure.unit): figure for figure in numbers if figure.kind == "exact"}.values())
    spans = [
        (figure.start, figure.end) for figure in numbers if figure.kind != "unknown unit" and not figure.over_range
    ]
    found: list[Mention] = []
    not_understood: list[str] = []
    dangers: list[DangerInDoubt] = []
    read: list[SentenceRead] = []
    own_tag = first_tag(text)
    told = pairs_in_prose(text, index)
    spelt_out = (told.start, told.end) if told else unnamed_pairs(text)
    if spelt_out and not told:
        doubts.append(which_is_the_reference(text[slice(*spelt_out)]))
    all_sentences = sentences(searched, index.vocabulary, spans, own_tag)
    for number, sentence in enumerate(all_sentences):
        following = all_sentences[number + 1] if number + 1 < len(all_sentences) else None
        beside = (all_sentences[number - 1] if number else None, following)
        mentions = excused_beside(text, statements(text, sentence, following, index), beside, index)
        if not sentence.boilerplate:
            own = numbers[bisect_left(starts, sentence.start) : bisect_left(starts, sentence.end)]
            own = sorted([*own, *bare_numbers(searched, sentence, own, everywhere, index)], key=lambda each: each.start)
            own = in_plain_units(searched, sentence, own, index)
            mentions += _figures(text, sentence, own, index)
            mentions = _without_figures_of(spelt_out, sentence, mentions, told)
            mentions = with_comparisons(text, sentence, mentions, index)
            mentions = _with_pairs(mentions, list(pairs(text, sentence, mentions, index, told)))
            mentions += choices(text, sentence, mentions, index)
            mentions += list(plant_told(text, sentence, mentions, index))
            mentions += list(changed_already(text, sentence, index))
            mentions = with_persons(text, sentence, mentions, index)
            mentions = _without_names(mentions)
            mentions.sort(key=lambda each: each.first)
        left = [] if sentence.boilerplate else list(left_over(text, sentence, mentions))
        if spelt_out and not told:  # they are asked about
            left = [run for run in left if not _is_within(spelt_out, sentence, run)]
        not_understood += [quoted_run(text, sentence, run) for run in left]
        in_doubt = [] if sentence.boilerplate else list(dangers_in_doubt(text, sentence, mentions, index))
        doubtful = doubtful_denials.in_doubt(sentence, mentions, index)
        mentions = [each for each in mentions if each not in doubtful]
        in_doubt += [doubtful_denials.asked_about(text, sentence, each) for each in doubtful]
        dangers += [danger for _, danger in in_doubt]
        mentions = _contradictions_as_doubts(without_comparison(text, sentence, mentions, own_tag), rule_book)
        read.append(SentenceRead(sentence, mentions, left, [clause for clause, _ in in_doubt]))
        found += mentions
    found = [*_without_weak_denials(found), *said_by_states(found, rule_book)]
    ending = ending_of(text, all_sentences)
    if ending == "closed":
        found = without_what_is_over(found, rule_book)
    kept, contradictions = _without_alternatives(found, rule_book)
    kept, unclear = _without_conflicting_values(kept, rule_book)
    doubts += [each.doubt for each in found if each.doubt] + contradictions + unclear
    return Understanding(
        understood=tuple(_without_repetitions(kept)),
        not_understood=tuple(dict.fromkeys(not_understood)),
        doubts=tuple(dict.fromkeys(doubts)),
        dangers=_still_in_doubt(dangers, kept),
        plant=tuple(dict.fromkeys(each.plant for each in found if each.plant)),
        disturbed=tuple(dict.fromkeys(each.disturbed for each in found if each.disturbed)),
        persons=tuple(dict.fromkeys(each.person for each in found if each.person)),
        reading=parts(whole, read, kept),
        ending=ending,
        sentences=tuple(text[each.sentence.start : each.sentence.end].strip() for each in _spoken(read)),
        worded=index.cause_words.weigh(words_of(_of_the_fault(read, index)), text) if index.cause_words else None,
    )


def _spoken(read: Sequence[SentenceRead]) -> list[SentenceRead]:
    """Return the sentences of a report; none where all that it says are findings, which count as such already."""
    spoken = [each for each in read if not each.sentence.boilerplate]
    return spoken if any(_says_more(each) for each in spoken) else []


def _says_more(read: SentenceRead) -> bool:
    told = any(each.statement and each.statement.finding and each.statement.present for each in read.mentions)
    return bool(read.not_understood) or not told


def _of_the_fault(read: Sequence[SentenceRead], index: Lexicon) -> list[Sentence]:
    """Return sentences without the words of what is denied, and of dangers that no cause shows.

    Who smells gas does not speak of the fault, nor who saw no coating of a coating.
    """
    shown = {name for cause in index.rule_book.causes.values() for name in cause.shows}
    kept: list[Sentence] = []
    for each in read:
        said = [mention for mention in each.mentions if mention.statement and mention.statement.finding]
        aside = {
            at
            for mention in said
            if mention.statement
            if mention.statement.present is False
            or (index.findings[mention.statement.finding].keep_away and mention.statement.finding not in shown)
            for at in range(mention.first, mention.last + 1)
        }
        tokens = tuple(token for at, token in enumerate(each.sentence.tokens) if at not in aside)
        kept.append(replace(each.sentence, tokens=tokens) if aside else each.sentence)
    return kept


def _still_in_doubt(dangers: Sequence[DangerInDoubt], said: Sequence[Statement]) -> tuple[DangerInDoubt, ...]:
    """Leave out what may only be another word for a danger that the text tells or denies elsewhere."""
    known = {each.finding for each in said}
    return tuple(dict.fromkeys(each for each in dangers if known.isdisjoint(each.findings[:1])))


def _figures(text: str, sentence: Sentence, own: Sequence[FigureInText], index: Lexicon) -> Iterator[Mention]:
    """Yield the figures of a sentence: with a unit and a name, else in a form of their own, else as doubts."""
    measured = list(measurements(text, sentence, own, index))
    told = [each for each in measured if each.statement]
    formed = [
        each
        for each in figures_written(text, sentence, index)
        if not any(_overlap(each, other) and not _says_all(sentence, each, other) for other in told)
    ]
    apart = [(each.start, each.end) for each in own if each.kind in ("range", "difference")]
    formed = [each for each in formed if not any(_within(sentence, each, start, end) for start, end in apart)]
    yield from formed
    yield from (each for each in measured if not any(_overlap(each, other) for other in formed))


def _within(sentence: Sentence, form: Mention, start: int, end: int) -> bool:
    """Check whether the figure of a form is the end of a range (``100-240 V AC``), or how far something is apart."""
    return any(start <= sentence.tokens[at].start < end for at in range(form.first, form.last + 1))


def _says_all(sentence: Sentence, form: Mention, measured: Mention) -> bool:
    """Check whether a form has all the words of a figure, and nobody says that it was read (``24 VDC supply``)."""
    clause = sentence.clause(measured.first)
    read = any(sentence.tokens[at].stem in around_figures.READING_STEMS for at in clause)
    return form.first <= measured.first and measured.last <= form.last and not read


def _without_figures_of(
    place: tuple[int, int] | None, sentence: Sentence, mentions: Sequence[Mention], told: ProsePairs | None
) -> list[Mention]:
    """Leave out doubts about single figures where pairs of readings stand, and values of all but the largest pair.

    Where pairs have no names there are none of that either.
    """
    if place is None:
        return list(mentions)
    inside = {at for at, each in enumerate(sentence.tokens) if place[0] <= each.start < place[1]}

    def is_of_figure(each: Mention) -> bool:
        if each.statement is None:
            return bool(each.doubt)
        start, end = told.largest if told else (0, 0)
        kept = start <= sentence.tokens[each.first].start and sentence.tokens[each.last].end <= end
        return not kept and isinstance(each.statement.value, float)

    return [
        each for each in mentions if not (is_of_figure(each) and inside.intersection(range(each.first, each.last + 1)))
    ]


def _is_within(place: tuple[int, int], sentence: Sentence, run: range) -> bool:
    return place[0] <= sentence.tokens[run[0]].start and sentence.tokens[run[-1]].end <= place[1]


def _with_pairs(mentions: Sequence[Mention], compared: Sequence[Mention]) -> list[Mention]:
    """Return the mentions of a sentence with those of readings side by side, whose figures say more than the words."""
    told = {each.statement.finding for each in compared if each.statement}
    return [*(each for each in mentions if not (each.statement and each.statement.finding in told)), *compared]


def _overlap(one: Mention, other: Mention) -> bool:
    return one.first <= other.last and other.first <= one.last


def understand_further(text: str, before: str, index: Lexicon) -> Understanding:
    """Understand a text that continues ``before``: findings from ``text`` alone, word evidence from both."""
    further = understand(text, index)
    if not before or further.worded is None:
        return further
    whole = understand(f"{before}\n\n{text}", index)
    return msgspec.structs.replace(further, worded=whole.worded, sentences=whole.sentences)


def _without_weak_denials(found: Sequence[Mention]) -> list[Mention]:
    """Drop denials by subject of findings that the text explicitly affirms."""
    stated = {each.statement.finding for each in found if each.statement and each.statement.present}
    return [
        each
        for each in found
        if not (each.specificity == SUBJECT_DENIAL and each.statement and each.statement.finding in stated)
    ]


def _without_names(mentions: Sequence[Mention]) -> list[Mention]:
    """Leave out findings read from nothing but the name of what was measured (``coil to earth 500 Mohm``)."""
    names = [name for each in mentions for name in each.names]
    return [
        each
        for each in mentions
        if not (each.statement and each.statement.finding and any(a <= each.first and each.last <= b for a, b in names))
    ]


def _contradictions_as_doubts(mentions: Sequence[Mention], rule_book: RuleBook) -> list[Mention]:
    """Turn alternative symptoms that one sentence states side by side into doubts (``3 % above, then 4 % below``).

    Two interpretations of the same words are left to the rest of the report.
    """
    result = list(mentions)
    for (one, first), (other, second) in combinations(enumerate(mentions), 2):
        group = _exclusive_group(first, rule_book)
        if (
            not group
            or group != _exclusive_group(second, rule_book)
            or first.statement is None
            or second.statement is None
        ):
            continue
        finding, alternative = (
            rule_book.findings[each.statement.finding] for each in (first, second) if each.statement
        )
        apart = first.last < second.first or second.last < first.first
        if apart and finding.kind == "symptom" and finding.id != alternative.id:
            quotes = f"`{first.statement.quote}` and `{second.statement.quote}`"
            doubt = f"{quotes}: is it “{finding.title}” or “{alternative.title}”, or does it change between the two?"
            result[one] = result[other] = first._replace(statement=None, doubt=doubt)
    return result


def _without_alternatives(found: Sequence[Mention], rule_book: RuleBook) -> tuple[list[Statement], list[str]]:
    """Return the statements and doubts; of findings that exclude each other, only the most specific is kept.

    Among equals the last one wins. The others become doubts.
    """
    winners: dict[str, Mention] = {}
    for each in found:
        group = _exclusive_group(each, rule_book)
        if group and (group not in winners or each.specificity >= winners[group].specificity):
            winners[group] = each
    kept: list[Statement] = []
    doubts: list[str] = []
    for each in found:
        if each.statement is None:
            continue
        winner = winners.get(_exclusive_group(each, rule_book))
        if winner is None or winner.statement is None or winner.statement.finding == each.statement.finding:
            kept.append(each.statement)
        else:
            both = f"`{each.statement.quote}` and `{winner.statement.quote}`"
            doubts.append(f"{both} contradict each other; the second was used: is that right?")
    return kept, doubts


def _without_conflicting_values(items: Sequence[Statement], rule_book: RuleBook) -> tuple[list[Statement], list[str]]:
    """Return the statements and doubts; quantities given different values in words become doubts."""
    quotes: dict[str, dict[str, str]] = {}
    for item in items:
        if isinstance(item.value, str) and not item.one_of_several:
            quotes.setdefault(item.quantity, {}).setdefault(item.value, item.quote)
    unclear = {name: values for name, values in quotes.items() if len(values) > 1}
    doubts = [
        f"`{'`, `'.join(dict.fromkeys(values.values()))}`: {rule_book.quantities[name].title}: {' or '.join(values)}?"
        for name, values in unclear.items()
    ]
    several = {item.quantity for item in items if not _stands_alone(item, rule_book)}
    return [
        item
        for item in items
        if item.quantity not in unclear and not (_stands_alone(item, rule_book) and item.quantity in several)
    ], doubts


def _stands_alone(item: Statement, rule_book: RuleBook) -> bool:
    """Check whether a word excludes all others of its quantity; where another is named too, this one was wrong."""
    return item.one_of_several and item.value in rule_book.quantities[item.quantity].alone


def _exclusive_group(mention: Mention, rule_book: RuleBook) -> str:
    return (
        rule_book.findings[mention.statement.finding].alternatives
        if mention.statement and mention.statement.present
        else ""
    )


def _without_repetitions(items: Sequence[Statement]) -> Iterator[Statement]:
    """Yield the statements without those that only repeat the previous one about the same thing."""
    latest: dict[str, tuple[bool | None, Reading | str | None]] = {}
    for item in items:
        name, what = item.finding or item.quantity, (item.present, item.value)
        if latest.get(name) != what:
            latest[name] = what
            yield item
