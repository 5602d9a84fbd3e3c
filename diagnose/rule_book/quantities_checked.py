"""Validations of quantities: what they are calculated from, and their place on the data sheet."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.calculations import CALCULATIONS, FUNCTIONS
from diagnose.calculations.calculation import AnyCalculation
from diagnose.place import did_you_mean
from diagnose.rule_book.authored import Authored
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.prepare import listed
from diagnose.rule_book.quantities import Quantity
from diagnose.rule_book.referring import Entries, Found, reference
from diagnose.terms import ANY_UNIT, TERMS, Term, shipped_terms
from diagnose.units import read_measurement, unit_info
from diagnose.yaml_places import KeyPath


def quantities_can_be_calculated(book: RuleBook, entries: Entries) -> Found:
    """Calculations exist, get what they want, and do not go in a circle."""
    for quantity in book.quantities.values():
        authored = entries["quantities"][quantity.id]
        if quantity.plausible and quantity.plausible[0] >= quantity.plausible[1]:
            yield authored.problem(("plausible",), "bad-figure", "the lower limit is not below the upper", "swap them")
        yield from _choice_words_fit(quantity, authored)
        yield from _shares_fit(quantity, authored)
        yield from _forms_fit(quantity, authored)
        yield from _figures_fit(book, entries, quantity)
        if quantity.lower_end_of:
            owner = ("quantities", quantity.id)
            yield from reference(book, entries, owner, ("lower-end-of",), quantity.lower_end_of, "quantities")
        yield from _disagreements_refer(book, entries, quantity)
        if quantity.calculate is None:
            continue
        name = quantity.calculate.function
        if name not in FUNCTIONS:
            help = did_you_mean(name, FUNCTIONS, f"the calculations are: {', '.join(FUNCTIONS)}")
            at = ("calculate", "function")
            yield authored.problem(at, "unknown-calculation", f"no calculation is called `{name}`", help)
            continue
        yield from _calculation_fits(book, authored, quantity, FUNCTIONS[name])
        if quantity.id in _ancestors(book.quantities, quantity.id):
            yield authored.problem(
                ("calculate",), "circle", f"`{quantity.id}` is calculated from itself", "break the circle"
            )


def terms_mean_what_they_mean(book: RuleBook, entries: Entries) -> Found:
    """A quantity by whose name calculations go is what they take it for; what somebody reads has one value and unit."""
    told = book.told_quantities()
    for quantity in book.quantities.values():
        authored = entries["quantities"][quantity.id]
        yield from of_another_kind(quantity, authored)
        if quantity.id in told and (quantity.unit == ANY_UNIT or quantity.list_of_figures):
            text = f"nobody can read `{quantity.id}`: it stands for {_kind(quantity)}"
            yield authored.problem(("id",), "wrong-kind", text, "leave it to `diagnose calc`; take another quantity")
        if quantity.at_least is not None and quantity.at_most is not None and quantity.at_least > quantity.at_most:
            text = "the lower limit is above the upper one"
            yield authored.problem(("at-most",), "bad-figure", text, "swap them")


def of_another_kind(quantity: Quantity, authored: Authored) -> Found:
    """Yield a problem where calculations go by a name and take it for something else."""
    if not any(quantity.id in (*each.inputs, each.gives) for each in CALCULATIONS.values()):
        return
    term = shipped_terms()[quantity.id]
    if any(_same_kind(authored, ("id",), quantity, term)):
        text = f"calculations know `{quantity.id}` as {_kind(term)}"
        yield authored.problem(("id",), "other-meaning", text, "let it be that, or give it another id")


def _disagreements_refer(book: RuleBook, entries: Entries, quantity: Quantity) -> Found:
    owner = ("quantities", quantity.id)
    for field in ("disagreement", "larger", "smaller"):
        for other, finding in getattr(quantity, field).items():
            yield from reference(book, entries, owner, (field, other), other, "quantities")
            yield from reference(book, entries, owner, (field, other), finding, "findings")


def _choice_words_fit(quantity: Quantity, authored: Authored) -> Found:
    for word in quantity.choice_words:
        if word not in quantity.choices:
            help = did_you_mean(word, quantity.choices, f"one of: {', '.join(quantity.choices)}")
            at = ("choice-words", word)
            yield authored.problem(at, "unknown-choice", f"`{quantity.id}` is never `{word}`", help, True)


def _shares_fit(quantity: Quantity, authored: Authored) -> Found:
    for word, share in quantity.shares.items():
        at = ("shares", word)
        if word not in quantity.choices:
            help = did_you_mean(word, quantity.choices, f"one of: {', '.join(quantity.choices)}")
            yield authored.problem(at, "unknown-choice", f"`{quantity.id}` is never `{word}`", help, True)
        elif not 0 < share <= 1:
            yield authored.problem(at, "bad-figure", f"{share:g} is no share of meters", "write a figure from 0 to 1")

    total = sum(quantity.shares.values())
    if not quantity.several and max(quantity.shares.values(), default=0.0) <= 1 < total - 1e-9:
        text = f"one meter has one of these words, and the shares add up to {100 * total:.0f} % of all meters"
        yield authored.problem(("shares",), "bad-figure", text, "together they are 1 at most")


def _figures_fit(book: RuleBook, entries: Entries, quantity: Quantity) -> Found:
    """What goes with a choice is a figure of a quantity that is there, in a unit of its kind, or one of its words."""
    authored, owner = entries["quantities"][quantity.id], ("quantities", quantity.id)
    words: list[tuple[KeyPath, str]] = [
        (("figures", name, word), word) for name, rows in quantity.figures.items() for word in rows
    ]
    words += [(("figures-from", word), word) for word in quantity.figures_from]
    words += [(("words-with", name, word), word) for name, rows in quantity.words_with.items() for word in rows]
    for at, word in words:
        if word not in quantity.choices:
            help = did_you_mean(word, quantity.choices, f"one of: {', '.join(quantity.choices)}")
            yield authored.problem(at, "unknown-choice", f"`{quantity.id}` is never `{word}`", help, True)
    for name, given in quantity.words_with.items():
        yield from reference(book, entries, owner, ("words-with", name), name, "quantities")
        choices = book.quantities[name].choices if name in book.quantities else tuple(given.values())
        for word in (each for each in given if given[each] not in choices):
            help = did_you_mean(given[word], choices, f"one of: {', '.join(choices)}")
            text = f"`{name}` is never `{given[word]}`"
            yield authored.problem(("words-with", name, word), "unknown-choice", text, help)
    for name, rows in quantity.figures.items():
        yield from reference(book, entries, owner, ("figures", name), name, "quantities")
        for word in rows if name in book.quantities else ():
            yield from _measures(book.quantities[name], authored, ("figures", name, word))


def _measures(quantity: Quantity, authored: Authored, at: tuple[str, str, str]) -> Found:
    for raw in listed(authored.data[at[0]][at[1]][at[2]]):
        measured = read_measurement(str(raw))
        if measured and unit_info(measured.unit).dimension != unit_info(quantity.unit).dimension:
            text = f"`{raw}` does not measure the same as `{quantity.id}` ({quantity.unit or 'a plain number'})"
            yield authored.problem(at, "unit", text, "compare like with like")


def _forms_fit(quantity: Quantity, authored: Authored) -> Found:
    """A written form has one figure and a word that says what it is; a word that stands alone is a choice."""
    for number, form in enumerate(quantity.written):
        if form.count("#") != 1 or not any(letter.isalpha() for letter in form):
            text = f"`{form}` does not say where the figure stands and what it is"
            yield authored.problem(
                ("written", number), "bad-form", text, "for example `DN #`, with one # for the figure"
            )
    for number, word in enumerate(quantity.alone):
        if word not in quantity.choices:
            help = did_you_mean(word, quantity.choices, f"one of: {', '.join(quantity.choices)}")
            yield authored.problem(("alone", number), "unknown-choice", f"`{quantity.id}` is never `{word}`", help)


def _calculation_fits(book: RuleBook, authored: Authored, quantity: Quantity, function: AnyCalculation) -> Found:
    """A calculation gets the inputs that it wants, of the right kind, and gives what the quantity is."""
    given = quantity.calculate.inputs if quantity.calculate else {}
    if not set(function.required) <= set(given) <= set(function.inputs):
        optional = f" (and takes {', '.join(sorted(function.defaults))})" if function.defaults else ""
        text = f"`{function.name}` needs {', '.join(sorted(function.required))}{optional}"
        at = ("calculate", "inputs")
        yield authored.problem(at, "wrong-inputs", text, f"it was given {', '.join(sorted(given))}")
        return
    lists = [key for key in (*given, function.gives) if TERMS[key].list_of_figures]
    if lists:
        text = f"`{function.name}` goes by a list of figures (`{lists[0]}`), and no quantity holds one"
        yield authored.problem(("calculate", "function"), "wrong-inputs", text, "it is for `diagnose calc` alone")
    or_else = quantity.calculate.or_else if quantity.calculate else {}
    for key in or_else.keys() - given.keys():
        text = f"`{key}` is no input here, so nothing stands in for it"
        yield authored.problem(("calculate", "or-else", key), "wrong-inputs", text, f"it was given {', '.join(given)}")
    for number, key in enumerate(quantity.calculate.may_be_unknown if quantity.calculate else ()):
        if key not in function.defaults or key not in given:
            text = f"`{function.name}` cannot do without `{key}`" if key in given else f"`{key}` is no input here"
            help = f"it can do without: {', '.join(function.defaults) or 'none of its inputs'}"
            yield authored.problem(("calculate", "may-be-unknown", number), "wrong-inputs", text, help)
    for key, other in (*given.items(), *or_else.items()):
        yield from _input_exists(book, authored, key, other)
        if other in book.quantities:
            yield from _same_kind(authored, ("calculate", "inputs", key), book.quantities[other], TERMS[key])
    yield from _same_kind(authored, ("calculate", "function"), quantity, TERMS[function.gives])


def _same_kind(authored: Authored, at: tuple[str | int, ...], quantity: Quantity, term: Term) -> Found:
    if term.choices or quantity.choices:
        unknown = sorted({*quantity.choices} - {*term.choices}) if term.choices else ["(words)"]
        if unknown or not quantity.choices:
            text = f"`{quantity.id}` and the term `{term.id}` of calculations do not have the same words"
            yield authored.problem(at, "unit", text, f"`{term.id}` is one of: {', '.join(term.choices) or 'figures'}")
    elif quantity.text or term.text:
        if quantity.text != term.text:
            yield authored.problem(at, "unit", f"only one of `{quantity.id}` and the term `{term.id}` is a text")
    elif quantity.list_of_figures != term.list_of_figures:
        yield authored.problem(at, "unit", f"only one of `{quantity.id}` and the term `{term.id}` is a list of figures")
    elif term.unit != ANY_UNIT and _dimension(term.unit) != _dimension(quantity.unit):
        text = f"`{quantity.id}` does not measure the same as the term `{term.id}` of calculations"
        yield authored.problem(at, "unit", text, f"`{term.id}` is in {term.unit or 'plain numbers'}")


def _kind(term: Term) -> str:
    """Return in words what a term stands for."""
    if term.choices:
        return f"one of: {', '.join(term.choices)}"
    if term.text:
        return "a text"
    figure = "figures" if term.list_of_figures else "a figure"
    return f"{figure} in {'any unit' if term.unit == ANY_UNIT else term.unit or 'plain numbers'}"


def _dimension(unit: str) -> str:
    return unit if unit == ANY_UNIT else unit_info(unit).dimension


def _input_exists(book: RuleBook, authored: Authored, key: str, other: str) -> Found:
    if other in book.quantities or read_measurement(other):
        return
    help = did_you_mean(other, book.quantities, "name a quantity, or write a figure with its unit")
    text = f"no quantity is called `{other}`"
    yield authored.problem(("calculate", "inputs", key), "unknown-quantity", text, help)


def _ancestors(quantities: Mapping[str, Quantity], start: str) -> set[str]:
    seen: set[str] = set()
    waiting = [start]
    while waiting:
        item = quantities.get(waiting.pop())
        for name in item.calculate.sources if item and item.calculate else ():
            if name not in seen:
                seen.add(name)
                waiting.append(name)
    return seen


def data_sheet_is_in_order(book: RuleBook, entries: Entries) -> Found:
    """Where `book.yaml` orders the data sheet, every field stands there once."""
    if not book.settings.data_sheet:
        return
    listed = [name for names in book.settings.data_sheet.values() for name in names]
    for name in book.data_sheet_fields():
        if listed.count(name) != 1:
            text = f"`{name}` is listed {listed.count(name)} times in the order of the data sheet"
            help = "list it once in book.yaml under `data-sheet`"
            yield entries["quantities"][name].problem(("id",), "unordered-field", text, help)
