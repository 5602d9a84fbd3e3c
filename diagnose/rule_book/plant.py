"""How the plant may stand, what it takes to change that, and what is dangerous there."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

import msgspec

from diagnose.entry import Entry
from diagnose.rule_book.competence import Competence

SignalWord = Literal["danger", "warning", "caution", "notice"]
"""Signal words of ISO 3864-2, gravest first."""

SIGNAL_WORDS: tuple[SignalWord, ...] = ("danger", "warning", "caution", "notice")

GRAVE: tuple[SignalWord, ...] = ("danger", "warning")
"""Signal words of what can kill or maim: such cautions are acknowledged before the steps are shown."""


class Caution(Entry, frozen=True, kw_only=True):
    """A hazard with its consequence and how to avoid it; ``comes_up`` lists what brings it up.

    Each item of ``comes_up`` maps ``meets`` (a hazard), a state (the value a step needs) or a data-sheet field to
    the values that bring it up; all keys of one item must hold, any one item suffices. A step that meets an item of
    ``forbids`` is never proposed. ``least_competence`` lists, for a competence, what is only for people of that
    competence, whatever the step itself says; a data-sheet field that is unknown counts as if it held.
    It ``falls_away`` where the data sheet says these words of a field and no others; where that is not known it is told
    in full, as certain.
    ``short`` says what to do in a few words, for whoever has read all of it already.
    """

    title: str
    signal: SignalWord
    hazard: str
    consequence: str
    avoid: tuple[str, ...]
    comes_up: tuple[dict[str, tuple[str, ...]], ...]
    forbids: tuple[dict[str, tuple[str, ...]], ...] = ()
    least_competence: dict[Competence, tuple[dict[str, tuple[str, ...]], ...]] = {}
    falls_away: dict[str, tuple[str, ...]] = {}
    short: str = ""


class StateChange(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """What it takes to bring a state from one value to another, and what that ``disturbs`` (a loop in manual)."""

    from_: str = msgspec.field(name="from")
    to: str
    minutes: float
    steps: tuple[str, ...]
    competence: Competence
    meets: tuple[str, ...] = ()
    disturbs: tuple[str, ...] = ()


class PlantState(Entry, frozen=True, kw_only=True):
    """One way in which the plant stands (supply, line, enclosure), its values and what changing them costs.

    ``order``: states of lower order are changed first when leaving their initial value, and last when going back.

    ``goes_with`` ties a value to how other states stand (proved dead goes with supply off and cover open). It can hold
    only while they stand so; and while they stand so, no step that asks for one of them is done without it.

    ``told_as`` are the phrases in which people say each value. Those ``taken_at_once`` hold as soon as somebody says
    so, since they are the less safe ones; any other is asked back, for nobody is safe by hearsay.

    ``ask`` is the question by which it is asked for by value once a hazard is over, ``asked_as`` each value as an
    answer.
    """

    title: str
    order: int
    values: tuple[str, ...]
    initial: str
    changes: tuple[StateChange, ...]
    goes_with: dict[str, dict[str, tuple[str, ...]]] = {}
    told_as: dict[str, tuple[str, ...]] = {}
    taken_at_once: tuple[str, ...] = ()
    ask: str = ""
    asked_as: dict[str, str] = {}


def as_it_can_stand(states: Mapping[str, PlantState], standing: Mapping[str, str]) -> dict[str, str]:
    """Return how the plant stands, without values that cannot hold there (any more): these are back at the start."""
    stands = dict(standing)
    for name, state in states.items():
        others = state.goes_with.get(stands[name], {})
        if any(stands[other] not in values for other, values in others.items()):
            stands[name] = state.initial
    return stands
