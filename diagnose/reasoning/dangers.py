"""What brings up which caution on one meter: what a step exposes to, whom it takes, what is forbidden there.

A data sheet settles most of what cautions hang on, so that is worked out once for it; what then hangs on the step alone
(what it meets, which states it asks for, how the plant stands) is worked out once for all steps that are alike in this.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from diagnose.observations import State
from diagnose.reasoning.steps import (
    Change,
    RaisedCaution,
    Way,
    applies,
    contradicts,
    says_no_other,
    told_words,
    way_to,
    within,
)
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import COMPETENCES, Competence
from diagnose.rule_book.plant import GRAVE, SIGNAL_WORDS, Caution
from diagnose.rule_book.quantities import AND_MORE, DataSheet, Value
from diagnose.rule_book.work import Step

if TYPE_CHECKING:
    from diagnose.reasoning.costs import WaysThere

Item = Mapping[str, tuple[str, ...]]
"""What brings something up: a hazard met, states, data-sheet fields, with the values that do; all must hold."""


@dataclass(frozen=True)
class _Trigger:
    """An item that the data sheet does not rule out, as ``words`` of each name in it.

    ``unless`` are the fields that the data sheet leaves open, ``to_find_out`` those of them that nobody was asked for.
    """

    words: tuple[tuple[str, tuple[str, ...]], ...]
    meets: frozenset[str] | None
    states: tuple[tuple[str, tuple[str, ...]], ...]
    unless: tuple[str, ...]
    to_find_out: tuple[str, ...]

    def holds(self, asked_for: frozenset[str], standing: Mapping[str, str]) -> bool:
        """Tell whether it can hold where a step that meets its hazard asks for these states.

        The state of the plant brings something up only for a step that has to do with it: a question asked beside
        an open enclosure does not.
        """
        if self.states and not any(name in asked_for for name, _ in self.states):
            return False
        return all(standing[name] in values for name, values in self.states)


_Alike = tuple[frozenset[str], frozenset[str], tuple[str, ...]]
"""What a step meets, which states it asks for, and how the plant then stands."""


_Between = tuple[tuple[str, ...], tuple[tuple[str, tuple[str, ...]], ...]]
"""How the plant stands, by state in order, and the states that are needed."""


class _Index:
    """Names, each with what brings it up, found by the hazards that are met."""

    def __init__(self, named: Iterable[tuple[str, _Trigger]]) -> None:
        self.named = tuple(named)
        self._whatever_is_met: list[tuple[str, _Trigger]] = []
        self._by_hazard: dict[str, list[tuple[str, _Trigger]]] = {}
        for name, trigger in self.named:
            if trigger.meets is None:
                self._whatever_is_met.append((name, trigger))
            for hazard in trigger.meets or ():
                self._by_hazard.setdefault(hazard, []).append((name, trigger))

    def that_hold(self, alike: _Alike, way: Way) -> Iterator[tuple[str, _Trigger]]:
        """Yield the names whose triggers hold, each with the trigger; with two of them, twice."""
        hazards, asked_for, _ = alike
        for pairs in (self._whatever_is_met, *(self._by_hazard.get(each, ()) for each in sorted(hazards))):
            for name, trigger in pairs:
                if trigger.holds(asked_for, way.standing):
                    yield name, trigger


@dataclass
class Memory:
    """What was worked out before, for all meters on which the same brings cautions up, forbids, and is for some only.

    ``ways`` are those of :mod:`diagnose.reasoning.costs`, for each competence and what is avoided.
    """

    raised: dict[_Alike, list[tuple[Caution, list[_Trigger]]]] = field(default_factory=dict)
    forbidden: dict[_Alike, bool] = field(default_factory=dict)
    least: dict[_Alike, Competence] = field(default_factory=dict)
    ways_between: dict[_Between, Way] = field(default_factory=dict)
    ways: dict[tuple[Competence, tuple[str, ...]], WaysThere] = field(default_factory=dict)


class Dangers:
    """The cautions of a rule book on one meter; what the data sheet does not say counts as possible.

    ``nobody_knows`` are fields that it does not say although they were asked for: what one of their words forbids is
    then forbidden. Before they were asked for nothing is: a step says what it :meth:`hangs_on`, and that is asked for.
    ``remembered`` gives the memory that meters share whose triggers are the same.
    """

    def __init__(
        self,
        rule_book: RuleBook,
        data_sheet: DataSheet,
        nobody_knows: Iterable[str] = (),
        remembered: Callable[[Hashable], Memory] = lambda _: Memory(),
    ) -> None:
        self.rule_book = rule_book
        self.data_sheet = data_sheet
        self.nobody_knows = frozenset(nobody_knows) - data_sheet.keys()
        self._cautions = list(rule_book.cautions.values())
        self.memory = remembered(self._all_triggers())

    def _all_triggers(self) -> Hashable:
        """Return all that cautions hang on here, so that meters on which it is equal are known to be alike."""
        indexes = (self._comes_up, self._forbids, self._may_forbid, self._only_for)
        return tuple(index.named for index in indexes)

    @cached_property
    def _comes_up(self) -> _Index:
        due = (each for each in self._cautions if not says_no_other(self.data_sheet, each.falls_away))
        return _Index((each.id, trigger) for each in due for trigger in self._triggers(each.comes_up))

    @cached_property
    def _forbids(self) -> _Index:
        """What is forbidden: for certain, or because nobody could rule it out."""
        return _Index(pair for pair in self._all_bans() if not pair[1].to_find_out)

    @cached_property
    def _may_forbid(self) -> _Index:
        """What is forbidden unless a field says otherwise that nobody was asked for yet."""
        return _Index(pair for pair in self._all_bans() if pair[1].to_find_out)

    def _all_bans(self) -> Iterator[tuple[str, _Trigger]]:
        return ((each.id, trigger) for each in self._cautions for trigger in self._triggers(each.forbids))

    def _to_find_out(self, fields: Iterable[str]) -> list[str]:
        """Return the fields that nobody was asked for yet; one of which some words were told is not asked for again."""
        return [name for name in fields if name not in self.data_sheet and name not in self.nobody_knows]

    @cached_property
    def _only_for(self) -> _Index:
        pairs = (pair for each in self._cautions for pair in each.least_competence.items())
        return _Index((least, trigger) for least, items in pairs for trigger in self._triggers(items))

    @cached_property
    def _banning(self) -> list[str]:
        """States on which a ban may hang, in the rule book's order."""
        keys = {key for caution in self._cautions for item in caution.forbids for key in item}
        return [name for name in self.rule_book.states if name in keys]

    def _triggers(self, items: Iterable[Item]) -> Iterator[_Trigger]:
        for item in items:
            unless = self._left_open(item)
            if unless is not None:
                states = tuple((name, words) for name, words in item.items() if name in self.rule_book.states)
                meets = frozenset(item["meets"]) if "meets" in item else None
                yield _Trigger(tuple(item.items()), meets, states, unless, tuple(self._to_find_out(unless)))

    def _left_open(self, item: Item) -> tuple[str, ...] | None:
        """Return the fields of an item that the data sheet leaves open, or None where it rules the item out."""
        found = []
        for name, words in item.items():
            if name == "meets" or name in self.rule_book.states:
                continue
            if name not in self.data_sheet or _may_be_more(self.data_sheet[name], words):
                found.append(name)
            elif not applies({name: words}, self.data_sheet):
                return None
        return tuple(found)

    def _alike(self, step: Step, way: Way) -> _Alike:
        return hazards_of(step, way), frozenset(step.needs), tuple(map(way.standing.__getitem__, self.rule_book.states))

    def _up(self, step: Step, way: Way) -> list[tuple[Caution, list[_Trigger]]]:
        """Return the cautions that come up, each with what brings it up."""
        key = self._alike(step, way)
        if key not in self.memory.raised:
            found: dict[str, list[_Trigger]] = {}
            for name, trigger in self._comes_up.that_hold(key, way):
                found.setdefault(name, []).append(trigger)
            self.memory.raised[key] = [(self.rule_book.cautions[name], triggers) for name, triggers in found.items()]
        return self.memory.raised[key]

    def raised(self, step: Step, way: Way) -> tuple[RaisedCaution, ...]:
        """Return the cautions that come up before a step: those grave and certain first, then as they bite."""
        found = []
        for caution, triggers in self._up(step, way):
            unless = min((each.unless for each in triggers), key=len)
            found.append(RaisedCaution(caution, unless, min(_bites(dict(each.words), way) for each in triggers)))
        return tuple(sorted(found, key=_by_when_it_bites))

    def forbidden(self, step: Step, way: Way) -> bool:
        """Tell whether a caution forbids the step on this meter, by what the data sheet says or nobody knows."""
        key = self._alike(step, way)
        if key not in self.memory.forbidden:
            self.memory.forbidden[key] = any(True for _ in self._forbids.that_hold(key, way))
        return self.memory.forbidden[key]

    def hangs_on(self, step: Step, way: Way) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Return the fields still to be asked for that may forbid a step, each with the words that would."""
        found = {name: list(step.not_when[name]) for name in self._to_find_out(step.not_when)}
        for _, trigger in self._may_forbid.that_hold(self._alike(step, way), way):
            for name in trigger.to_find_out:
                found.setdefault(name, []).extend(dict(trigger.words)[name])
        return tuple((name, tuple(dict.fromkeys(words))) for name, words in found.items())

    def competence(self, step: Step, way: Way) -> Competence:
        """Return the competence that a step, the changes before it and what both expose somebody to need.

        What depends on an unknown field of the data sheet counts as if it held.
        """
        key = self._alike(step, way)
        if key not in self.memory.least:
            least = {name for name, _ in self._only_for.that_hold(key, way)}
            self.memory.least[key] = next((who for who in reversed(COMPETENCES) if who in least), COMPETENCES[0])
        needed = [step.competence, self.memory.least[key], *(each.change.competence for each in way.changes)]
        return max(needed, key=COMPETENCES.index)

    def way(self, step: Step, standing: Mapping[str, str]) -> Way:
        """Return the cheapest way to a step that no caution forbids here; the cheapest of all where there is none.

        States that the step leaves open are brought to another value where that lifts the ban (supply off before a
        cover is opened).
        """
        cheapest = self._way_to(standing, step.needs)
        if not step.needs or not self.forbidden(step, cheapest):
            return cheapest
        others = [
            self._way_to(standing, {**step.needs, name: (value,)})
            for name in self._banning
            if name not in step.needs
            for value in self.rule_book.states[name].values
        ]
        free = [way for way in others if not self.forbidden(step, way)]
        return min(free, key=lambda way: way.minutes, default=cheapest)

    def _way_to(self, standing: Mapping[str, str], needs: Mapping[str, tuple[str, ...]]) -> Way:
        key = tuple(map(standing.__getitem__, self.rule_book.states)), tuple(needs.items())
        if key not in self.memory.ways_between:
            self.memory.ways_between[key] = way_to(self.rule_book, standing, needs)
        return self.memory.ways_between[key]

    def allowed(self, step: Step, state: State) -> Way | None:
        """Return the way to a step, or None when it is not to be proposed.

        Not proposed is what was set aside, needs a tool that is not there, more competence than the person has, brings
        up what the person avoids, does not apply to this meter, is forbidden on it, or would be by what nobody knows.
        """
        if step.id in state.set_aside or not self.in_place(step, state):
            return None
        way = self.way(step, state.standing(self.rule_book))
        return way if self.may(step, way, state) else None

    def may(self, step: Step, way: Way, state: State) -> bool:
        """Tell whether a person may do a step and what comes before it: able to, not forbidden, nothing to avoid."""
        if not within(state.competence, self.competence(step, way)) or self.forbidden(step, way):
            return False
        return not state.avoided or all(caution.id not in state.avoided for caution, _ in self._up(step, way))

    def in_place(self, step: Step, state: State) -> bool:
        """Tell whether a step applies to this meter, and whoever is there has the tools for it."""
        if not set(step.tools).isdisjoint(state.missing_tools):
            return False
        if not self.nobody_knows.isdisjoint(step.not_when):
            return False
        return applies(step.applies, self.data_sheet) and not contradicts(step.not_when, self.data_sheet)

    def raised_where_it_stands(self, standing: Mapping[str, str]) -> frozenset[str]:
        """Return the cautions that the state of the plant already brings up; a step there does not raise them again."""
        idle = Step(id="", title="", steps=(), minutes=0.0, needs={name: (value,) for name, value in standing.items()})
        return frozenset(caution.id for caution, _ in self._up(idle, Way((), standing, 0.0)))

    def exposure_minutes(self, step: Step, way: Way, already: Collection[str]) -> float:
        """Return the minutes by which a step counts as longer because it exposes somebody.

        The gravest caution that comes up for certain decides; those that came up ``already`` do not count again.
        """
        new = [
            caution.signal
            for caution, triggers in self._up(step, way)
            if caution.id not in already and not all(each.unless for each in triggers)
        ]
        return max((self.rule_book.settings.exposure_minutes.get(signal, 0.0) for signal in new), default=0.0)


def hazards_of(step: Step, way: Way) -> frozenset[str]:
    """Return the hazards that a step and the changes before it meet."""
    return frozenset(step.meets).union(*(each.change.meets for each in way.changes))


def _may_be_more(value: Value, words: Iterable[str]) -> bool:
    """Tell whether none of the words was given, but there may be more than was said."""
    known = told_words(value)
    return AND_MORE in known and known.isdisjoint(words)


def _by_when_it_bites(raised: RaisedCaution) -> tuple[bool, int, int, bool, str]:
    signal = raised.caution.signal
    later = signal not in GRAVE or bool(raised.unless)
    return later, raised.bites, SIGNAL_WORDS.index(signal), bool(raised.unless), raised.caution.id


def _bites(item: Item, way: Way) -> int:
    """Return the number of the change that makes an item hold; where none does, the step itself brings it up."""
    the_step = len(way.changes)
    moments = [number for number, each in enumerate(way.changes) if each.change.to in item.get(each.state, ())]
    if "meets" in item:
        moments.append(next((n for n, each in enumerate(way.changes) if _met(each, item["meets"])), the_step))
    return max(moments, default=the_step)


def _met(change: Change, hazards: Iterable[str]) -> bool:
    return not set(change.change.meets).isdisjoint(hazards)
