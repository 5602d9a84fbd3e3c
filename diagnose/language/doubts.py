"""Questions back to the writer about figures that cannot be taken as they stand."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.language.figures import Figure
from diagnose.language.lexicon import Lexicon
from diagnose.language.phrases import Match
from diagnose.language.results import Said
from diagnose.language.sentences import Sentence
from diagnose.rule_book.types import Quantity
from diagnose.units import read_number, show, unit_info

_MOST_TITLES = 4


def doubt_about(
    figure: Figure,
    quantity: Quantity | None,
    candidates: Sequence[Quantity],
    value: float,
    why: str,
    takes_an_end: bool,
) -> str:
    """Return why a figure is not taken as a value of a quantity, as a question; empty if it is."""
    shown = " ".join(figure.text.split()).rstrip(".")
    if figure.kind == "ambiguous":
        return _two_readings(shown)
    if quantity is None:
        return _which(shown, figure, candidates, value)
    if figure.kind == "range" and not takes_an_end:
        return f"`{shown}` as {quantity.title} is a range: which value is usual?"
    if figure.kind == "limit":
        return f"`{shown}` as {quantity.title} is only a limit: which value was read?"
    if why:
        return f"`{shown}` as {quantity.title} {why}: please check it"
    if not quantity.reads_plausible(value) and quantity.plausible:
        low, high = (_shown(limit, quantity) for limit in quantity.plausible)
        limits = f"{low.removesuffix(quantity.unit).strip()} … {high}"
        return f"`{shown}` as {quantity.title} is beyond anything plausible ({limits}): please check it"
    return ""


def _shown(value: float, quantity: Quantity) -> str:
    return show(value, quantity.unit, quantity.si_factor, quantity.si_offset).replace("-", "−")


def _which(shown: str, figure: Figure, candidates: Sequence[Quantity], value: float) -> str:
    if unit_info(figure.unit).dimension == unit_info("s").dimension:
        # Everybody counts minutes and hours, of whatever.
        return ""
    titles = [item.title for item in candidates if not item.where_to_find and item.reads_plausible(value)]
    if len(titles) > _MOST_TITLES:
        return f"`{shown}`: which quantity is meant?"
    return f"`{shown}`: which quantity is meant ({'; '.join(titles)})?" if titles else ""


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


def unknown_unit(sentence: Sentence, figure: Figure, place: Match[str], lexicon: Lexicon) -> Said | None:
    """Ask back about a figure whose unit nobody knows, where the clause speaks of something measured."""
    if lexicon.vocabulary.knows(figure.unit.lower()) or figure.unit[0].isupper():
        return None
    clause = sentence.clause(place.first)
    about = lexicon.quantity_words.matches([sentence.words[at] for at in clause])
    if not about or len(lexicon.vocabulary.mended(figure.unit.lower())) > 1:
        return None
    return Said(place.first, place.last, doubt=f"`{' '.join(figure.text.split())}`: the unit is not known")
