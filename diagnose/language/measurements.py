"""Figures of a sentence, each tied to the quantity that the sentence speaks of.

Of the quantities that have the figure's dimension, the one is meant whose words stand nearest. Words before the
figure, longer ones and those that no other such quantity shares count as nearer; a comma or ``and`` as farther. With
no words at all, the only measured quantity of that dimension is meant, or the one that lists the bare unit as a word.
Of a range only a data-sheet field takes something, its upper end.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from diagnose.language import english
from diagnose.language.certainty import no_fact
from diagnose.language.figures import Figure
from diagnose.language.lexicon import Lexicon
from diagnose.language.phrases import Match, most_specific
from diagnose.language.results import Said, Understood
from diagnose.language.sentences import Sentence
from diagnose.language.statements import quoted
from diagnose.rule_book.types import Quantity
from diagnose.units import read_number, show, spelling, unit_info

_COSTS = {"word": 1.0, "link": 3.0, "comma": 6.0, "break": 8.0, "not": 1.0}
_NUMBER = 3.0
_BEHIND = 1.0
_SAYS_LITTLE = 4.0
_PER_WORD = 1.5


def measurements(text: str, sentence: Sentence, figures: Sequence[Figure], lexicon: Lexicon) -> Iterator[Said]:
    """Return the figures of a sentence as values of quantities, or doubts about them."""
    ground = _ground(sentence, lexicon)
    found: list[Said] = []
    for figure in figures:
        at = [place for place, word in enumerate(sentence.words) if figure.start <= word.start < figure.end]
        if at:
            said = _said(text, ground, figure, Match("", tuple(at), 0), lexicon)
            if said is not None:
                found.append(said)
    yield from _without_two_values(found)


def _said(text: str, ground: _Ground, figure: Figure, place: Match[str], lexicon: Lexicon) -> Said | None:
    sentence = ground.sentence
    if figure.kind == "unknown unit":
        return _unknown_unit(sentence, figure, place, lexicon)
    candidates = lexicon.alike(figure.unit)
    if figure.kind == "range" and not figure.spoken:
        candidates = tuple(item for item in candidates if item.where_to_find)
    why = no_fact(sentence, place, True)
    if not candidates or why in ("is asked", "is said as a condition"):
        return None
    nearest = _nearest(ground, place, {item.id: item for item in candidates}, lexicon)
    quantity = lexicon.quantities[nearest.tag] if nearest else None
    if not _counts(sentence, figure, nearest, quantity, lexicon):
        return None
    first = min(place.first, nearest.first) if nearest else place.first
    last = max(place.last, nearest.last) if nearest else place.last
    quote = quoted(text, sentence, place.first, place.last)
    if nearest and sentence.clause(nearest.first) == sentence.clause(place.first):
        quote = quoted(text, sentence, first, last)
    value = figure.number * unit_info(figure.unit).factor + unit_info(figure.unit).offset
    quantity = quantity or _default(candidates, figure, value)
    doubt = _doubt(figure, quantity, candidates, value, why)
    if doubt or quantity is None:
        return Said(place.first, place.last, doubt=doubt)
    item = Understood(quote=quote, quantity=quantity.id, value=value, unit=quantity.unit)
    return Said(place.first, place.last, item)


def _counts(
    sentence: Sentence, figure: Figure, nearest: Match[str] | None, quantity: Quantity | None, lexicon: Lexicon
) -> bool:
    """Tell whether a figure may be somebody's reading at all."""
    on_data_sheet = quantity is not None and bool(quantity.where_to_find)
    if figure.kind == "range":
        low = "" if figure.low is None else f"{figure.low:g}"
        named = f"{low}-{figure.number:g}{figure.unit}".lower() in lexicon.named_ranges
        return on_data_sheet or (figure.spoken and not named)
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
    """Go through the figures of a sentence; where one quantity would have two values, ask which is which."""
    values: dict[str, set[object]] = {}
    for said in found:
        if said.item:
            values.setdefault(said.item.quantity, set()).add(said.item.value)
    for said in found:
        if said.item and len(values[said.item.quantity]) > 1:
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
    known: dict[frozenset[str], list[Match[str]]] = field(default_factory=dict)

    def among(self, candidates: frozenset[str]) -> list[Match[str]]:
        """Return the most specific words of some quantities."""
        if candidates not in self.known:
            self.known[candidates] = most_specific([match for match in self.matches if match.tag in candidates])
        return self.known[candidates]


def _ground(sentence: Sentence, lexicon: Lexicon) -> _Ground:
    words = sentence.words
    found = lexicon.quantity_words.matches(words)
    matches = [match for match in found if all(words[at].kind != "figure" for at in match.positions)]
    free = {at for match in matches for at in match.positions}
    costs = [0.0]
    for at, word in enumerate(words):
        is_free = at in free or word.stem in english.TELLING
        is_number = word.kind == "figure" and word.text[0].isdigit()
        costs.append(costs[-1] + (0.0 if is_free else _NUMBER if is_number else _COSTS.get(word.kind, 0.0)))
    return _Ground(sentence, matches, costs)


def _nearest(
    ground: _Ground, place: Match[str], candidates: dict[str, Quantity], lexicon: Lexicon
) -> Match[str] | None:
    matches = ground.among(frozenset(candidates))
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


def _default(candidates: Sequence[Quantity], figure: Figure, value: float) -> Quantity | None:
    measured = [item for item in candidates if not item.where_to_find]
    if len(measured) == 1:
        return measured[0]
    fitting = [item for item in measured if _plausible(item, value)]
    named = [item for item in fitting if any(_is_bare_unit(word, figure.unit, item) for word in item.words)]
    return named[0] if named else None


def _is_bare_unit(word: str, written: str, quantity: Quantity) -> bool:
    same = spelling(word) == spelling(written) == spelling(quantity.unit)
    return same and word.strip().lower() in (quantity.unit.lower(), written.lower())


def _plausible(quantity: Quantity, value: float) -> bool:
    return quantity.plausible is None or quantity.plausible[0] <= value <= quantity.plausible[1]


def _doubt(figure: Figure, quantity: Quantity | None, candidates: Sequence[Quantity], value: float, why: str) -> str:
    shown = " ".join(figure.text.split())
    if figure.kind == "ambiguous":
        return _two_readings(shown)
    if quantity is None:
        measured = [item for item in candidates if not item.where_to_find]
        titles = "; ".join(item.title for item in measured if _plausible(item, value)) or "none that is listed fits"
        return f"`{shown}`: which quantity is meant ({titles})?" if measured else ""
    if figure.kind == "range" and not quantity.where_to_find:
        return f"`{shown}` as {quantity.title} is a range: which value is usual?"
    if figure.kind == "limit":
        return f"`{shown}` as {quantity.title} is only a limit: which value was read?"
    if why:
        return f"`{shown}` as {quantity.title} {why}: please check it"
    if not _plausible(quantity, value) and quantity.plausible:
        low, high = (_shown(limit, quantity) for limit in quantity.plausible)
        limits = f"{low.removesuffix(quantity.unit).strip()} … {high}"
        return f"`{shown}` as {quantity.title} is beyond anything plausible ({limits}): please check it"
    return ""


def _shown(value: float, quantity: Quantity) -> str:
    return show(value, quantity.unit, quantity.si_factor, quantity.si_offset).replace("-", "−")


def _two_readings(shown: str) -> str:
    number, _, _ = shown.partition(" ")
    digits = number.rstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ/³%°µΩ")
    whole, point = digits.replace(",", ""), digits.replace(",", ".")
    either = (
        f"`{shown}` can be read as {whole} or {point}"
        if read_number(whole) is not None
        else f"`{shown}`: which figure?"
    )
    return f"{either}: which one is meant?" if "or" in either else either


def _unknown_unit(sentence: Sentence, figure: Figure, place: Match[str], lexicon: Lexicon) -> Said | None:
    """Ask back about a figure whose unit nobody knows, where the clause speaks of something measured."""
    if lexicon.vocabulary.knows(figure.unit.lower()) or figure.unit[0].isupper():
        return None
    clause = sentence.clause(place.first)
    about = lexicon.quantity_words.matches([sentence.words[at] for at in clause])
    if not about or len(lexicon.vocabulary.mended(figure.unit.lower())) > 1:
        return None
    return Said(place.first, place.last, doubt=f"`{' '.join(figure.text.split())}`: the unit is not known")
