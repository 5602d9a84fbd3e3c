"""One step as it is put to a person: what it takes, what it brings up, and why."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

import msgspec

from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.steps import disturbed_by
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import Competence
from diagnose.rule_book.work import Check, Step

Kind = Literal["check", "remedy", "escalate", "done"]


class Proposal(msgspec.Struct, frozen=True, kw_only=True):
    """One step with what it takes, what it brings up, and why it is proposed.

    ``standing`` is the plant's state before it, ``changes`` the states to change first and to what, ``leaves`` those
    that it leaves otherwise. ``read_also`` are readings to take at the same moment, from which the expected one is
    calculated. ``bites`` gives each caution the number of the change at which it first bites; that of all changes where
    the step itself brings it up. ``hangs_on`` are data-sheet fields that nobody was asked for yet, each with the words
    that would forbid it: while they are not known it is done only if they are not so.
    ``disturbs`` is what the changes and the step leave otherwise than it was.
    ``minutes`` include changes of state, not exposure; ``ask_first`` are data-sheet fields to fill in before it.
    """

    kind: Kind
    id: str
    title: str
    minutes: float
    saves_minutes: float
    because: str
    competence: Competence
    standing: dict[str, str] = {}
    changes: tuple[tuple[str, str], ...] = ()
    leaves: tuple[tuple[str, str], ...] = ()
    cautions: tuple[tuple[str, tuple[str, ...]], ...] = ()
    bites: tuple[int, ...] = ()
    disturbs: tuple[str, ...] = ()
    hangs_on: tuple[tuple[str, tuple[str, ...]], ...] = ()
    ask_first: tuple[str, ...] = ()
    read_also: tuple[str, ...] = ()

    @property
    def anew(self) -> tuple[str, ...]:
        """Cautions that a change on the way brings up: whoever isolates a second time proves dead a second time."""
        bites = zip(self.cautions, self.bites, strict=False)
        return tuple(name for (name, _), number in bites if number < len(self.changes))


def proposal_for(dangers: Dangers, kind: Kind, step: Step, standing: Mapping[str, str], because: str) -> Proposal:
    """Return a step from the plant's present state, with its changes and cautions on this meter."""
    way = dangers.way(step, standing)
    raised = dangers.raised(step, way)
    return Proposal(
        kind=kind,
        id=step.id,
        title=step.title,
        minutes=step.minutes + way.minutes,
        saves_minutes=0.0,
        because=because,
        competence=dangers.competence(step, way),
        standing=dict(standing),
        changes=tuple((each.state, each.change.to) for each in way.changes),
        leaves=tuple(step.leaves.items()),
        cautions=tuple((each.caution.id, each.unless) for each in raised),
        bites=tuple(each.bites for each in raised),
        disturbs=disturbed_by(dangers.rule_book, step, way, dangers.data_sheet),
        hangs_on=dangers.hangs_on(step, way),
        read_also=read_also(dangers.rule_book, step) if isinstance(step, Check) else (),
    )


def calculated_with(rule_book: RuleBook, check: Check) -> tuple[str, ...]:
    """Return the calculated quantities that a check's reading goes into or is held against."""
    found = [check.expect] if check.expect else []
    for quantity in rule_book.quantities.values():
        if check.measures and quantity.calculate and check.measures in quantity.calculate.inputs.values():
            found.append(quantity.id)
    return tuple(found)


def read_also(rule_book: RuleBook, check: Check) -> tuple[str, ...]:
    """Return the readings to take together with the one that a check measures."""
    found: list[str] = []
    for name in calculated_with(rule_book, check):
        calculate = rule_book.quantities[name].calculate
        for source in calculate.inputs.values() if calculate else ():
            quantity = rule_book.quantities.get(source)
            plain = quantity is not None and not quantity.where_to_find and quantity.calculate is None
            if plain and source != check.measures and source not in found:
                found.append(source)
    return tuple(found)
