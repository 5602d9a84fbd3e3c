"""Random people walk the real protocol at random meters, and an independent judge looks at every prompt.

No exposure before its caution, none beyond competence, nothing forbidden, every proof in its state, nothing left open
without being named. Every case hangs on the seed and its number alone, so that each can be walked again.
"""

from __future__ import annotations

import random
import sys
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from typing import NamedTuple

from diagnose.authoring.case_watch import judge, step_shown
from diagnose.authoring.safety_watch import Violation
from diagnose.cases.events import Case
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import HandOverPrompt, Prompt
from diagnose.protocol.replies import Reply
from diagnose.protocol.responding import respond
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.book import RuleBook
from tests.benchmarks.random_person import RandomPerson
from tests.engines import real_engine

MOST_REPLIES = 80
"""Nobody goes on longer in one case."""

GOES_ON = 0.5
"""How often somebody goes on at a hand-over."""

AT_A_TIME = 100

PROCESSES = 2


class Seen(NamedTuple):
    """One prompt of a walk, what the judge says of it, and what is replied (None at the end)."""

    prompt: Prompt
    violations: list[Violation]
    reply: Reply | None


@dataclass
class Counts:
    """What was walked, and what was wrong; ``examples`` gives for each thing that is wrong the first case with it."""

    cases: int = 0
    steps: int = 0
    endings: int = 0
    shown: Counter[str] = field(default_factory=Counter)
    prompts: Counter[str] = field(default_factory=Counter)
    persons: Counter[str] = field(default_factory=Counter)
    words: set[tuple[str, str]] = field(default_factory=set)
    violations: Counter[Violation] = field(default_factory=Counter)
    examples: dict[Violation, int] = field(default_factory=dict)

    def take(self, engine: Engine, seen: Seen, number: int) -> None:
        """Count one prompt of a case."""
        self.steps += 1
        self.prompts[type(seen.prompt).__name__] += 1
        self.endings += isinstance(seen.prompt, HandOverPrompt)
        step = step_shown(engine.rule_book, seen.prompt)
        if step is not None:
            self.shown[step.id] += 1
        for each in seen.violations:
            self.violations[each] += 1
            self.examples.setdefault(each, number)

    def add(self, other: Counts) -> None:
        """Add what another process has walked."""
        for name in ("cases", "steps", "endings"):
            setattr(self, name, getattr(self, name) + getattr(other, name))
        for name in ("shown", "prompts", "persons", "words", "violations"):
            getattr(self, name).update(getattr(other, name))
        self.examples = {**other.examples, **self.examples}


def person_of(engine: Engine, seed: int, number: int) -> RandomPerson:
    """Return who is interviewed in a case."""
    return RandomPerson(engine.rule_book, random.Random(f"{seed}/{number}"))


def walk(engine: Engine, person: RandomPerson) -> Iterator[Seen]:
    """Walk one case to its end."""
    case = Case(name="watched", data_sheet=person.known_at_first())
    for _ in range(MOST_REPLIES):
        prompt = prompt_of(engine, case)
        violations = judge(engine.rule_book, case, prompt)
        if isinstance(prompt, HandOverPrompt) and person.chooser.random() > GOES_ON:
            yield Seen(prompt, violations, None)
            return
        reply = person.reply(prompt)
        yield Seen(prompt, violations, reply)
        case = case.after(*respond(engine, case, prompt, reply).events)


def walked(engine: Engine, steps: int, seed: int, first: int = 0) -> Counts:
    """Walk the cases from a number on until there are as many steps (prompts that were judged)."""
    counts, number = Counts(), first
    while counts.steps < steps:
        person = person_of(engine, seed, number)
        counts.cases += 1
        counts.persons[person.competence] += 1
        for name, value in person.sheet.items():
            counts.words |= {(name, word) for word in (value if isinstance(value, tuple) else (str(value),))}
        for seen in walk(engine, person):
            counts.take(engine, seen, number)
        number += 1
    return counts


def _share(steps: int, seed: int, first: int) -> Counts:
    return walked(real_engine(), steps, seed, first)


def report(steps: int = 2000, seed: int = 1) -> str:
    """Return what was walked and every violation with the case in which it is met first."""
    total, rule_book = Counts(), real_engine().rule_book  # loaded once, before the processes part
    parts = -(-steps // AT_A_TIME)
    numbers = (part * AT_A_TIME for part in range(parts))  # a case is one step at least, so no case comes twice
    with ProcessPoolExecutor(PROCESSES) as pool:
        for each in pool.map(_share, [min(steps, AT_A_TIME)] * parts, [seed] * parts, numbers):
            total.add(each)
            print(f"{total.steps} steps: {_by_kind(total)}", file=sys.stderr, flush=True)
    return "\n".join(_lines(rule_book, total, seed))


def _by_kind(total: Counts) -> str:
    kinds: Counter[str] = Counter()
    for violation, count in total.violations.items():
        kinds[violation.kind] += count
    return ", ".join(f"{count} {kind}" for kind, count in kinds.most_common()) or "no violation"


def _lines(rule_book: RuleBook, total: Counts, seed: int) -> Iterator[str]:
    fields = [each for each in rule_book.data_sheet_fields().values() if each.choices]
    words = sum(len(each.choices) for each in fields)
    persons = ", ".join(f"{count} {name}" for name, count in sorted(total.persons.items()))
    yield f"Random steps of the protocol before an independent judge, seed {seed}"
    yield f"{total.cases} cases ({persons}), {len(total.words)} of {words} words of data sheets"
    yield f"{total.steps} steps judged, {total.endings} of them endings"
    known = len(rule_book.checks) + len(rule_book.remedies)
    done = len(total.shown.keys() & {*rule_book.checks, *rule_book.remedies})
    yield f"{total.shown.total()} showed what to do, {done} of {known} checks and remedies"
    yield ", ".join(f"{count} {name.removesuffix('Prompt').lower()}" for name, count in total.prompts.most_common())
    yield f"{sum(total.violations.values())} violations: {_by_kind(total)}"
    for violation, count in sorted(total.violations.items()):
        yield f"  {count} {violation.kind}: {violation.text} (case {total.examples[violation]})"


def told(seed: int, number: int) -> str:
    """Return one case, prompt by prompt, to see how a violation comes about."""
    engine = real_engine()
    lines = []
    for seen in walk(engine, person_of(engine, seed, number)):
        proposal = getattr(seen.prompt, "proposal", None)
        about = f" {proposal.id} {dict(proposal.changes)}" if proposal else ""
        lines.append(f"{type(seen.prompt).__name__}{about}")
        lines += [f"  !! {each.kind}: {each.text}" for each in seen.violations]
        lines.append(f"  > {seen.reply}")
    return "\n".join(lines)
