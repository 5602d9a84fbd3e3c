"""What becomes of a phrase: which of its words count, how freely they may stand, and what it says today."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.language.lexicon import Lexicon
from diagnose.language.phrases import content_stems, variants_of
from diagnose.language.tokens import tokenize
from diagnose.language.understanding import understand


def phrase_shown(lexicon: Lexicon, phrase: str) -> Iterator[str]:
    """Yield, in lines, what a phrase of a finding is taken as.

    ``phrase`` is as an author writes it, without sets of words in angle brackets.
    """
    tokens = tokenize(phrase.lower(), lexicon.vocabulary)
    stems, joins = content_stems(phrase, lexicon.vocabulary)
    if not stems:
        yield "nothing of it counts: it is made of little words only"
        return
    yield f"words that count: {' · '.join(stems)}"
    dropped = [token.text for token in tokens if token.stem not in stems and token.kind != "comma"]
    if dropped:
        yield f"words that do not: {', '.join(dropped)}"
    yield from _freedom(lexicon, phrase, joins)
    if len(stems) == 1:
        yield "one word alone: it speaks wherever it stands; a phrase of two is safer"
    yield from _said_today(lexicon, phrase)


def _freedom(lexicon: Lexicon, phrase: str, joins: bool) -> Iterator[str]:
    variants = [each for found in variants_of([(phrase, 0)], lexicon.vocabulary).values() for each in found]
    widest = max((each.max_gap for each in variants), default=0)
    order = "in any order" if len(variants) > 1 else "in this order"
    between = "nothing" if widest < 0 else f"{widest} other word{'s' if widest != 1 else ''} at most"
    yield f"they may stand {order}, with {between} between two of them{', in two clauses' if joins else ''}"


def _said_today(lexicon: Lexicon, phrase: str) -> Iterator[str]:
    read = understand(phrase, lexicon)
    for each in read.understood:
        what = lexicon.findings[each.finding].title if each.finding else lexicon.quantities[each.quantity].title
        sign = "=" if each.quantity else "+" if each.present else "-"
        yield f"read today as: {sign} {what} ({each.finding or each.quantity})"
    for doubt in read.doubts:
        yield f"to clear up today: {doubt}"
    if not read.understood and not read.doubts:
        yield "read today as: nothing"
