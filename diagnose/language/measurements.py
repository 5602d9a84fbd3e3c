"""Figures of a sentence, each tied to the quantity that the sentence speaks of.

Of the quantities that have the figure's dimension, the one is meant whose words stand nearest. Words before the
figure, longer ones and those that no other such quantity shares count as nearer; a comma or ``and`` as farther. With
no words at all, the only measured quantity of that dimension is meant, or the one that lists the bare unit as a word.
Of a range only a data-sheet field takes something, its upper end, and the quantity that is its lower end the lower one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from diagnose.language import english
from diagnose.language.certainty import no_fact
from diagnose.language.doubts import doubt_about, unknown_unit
from diagnose.language.figures import Figure, over_range
from diagnose.language.lexicon import Lexicon
from diagnose.language.one_sided import as_read
from diagnose.language.phrases import Match, most_specific
from diagnose.language.results import Said, Statement
from diagnose.language.sentences import Sentence
from diagnose.language.statements import quoted
from diagnose.language.words import Word
from diagnose.rule_book.types import Limit, Quantity, Reading
from diagnose.units import spelling, unit_info

_COSTS = {"word": 1.0, "link": 3.0, "comma": 6.0, "break": 8.0, "not": 1.0}
_NUMBER = 3.0
_BEHIND = 1.0
_SAYS_LITTLE = 4.0
_PER_WORD = 1.5
_NEAR = 3


def measurements(text: str, sentence: Sentence, figures: Sequence[Figure], lexicon: Lexicon) -> Iterator[Said]:
    """Return the figures of a sentence as values of quantities, or doubts about them."""
    places = [(figure, place) for figure in figures if (place := _place(sentence, figure)).positions]
    named = [
        (place.first, place.last) for figure, place in places if figure.low is not None and _is_named(figure, lexicon)
    ]
    ground = _ground(sentence, lexicon, named)
    found: list[Said] = []
    for figure, place in places:
        said = _said(text, ground, _not_zero_litres(ground, figure, lexicon), place, lexicon)
        if said is not None:
            found += [said, *_lower_end(figure, said, lexicon)]
    yield from _without_two_values(found)


def _not_zero_litres(ground: _Ground, figure: Figure, lexicon: Lexicon) -> Figure:
    """Return a figure, but ``0L`` where nothing is spoken of that has litres as what instruments show over range."""
    if figure.text != "0L" or ground.among(frozenset(item.id for item in lexicon.alike(figure.unit))):
        return figure
    return over_range(figure.start, figure.end, figure.text)


def _said(text: str, ground: _Ground, figure: Figure, place: Match[str], lexicon: Lexicon) -> Said | None:
    sentence = ground.sentence
    if figure.kind == "unknown unit":
        return unknown_unit(sentence, figure, place, lexicon)
    candidates = lexicon.alike(figure.unit)
    if figure.kind == "range" and not figure.spoken:
        candidates = tuple(item for item in candidates if item.where_to_find)
    clause = range(sentence.clause(place.first).start, place.first)
    guessed = any(sentence.words[at].text in english.GUESSING for at in clause)
    why = no_fact(sentence, place, not guessed)
    if not candidates or why in ("is asked", "is said as a condition"):
        return None
    nearest = _nearest(ground, place, {item.id: item for item in candidates}, lexicon)
    quantity = lexicon.quantities[nearest.tag] if nearest else _equated(ground, figure, place, candidates, lexicon)
    if figure.kind == "limit" and not (quantity and quantity.where_to_find):
        meant = as_read(sentence, figure, place, nearest)
        if meant is None:
            return None
        figure = meant
    if not _counts(sentence, figure, nearest, quantity, lexicon):
        return None
    first = min(place.first, nearest.first) if nearest else place.first
    last = max(place.last, nearest.last) if nearest else place.last
    quote = quoted(text, sentence, place.first, place.last)
    if nearest and sentence.clause(nearest.first) == sentence.clause(place.first):
        quote = quoted(text, sentence, first, last)
    elif figure.direction:
        quote = " ".join(text[figure.lead : figure.end].split())
    value = _bound(figure, quantity)
    quantity = quantity or (None if figure.direction else _default(candidates, figure, value))
    other = _range_of_another(ground, figure, place, quantity, lexicon)
    has_ends = quantity is not None and quantity.id in set(lexicon.lower_ends)
    altered = figure.altered and not _is_named(figure, lexicon)
    doubt = other or doubt_about(figure, quantity, candidates, value, why, has_ends or altered)
    if doubt or quantity is None:
        return Said(place.first, place.last, doubt=doubt)
    read: Reading = Limit(value, figure.direction) if figure.direction else value
    item = Statement(quote=quote, quantity=quantity.id, value=read, unit=quantity.unit)
    names = tuple((match.first, match.last) for match in ground.matches if match.tag == quantity.id)
    return Said(place.first, place.last, item, names=names)


def _bound(figure: Figure, quantity: Quantity | None) -> float:
    """Return a figure in SI units; over range it is the most that is plausible."""
    if figure.over_range and quantity and quantity.plausible:
        return quantity.plausible[1]
    return _in_si(figure.number, figure)


def _in_si(number: float, figure: Figure) -> float:
    return number * unit_info(figure.unit).factor + unit_info(figure.unit).offset


def _lower_end(figure: Figure, said: Said, lexicon: Lexicon) -> Iterator[Said]:
    """Return the lower end of a range whose upper end was understood."""
    name = lexicon.lower_ends.get(said.item.quantity) if said.item else None
    if name is None or said.item is None or figure.kind != "range" or figure.low is None:
        return
    quantity = lexicon.quantities[name]
    value = _in_si(figure.low, figure)
    if quantity.reads_plausible(value):
        item = Statement(quote=said.item.quote, quantity=name, value=value, unit=quantity.unit)
        yield Said(said.first, said.last, item)


def _is_named(figure: Figure, lexicon: Lexicon) -> bool:
    """Tell whether a range is the word for a choice, as ``4-20 mA`` may be."""
    return figure.low is not None and f"{figure.low:g}-{figure.number:g}{figure.unit}".lower() in lexicon.named_ranges


def _equated(
    ground: _Ground, figure: Figure, place: Match[str], candidates: Sequence[Quantity], lexicon: Lexicon
) -> Quantity | None:
    """Return the quantity that has two ends, where a range stands beside a named one (``4-20 mA = 0-9 l/s``)."""
    owners = [item for item in candidates if item.id in lexicon.lower_ends]
    if figure.kind != "range" or len(owners) != 1:
        return None
    words = ground.sentence.words
    for first, last in ground.named_ranges:
        between = words[last + 1 : place.first] or words[place.last + 1 : first]
        beside = last < place.first or first > place.last
        if (
            beside
            and len(between) <= _NEAR
            and all(word.kind in ("stop", "light", "break", "comma") for word in between)
        ):
            return owners[0]
    return None


def _range_of_another(
    ground: _Ground, figure: Figure, place: Match[str], quantity: Quantity | None, lexicon: Lexicon
) -> str:
    """Return a question where a range stands beside the name of something else that has the same dimension."""
    if figure.kind != "range" or quantity is None or quantity.id not in lexicon.lower_ends:
        return ""
    clause = ground.sentence.clause(place.first)
    words = ground.sentence.words
    for match in ground.matches:
        other = lexicon.quantities[match.tag]
        stems = tuple(words[at].stem for at in match.positions)
        measured = not other.where_to_find and other in lexicon.alike(figure.unit) and match.first in clause
        if measured and not lexicon.says_little(other, stems):
            name = " ".join(words[at].text for at in match.positions)
            return f"`{' '.join(figure.text.split())}` stands beside `{name}`: is it meant as {quantity.title}?"
    return ""


def _counts(
    sentence: Sentence, figure: Figure, nearest: Match[str] | None, quantity: Quantity | None, lexicon: Lexicon
) -> bool:
    """Tell whether a figure may be somebody's reading at all."""
    on_data_sheet = quantity is not None and bool(quantity.where_to_find)
    if figure.kind == "range":
        return (on_data_sheet and quantity is not None and quantity.id in lexicon.lower_ends) or (
            figure.spoken and not _is_named(figure, lexicon)
        )
    if figure.kind == "expected" and not on_data_sheet:
        # `should be 24 V` is nobody's reading, unless a quantity has just these words.
        return (
            nearest is not None
            and sentence.words[nearest.last].end > figure.lead > sentence.start - 1
            and (
                sentence.words[nearest.first].start < figure.start and sentence.words[nearest.last].start >= figure.lead
            )
        )
    return figure.kind != "limit" or (quantity is not None and not on_data_sheet)


def _without_two_values(found: Sequence[Said]) -> Iterator[Said]:
    """Go through the figures of a sentence; where one quantity would have two values, ask which is which.

    Of two values of which one is said to be measured, that one holds.
    """
    values: dict[str, set[object]] = {}
    for said in found:
        if said.item:
            values.setdefault(said.item.quantity, set()).add(said.item.value)
    measured = {said.item.quantity: said for said in found if said.item and english.MEASURED.search(said.item.quote)}
    for said in found:
        if said.item and len(values[said.item.quantity]) > 1:
            if len(found) == len(measured) + 1 and said.item.quantity in measured:
                if said is measured[said.item.quantity]:
                    yield said
                continue
            doubt = f"`{said.item.quote}`: which figure belongs to what?"
            yield said._replace(item=None, doubt=doubt)
        else:
            yield said


@dataclass(frozen=True)
class _Ground:
    """A sentence with the words of quantities in it, and what it costs to walk from its start to each word."""

    sentence: Sentence
    matches: list[Match[str]]
    costs: list[float]
    named_ranges: list[tuple[int, int]]
    known: dict[frozenset[str], list[Match[str]]] = field(default_factory=dict)

    def among(self, candidates: frozenset[str]) -> list[Match[str]]:
        """Return the most specific words of some quantities."""
        if candidates not in self.known:
            self.known[candidates] = most_specific([match for match in self.matches if match.tag in candidates])
        return self.known[candidates]


def _place(sentence: Sentence, figure: Figure) -> Match[str]:
    inside = (at for at, word in enumerate(sentence.words) if figure.start <= word.start < figure.end)
    return Match("", tuple(inside), 0)


def _ground(sentence: Sentence, lexicon: Lexicon, named_ranges: list[tuple[int, int]]) -> _Ground:
    words = sentence.words
    found = lexicon.quantity_words.matches(words)
    matches = [match for match in found if all(words[at].kind != "figure" for at in match.positions)]
    free = {at for match in matches for at in match.positions}
    costs = [0.0]
    for at, word in enumerate(words):
        is_free = at in free or word.stem in english.TELLING
        is_number = word.kind == "figure" and word.text[0].isdigit()
        costs.append(costs[-1] + (0.0 if is_free else _NUMBER if is_number else _COSTS.get(word.kind, 0.0)))
    return _Ground(sentence, matches, costs, named_ranges)


def _nearest(
    ground: _Ground, place: Match[str], candidates: dict[str, Quantity], lexicon: Lexicon
) -> Match[str] | None:
    words = ground.sentence.words
    near = ground.among(frozenset(candidates))
    matches = [match for match in near if match.first < place.last or not _has_own_figure(words, place.last, match)]
    scored = [
        (_distance(ground, place, match, candidates[match.tag], lexicon), -len(match.positions), at)
        for at, match in enumerate(matches)
    ]
    return matches[min(scored)[2]] if scored else None


def _distance(ground: _Ground, place: Match[str], match: Match[str], quantity: Quantity, lexicon: Lexicon) -> float:
    behind = match.first > place.last
    first, last = (place.last + 1, match.first) if behind else (match.last + 1, place.first)
    way = ground.costs[max(first, last)] - ground.costs[first]
    stems = tuple(ground.sentence.words[at].stem for at in match.positions)
    little = _SAYS_LITTLE if lexicon.says_little(quantity, stems) else 0.0
    return way + little + (_BEHIND if behind else 0.0) - _PER_WORD * (len(match.positions) - 1)


def _has_own_figure(words: Sequence[Word], figure: int, match: Match[str]) -> bool:
    """Tell whether a word behind a figure starts a part of its own, with its own figure (``5 and in the tank 6``)."""
    parted = any(word.kind in ("link", "comma", "break") for word in words[figure + 1 : match.first])
    behind = words[match.last + 1 : match.last + 1 + _NEAR]
    return parted and any(word.text[0].isdigit() for word in behind)


def _default(candidates: Sequence[Quantity], figure: Figure, value: float) -> Quantity | None:
    if unit_info(figure.unit).dimension == unit_info("s").dimension:
        # Everybody counts minutes and hours, of whatever.
        return None
    measured = [item for item in candidates if not item.where_to_find]
    if len(measured) == 1:
        return measured[0]
    fitting = [item for item in measured if item.reads_plausible(value)]
    named = [item for item in fitting if any(_is_bare_unit(word, figure.unit, item) for word in item.words)]
    return named[0] if named else None


def _is_bare_unit(word: str, written: str, quantity: Quantity) -> bool:
    same = spelling(word) == spelling(written) == spelling(quantity.unit)
    return same and word.strip().lower() in (quantity.unit.lower(), written.lower())
