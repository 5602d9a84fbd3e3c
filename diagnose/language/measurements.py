"""Binds the figures of a sentence to quantities.

Among the quantities of the figure's dimension, the one named nearest is chosen. Names before the figure, longer names
and unambiguous ones count as nearer; a comma or ``and`` in between as farther. If none is named, the figure belongs to
the only measured quantity of that dimension, or to the one that lists the bare unit among its names. A range is used
only for data-sheet fields: its upper end, and its lower end where a quantity is the lower end of that field.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from diagnose.language.as_found import OF_SOMETHING_ELSE, is_only_when, why_not_as_found
from diagnose.language.assertion import CONDITION, QUESTION, why_not_factual
from diagnose.language.doubts import doubt_about, unknown_unit
from diagnose.language.ended import was_measured_before
from diagnose.language.english import around_figures, grammar, speculation
from diagnose.language.figures import FigureInText, over_range
from diagnose.language.lexicon import Lexicon
from diagnose.language.one_sided import as_read
from diagnose.language.owners import owner_of
from diagnose.language.phrases import Match, most_specific
from diagnose.language.results import Mention, Statement
from diagnose.language.sentences import Sentence
from diagnose.language.statements import quoted
from diagnose.language.tokens import Token, stem
from diagnose.rule_book.quantities import Limit, Quantity, Reading
from diagnose.units import spelling, unit_info

_TOKEN_COSTS = {"word": 1.0, "link": 3.0, "comma": 6.0, "break": 8.0, "not": 1.0}
_NUMBER_COST = 3.0
_BEHIND_COST = 1.0
_UNSPECIFIC_COST = 4.0
_WORD_BONUS = 1.5
_WINDOW = 3
_BRACKET_COST = 1.0
_LONGEST_IN_BRACKETS = 5


def measurements(text: str, sentence: Sentence, figures: Sequence[FigureInText], lexicon: Lexicon) -> Iterator[Mention]:
    """Yield the figures of a sentence as values of quantities, or as doubts."""
    located = [(figure, position) for figure in figures if (position := _position(sentence, figure)).positions]
    named = [
        (position.first, position.last)
        for figure, position in located
        if figure.low is not None and _is_choice_name(figure, lexicon)
    ]
    ranges = [(position.first, position.last) for figure, position in located if figure.kind == "range"]
    ranges = [each for each in ranges if each not in named]
    context = _context(sentence, lexicon, named, ranges)
    found: list[Mention] = []
    for figure, position in located:
        mention = _mention(text, context, _not_zero_litres(context, figure, lexicon), position, lexicon)
        if mention is not None:
            found += [mention, *_lower_end(figure, mention, lexicon)]
    yield from _without_two_values(found)


def _not_zero_litres(context: _Context, figure: FigureInText, lexicon: Lexicon) -> FigureInText:
    """Return a figure, but ``0L`` where nothing is spoken of that has litres as what instruments show over range."""
    if figure.text != "0L" or context.among(frozenset(item.id for item in lexicon.commensurable(figure.unit))):
        return figure
    return over_range(figure.start, figure.end, figure.text)


_MEASURED = stem("measured")


def _mention(
    text: str, context: _Context, figure: FigureInText, position: Match[str], lexicon: Lexicon
) -> Mention | None:
    sentence = context.sentence
    if figure.kind == "unknown unit":
        return unknown_unit(sentence, figure, position, lexicon)
    candidates = lexicon.commensurable(figure.unit)
    if figure.kind == "range" and not figure.in_words:
        candidates = tuple(candidate for candidate in candidates if candidate.of_data_sheet)
    clause = range(sentence.clause(position.first).start, position.first)
    guessed = any(sentence.tokens[at].text in speculation.GUESS_VERBS for at in clause)
    why = why_not_factual(sentence, position, not guessed)
    if not candidates or why in (QUESTION, CONDITION):
        return None
    if figure.kind == "range" and not figure.swings:
        context = _with_range_words(context, lexicon)
    nearest = _nearest(context, position, {item.id: item for item in candidates}, lexicon)
    quantity = (
        lexicon.quantities[nearest.tag]
        if nearest
        else _equated_quantity(context, figure, position, candidates, lexicon)
    )
    candidates, quantity, nearest = _as_measured(sentence, position, (candidates, quantity, nearest), lexicon)
    if figure.kind == "limit" and not (quantity and quantity.of_data_sheet):
        meant = as_read(sentence, figure, position, nearest)
        if meant is None:
            return None
        figure = meant
    if not _may_be_reading(sentence, figure, nearest, quantity, lexicon):
        return None
    owner = owner_of(sentence, position, nearest, lexicon)
    if owner == "another" or (not (quantity and quantity.of_data_sheet) and was_measured_before(sentence, position)):
        return None
    first = min(position.first, nearest.first) if nearest else position.first
    last = max(position.last, nearest.last) if nearest else position.last
    quote = quoted(text, sentence, position.first, position.last)
    if nearest and sentence.clause(nearest.first) == sentence.clause(position.first):
        quote = quoted(text, sentence, first, last)
    elif figure.direction:
        quote = " ".join(text[figure.lead : figure.end].split())
    value = _bound(figure, quantity)
    quantity = quantity or (None if figure.direction else _default(candidates, figure, value))
    why = why or (OF_SOMETHING_ELSE if owner == "unclear" else why_not_as_found(sentence, position, quantity, lexicon))
    other = _range_of_another(context, figure, position, quantity, lexicon)
    has_ends = quantity is not None and quantity.id in set(lexicon.lower_ends)
    altered = figure.is_change and not _is_choice_name(figure, lexicon)
    doubt = other or doubt_about(figure, quantity, candidates, value, why, has_ends or altered)
    if doubt or quantity is None:
        return Mention(position.first, position.last, doubt=doubt)
    read: Reading = Limit(value, figure.direction) if figure.direction else value
    item = Statement(quote=quote, quantity=quantity.id, value=read, unit=quantity.unit)
    # What reaches across the figure is no name (`current … loop` in `current constant 4 mA after loop check`).
    own = [match for match in context.matches if match.tag == quantity.id]
    names = tuple((each.first, each.last) for each in own if not each.first < position.first < each.last)
    return Mention(position.first, position.last, item, names=names)


def _bound(figure: FigureInText, quantity: Quantity | None) -> float:
    """Return a figure in SI units; over range it is the most that is plausible."""
    if figure.over_range and quantity and quantity.plausible:
        return quantity.plausible[1]
    return _in_si(figure.number, figure)


def _in_si(number: float, figure: FigureInText) -> float:
    return number * unit_info(figure.unit).factor + unit_info(figure.unit).offset


def _lower_end(figure: FigureInText, mention: Mention, lexicon: Lexicon) -> Iterator[Mention]:
    """Yield the lower end of a range whose upper end was understood."""
    name = lexicon.lower_ends.get(mention.statement.quantity) if mention.statement else None
    if name is None or mention.statement is None or figure.kind != "range" or figure.low is None:
        return
    quantity = lexicon.quantities[name]
    value = _in_si(figure.low, figure)
    if quantity.reads_plausible(value):
        statement = Statement(quote=mention.statement.quote, quantity=name, value=value, unit=quantity.unit)
        yield Mention(mention.first, mention.last, statement)


def _is_choice_name(figure: FigureInText, lexicon: Lexicon) -> bool:
    """Check whether a range is the name of a choice, as ``4-20 mA`` may be."""
    return figure.low is not None and f"{figure.low:g}-{figure.number:g}{figure.unit}".lower() in lexicon.named_ranges


def _equated_quantity(
    context: _Context, figure: FigureInText, position: Match[str], candidates: Sequence[Quantity], lexicon: Lexicon
) -> Quantity | None:
    """Return the quantity with two ends if a range is equated with a named one (``4-20 mA = 0-9 l/s``)."""
    owners = [candidate for candidate in candidates if candidate.id in lexicon.lower_ends]
    if figure.kind != "range" or len(owners) != 1:
        return None
    tokens = context.sentence.tokens
    for first, last in context.named_ranges:
        between = tokens[last + 1 : position.first] or tokens[position.last + 1 : first]
        beside = last < position.first or first > position.last
        if (
            beside
            and len(between) <= _WINDOW
            and all(token.kind in ("stop", "light", "break", "comma") for token in between)
        ):
            return owners[0]
    return None


def _range_of_another(
    context: _Context, figure: FigureInText, position: Match[str], quantity: Quantity | None, lexicon: Lexicon
) -> str:
    """Return a question if a range is next to the name of another quantity of the same dimension."""
    if figure.kind != "range" or quantity is None or quantity.id not in lexicon.lower_ends:
        return ""
    clause = context.sentence.clause(position.first)
    tokens = context.sentence.tokens
    for match in context.matches:
        other = lexicon.quantities[match.tag]
        stems = tuple(tokens[at].stem for at in match.positions)
        measured = not other.of_data_sheet and other in lexicon.commensurable(figure.unit) and match.first in clause
        if measured and not lexicon.is_unspecific(other, stems):
            name = " ".join(tokens[at].text for at in match.positions)
            return f"`{' '.join(figure.text.split())}` is next to `{name}`: does it mean {quantity.title}?"
    return ""


def _may_be_reading(
    sentence: Sentence, figure: FigureInText, nearest: Match[str] | None, quantity: Quantity | None, lexicon: Lexicon
) -> bool:
    """Check whether a figure can be a reading or a data-sheet value at all."""
    on_data_sheet = quantity is not None and quantity.of_data_sheet
    if figure.kind == "range":
        return (on_data_sheet and quantity is not None and quantity.id in lexicon.lower_ends) or (
            figure.in_words and not _is_choice_name(figure, lexicon)
        )
    if figure.kind == "difference" or (figure.kind == "expected" and not on_data_sheet):
        # `should be 24 V` is not a reading, nor `by 2 V`, unless a quantity is named in these very words.
        return (
            nearest is not None
            and sentence.tokens[nearest.last].end > figure.lead > sentence.start - 1
            and (
                sentence.tokens[nearest.first].start < figure.start
                and sentence.tokens[nearest.last].start >= figure.lead
            )
        )
    return figure.kind != "limit" or (quantity is not None and not on_data_sheet)


def _without_two_values(found: Sequence[Mention]) -> Iterator[Mention]:
    """Yield the mentions of a sentence; if one quantity has two values, turn them into doubts.

    If one of two values is said to be measured, that one counts.
    """
    values: dict[str, set[object]] = {}
    for mention in found:
        if mention.statement:
            values.setdefault(mention.statement.quantity, set()).add(mention.statement.value)
    measured = {
        mention.statement.quantity: mention
        for mention in found
        if mention.statement and around_figures.MEASURED_VALUE.search(mention.statement.quote)
    }
    for mention in found:
        if mention.statement and len(values[mention.statement.quantity]) > 1:
            if len(found) == len(measured) + 1 and mention.statement.quantity in measured:
                if mention is measured[mention.statement.quantity]:
                    yield mention
                continue
            doubt = f"`{mention.statement.quote}`: which figure belongs to which quantity?"
            yield mention._replace(statement=None, doubt=doubt)
        else:
            yield mention


@dataclass(frozen=True)
class _Context:
    """A sentence with the quantities named in it and the cumulative distance cost at each token."""

    sentence: Sentence
    matches: list[Match[str]]
    costs: list[float]
    named_ranges: list[tuple[int, int]]
    ranges: list[tuple[int, int]]
    known: dict[frozenset[str], list[Match[str]]] = field(default_factory=dict)

    def among(self, candidates: frozenset[str]) -> list[Match[str]]:
        """Return the most specific names of the candidates in the sentence."""
        if candidates not in self.known:
            names = most_specific([match for match in self.matches if match.tag in candidates])
            others = [match for match in self.matches if match.tag not in candidates and not match.gap]
            self.known[candidates] = [
                match for match in names if not any(_is_only_a_part(match, each) for each in others)
            ]
        return self.known[candidates]


def _is_only_a_part(match: Match[str], longer: Match[str]) -> bool:
    """Check whether a name only tells more of what something else is called (``coil`` in ``coil current``)."""
    return set(match.positions) < set(longer.positions) and match.last < longer.last


def _position(sentence: Sentence, figure: FigureInText) -> Match[str]:
    inside = (at for at, token in enumerate(sentence.tokens) if figure.start <= token.start < figure.end)
    return Match("", tuple(inside), 0)


def _context(
    sentence: Sentence, lexicon: Lexicon, named_ranges: list[tuple[int, int]], ranges: list[tuple[int, int]]
) -> _Context:
    tokens = sentence.tokens
    found = lexicon.quantity_words.matches(tokens)
    matches = [match for match in found if all(tokens[at].kind != "figure" for at in match.positions)]
    free = {at for match in matches for at in match.positions}
    costs = [0.0]
    aside = _put_in_brackets(tokens)
    for at, token in enumerate(tokens):
        if at in aside:
            costs.append(costs[-1] + _BRACKET_COST * (token.kind == "comma"))
            continue
        is_free = at in free or token.stem in around_figures.READING_STEMS
        is_number = token.kind == "figure" and token.text[0].isdigit()
        costs.append(costs[-1] + (0.0 if is_free else _NUMBER_COST if is_number else _TOKEN_COSTS.get(token.kind, 0.0)))
    return _Context(sentence, matches, costs, named_ranges, ranges)


def _put_in_brackets(tokens: Sequence[Token]) -> set[int]:
    """Return the places of what is only put in between, with its brackets (``the trend (5 min) says 480``)."""
    found: set[int] = set()
    opens = -1
    for at, token in enumerate(tokens):
        if token.text == "(":
            opens = at
        elif token.text == ")" and opens >= 0 and at - opens <= _LONGEST_IN_BRACKETS:
            found.update(range(opens, at + 1))
            opens = -1
    return found


def _with_range_words(context: _Context, lexicon: Lexicon) -> _Context:
    """Return a context with the names that are said beside a range of two ends, in place of others in these words."""
    named = lexicon.range_words.matches(context.sentence.tokens)
    places = {at for match in named for at in match.positions}
    others = [match for match in context.matches if places.isdisjoint(match.positions)]
    return replace(context, matches=[*others, *named], known={}) if named else context


def _nearest(
    context: _Context, position: Match[str], candidates: dict[str, Quantity], lexicon: Lexicon
) -> Match[str] | None:
    tokens = context.sentence.tokens
    near = context.among(frozenset(candidates))
    matches = [
        match
        for match in near
        if not _is_predicate(tokens, match)
        and not is_only_when(tokens, position, match)
        and not _is_what_a_share_is_of(tokens, match)
        and not any(_is_of_the_other(tokens, match, other) for other in near)
        and not any(match.last < first and last < position.first for first, last in context.ranges)
        and not _reaches_for_what_is_due(tokens, position, match)
        and (match.first < position.last or not _has_own_figure(tokens, position.last, match))
    ]
    scored = [
        (_distance(context, position, match, candidates[match.tag], lexicon), -len(match.positions), at)
        for at, match in enumerate(matches)
    ]
    return matches[min(scored)[2]] if scored else None


_Choice = tuple[tuple[Quantity, ...], Quantity | None, Match[str] | None]


def _as_measured(sentence: Sentence, position: Match[str], choice: _Choice, lexicon: Lexicon) -> _Choice:
    """Return candidates, quantity and name; a figure said to be *measured* is no entry of the data sheet."""
    _, quantity, nearest = choice
    beside = sentence.tokens[max(position.first - 1, 0) : position.first]
    beside += sentence.tokens[position.last + 1 : position.last + 2]
    if quantity is None or not quantity.of_data_sheet or all(token.stem != _MEASURED for token in beside):
        return choice
    measured = tuple(lexicon.as_measured.get(quantity.id, ()))
    if not measured:
        return choice
    return measured, *((measured[0], nearest) if len(measured) == 1 else (None, None))


def _reaches_for_what_is_due(tokens: Sequence[Token], position: Match[str], match: Match[str]) -> bool:
    """Check whether a name takes in what is said of the next figure (``coil 0.9 kohm, should be 90``)."""
    return any(at > position.last and tokens[at].text == "should" for at in match.positions) and (
        match.first < position.first
    )


def _is_what_a_share_is_of(tokens: Sequence[Token], match: Match[str]) -> bool:
    """Check whether a name only says of what a share is told (``3 % of span``)."""
    return match.first > 1 and tokens[match.first - 1].text == "of" and tokens[match.first - 2].text in ("%", "percent")


def _is_of_the_other(tokens: Sequence[Token], match: Match[str], other: Match[str]) -> bool:
    """Check whether a name is said to be that of another one behind it (``the display of the recorder``)."""
    between = [token.text for token in tokens[match.last + 1 : other.first] if token.text not in grammar.DETERMINERS]
    return between == ["of"] and match.tag != other.tag


def _is_predicate(tokens: Sequence[Token], match: Match[str]) -> bool:
    """Check whether a name is only what something is, and something else is told of it (``is normal and reads 12``)."""
    before = tokens[match.first - 1].text if match.first else ""
    behind = tokens[match.last + 1] if match.last + 1 < len(tokens) else None
    return before in grammar.COPULA and behind is not None and behind.kind == "link"


def _distance(
    context: _Context, position: Match[str], match: Match[str], quantity: Quantity, lexicon: Lexicon
) -> float:
    behind = match.first > position.last
    first, last = (position.last + 1, match.first) if behind else (match.last + 1, position.first)
    way = context.costs[max(first, last)] - context.costs[first]
    stems = tuple(context.sentence.tokens[at].stem for at in match.positions)
    unspecific = _UNSPECIFIC_COST if lexicon.is_unspecific(quantity, stems) else 0.0
    return way + unspecific + (_BEHIND_COST if behind else 0.0) - _WORD_BONUS * (len(match.positions) - 1)


def _has_own_figure(tokens: Sequence[Token], figure: int, match: Match[str]) -> bool:
    """Check whether a name after a figure has a figure of its own (``5 and in the tank 6``, ``62 ohm, coil open``)."""
    between = tokens[figure + 1 : match.first]
    parted = any(token.kind in ("link", "comma", "break") or token.text in around_figures.BESIDES for token in between)
    if parted and any(token.text[0].isdigit() for token in between):
        return True
    behind = tokens[match.last + 1 : match.last + 1 + _WINDOW]
    return parted and any(token.text[0].isdigit() or token.text in around_figures.IN_WORDS for token in behind)


def _default(candidates: Sequence[Quantity], figure: FigureInText, value: float) -> Quantity | None:
    if unit_info(figure.unit).dimension == unit_info("s").dimension:
        # People give minutes and hours for all sorts of things.
        return None
    measured = [candidate for candidate in candidates if not candidate.where_to_find]
    if len(measured) == 1:
        return measured[0]
    named = [
        candidate
        for candidate in candidates
        if candidate.reads_plausible(value)
        and any(_is_bare_unit(word, figure.unit, candidate) for word in candidate.words)
    ]
    return named[0] if named else None


def _is_bare_unit(word: str, written: str, quantity: Quantity) -> bool:
    same = spelling(word) == spelling(written) == spelling(quantity.unit)
    return same and word.strip().lower() in (quantity.unit.lower(), written.lower())
