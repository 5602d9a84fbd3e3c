"""Questions to ask the writer about figures that cannot be used as they are."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.language.figures import FigureInText
from diagnose.language.lexicon import Lexicon
from diagnose.language.phrases import Match
from diagnose.language.results import Mention
from diagnose.language.sentences import Sentence
from diagnose.rule_book.quantities import Quantity
from diagnose.units import could_be, read_number, show, spelling, unit_info

_MOST_TITLES = 4


def doubt_about(
    figure: FigureInText,
    quantity: Quantity | None,
    candidates: Sequence[Quantity],
    value: float,
    why: str,
    accepts_range: bool,
) -> str:
    """Return the question to ask about a figure, or an empty string if it can be used as it is."""
    shown = " ".join(figure.text.split()).rstrip(".")
    if figure.kind == "ambiguous":
        return _ask_number(shown)
    if quantity is None:
        return _ask_quantity(shown, figure, candidates, value)
    if _may_be_mega(figure, quantity):
        either = " or ".join(could_be(f"{figure.number:g}", figure.unit, quantity.unit))
        return f"`{shown}` as {quantity.title}: {either}?"
    if figure.kind == "range" and not accepts_range:
        return f"`{shown}` as {quantity.title} is a range: what is the usual value?"
    if figure.kind == "limit":
        return f"`{shown}` as {quantity.title} is only a limit: what was the reading?"
    if why:
        return unsure(shown, quantity, why)
    if not quantity.reads_plausible(value) and quantity.plausible:
        low, high = (_shown(limit, quantity) for limit in quantity.plausible)
        limits = f"{low.removesuffix(quantity.unit).strip()} … {high}"
        return f"`{shown}` as {quantity.title} is outside the plausible range ({limits}): please check it"
    return ""


def _may_be_mega(figure: FigureInText, quantity: Quantity) -> bool:
    """Tell whether a figure in ``mOhm`` is of something that is given in megohms, of which some write a small m."""
    return spelling(figure.unit) == "milliohm" and bool(could_be("1", figure.unit, quantity.unit))


def unsure(shown: str, quantity: Quantity, why: str) -> str:
    """Return the question to ask about words or a figure that may not say what they seem to."""
    return f"`{shown}` as {quantity.title} {why}: please check it"


def _shown(value: float, quantity: Quantity) -> str:
    return show(value, quantity.unit, quantity.si_factor, quantity.si_offset).replace("-", "−")


def _ask_quantity(shown: str, figure: FigureInText, candidates: Sequence[Quantity], value: float) -> str:
    if unit_info(figure.unit).dimension == unit_info("s").dimension:
        # People give minutes and hours for all sorts of things.
        return ""
    titles = [item.title for item in candidates if not item.where_to_find and item.reads_plausible(value)]
    if len(titles) > _MOST_TITLES:
        return f"`{shown}`: what is it a reading of?"
    return f"`{shown}`: what is it a reading of ({'; '.join(titles)})?" if titles else ""


def _ask_number(shown: str) -> str:
    number, _, _ = shown.partition(" ")
    digits = number.rstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ/³%°µΩ")
    whole, point = digits.replace(",", ""), digits.replace(",", ".")
    either = (
        f"`{shown}` can be read as {whole} or {point}"
        if read_number(whole) is not None
        else f"`{shown}`: what is the figure?"
    )
    return f"{either}: which is it?" if "or" in either else either


def unknown_unit(sentence: Sentence, figure: FigureInText, position: Match[str], lexicon: Lexicon) -> Mention | None:
    """Ask about a figure with an unknown unit, if its clause names a quantity."""
    if lexicon.vocabulary.is_known(figure.unit.lower()) or figure.unit[0].isupper():
        return None
    clause = sentence.clause(position.first)
    about = lexicon.quantity_words.matches([sentence.tokens[at] for at in clause])
    if not about or len(lexicon.vocabulary.corrected(figure.unit.lower())) > 1:
        return None
    return Mention(position.first, position.last, doubt=f"`{' '.join(figure.text.split())}`: unknown unit")
