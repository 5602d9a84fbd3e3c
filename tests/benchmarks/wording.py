"""How much words and meaning of a report say of its cause, and the weight at which its words predict it best."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import yaml
from scipy.optimize import minimize_scalar
from scipy.special import logsumexp

from diagnose.language.cleaning import clean
from diagnose.language.meaning import is_installed
from diagnose.language.understanding import understand
from diagnose.language.word_scores import WordScores, taken_together
from diagnose.observations import State, WordEvidence
from diagnose.reasoning.diagnosis import diagnose
from diagnose.reasoning.engine import Engine
from tests.engines import reading_engine, real_engine

Array = npt.NDArray[np.float64]

TICKETS = Path(__file__).parent.parent / "language"
FITTED, SHORT, UNSEEN = "long_tickets.yaml", "short_tickets.yaml", "board_tickets.yaml"
_LARGEST_WEIGHT = 8.0


class Ticket(NamedTuple):
    """A ticket: rows of the causes behind it, log probabilities without its words, log odds by them at weight 1.

    ``meaning`` are log odds by words and meaning together, as the rule book weighs them, where the extra is there.
    """

    behind: list[int]
    without: Array
    words: Array
    meaning: Array | None = None


def tickets(engine: Engine, file: str) -> list[Ticket]:
    """Return the tickets of a file as this benchmark needs them."""
    order = list(engine.rule_book.causes)
    weight = engine.rule_book.settings.wording_weight
    result = []
    for ticket in yaml.safe_load((TICKETS / file).read_text(encoding="utf-8")):
        understanding = understand(clean(ticket["text"]), engine.lexicon)
        observations = tuple(each for each in understanding.observations() if not isinstance(each, WordEvidence))
        found = diagnose(engine, {}, observations, State())
        without = np.log([max(found.probability(name), 1e-6) for name in order])
        words = _log_odds(understanding.worded, order) / weight
        meaning = None
        if engine.meaning is not None:
            scores = engine.meaning.weigh(understanding.sentences)
            meaning = _log_odds(taken_together(understanding.worded, scores), order)
        result.append(Ticket([order.index(name) for name in ticket["causes"]], without, words, meaning))
    return result


def _log_odds(scores: WordScores | None, order: Sequence[str]) -> Array:
    """Return what scores are worth for each cause."""
    decibans = scores.evidence().decibans if scores else {}
    return np.array([decibans.get(name, 0.0) for name in order]) * np.log(10) / 10


def with_meaning(read: Sequence[Ticket]) -> list[Ticket]:
    """Return the tickets with log odds by words and meaning in place of those by words alone."""
    return [each._replace(words=each.words if each.meaning is None else each.meaning) for each in read]


def surprise(read: Sequence[Ticket], weight: float) -> float:
    """Return the mean of -ln P(one of the causes behind) over tickets."""
    total = 0.0
    for ticket in read:
        log_odds = ticket.without + weight * ticket.words
        total += float(logsumexp(log_odds) - logsumexp(log_odds[ticket.behind]))
    return total / len(read)


def places(read: Sequence[Ticket], weight: float) -> list[int]:
    """Return the best place of a cause behind each ticket, counted from 1."""
    result = []
    for ticket in read:
        order = list(np.argsort(-(ticket.without + weight * ticket.words), kind="stable"))
        result.append(1 + min(order.index(row) for row in ticket.behind))
    return result


def report(_: int = 0) -> str:
    """Return what the words add on each set of tickets, and the weight that fits the long ones best."""
    engine = reading_engine() if is_installed() else real_engine()
    used = engine.rule_book.settings.wording_weight
    read = {file: tickets(engine, file) for file in (FITTED, SHORT, UNSEEN)}
    best = minimize_scalar(lambda weight: surprise(read[FITTED], weight), bounds=(0, _LARGEST_WEIGHT), method="bounded")
    lines = [f"wording: weight {used:g} in the rule book; {best.x:.2f} fits {FITTED} best"]
    for file, each in read.items():
        told = []
        for sort, weight in ((each, 0.0), (each, used), (with_meaning(each), 1.0)):
            ranks = places(sort, weight)
            first, three = sum(rank == 1 for rank in ranks), sum(rank <= 3 for rank in ranks)
            told.append(f"first {first}, in the first three {three}, surprise {surprise(sort, weight):.2f}")
        line = f"  {file}, {len(each)} tickets: without words {told[0]}; with them {told[1]}"
        lines.append(line if engine.meaning is None else f"{line}; with meaning as well {told[2]}")
    return "\n".join(lines)
