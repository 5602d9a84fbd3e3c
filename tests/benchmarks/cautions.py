"""What whole simulated interviews show of cautions: in full, in one line, and how often a *y* is asked.

Counted on the screens themselves, so that it does not matter how the protocol came to show them. Half of the meters
come with what the simulation fills in of a data sheet, half with nothing known at all; and with half of those, whoever
stands there knows nothing of the meter either.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields
from statistics import mean

import msgspec

from diagnose.authoring.faults import Fault, draw_fault, draw_meter
from diagnose.authoring.person import Person
from diagnose.cases.events import Case
from diagnose.documents.blocks import Block, Bullets
from diagnose.interview import screens
from diagnose.protocol.machine import prompt_in
from diagnose.protocol.prompts import CautionPrompt, HandOverPrompt, Prompt, QuestionPrompt
from diagnose.protocol.replies import FieldsFilled, Reply
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.plant import SIGNAL_WORDS
from tests.engines import real_engine

INTERVIEWS = 40
MOST_PROMPTS = 400
WRONG = 0.05
COMPETENCES = ("skilled", "instructed", "skilled", "ordinary")
GROUPS = ("some fields known", "bare meter", "some fields known", "bare meter, nobody knows")


@dataclass
class Count:
    """What one interview showed; ``most`` is what a single screen showed in full at most."""

    full: int = 0
    lines: int = 0
    asked: int = 0
    forms: int = 0
    most: int = 0
    steps: int = 0
    unread: int = 0


def faults(engine: Engine, size: int) -> Iterator[tuple[str, Fault]]:
    """Return single faults with their group, each met on a meter of its own, by people of all competences."""
    for number in range(size):
        meter = draw_meter(engine.rule_book, f"cautions/meter {number}")
        fault = draw_fault(engine.rule_book, meter, f"cautions/{number}", 1, COMPETENCES[number // 4 % 4])  # type: ignore[arg-type]
        if fault is not None:
            bare = msgspec.structs.replace(fault, known={})
            yield (GROUPS[number % 4], bare if number % 2 else fault)


def shown(blocks: list[Block]) -> tuple[int, int]:
    """Return how many cautions blocks show in full and how many in one line."""
    full = lines = 0
    for block in blocks:
        for each in block.items if isinstance(block, Bullets) else ():
            styles = {span.style for span in each.spans}
            if styles & set(SIGNAL_WORDS):
                full, lines = (full + 1, lines) if each.below else (full, lines + 1)
    return full, lines


def count(engine: Engine, fault: Fault, nothing_known: bool) -> Count:
    """Walk one interview to its end."""
    person, case, found = Person(engine, fault, WRONG), Case(name="counted"), Count()
    case = msgspec.structs.replace(case, data_sheet=dict(fault.known))
    for _ in range(MOST_PROMPTS):
        situation = Situation(engine, case)
        prompt = prompt_in(situation)
        if isinstance(prompt, HandOverPrompt):
            break
        _look(found, situation, prompt)
        reply: Reply = person.reply(prompt)
        if nothing_known and isinstance(prompt, QuestionPrompt) and prompt.about == "data sheet":
            reply = FieldsFilled(complete=True)
        case = case.after(*respond(engine, case, prompt, reply).events)
    return found


def _look(found: Count, situation: Situation, prompt: Prompt) -> None:
    full, lines = shown(screens.screen(situation, prompt, None).below)
    found.full += full
    found.lines += lines
    found.most = max(found.most, full)
    found.asked += isinstance(prompt, CautionPrompt)
    form = isinstance(prompt, QuestionPrompt) and prompt.about == "data sheet"
    found.forms += form
    found.steps += getattr(prompt, "proposal", None) is not None and not form and not isinstance(prompt, CautionPrompt)
    found.unread += isinstance(prompt, CautionPrompt) and full == 0


COLUMNS = {
    "full": "in full",
    "lines": "one line",
    "asked": "y asked",
    "forms": "forms",
    "most": "most in full on a screen",
    "steps": "steps shown",
    "unread": "y with none in full",
}


def report(size: int = INTERVIEWS) -> str:
    """Return the table: the mean of each group, and every interview below it."""
    engine = real_engine()
    walked = [
        (group, fault, count(engine, fault, group.endswith("nobody knows"))) for group, fault in faults(engine, size)
    ]
    names = [each.name for each in fields(Count)]
    head = "| interviews | number | " + " | ".join(COLUMNS[name] for name in names) + " |"
    rows = []
    for title in ("all", *dict.fromkeys(GROUPS)):
        counts = [each for group, _, each in walked if title in ("all", group)]
        means = (f"{mean(getattr(each, name) for each in counts):.1f}" for name in names)
        rows += [f"| {title} | {len(counts)} | {' | '.join(means)} |"] if counts else []
    for number, (group, fault, each) in enumerate(walked, 1):
        figures = " | ".join(str(getattr(each, name)) for name in names)
        rows.append(f"| {number}: {', '.join(fault.causes)} ({group}) | 1 | {figures} |")
    return "\n".join([head, "| --- " * (len(names) + 2) + "|", *rows])
