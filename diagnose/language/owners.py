"""Whose a figure is by the grammar of its clause: that of the quantity named nearest, or of another thing beside it.

A figure belongs to the noun that it stands before (``a 2 mm layer``), to the subject or label before it (``the pump
motor runs at 71 °C``), or to what follows with a preposition (``410 uS/cm on the twin meter``). Where that noun names
something else than the quantity, the figure is none of its readings, however near its name stands.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Literal

from diagnose.language.english import all_well, around_figures, experiencer, grammar, owning
from diagnose.language.lexicon import Lexicon
from diagnose.language.phrases import Match
from diagnose.language.sentences import Sentence
from diagnose.language.tokens import Token

Owner = Literal["the quantity", "another", "unclear"]

_LONGEST_PHRASE = 4
"""Words of a noun phrase that follows a preposition."""

_MOST_ADJECTIVES = 2
_LONGEST_LABEL = 6


def owner_of(sentence: Sentence, position: Match[Any], named: Match[Any] | None, lexicon: Lexicon) -> Owner:
    """Return whether a figure is of the quantity that is ``named`` nearest, or of another thing.

    ``position`` are the tokens of the figure; ``named`` is None where no quantity is named.
    """
    before, behind = _own_part(sentence, position)
    return _owner(sentence, position, named, lexicon, (before, behind))


def is_form_of_another(sentence: Sentence, form: Match[Any], lexicon: Lexicon) -> bool:
    """Check whether a figure in a form of its own is of another thing: behind it, or saying it (``pump: DN 80``).

    A thing that only stands before it has it seldom (``elbow 5 D upstream``).
    """
    tokens, last = sentence.tokens, form.last
    while last + 1 < len(tokens) and tokens[last + 1].kind == "figure" and tokens[last + 1].text.isalpha():
        last += 1
    form = Match(form.tag, (*form.positions, *range(form.last + 1, last + 1)), 0)
    before, behind = _own_part(sentence, form)
    read = any(tokens[at].stem in around_figures.READING_STEMS | {":"} for at in before)
    another = _owner(sentence, form, None, lexicon, (before if read else range(0), behind)) == "another"
    return another or _is_size_of_unknown(tokens, form, form)


def _owner(
    sentence: Sentence,
    position: Match[Any],
    named: Match[Any] | None,
    lexicon: Lexicon,
    parts: tuple[range, range],
) -> Owner:
    before = parts[0]
    if _is_attribute_of_another(sentence, position, named) or _is_amount_of_another(sentence, position, named, lexicon):
        return "another"
    if named and named.last < before.start and owner_of(sentence, named, None, lexicon) == "another":
        return "another"
    own = set(named.positions) if named else set()
    for thing in other_things(sentence, lexicon):
        owner = "the quantity" if own.issuperset(thing.positions) else _beside(sentence, position, parts, thing, named)
        if owner != "the quantity":
            return owner
    return "unclear" if _is_unclear(sentence, before, position, named, lexicon) else "the quantity"


def _beside(
    sentence: Sentence, position: Match[Any], parts: tuple[range, range], thing: Match[str], named: Match[Any] | None
) -> Owner:
    """Return whose a figure is where another thing is named somewhere in its sentence."""
    before, behind = parts
    if thing.first < position.first <= thing.last or (named and named.first < thing.first and thing.last < named.last):
        return "another"
    if thing.first >= before.start and thing.last < before.stop:
        return _owner_before(sentence, before, thing, named)
    if thing.first >= behind.start and thing.last < behind.stop:
        return _owner_behind(sentence, behind, thing, named)
    return "the quantity"


def _is_unclear(
    sentence: Sentence, before: range, position: Match[Any], named: Match[Any] | None, lexicon: Lexicon
) -> bool:
    """Check whether a figure may be of something that the rule book has no word for."""
    tokens = sentence.tokens
    if named is None:
        return any(may_be_a_noun(tokens[at]) for at in before)
    if named.last < before.start and _has_label_of_its_own(sentence, before, named):
        return True
    joined = bool(before) and tokens[before[-1]].kind == "link" and named.last == before[-1] - 1
    return joined or _is_size_of_unknown(tokens, position, named) or _is_of_unknown(sentence, named, position, lexicon)


def _own_part(sentence: Sentence, position: Match[Any]) -> tuple[range, range]:
    """Return the words before and behind a figure that may say what it is of: those up to the next figure or clause."""
    tokens, clause = sentence.tokens, sentence.clause(position.first)
    start = position.first
    while start > clause.start and not _parts(tokens, start - 1, clause.start):
        start -= 1
    stop = position.last + 1
    while stop < clause.stop and not _parts(tokens, stop, stop + 1) and tokens[stop].kind != "link":
        stop += 1
    return range(start, position.first), range(position.last + 1, stop)


def _parts(tokens: Sequence[Token], at: int, start: int) -> bool:
    """Check whether what a figure is of cannot stand beyond a word: another figure, *when*, *and the*."""
    token = tokens[at]
    if token.kind == "figure" or token.text in around_figures.BESIDES | owning.CIRCUMSTANCES:
        return True
    if token.text == ":":
        return not _is_a_label(tokens[start:at])
    opens = tokens[at + 1].text if at + 1 < len(tokens) else ""
    return token.kind == "link" and opens in grammar.DETERMINERS | experiencer.PERSONS_SPEAKING | {"there"}


def _is_a_label(before: Sequence[Token]) -> bool:
    """Check whether what stands before a colon only names what the figure behind it is of."""
    said = any(
        token.text in grammar.COPULA | experiencer.PERSONS_SPEAKING or token.stem in around_figures.READING_STEMS
        for token in before
    )
    return len(before) <= _LONGEST_LABEL and not said


def other_things(sentence: Sentence, lexicon: Lexicon) -> Iterator[Match[str]]:
    """Yield what is named in a sentence and has figures of its own: other things, and other meters."""
    yield from lexicon.other_owners.matches(sentence.tokens)
    texts = {token.text for token in sentence.tokens}
    ours = not texts.isdisjoint(owning.OURS)
    known = {at for each in lexicon.quantity_words.matches(sentence.tokens) for at in each.positions} if ours else ()
    for at, token in enumerate(sentence.tokens[:-1]):
        another = token.text.removesuffix("'s") in owning.OTHER_ONES or (token.text == "one" and "other" in texts)
        theirs = ours and at not in known and (token.text.endswith("'s") or token.text in owning.THEIRS)
        told = (another or theirs) and _is_named_after(sentence.tokens, at + 1)
        if told or (token.text in experiencer.OWN_DEVICES and _is_beside_it(sentence.tokens, at + 1)):
            yield Match(token.text, (at, at + 1), 0)


def _is_named_after(tokens: Sequence[Token], at: int) -> bool:
    known = experiencer.OWN_NAMES | owning.MEASURED_THINGS
    return tokens[at].text in known or tokens[at].text.removesuffix("s") in known


def _is_beside_it(tokens: Sequence[Token], at: int) -> bool:
    """Check whether a device is told by where it stands (``the transmitter before it``)."""
    at_it = at + 2 if tokens[at + 1 : at + 2] and tokens[at + 1].text in ("to", "of") else at + 1
    return tokens[at].text in owning.BESIDE_IT and any(token.text in owning.IT for token in tokens[at_it : at_it + 1])


def _is_attribute_of_another(sentence: Sentence, position: Match[Any], named: Match[Any] | None) -> bool:
    """Check whether a figure only tells which thing is meant that stands right behind it (``a 2 mm layer``)."""
    tokens = sentence.tokens
    if not position.first or position.last + 1 >= len(tokens):
        return False
    behind = tokens[position.last + 1]
    single = tokens[position.first - 1].text in owning.INDEFINITE
    noun = behind.kind == "word" and behind.stem not in around_figures.READING_STEMS and behind.text.isalpha()
    near = _noun_phrase(tokens, position.last + 1)
    return single and noun and not (named and not set(near).isdisjoint(named.positions))


def _is_amount_of_another(sentence: Sentence, position: Match[Any], named: Match[Any] | None, lexicon: Lexicon) -> bool:
    """Check whether a figure says how much there is of something (``0.02 mA of error``, ``2 mm of scale``)."""
    tokens = sentence.tokens
    of = position.last + 1
    if of + 1 >= len(tokens) or tokens[of].text != "of":
        return False
    phrase = _noun_phrase(tokens, of + 1)
    own = set(named.positions) if named else set()
    return bool(phrase) and own.isdisjoint(phrase) and not _names_own(tokens, phrase, lexicon)


def _has_label_of_its_own(sentence: Sentence, before: range, named: Match[Any]) -> bool:
    """Check whether another noun stands before a figure whose name is in a clause before (``coil 62, wire 61``)."""
    tokens = sentence.tokens
    opens = before.start - 1
    label = range(max(named.last + 1, opens - _MOST_ADJECTIVES), opens) if tokens[opens].text == "(" else before
    return any(may_be_a_noun(tokens[at]) and not _is_in_a_state(tokens, at + 1, label.stop) for at in label)


def _is_size_of_unknown(tokens: Sequence[Token], position: Match[Any], named: Match[Any]) -> bool:
    """Check whether a figure is told of a thing before it (``a spool of 60 m cable``)."""
    at = position.first - 1
    while at > 0 and tokens[at].text in around_figures.BEFORE_NUMBERS:
        at -= 1
    return at > 0 and tokens[at].text == "of" and at - 1 not in named.positions and may_be_a_noun(tokens[at - 1])


def may_be_a_noun(token: Token) -> bool:
    """Check whether a word may name something that nobody knows: no verb, nor how something is."""
    known = experiencer.OWN_NAMES | owning.MEASURED_THINGS | all_well.OK_WORDS | owning.NO_NOUNS
    if token.kind != "word" or not token.text.isalpha() or token.text in known:
        return False
    return token.stem not in around_figures.READING_STEMS and not token.text.endswith(owning.ENDINGS_OF_OTHERS)


def _noun_phrase(tokens: Sequence[Token], at: int) -> range:
    """Return the words of a noun phrase that begins at a place, without its article."""
    while at < len(tokens) and tokens[at].text in grammar.DETERMINERS:
        at += 1
    stop = at
    while stop < len(tokens) and stop - at < _LONGEST_PHRASE and tokens[stop].kind == "word":
        stop += 1
    return range(at, stop)


def _names_own(tokens: Sequence[Token], phrase: range, lexicon: Lexicon) -> bool:
    """Check whether a noun phrase names the meter, what is read on it, or a liquid."""
    texts = {tokens[at].text for at in phrase}
    if not texts.isdisjoint(experiencer.OWN_NAMES | owning.MEASURED_THINGS | owning.THE_LINE):
        return True
    near = tokens[phrase.start : phrase.stop]
    return bool(lexicon.choices.matches(near) or lexicon.choice_words.matches(near))


def _is_of_unknown(sentence: Sentence, named: Match[Any], position: Match[Any], lexicon: Lexicon) -> bool:
    """Check whether a name is of a thing nobody knows, or such a thing is of it (``the limit of the meter``)."""
    tokens = sentence.tokens
    at = named.first - 1
    while at > 1 and tokens[at].text in grammar.DETERMINERS:
        at -= 1
    if at > 0 and tokens[at].text == "of" and at + 1 < named.first and may_be_a_noun(tokens[at - 1]):
        return True
    of = named.last + 1
    if of >= position.first or tokens[of].text != "of":
        return False
    phrase = _noun_phrase(tokens, of + 1)
    return bool(phrase) and phrase.stop <= position.first and not _names_own(tokens, phrase, lexicon)


def _owner_before(sentence: Sentence, before: range, thing: Match[str], named: Match[Any] | None) -> Owner:
    """Return whose a figure is where another thing stands before it."""
    tokens = sentence.tokens
    if _is_in_a_state(tokens, thing.last + 1, before.stop) or _is_acted_on(tokens, before, thing):
        return "the quantity"
    preposition = _preposition(tokens, thing.first, before.start)
    head = preposition is not None and preposition > before.start
    if preposition is not None and tokens[preposition].text != "of":
        if tokens[preposition].text not in owning.AT_PLACES:
            return "the quantity"
        texts = {tokens[at].text for at in range(before.start, preposition)}
        if not texts.isdisjoint(experiencer.OWN_DEVICES):
            return "the quantity"
        return "unclear" if named and named.first < preposition and not _is_another_one(tokens, thing) else "another"
    if head and preposition is not None and tokens[preposition - 1].text in owning.SIDES:
        return "the quantity"
    if named and named.first < thing.first and _joined(tokens, thing.first):
        return "unclear"
    between = tokens[thing.last + 1 : before.stop]
    if named and thing.last < named.first < before.stop:
        between = tokens[thing.last + 1 : named.first]
        if any(token.kind == "link" for token in between):
            return "the quantity"
        compound = not any(token.kind != "stop" for token in between)
        if compound and tokens[named.first].text in experiencer.OWN_NAMES and not _is_another_one(tokens, thing):
            return "the quantity"
    elif between and between[0].text in experiencer.OWN_DEVICES and not _is_another_one(tokens, thing):
        return "the quantity"
    return "another"


def _owner_behind(sentence: Sentence, behind: range, thing: Match[str], named: Match[Any] | None) -> Owner:
    """Return whose a figure is where another thing stands behind it."""
    tokens = sentence.tokens
    at = thing.last + 1
    while at < len(tokens) and (
        tokens[at].kind in ("stop", "light") or tokens[at].stem in around_figures.READING_STEMS
    ):
        at += 1
    has_its_own = at < len(tokens) and tokens[at].kind == "figure"
    if has_its_own or _is_in_a_state(tokens, thing.last + 1, len(tokens)):
        return "the quantity"
    if named and behind.start <= named.first < thing.first:
        return "the quantity"
    preposition = _preposition(tokens, thing.first, behind.start)
    stands_before = named is not None and named.last < behind.start
    if preposition is None:
        near = thing.first - behind.start <= _MOST_ADJECTIVES
        return "another" if near and not stands_before else "the quantity"
    if tokens[preposition].text == "of":
        inside = preposition > behind.start and tokens[preposition - 1].text in owning.SIDES
        return "the quantity" if inside else "another"
    if tokens[preposition].text not in owning.AT_PLACES | owning.SAID_BY:
        return "the quantity"
    meant = tokens[preposition].text == "for" or _is_another_one(tokens, thing)
    return "another" if meant or not stands_before else "the quantity"


def _preposition(tokens: Sequence[Token], first: int, start: int) -> int | None:
    """Return where the preposition stands that governs a noun, past its article and adjectives."""
    words = 0
    for at in range(first - 1, start - 1, -1):
        token = tokens[at]
        if token.text in owning.PREPOSITIONS:
            return at
        words += token.kind == "word"
        if words > _MOST_ADJECTIVES or token.kind in ("comma", "break", "link", "figure"):
            return None
        if token.text in grammar.COPULA or token.stem in around_figures.READING_STEMS:
            return None
    return None


def _is_in_a_state(tokens: Sequence[Token], at: int, stop: int) -> bool:
    """Check whether a thing is only said to be off, open or just started: then it is a circumstance."""
    said = at
    while at < stop and tokens[at].text in grammar.COPULA | {"half", "fully"}:
        at += 1
    if at < stop and tokens[at].text in grammar.PARTICLES:
        return at > said or at + 1 >= stop or tokens[at + 1].kind in ("comma", "break", "figure")
    return at < stop and tokens[at].text in owning.STATES


def _joined(tokens: Sequence[Token], first: int) -> bool:
    """Check whether a thing is the second of two (``signal cable and motor cable``)."""
    return first > 0 and tokens[first - 1].kind == "link"


def _is_acted_on(tokens: Sequence[Token], before: range, thing: Match[str]) -> bool:
    """Check whether somebody did something to a thing (``we stopped the pump``), and the figure is not what it got."""
    person = any(tokens[at].text in experiencer.PERSONS_SPEAKING for at in range(before.start, thing.first))
    between = tokens[thing.last + 1 : before.stop]
    return person and any(token.kind not in ("stop", "light") for token in between)


def _is_another_one(tokens: Sequence[Token], thing: Match[str]) -> bool:
    """Check whether a thing is another meter of the same kind."""
    texts = {tokens[at].text.removesuffix("'s").removesuffix("s") for at in thing.positions}
    return not texts.isdisjoint(owning.OTHER_ONES) or not texts.isdisjoint(owning.BESIDE_IT)
