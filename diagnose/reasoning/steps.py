"""What a step needs of the plant, of the person and of the data sheet, and the cautions that it brings up."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from itertools import product

from diagnose.observations import State
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import COMPETENCES, Competence
from diagnose.rule_book.plant import GRAVE, SIGNAL_WORDS, Caution, StateChange, as_it_can_stand
from diagnose.rule_book.quantities import AND_MORE, DataSheet, Value
from diagnose.rule_book.work import Step


@dataclass(frozen=True)
class Change:
    """One change of one state on the way to a step."""

    state: str
    change: StateChange


@dataclass(frozen=True)
class Way:
    """The cheapest way from where the plant stands to where a step needs it."""

    changes: tuple[Change, ...]
    standing: Mapping[str, str]
    minutes: float


@dataclass(frozen=True)
class RaisedCaution:
    """A caution that a step brings up; ``unless`` names data-sheet fields that could still rule it out.

    ``bites`` is the number of the change on the way at which it first does, from 0; of the step itself, the number of
    changes.
    """

    caution: Caution
    unless: tuple[str, ...] = ()
    bites: int = 0


def applies(wanted: Mapping[str, tuple[str, ...]], data_sheet: DataSheet) -> bool:
    """Tell whether the data sheet does not contradict; what it does not say contradicts nothing.

    >>> applies({"output": ("pulse",)}, {"output": ("4-20 mA", "pulse")}), applies({"output": ("pulse",)}, {})
    (True, True)
    >>> applies({"build": ("remote",)}, {"build": "compact"})
    False
    """
    for name, words in wanted.items():
        known = data_sheet.get(name)
        if known is None:
            continue
        if not set(words) & told_words(known) and AND_MORE not in told_words(known):
            return False
    return True


def says_no_other(data_sheet: DataSheet, words: Mapping[str, tuple[str, ...]]) -> bool:
    """Tell whether the data sheet says, for one of these fields, only such words.

    >>> duty = {"duty": ("looked at",)}
    >>> [says_no_other(each, duty) for each in ({"duty": ("looked at",)}, {"duty": ("looked at", "control")}, {})]
    [True, False, False]
    """
    return any(name in data_sheet and told_words(data_sheet[name]) <= set(some) for name, some in words.items())


def told_words(value: Value) -> frozenset[str]:
    """Return the words of a data-sheet field."""
    return frozenset(value if isinstance(value, tuple) else (str(value),))


def way_to(rule_book: RuleBook, standing: Mapping[str, str], needs: Mapping[str, tuple[str, ...]]) -> Way:
    """Return the changes, in a safe order, that bring the plant to what a step needs.

    Away from where a state starts the rule book's order of states holds (supply off before a cover is opened);
    back to it, the opposite. What goes with the values of other states is reached or given up with them.
    """
    names = list(needs)
    best: Way | None = None
    for values in product(*(needs[name] for name in names)):
        target = _settled(rule_book, standing, dict(zip(names, values, strict=True)))
        changes = [
            Change(name, _change(rule_book, name, standing[name], value))
            for name, value in target.items()
            if standing[name] != value
        ]
        minutes = sum(each.change.minutes for each in changes)
        if best is None or minutes < best.minutes:
            best = Way(tuple(_in_safe_order(rule_book, changes)), target, minutes)
    assert best is not None  # product of non-empty choices yields at least one
    return best


def way_for(rule_book: RuleBook, step: Step, standing: Mapping[str, str], data_sheet: DataSheet) -> Way:
    """Return the cheapest way to a step that no caution forbids on this meter; the cheapest of all where there is none.

    States that the step leaves open are brought to another value where that lifts the ban (supply off before a cover
    is opened).
    """
    cheapest = way_to(rule_book, standing, step.needs)
    if not step.needs or not forbidden(rule_book, step, cheapest, data_sheet):
        return cheapest
    banning = {key for caution in rule_book.cautions.values() for item in caution.forbids for key in item}
    left_open = [name for name in rule_book.states if name in banning and name not in step.needs]
    others = [
        way_to(rule_book, standing, {**step.needs, name: (value,)})
        for name in left_open
        for value in rule_book.states[name].values
    ]
    free = [way for way in others if not forbidden(rule_book, step, way, data_sheet)]
    return min(free, key=lambda way: way.minutes, default=cheapest)


def _settled(rule_book: RuleBook, standing: Mapping[str, str], wanted: Mapping[str, str]) -> dict[str, str]:
    """Return how the plant then stands, with what goes with the values that are wanted.

    Whoever wants a value gets what it goes with; whoever wants one of these, and has them all, gets the value; and a
    value without what it goes with is given up.
    """
    target = {**standing, **wanted}
    tied = [each for each in rule_book.states.values() if each.goes_with]
    for state in tied:
        for other, values in state.goes_with.get(wanted.get(state.id, ""), {}).items():
            if target[other] not in values:
                target[other] = values[0]
    for state in tied:
        for value, others in state.goes_with.items():
            concerned = state.id not in wanted and not others.keys().isdisjoint(wanted)
            if concerned and all(target[other] in values for other, values in others.items()):
                target[state.id] = value
    return as_it_can_stand(rule_book.states, target) if tied else target


def _change(rule_book: RuleBook, state: str, start: str, end: str) -> StateChange:
    return next(each for each in rule_book.states[state].changes if (each.from_, each.to) == (start, end))


def _in_safe_order(rule_book: RuleBook, changes: list[Change]) -> list[Change]:
    away = [each for each in changes if each.change.to != rule_book.states[each.state].initial]
    back = [each for each in changes if each.change.to == rule_book.states[each.state].initial]
    away.sort(key=lambda each: rule_book.states[each.state].order)
    back.sort(key=lambda each: -rule_book.states[each.state].order)
    return away + back


def standing_after(rule_book: RuleBook, step: Step, way: Way) -> dict[str, str]:
    """Return how the plant stands once a step was done, what it leaves otherwise included."""
    return as_it_can_stand(rule_book.states, {**way.standing, **step.leaves})


def competence_of(rule_book: RuleBook, step: Step, way: Way, data_sheet: DataSheet) -> Competence:
    """Return the competence that a step, the changes before it and what both expose somebody to need.

    What hangs on an unknown field of the data sheet counts as if it held.
    """
    hazards = hazards_of(step, way)
    exposed = [
        least
        for caution in rule_book.cautions.values()
        for least, items in caution.least_competence.items()
        if any(_matches(item, hazards, step, way.standing, data_sheet, rule_book) is not None for item in items)
    ]
    needed = [step.competence, *exposed, *(each.change.competence for each in way.changes)]
    return max(needed, key=COMPETENCES.index)


def within(competence: Competence, needed: Competence) -> bool:
    """Tell whether somebody of ``competence`` may do what needs ``needed``."""
    return COMPETENCES.index(competence) >= COMPETENCES.index(needed)


def hazards_of(step: Step, way: Way) -> frozenset[str]:
    """Return the hazards that a step and the changes before it meet."""
    return frozenset({*step.meets, *(word for each in way.changes for word in each.change.meets)})


def cautions_for(rule_book: RuleBook, step: Step, way: Way, data_sheet: DataSheet) -> tuple[RaisedCaution, ...]:
    """Return the cautions that come up before a step: those grave and certain first, then as they bite on the way.

    What hangs on an unknown field of the data sheet counts as possible.
    """
    hazards = hazards_of(step, way)
    raised = []
    for caution in rule_book.cautions.values():
        if says_no_other(data_sheet, caution.falls_away):
            continue
        ways = [(_matches(item, hazards, step, way.standing, data_sheet, rule_book), item) for item in caution.comes_up]
        hits = [(unless, _bites(item, way)) for unless, item in ways if unless is not None]
        if hits:
            unless = min((each for each, _ in hits), key=len)
            raised.append(RaisedCaution(caution, unless, min(bites for _, bites in hits)))
    return tuple(sorted(raised, key=_by_when_it_bites))


def _by_when_it_bites(raised: RaisedCaution) -> tuple[bool, int, int, bool, str]:
    signal = raised.caution.signal
    later = signal not in GRAVE or bool(raised.unless)
    return later, raised.bites, SIGNAL_WORDS.index(signal), bool(raised.unless), raised.caution.id


def _bites(item: Mapping[str, tuple[str, ...]], way: Way) -> int:
    """Return the number of the change that makes an item hold; where none does, the step itself brings it up."""
    the_step = len(way.changes)
    moments = []
    for number, each in enumerate(way.changes):
        if each.change.to in item.get(each.state, ()):
            moments.append(number)
    if "meets" in item:
        met = (number for number, each in enumerate(way.changes) if set(each.change.meets) & set(item["meets"]))
        moments.append(next(met, the_step))
    return max(moments, default=the_step)


def forbidden(rule_book: RuleBook, step: Step, way: Way, data_sheet: DataSheet) -> bool:
    """Tell whether a caution forbids the step on this meter, by what the data sheet says for certain."""
    hazards = hazards_of(step, way)
    return any(
        _matches(item, hazards, step, way.standing, data_sheet, rule_book) == ()
        for caution in rule_book.cautions.values()
        for item in caution.forbids
    )


def _matches(
    item: Mapping[str, tuple[str, ...]],
    hazards: frozenset[str],
    step: Step,
    standing: Mapping[str, str],
    data_sheet: DataSheet,
    rule_book: RuleBook,
) -> tuple[str, ...] | None:
    """Return the data-sheet fields on which a match still hangs, or None when it cannot match.

    How the plant stands brings something up only for a step that has to do with it: a question asked beside an open
    enclosure does not.
    """
    states = item.keys() & rule_book.states.keys()
    if states and not states & step.needs.keys():
        return None
    open_fields = []
    for key, words in item.items():
        if key == "meets":
            if not hazards & set(words):
                return None
        elif key in rule_book.states:
            if standing[key] not in words:
                return None
        elif key not in data_sheet or _leaves_open(data_sheet[key], words):
            open_fields.append(key)
        elif not applies({key: words}, data_sheet):
            return None
    return tuple(open_fields)


def _leaves_open(value: Value, words: Iterable[str]) -> bool:
    """Tell whether none of the words was told, but there may be more than was told."""
    known = told_words(value)
    return AND_MORE in known and known.isdisjoint(words)


def allowed(rule_book: RuleBook, step: Step, state: State, data_sheet: DataSheet) -> Way | None:
    """Return the way to a step, or None when it is not to be proposed.

    Not proposed is what was set aside, needs a tool that is not there, more competence than the person has, does not
    apply to this meter, or is forbidden on it.
    """
    if step.id in state.set_aside or set(step.tools) & set(state.missing_tools):
        return None
    if not applies(step.applies, data_sheet) or contradicts(step.not_when, data_sheet):
        return None
    way = way_for(rule_book, step, state.standing(rule_book), data_sheet)
    if not within(state.competence, competence_of(rule_book, step, way, data_sheet)) or forbidden(
        rule_book, step, way, data_sheet
    ):
        return None
    return way


def contradicts(not_when: Mapping[str, tuple[str, ...]], data_sheet: DataSheet) -> bool:
    """Tell whether the data sheet says for certain that a step is out of place."""
    return any(name in data_sheet and applies({name: words}, data_sheet) for name, words in not_when.items())


def raised_where_it_stands(rule_book: RuleBook, standing: Mapping[str, str], sheet: DataSheet) -> frozenset[str]:
    """Return the cautions that come up already because the plant stands so; a step there does not raise them again."""
    idle = Step(id="", title="", steps=(), minutes=0.0, needs={name: (value,) for name, value in standing.items()})
    return frozenset(each.caution.id for each in cautions_for(rule_book, idle, Way((), standing, 0.0), sheet))


def exposure_minutes(rule_book: RuleBook, step: Step, way: Way, sheet: DataSheet, already: Collection[str]) -> float:
    """Return the minutes by which a step counts as longer because it exposes somebody.

    The gravest caution that comes up for certain decides; those that came up ``already`` do not count again.
    """
    raised = [each for each in cautions_for(rule_book, step, way, sheet) if not each.unless]
    new = [each.caution.signal for each in raised if each.caution.id not in already]
    return max((rule_book.settings.exposure_minutes.get(signal, 0.0) for signal in new), default=0.0)
