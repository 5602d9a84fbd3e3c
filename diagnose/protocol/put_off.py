"""What remains to be planned: lasting remedies of which only the interim form was carried out in this case."""

from __future__ import annotations

from diagnose.observations import RemedyTried
from diagnose.protocol.situation import Situation

AS_LIKELY = 0.5
"""Beside the likeliest of several lasting remedies those are named that are at least so much as likely (estimate)."""


def put_off(situation: Situation) -> tuple[str, ...]:
    """Return the lasting remedies that remain to be planned, by what the case told when their interim form was done."""
    observations = situation.standing.observations
    open_still: list[str] = []
    for number, each in enumerate(observations):
        if isinstance(each, RemedyTried) and each.verdict != "not cured":
            open_still = [name for name in open_still if name != each.remedy]
            open_still += _behind(situation, each.remedy, number)
    for name in situation.not_proved:
        open_still += _behind(situation, name, len(observations))
    return tuple(dict.fromkeys(open_still))


def _behind(situation: Situation, interim: str, told: int) -> list[str]:
    """Return the lasting remedies behind an interim one, that of the likeliest cause after so many observations first.

    An interim remedy may itself be what lasts for a cause of its own; where that is the likely one nothing is put off.
    """
    book = situation.rule_book
    if not book.lasting(interim):
        return []
    share = book.shares_behind(interim, situation.ranking_after(told))
    least = AS_LIKELY * max(share.values(), default=0.0)
    likely = sorted((name for name in share if share[name] >= least), key=lambda name: -share[name])
    return [name for name in likely if name != interim]
