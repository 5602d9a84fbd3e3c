"""A step as it is put to a person: why it comes, what it tells apart, and what is asked before it."""

from __future__ import annotations

import msgspec
import numpy as np

from diagnose.reasoning.evidence import missing_inputs
from diagnose.reasoning.planner import Planner
from diagnose.reasoning.planning import Worth
from diagnose.reasoning.proposal import Kind, Proposal, calculated_with, proposal_for
from diagnose.rule_book.work import Check, Remedy


def check_proposal(planner: Planner, worth: Worth) -> Proposal:
    """Return a check as it is put to a person, with what it tells apart."""
    check = planner.rule_book.checks[worth.name]
    return step_proposal(planner, "check", check, _separates(planner, check), worth.saves)


def remedy_proposal(planner: Planner, remedy: Remedy, share: float) -> Proposal:
    """Return a remedy as it is put to a person, with how likely it is what is needed."""
    rest = "no check would save time now"
    if planner.on_words_alone(remedy):
        rest = "nothing that was looked at or measured points to it yet"
    lasting = planner.lasting_behind(remedy)
    if lasting:
        rest = f"does for now; the lasting remedy, at the next shutdown: “{lasting[0].title}”"
    because = f"{share * 100:.0f} % likely to be what is needed; {rest}"
    return step_proposal(planner, "remedy", remedy, because)


def step_proposal(planner: Planner, kind: Kind, step: Check | Remedy, because: str, saves: float = 0.0) -> Proposal:
    """Return any step as it is put to a person, with the fields that are asked for before it."""
    proposal = proposal_for(planner.dangers, kind, step, planner.standing, because)
    return msgspec.structs.replace(
        proposal, saves_minutes=round(saves, 2), ask_first=_to_ask_first(planner, step, proposal)
    )


def _to_ask_first(planner: Planner, step: Check | Remedy, proposal: Proposal) -> tuple[str, ...]:
    """Return the unknown data-sheet fields that decide whether a step applies, its cautions, its reading, its rules.

    What nobody could find out at the meter is not asked for.
    """
    fields = [name for name in step.applies if planner.rule_book.quantities[name].where_to_find]
    wanted = [name for name in fields if name not in planner.values]
    wanted += [name for name, _ in proposal.hangs_on]
    wanted += [name for _, unless in proposal.cautions for name in unless]
    if isinstance(step, Check):
        for name in calculated_with(planner.rule_book, step):
            wanted += missing_inputs(planner.rule_book, name, planner.values)
        held = planner.engine.held_against.get(step.measures, ())
        wanted += [name for name in held if name not in planner.values]
    return tuple(dict.fromkeys(wanted))


def _separates(planner: Planner, check: Check) -> str:
    """Return which two of the likelier causes a check tells apart best, in words."""
    network = planner.network
    share = planner.marginals
    top = planner.likeliest
    table = planner.chances_of_likeliest.at(check, planner.engine.outcomes[check.id])
    apart = np.abs(table[:, :, None] - table[:, None, :]).sum(axis=0) / 2
    worth = np.triu(apart * np.sqrt(np.outer(share[top], share[top])), 1)
    one, other = np.unravel_index(np.argmax(worth), worth.shape)
    if not worth[one, other] > 0:
        return "says whether one of the less probable causes is there"
    names = [planner.rule_book.causes[network.causes[top[each]]].title for each in (one, other)]
    return f"tells “{names[0]}” from “{names[1]}”"
