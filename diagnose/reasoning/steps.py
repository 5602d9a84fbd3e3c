"""What a step needs of the plant, of the person and of the data sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product

from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import COMPETENCES, Competence
from diagnose.rule_book.plant import Caution, StateChange, as_it_can_stand
from diagnose.rule_book.quantities import AND_MORE, DataSheet, Value
from diagnose.rule_book.work import Step, Work


@dataclass(frozen=True)
class Change:
    """One change of one state on the way to a step."""

    state: str
    change: StateChange


@dataclass(frozen=True)
class Way:
    """The cheapest way from the plant's present state to the one a step needs."""

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
    """Tell whether the data sheet does not rule this out; what it does not say rules nothing out.

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


def _settled(rule_book: RuleBook, standing: Mapping[str, str], wanted: Mapping[str, str]) -> dict[str, str]:
    """Return the state the plant is then in, with what goes with the values that are wanted.

    To want a value is to get what it goes with; to want one of these, and have them all, is to get the value; and a
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
    """Return the state the plant is in once a step was done, including what the step leaves changed."""
    return as_it_can_stand(rule_book.states, {**way.standing, **step.leaves})


def disturbed_by(rule_book: RuleBook, step: Step, way: Way, sheet: DataSheet) -> tuple[str, ...]:
    """Return what a step and the changes before it disturb on this meter, in the order in which that comes about."""
    named = [name for each in way.changes for name in each.change.disturbs]
    named += step.disturbs if isinstance(step, Work) else ()
    known = rule_book.disturbances
    return tuple(name for name in dict.fromkeys(named) if name in known and applies(known[name].applies, sheet))


def within(competence: Competence, needed: Competence) -> bool:
    """Tell whether somebody of ``competence`` may do what needs ``needed``."""
    return COMPETENCES.index(competence) >= COMPETENCES.index(needed)


def contradicts(not_when: Mapping[str, tuple[str, ...]], data_sheet: DataSheet) -> bool:
    """Tell whether the data sheet says for certain that a step does not apply."""
    return any(name in data_sheet and applies({name: words}, data_sheet) for name, words in not_when.items())
