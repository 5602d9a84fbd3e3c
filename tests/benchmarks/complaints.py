"""The commonest complaints: our first causes and steps beside what handbooks and the practice of the trade name."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import yaml

from diagnose.observations import FindingSeen, State
from diagnose.reasoning.diagnosis import Diagnosis, diagnose
from diagnose.rule_book.book import RuleBook
from tests.engines import real_engine

PRACTICE = Path(__file__).parent.parent / "rules" / "commonest_complaints.yaml"
FIRST_CAUSES = 5
FIRST_STEPS = 3


class Answer(NamedTuple):
    """One complaint with what practice names and what comes out here; ``places`` are those of practice's causes."""

    complaint: str
    practice: tuple[str, ...]
    look_first: tuple[str, ...]
    source: str
    causes: tuple[tuple[str, float], ...]
    steps: tuple[str, ...]
    places: tuple[int, ...]
    next_is_a_check: bool


@cache
def answers() -> tuple[Answer, ...]:
    """Return every complaint with its answer."""
    table = yaml.safe_load(PRACTICE.read_text(encoding="utf-8"))
    return tuple(_answered(row, table["sources"][row["source"]]) for row in table["complaints"])


def _answered(row: dict[str, Any], source: str) -> Answer:
    engine = real_engine()
    sheet = {name: tuple(words) for name, words in row.get("sheet", {}).items()}
    seen = tuple(FindingSeen(finding=name, present=True) for name in row["present"])
    made = diagnose(engine, sheet, seen, State())
    order = [each.id for each in made.causes]
    return Answer(
        complaint=row["complaint"],
        practice=tuple(row["causes"]),
        look_first=tuple(row["look-first"]),
        source=source,
        causes=tuple((each.id, each.probability) for each in made.causes[:FIRST_CAUSES]),
        steps=_first_steps(engine.rule_book, made),
        places=tuple(order.index(name) + 1 for name in row["causes"]),
        next_is_a_check=made.proposals.next.id in engine.rule_book.checks,
    )


def _first_steps(book: RuleBook, made: Diagnosis) -> tuple[str, ...]:
    """Return the titles of the step that is proposed and of the checks that come next."""
    proposals = (made.proposals.next, *made.proposals.checks)
    titles = {**book.checks, **book.remedies}
    named = dict.fromkeys(each.id for each in proposals if each.id in titles)
    return tuple(titles[name].title for name in tuple(named)[:FIRST_STEPS])


def report(_size: int = 0) -> str:
    """Return the table for people."""
    lines = ["The commonest complaints: our first causes and steps beside what practice names", ""]
    for each in answers():
        ours = ", ".join(f"{name} {chance:.0%}" for name, chance in each.causes)
        places = ", ".join(f"{name} ({place})" for name, place in zip(each.practice, each.places, strict=True))
        lines += [each.complaint, f"  ours:      {ours}", f"  practice:  {places}"]
        lines += [f"  our steps: {'; '.join(each.steps)}", f"  look first: {'; '.join(each.look_first)}"]
        lines += [f"  source: {each.source}", ""]
    named = [place for each in answers() for place in each.places]
    within = [sum(place <= most for place in named) / len(named) for most in (5, 10, 20)]
    lines.append(
        "of the causes that practice names, {:.0%} are among our first 5, {:.0%} of 10, {:.0%} of 20".format(*within)
    )
    return "\n".join(lines)
