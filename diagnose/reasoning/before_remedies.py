"""What must be looked at before a remedy is carried out, and which remedy is gentle enough to come first."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from diagnose.reasoning.planner import Planner
from diagnose.reasoning.planning import Array, Plan, Worth
from diagnose.reasoning.proposal import Proposal
from diagnose.reasoning.proposed_steps import check_proposal
from diagnose.rule_book.work import Check, Remedy

LEAST_REMEDY = 0.02
"""A remedy is not worth proposing below this probability of being needed (estimate)."""

GENTLE_SHARE = 0.5
"""A remedy that drains, opens, replaces or takes nothing much comes before a big one that is at most so much likelier:
likely to be needed with this share of its probability or more (estimate)."""

LEAST_EVIDENCE = 0.3
"""Weight of evidence [nats] below which a look does not speak for a cause: it makes it a third likelier (estimate)."""

STRONG_EVIDENCE = 2.3
"""Weight of evidence [nats] of an answer that makes a cause ten times likelier."""

STEP_MINUTES = 30.0
"""What a look costs beyond its own minutes where it leaves the question open, and another must follow (estimate)."""


def gentle_first(planner: Planner, remedies: Sequence[Proposal], shares: Array) -> list[Proposal]:
    """Return remedies in order, but before a big one those small ones that are not much less likely to be needed."""
    book = planner.rule_book
    steps = {each.id: book.remedies[each.id] for each in remedies}
    big = {name: book.settings.big_remedies.has(remedy) for name, remedy in steps.items()}
    share = {name: float(shares[planner.remedies.index(remedy)]) for name, remedy in steps.items()}
    first = next((each.id for each in remedies if planner.may(steps[each.id])), "")
    if not first or not big[first]:
        return list(remedies)
    gentle = [each for each in remedies if not big[each.id] and share[each.id] >= GENTLE_SHARE * share[first]]
    return [*gentle, *(each for each in remedies if each not in gentle)]


def looked_at_first(planner: Planner, made: Plan, remedy: Remedy) -> tuple[Proposal | None, str]:
    """Return the check that must come before a remedy, and why the remedy waits; nothing where it need not wait."""
    checks = planner.rule_book.checks
    if planner.spent(remedy):
        why = f"“{remedy.title}” was done before, and the reason behind it has not been looked for"
        for name in remedy.once.unless if remedy.once else ():
            if planner.may(checks[name]):
                return _before(planner, Worth(name, 0.0, 0.0), why), why
        return None, why
    history = _done_before(planner, remedy)
    if history is not None:
        why = f"“{remedy.title}” is done but once: if it was done before, its reason comes first"
        return _before(planner, Worth(history.id, 0.0, 0.0), why), why
    hidden = _ruled_out_first(planner, made, remedy)
    if hidden is not None:
        return hidden, hidden.because
    if not planner.on_words_alone(remedy):
        return None, ""
    why = f"nothing that was looked at or measured points to “{remedy.title}” yet"
    telling = _could_speak_for(planner, remedy)
    return (_before(planner, telling, why), why) if telling is not None else (None, why)


def _could_speak_for(planner: Planner, remedy: Remedy) -> Worth | None:
    """Return the check that would speak best for a cause that a remedy puts right; None where none can.

    A mere look that speaks strongly comes before anything that exposes somebody. Where there is none, what exposes
    somebody counts for less (``exposed_counts``), but comes before looks that would hardly say anything.
    """
    speaks = {each.name: planner.could_speak(each, remedy) for each in planner.open_to_us}
    able = [each for each in planner.open_to_us if speaks[each.name] >= LEAST_EVIDENCE]
    strong = [each for each in able if speaks[each.name] >= STRONG_EVIDENCE]
    looks = [each for each in strong if not planner.exposes(planner.rule_book.checks[each.name])]
    ranked = sorted(looks or able, key=lambda each: -speaks[each.name] * each.counts / (STEP_MINUTES + each.minutes))
    return Worth(ranked[0].name, 0.0, 0.0) if ranked else None


def _ruled_out_first(planner: Planner, made: Plan, remedy: Remedy) -> Proposal | None:
    """Return the check that rules out the likeliest cause that a remedy would hide; None where none is left to make.

    Looks and questions come before what exposes somebody or changes how the plant stands.
    """
    checks = planner.rule_book.checks
    gentle_first = sorted(made.worth, key=lambda each: planner.exposes(checks[each.name]))
    for cause in planner.hidden_by(remedy, LEAST_REMEDY):
        for worth in gentle_first:
            if planner.rules_out(checks[worth.name], cause):
                hidden = planner.rule_book.causes[cause].title
                return _before(planner, worth, f"“{remedy.title}” would only hide “{hidden}”: rule that out first")
    return None


def hides_what_is_likelier(planner: Planner, remedy: Remedy, share: float) -> str:
    """Return why a remedy waits: it would hide a cause no less likely than the need for it, and not yet put right."""
    book = planner.rule_book
    for cause in planner.hidden_by(remedy, max(share, LEAST_REMEDY)):
        if book.causes[cause].remedy not in planner.known.remedies_tried:
            return f"“{remedy.title}” would only hide “{book.causes[cause].title}”, which is no less likely"
    return ""


def _done_before(planner: Planner, remedy: Remedy) -> Check | None:
    """Return the mere look or question that says whether a remedy which is done but once was done before."""
    if remedy.once is None or planner.inferred.findings.keys() & {*remedy.once.told_by}:
        return None
    told_by = {*remedy.once.told_by}
    for check in planner.rule_book.checks.values():
        made = check.only_proves or check.id in planner.known.checks_done
        told = {name for outcome in planner.engine.outcomes[check.id] for name in outcome}
        if told & told_by and not made and planner.may(check) and not planner.exposes(check):
            return check
    return None


def _before(planner: Planner, worth: Worth, why: str) -> Proposal:
    return msgspec.structs.replace(check_proposal(planner, worth), because=why)
