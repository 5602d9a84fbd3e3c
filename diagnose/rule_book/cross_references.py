"""What can only be seen in the whole rule book: names that lead nowhere, and knowledge that nothing can reach.

Each validation is one function that returns problems; it never prints or raises. Their codes name the bad thing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from diagnose.calculations import FUNCTIONS
from diagnose.calculations.calculation import AnyCalculation
from diagnose.calculations.terms import ANY_UNIT, TERMS, Term
from diagnose.errors import UnitError
from diagnose.place import Problem, did_you_mean
from diagnose.rule_book.analysis_names import DETECTORS, MODELS
from diagnose.rule_book.authored import Authored
from diagnose.rule_book.conditions import names_in, truth
from diagnose.rule_book.types import Check, Quantity, RuleBook, Step
from diagnose.units import read_measurement, to_si, unit_info

Entries = Mapping[str, Mapping[str, Authored]]
Found = Iterator[Problem]


def cross_check(book: RuleBook, entries: Entries) -> list[Problem]:
    """Return every problem of the whole rule book."""
    return [problem for validation in VALIDATIONS for problem in validation(book, entries)]


def _reference(
    book: RuleBook,
    entries: Entries,
    owner: tuple[str, str],
    path: tuple[str | int, ...],
    name: str,
    part: str,
) -> Found:
    """Yield a problem when ``name`` is not an entry of ``part``."""
    known: Mapping[str, object] = getattr(book, part)
    authored = entries[owner[0]].get(owner[1])
    if name in known or authored is None:
        return
    singular = {"quantities": "quantity", "remedies": "remedy"}.get(part, part[:-1])
    help = did_you_mean(name, known, f"see the entries in {part}/")
    of_key = isinstance(path[-1], str) and path[-1] == name
    yield authored.problem(path, f"unknown-{singular}", f"no {singular} is called `{name}`", help, of_key=of_key)


def sources_exist(book: RuleBook, entries: Entries) -> Found:
    """Every entry says where it comes from, itself or through its file."""
    for part, items in entries.items():
        if part == "sources":
            continue
        for entry_id, authored in items.items():
            name = str(authored.data.get("source") or "").lower().replace(" ", "-")
            if not name:
                text = f"`{entry_id}` has no source"
                yield authored.problem((), "missing-source", text, "write `source: common practice`, or a better one")
            else:
                yield from _reference(book, entries, (part, entry_id), ("source",), name, "sources")


def causes_refer(book: RuleBook, entries: Entries) -> Found:
    """Areas, findings, look-alikes and remedies of causes exist."""
    for cause in book.causes.values():
        owner = ("causes", cause.id)
        yield from _reference(book, entries, owner, ("area",), cause.area, "areas")
        for name in cause.shows:
            yield from _reference(book, entries, owner, ("shows", name), name, "findings")
        for number, name in enumerate(cause.looks_like):
            yield from _reference(book, entries, owner, ("looks-like", number), name, "causes")
        yield from _reference(book, entries, owner, ("remedy",), cause.remedy, "remedies")


def strengths_are_probabilities(book: RuleBook, entries: Entries) -> Found:
    """A strength or a leak lies above zero and below one."""
    for cause in book.causes.values():
        for name, strength in cause.shows.items():
            if not 0 < strength < 1:
                text = f"a strength of {strength:g} is no probability below one"
                yield entries["causes"][cause.id].problem(("shows", name), "bad-figure", text, "0.985 is nearly always")
    for finding in book.findings.values():
        if not 0 < finding.leak < 1:
            text = f"a leak of {finding.leak:g} is no probability below one"
            yield entries["findings"][finding.id].problem(("leak",), "bad-figure", text, "0.01 is usual")


def steps_refer(book: RuleBook, entries: Entries) -> Found:
    """States, hazards and data-sheet fields that checks and remedies name exist."""
    steps: list[tuple[str, Step]] = [("checks", item) for item in book.checks.values()]
    steps += [("remedies", item) for item in book.remedies.values()]
    for part, step in steps:
        authored = entries[part].get(step.id)
        if authored is None:
            continue
        yield from _states_exist(book, authored, step)
        yield from _hazards_known(book, authored, (), step.meets)
        if step.minutes < 0:
            yield authored.problem(("minutes",), "bad-figure", "minutes are not less than zero")
        for key in ("applies", "not-when"):
            yield from _data_sheet_fits(book, authored, key, step.applies if key == "applies" else step.not_when)


def _hazards_known(book: RuleBook, authored: Authored, at: tuple[str | int, ...], meets: tuple[str, ...]) -> Found:
    hazards = {word for item in book.cautions.values() for each in item.comes_up for word in each.get("meets", ())}
    for number, word in enumerate(meets):
        if word not in hazards:
            help = did_you_mean(word, hazards, f"cautions come up for: {', '.join(sorted(hazards))}")
            text = f"no caution comes up for `{word}`"
            yield authored.problem((*at, "meets", number), "unknown-hazard", text, help)


def _states_exist(book: RuleBook, authored: Authored, step: Step) -> Found:
    for state, values in step.needs.items():
        if state not in book.states:
            help = did_you_mean(state, book.states, f"the states are: {', '.join(book.states)}")
            yield authored.problem(("needs", state), "unknown-state", f"no state is called `{state}`", help, True)
            continue
        known = book.states[state].values
        for number, value in enumerate(values):
            if value not in known:
                help = did_you_mean(value, known, f"it is one of: {', '.join(known)}")
                yield authored.problem(("needs", state, number), "unknown-state", f"`{state}` is never `{value}`", help)


def _data_sheet_fits(book: RuleBook, authored: Authored, key: str, wanted: Mapping[str, tuple[str, ...]]) -> Found:
    fields = {name: item for name, item in book.quantities.items() if item.choices}
    for name, values in wanted.items():
        if name not in fields:
            help = did_you_mean(name, fields, "only quantities with choices can be named here")
            yield authored.problem((key, name), "unknown-quantity", f"no choice is called `{name}`", help, True)
            continue
        for number, value in enumerate(values):
            if value not in fields[name].choices:
                help = did_you_mean(value, fields[name].choices, f"one of: {', '.join(fields[name].choices)}")
                yield authored.problem((key, name, number), "unknown-choice", f"`{name}` is never `{value}`", help)


def causes_and_findings_apply(book: RuleBook, entries: Entries) -> Found:
    """What causes and findings say of the data sheet can be said of it."""
    for cause in book.causes.values():
        yield from _data_sheet_fits(book, entries["causes"][cause.id], "applies", cause.applies)
    for finding in book.findings.values():
        yield from _data_sheet_fits(book, entries["findings"][finding.id], "applies", finding.applies)


def checks_lead_somewhere(book: RuleBook, entries: Entries) -> Found:
    """A check measures a known quantity or has outcomes, and its outcomes set known findings."""
    for check in book.checks.values():
        authored = entries["checks"].get(check.id)
        if authored is None:
            continue
        for key, name in (("measures", check.measures), ("expect", check.expect)):
            if name:
                yield from _reference(book, entries, ("checks", check.id), (key,), name, "quantities")
        if not check.measures and len(check.outcomes) < 2:
            text = "a check needs two outcomes, or a quantity that it measures"
            yield authored.problem((), "dead-check", text, "add `outcomes:` or `measures:`")
        answers = [outcome.answer for outcome in check.outcomes]
        for number, outcome in enumerate(check.outcomes):
            at = ("outcomes", number)
            if answers.index(outcome.answer) != number:
                yield authored.problem((*at, "answer"), "duplicate-answer", f"`{outcome.answer}` stands twice")
            for key, names in (("present", outcome.present), ("absent", outcome.absent)):
                for place, name in enumerate(names):
                    yield from _reference(book, entries, ("checks", check.id), (*at, key, place), name, "findings")
            for name in set(outcome.present) & set(outcome.absent):
                yield authored.problem(at, "contradiction", f"`{name}` cannot be present and absent", "keep one")


def remedies_are_proved(book: RuleBook, entries: Entries) -> Found:
    """Every remedy names the check that proves it, one that may be done on every meter."""
    for remedy in book.remedies.values():
        yield from _reference(book, entries, ("remedies", remedy.id), ("proved-by",), remedy.proved_by, "checks")
        check = book.checks.get(remedy.proved_by)
        for caution in book.cautions.values() if check else ():
            if check and any(_may_forbid(item, check, book) for item in caution.forbids):
                text = f"`{caution.id}` forbids the proof `{check.id}` on some meters"
                help = "name a check that may be done on every meter"
                yield entries["remedies"][remedy.id].problem(("proved-by",), "forbidden-proof", text, help)


def _may_forbid(item: Mapping[str, tuple[str, ...]], check: Check, book: RuleBook) -> bool:
    """Tell whether what a caution forbids is part of a check on some meter, as far as the check itself says."""
    for key, words in item.items():
        if key == "meets":
            if not set(words) & set(check.meets):
                return False
        elif key in book.states:
            if not set(words) & set(check.needs.get(key, ())):
                return False
        elif key not in book.quantities or set(words) <= set(check.not_when.get(key, ())):
            return False
    return True


def quantities_can_be_calculated(book: RuleBook, entries: Entries) -> Found:
    """Calculations exist, get what they want, and do not go in a circle."""
    for quantity in book.quantities.values():
        authored = entries["quantities"][quantity.id]
        if quantity.plausible and quantity.plausible[0] >= quantity.plausible[1]:
            yield authored.problem(("plausible",), "bad-figure", "the lower limit is not below the upper", "swap them")
        yield from _choice_words_fit(quantity, authored)
        if quantity.lower_end_of:
            owner = ("quantities", quantity.id)
            yield from _reference(book, entries, owner, ("lower-end-of",), quantity.lower_end_of, "quantities")
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


def _choice_words_fit(quantity: Quantity, authored: Authored) -> Found:
    for word in quantity.choice_words:
        if word not in quantity.choices:
            help = did_you_mean(word, quantity.choices, f"one of: {', '.join(quantity.choices)}")
            at = ("choice-words", word)
            yield authored.problem(at, "unknown-choice", f"`{quantity.id}` is never `{word}`", help, True)


def _calculation_fits(book: RuleBook, authored: Authored, quantity: Quantity, function: AnyCalculation) -> Found:
    """A calculation gets the inputs that it wants, of the right kind, and gives what the quantity is."""
    given = quantity.calculate.inputs if quantity.calculate else {}
    if not set(function.required) <= set(given) <= set(function.inputs):
        optional = f" (and takes {', '.join(sorted(function.defaults))})" if function.defaults else ""
        text = f"`{function.name}` wants {', '.join(sorted(function.required))}{optional}"
        at = ("calculate", "inputs")
        yield authored.problem(at, "wrong-inputs", text, f"given are {', '.join(sorted(given))}")
        return
    for number, key in enumerate(quantity.calculate.may_be_unknown if quantity.calculate else ()):
        if key not in function.defaults or key not in given:
            text = f"`{function.name}` cannot do without `{key}`" if key in given else f"`{key}` is no input here"
            help = f"it can do without: {', '.join(function.defaults) or 'none of its inputs'}"
            yield authored.problem(("calculate", "may-be-unknown", number), "wrong-inputs", text, help)
    for key, other in given.items():
        yield from _input_exists(book, authored, key, other)
        if other in book.quantities:
            yield from _same_kind(authored, ("calculate", "inputs", key), book.quantities[other], TERMS[key])
    yield from _same_kind(authored, ("calculate", "function"), quantity, TERMS[function.gives])


def _same_kind(authored: Authored, at: tuple[str | int, ...], quantity: Quantity, term: Term) -> Found:
    if term.choices or quantity.choices:
        unknown = sorted({*quantity.choices} - {*term.choices}) if term.choices else ["(words)"]
        if unknown or not quantity.choices:
            text = f"`{quantity.id}` and `{term.name}` do not have the same words"
            yield authored.problem(at, "unit", text, f"`{term.name}` is one of: {', '.join(term.choices) or 'figures'}")
    elif quantity.text or term.text:
        if quantity.text != term.text:
            yield authored.problem(at, "unit", f"only one of `{quantity.id}` and `{term.name}` is a text")
    elif term.unit != ANY_UNIT and unit_info(term.unit).dimension != unit_info(quantity.unit).dimension:
        text = f"`{quantity.id}` does not measure the same as `{term.name}`"
        yield authored.problem(at, "unit", text, f"`{term.name}` is in {term.unit or 'plain numbers'}")


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
        for name in item.calculate.inputs.values() if item and item.calculate else ():
            if name not in seen:
                seen.add(name)
                waiting.append(name)
    return seen


def reviews_refer(book: RuleBook, entries: Entries) -> Found:
    """Reviews show known quantities and judge by known findings; contradictions are told at a data-sheet field."""
    for review in book.reviews.values():
        owner = ("reviews", review.id)
        yield from _data_sheet_fits(book, entries["reviews"][review.id], "applies", review.applies)
        for key, part, names in (
            ("shows", "quantities", review.shows),
            ("wrong", "findings", review.wrong),
            ("doubtful", "findings", review.doubtful),
        ):
            for number, name in enumerate(names):
                yield from _reference(book, entries, owner, (key, number), name, part)
        if not (review.wrong or review.doubtful):
            text = "a review judges by findings"
            yield entries["reviews"][review.id].problem((), "dead-review", text, "add `wrong:` or `doubtful:`")
    fields = book.data_sheet_fields()
    for item in book.contradictions.values():
        if item.field not in fields:
            text = f"a data sheet has no field `{item.field}`"
            yield entries["contradictions"][item.id].problem(
                ("field",), "unknown-field", text, did_you_mean(item.field, fields)
            )


def analyses_refer(book: RuleBook, entries: Entries) -> Found:
    """Mechanisms and signs name what can be reckoned and show known findings; a weight is more than nothing."""
    for mechanism in book.mechanisms.values():
        owner = ("mechanisms", mechanism.id)
        for against, names in mechanism.shows.items():
            for number, name in enumerate(names):
                yield from _reference(book, entries, owner, ("shows", against, number), name, "findings")
        authored = entries["mechanisms"][mechanism.id]
        if mechanism.model not in MODELS:
            help = did_you_mean(mechanism.model, MODELS, f"the models are: {', '.join(MODELS)}")
            text = f"no model is called `{mechanism.model}`"
            yield authored.problem(("model",), "unknown-model", text, help)
        if mechanism.weight <= 0:
            yield authored.problem(("weight",), "bad-figure", "a weight is more than zero", "1 is a usual weight")
    for sign in book.signs.values():
        for key, names in (("shows", sign.shows), ("denies", sign.denies)):
            for number, name in enumerate(names):
                yield from _reference(book, entries, ("signs", sign.id), (key, number), name, "findings")
        if sign.detector not in DETECTORS:
            help = did_you_mean(sign.detector, DETECTORS, f"the detectors are: {', '.join(DETECTORS)}")
            text = f"no detector is called `{sign.detector}`"
            yield entries["signs"][sign.id].problem(("detector",), "unknown-detector", text, help)


def data_sheet_is_in_order(book: RuleBook, entries: Entries) -> Found:
    """Where `book.yaml` orders the data sheet, every field stands there once."""
    if not book.settings.data_sheet:
        return
    listed = [name for names in book.settings.data_sheet.values() for name in names]
    for name in book.data_sheet_fields():
        if listed.count(name) != 1:
            text = f"`{name}` stands {listed.count(name)} times in the order of the data sheet"
            help = "list it once in book.yaml under `data-sheet`"
            yield entries["quantities"][name].problem(("id",), "unordered-field", text, help)


def rules_refer(book: RuleBook, entries: Entries) -> Found:
    """Rules conclude known findings and nothing that contradicts itself."""
    for rule in book.inference.values():
        for key, names in (("present", rule.present), ("absent", rule.absent)):
            for number, name in enumerate(names):
                yield from _reference(book, entries, ("inference", rule.id), ("then", key, number), name, "findings")
        for name in set(rule.present) & set(rule.absent):
            text = f"`{name}` cannot be present and absent"
            yield entries["inference"][rule.id].problem(("then",), "contradiction", text, "keep one")


def rules_do_as_their_examples(book: RuleBook, entries: Entries) -> Found:
    """Every rule has an example that fires and one that does not, and does as they say."""
    for rule in book.inference.values():
        authored = entries["inference"][rule.id]
        for wanted in {True, False} - {example.fires for example in rule.examples}:
            text = f"there is no example with `fires: {str(wanted).lower()}`"
            yield authored.problem(("examples",), "missing-example", text, "give one that fires and one that does not")
        for number, example in enumerate(rule.examples):
            given = _given(book, example.given)
            at = ("examples", number)
            if isinstance(given, str):
                yield authored.problem((*at, "given"), "bad-example", given, "write names and figures as in `when`")
            elif (truth(rule.when, *given) is True) != example.fires:
                does = "does not fire" if example.fires else "fires"
                yield authored.problem(at, "wrong-example", f"the rule {does} on this example", "mend rule or example")


def _given(book: RuleBook, given: Mapping[str, object]) -> tuple[dict[str, bool], dict[str, object]] | str:
    findings: dict[str, bool] = {}
    values: dict[str, object] = {}
    for name, raw in given.items():
        if name in book.findings and raw in ("present", "absent"):
            findings[name] = raw == "present"
        elif name in book.quantities:
            quantity = book.quantities[name]
            measured = read_measurement(str(raw))
            if quantity.choices:
                if raw not in quantity.choices:
                    return f"`{name}` is never `{raw}`"
                values[name] = raw
            elif measured is None:
                return f"`{raw}` is not a figure"
            elif quantity.unit and not measured.unit:
                return f"`{raw}` has no unit"
            else:
                try:
                    values[name] = to_si(measured.number, measured.unit, quantity.unit)
                except UnitError as error:
                    return str(error)
        else:
            return f"no finding or quantity is called `{name}`, or it is not `present` or `absent`"
    return findings, values


def findings_can_be_learnt(book: RuleBook, entries: Entries) -> Found:
    """Every finding that a cause shows can be asked, checked or inferred; every finding serves something."""
    learnt: set[str] = set()
    for check in book.checks.values():
        for outcome in check.outcomes:
            learnt |= {*outcome.present, *outcome.absent}
    used: set[str] = set()
    for rule in book.inference.values():
        learnt |= {*rule.present, *rule.absent}
        used |= names_in(rule.when)[0]
    for cause in book.causes.values():
        used |= set(cause.shows)
    for finding in book.findings.values():
        authored = entries["findings"][finding.id]
        if finding.id not in used:
            text = f"no cause shows `{finding.id}` and no rule uses it"
            yield authored.problem((), "idle-finding", text, "let a cause show it, or delete it")
        if finding.id not in learnt and not finding.phrases:
            text = f"nothing can find out whether `{finding.id}` is present"
            yield authored.problem((), "unreachable-finding", text, "give it a question, or a check that sets it")


def cautions_and_states_refer(book: RuleBook, entries: Entries) -> Found:
    """What brings a caution up exists; every change of a state that a step may need is described."""
    for caution in book.cautions.values():
        authored = entries["cautions"][caution.id]
        items = [("comes-up", n, item) for n, item in enumerate(caution.comes_up)]
        items += [("forbids", n, item) for n, item in enumerate(caution.forbids)]
        for field, number, item in items:
            for key, values in item.items():
                known = book.states[key].values if key in book.states else None
                if key in book.quantities:
                    known = book.quantities[key].choices
                if key != "meets" and known is None:
                    help = did_you_mean(key, [*book.states, *book.quantities, "meets"])
                    at = (field, number, key)
                    yield authored.problem(at, "unknown-name", f"nothing is called `{key}`", help, True)
                for value in values:
                    if known is not None and value not in known:
                        at = (field, number, key)
                        help = did_you_mean(value, known, f"one of: {', '.join(known)}")
                        yield authored.problem(at, "unknown-choice", f"`{key}` is never `{value}`", help)
    for state in book.states.values():
        yield from _changes_are_whole(book, entries["states"][state.id], state.id)


def _changes_are_whole(book: RuleBook, authored: Authored, state_id: str) -> Found:
    state = book.states[state_id]
    if state.initial not in state.values:
        yield authored.problem(("initial",), "unknown-state", f"`{state.initial}` is not among `values`")
    for number, change in enumerate(state.changes):
        for key, value in (("from", change.from_), ("to", change.to)):
            if value not in state.values:
                help = did_you_mean(value, state.values, f"it is one of: {', '.join(state.values)}")
                at = ("changes", number, key)
                yield authored.problem(at, "unknown-state", f"`{state_id}` is never `{value}`", help)
        yield from _hazards_known(book, authored, ("changes", number), change.meets)
        if change.minutes < 0:
            yield authored.problem(("changes", number, "minutes"), "bad-figure", "minutes are not less than zero")
    there = {(change.from_, change.to) for change in state.changes}
    for start in state.values:
        for end in state.values:
            if start != end and (start, end) not in there:
                text = f"nothing says how `{state_id}` goes from `{start}` to `{end}`"
                yield authored.problem(("changes",), "missing-change", text, "add it with minutes and steps")


VALIDATIONS: tuple[Callable[[RuleBook, Entries], Found], ...] = (
    sources_exist,
    causes_refer,
    strengths_are_probabilities,
    steps_refer,
    causes_and_findings_apply,
    checks_lead_somewhere,
    remedies_are_proved,
    quantities_can_be_calculated,
    reviews_refer,
    analyses_refer,
    data_sheet_is_in_order,
    rules_refer,
    rules_do_as_their_examples,
    findings_can_be_learnt,
    cautions_and_states_refer,
)
