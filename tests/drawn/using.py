"""All that people do with a rule book, drawn: reports, data sheets, answers, cases, and the commands that take them."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from diagnose.documents.text import NARROWEST
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.quantities import Quantity
from tests.drawn import texts
from tests.drawn.writing import yaml_of


class Use(NamedTuple):
    """One call: its arguments, what is typed, the schema that its output keeps to, and the statuses it may end with.

    A ``told`` refusal (status 1 or 2, with a message) is fine as well where it says so.
    """

    arguments: tuple[str, ...]
    stdin: str = ""
    schema: str = ""
    statuses: tuple[int, ...] = (0,)
    told: bool = False


def uses(book: RuleBook, folder: Path, luck: random.Random) -> Iterator[Use]:
    """Yield every command on a rule book in ``folder / "rules"``; data sheets, cases and logs are written beside it."""
    yield from _trainer(book, folder, luck)
    yield from _data_sheets(book, folder, luck)
    yield from _helpdesk(book, folder, luck)
    yield from _technician(book, folder, luck)
    yield from _analyst(book, folder, luck)
    yield from _recorder(book, folder, luck)


def _trainer(book: RuleBook, folder: Path, luck: random.Random) -> Iterator[Use]:
    yield Use(("rules", "check", str(folder / "rules")))
    yield Use(("rules", "check", "--one-line"))
    for part in ("causes", "findings", "checks", "quantities", "cautions", "data-sheet"):
        yield Use(("rules", "ids", part))
    names = [
        *book.causes, *book.findings, *book.checks, *book.remedies, *book.inference, *book.quantities,
        *book.cautions, *book.states, *book.disturbances, *book.safeguards, *book.sources,
    ]  # fmt: skip
    for name in luck.sample(names, min(5, len(names))):
        yield Use(("rules", "show", "--", name))
    for _ in range(2):
        yield Use(("rules", "phrase", "--", luck.choice((*texts.PHRASES, *texts.TEXTS))))
    yield Use(("rules", "coverage"))
    yield Use(("rules", "coverage", "--format", "json"), schema="coverage")
    few = ("--double", "1", "--less-skilled", "1", "--intermittent", "1", "--outside", "1", "--processes", "1")
    simulate = ("rules", "simulate", "--single", "2", *few, "--seed", str(luck.randrange(99)))
    yield Use((*simulate, "--wrong", luck.choice(("0", "0.05", "1")), "--format", "json"), schema="simulation")
    if luck.random() < 0.2:
        yield Use(simulate)


def value_of(quantity: Quantity, luck: random.Random) -> Any:
    """Return a value of a quantity as somebody may write it on a data sheet."""
    if quantity.choices:
        some = luck.sample(quantity.choices, luck.randint(1, len(quantity.choices)))
        return some if quantity.several and luck.random() < 0.7 else luck.choice(quantity.choices)
    if quantity.text:
        return luck.choice(texts.TEXTS)
    figure = luck.choice(("0", "1", "50", "81", "100", "999", "0.001", "> 20", "< 5", "-3", "1e30", "1e-30", "1e300"))
    return f"{figure} {quantity.unit}".rstrip()


def _sheet(book: RuleBook, folder: Path, luck: random.Random, share: float = 0.6) -> str:
    """Write a data sheet that may say what nobody can believe, and return its name."""
    fields = book.data_sheet_fields()
    said = {name: value_of(each, luck) for name, each in fields.items() if luck.random() < share}
    path = folder / f"sheet{luck.randrange(10**6)}.yaml"
    path.write_text(yaml_of({"title": luck.choice(texts.TEXTS), **said}), encoding="utf-8")
    return str(path)


def _data_sheets(book: RuleBook, folder: Path, luck: random.Random) -> Iterator[Use]:
    yield Use(("schema", "data-sheet"))
    sheet = _sheet(book, folder, luck)
    yield Use(("data-sheet", "review", sheet), statuses=(0, 1), told=True)
    yield Use(("data-sheet", "review", "--format", "json", sheet), schema="review", statuses=(0, 1), told=True)
    empty = _sheet(book, folder, luck, 0.0)
    yield Use(("data-sheet", "review", "--format", "json", empty), schema="review", statuses=(0, 1))
    lines = [str(value_of(each, luck)) for each in book.data_sheet_fields().values()]
    yield Use(("data-sheet", "new", str(folder / "new.yaml")), stdin="\n".join([*lines, "x", ""]), told=True)


def report(book: RuleBook, luck: random.Random) -> str:
    """Return a report: phrases and titles of the rule book, readings, and what has nothing to do with it."""
    said = [phrase for each in book.findings.values() for phrase in (*each.phrases, *each.may_tell, *each.said_alone)]
    said += [phrase for each in book.findings.values() for phrase in (*each.denied_by, *each.word_for_word)]
    said += [phrase for each in book.disturbances.values() for phrase in each.told_as]
    said += [phrase for each in book.states.values() for phrases in each.told_as.values() for phrase in phrases]
    said += [phrase for phrases in book.settings.persons.values() for phrase in phrases]
    said += [each.title for each in book.findings.values()]
    said += [f"{luck.choice(each.words or (each.title,))} {value_of(each, luck)}" for each in book.quantities.values()]
    said += ["not " + phrase for phrase in said[:5]]
    parts = [luck.choice(said or ["dark"]) for _ in range(luck.randint(1, 6))] + luck.sample(texts.TEXTS, 2)
    luck.shuffle(parts)
    return luck.choice((". ", "\n", ", ", "! ")).join(parts) + "."


def _helpdesk(book: RuleBook, folder: Path, luck: random.Random) -> Iterator[Use]:
    for form in ("text", "json", "markdown", "json"):
        options = ["--marked"] if luck.random() < 0.5 else []
        if luck.random() < 0.5:
            options += ["--data-sheet", _sheet(book, folder, luck)]
        if luck.random() < 0.4:
            options += ["--with", _beside(book, luck)]
        if luck.random() < 0.2:
            options += ["--top", "1"]
        if luck.random() < 0.2:
            options += ["--without", "1"]
        told = len(options) > 1
        schema = "diagnosis" if form == "json" else ""
        yield Use(("triage", "--format", form, *options), report(book, luck), schema, told=told)
    log = _log(folder, luck)
    yield Use(("triage", "--format", "json", "--trend", log), report(book, luck), "diagnosis", told=True)


def _beside(book: RuleBook, luck: random.Random) -> str:
    if book.quantities and luck.random() < 0.5:
        quantity = luck.choice(list(book.quantities.values()))
        return f"{quantity.id}={value_of(quantity, luck)}"
    return luck.choice([*book.findings, "nothing"]) + luck.choice(("", "=present", "=absent"))


COMMANDS = ("u", "s", "b", "w", "o", "n a note", "e", "f", "t", "m", "?", "more", "p", "")


def typed(book: RuleBook, luck: random.Random) -> str:
    """Return what somebody may type at any prompt."""
    kind = luck.random()
    if kind < 0.55:
        return luck.choice("1112234")
    if kind < 0.7:
        return luck.choice(("y", "n", "yes", "no"))
    if kind < 0.82:
        return luck.choice(COMMANDS)
    if kind < 0.9 and book.quantities:
        return str(value_of(luck.choice(list(book.quantities.values())), luck))
    if kind < 0.94 and book.states:
        state = luck.choice(list(book.states.values()))
        return f"p {state.id} {luck.choice(state.values)}"
    return luck.choice((*texts.TEXTS, *texts.PHRASES, *(each.title for each in book.findings.values())))


def _technician(book: RuleBook, folder: Path, luck: random.Random) -> Iterator[Use]:
    for name in ("one", "two"):
        options = ["--competence", luck.choice(("ordinary", "instructed", "skilled"))] if luck.random() < 0.5 else []
        if luck.random() < 0.3:
            path = folder / f"{name}.txt"
            path.write_text(report(book, luck), encoding="utf-8")
            options += ["--report", str(path)]
        lines = "\n".join(typed(book, luck) for _ in range(luck.choice((10, 40, 60)))) + "\n"
        yield Use(("interview", "--name", name, *options), lines, statuses=(0, 130))
        yield Use(("cases", "show", name, "--format", "json"), schema="diagnosis")
        yield Use(("cases", "show", name, "--format", luck.choice(("text", "markdown"))))
    again = "\n".join(typed(book, luck) for _ in range(20)) + "\n"
    yield Use(("interview", "--resume", "one"), again, statuses=(0, 130))
    yield Use(("cases", "list"))
    sheet = _sheet(book, folder, luck)
    lines = "\n".join(typed(book, luck) for _ in range(20)) + "\n"
    yield Use(("interview", "--name", "three", "--data-sheet", sheet), lines, statuses=(0, 130), told=True)


def _log(folder: Path, luck: random.Random) -> str:
    kind = luck.choice(("flat", "noise", "steps", "short"))
    make = {
        "flat": lambda n: "50",
        "noise": lambda n: f"{50 + luck.gauss(0, 2):.3f}",
        "steps": lambda n: f"{50 if n % 40 < 20 else 0}",
        "short": lambda n: "1",
    }[kind]
    rows = [f"2026-03-01 00:{n:02};{make(n)}" for n in range(3 if kind == "short" else 60)]
    path = folder / "log.csv"
    path.write_text("\n".join(["time;flow [m3/h]", *rows]) + "\n", encoding="utf-8")
    return str(path)


PAIRS = ("10 12.1; 50 52.2; 90 91.8 m3/h", "10 10; 20 20; 40 40; 80 80 m3/h", "0 3; 50 60; 90 100 m3/h")


def _analyst(book: RuleBook, folder: Path, luck: random.Random) -> Iterator[Use]:
    pairs = ("--pairs", luck.choice(PAIRS))
    told = not book.mechanisms
    yield Use(("compare", *pairs, "--format", "json"), schema="comparison", told=told)
    options = ("--read-at", luck.choice(("control-system", "counter")), "--against", "display", "--urv", "100m3/h")
    yield Use(("compare", *pairs, *options), told=told)
    yield Use(("compare", *pairs, "--case", "one"), told=told)
    log = _log(folder, luck)
    yield Use(("trend", log, "--format", "json"), schema="trend", told=True)
    yield Use(("trend", log, "--case", "one"), told=True)
    yield Use(("cases", "show", "one", "--format", "json"), schema="diagnosis")


def _recorder(book: RuleBook, folder: Path, luck: random.Random) -> Iterator[Use]:
    answers: list[dict[str, Any]] = []
    for check in book.checks.values():
        if check.outcomes and luck.random() < 0.5:
            answers.append({"check": check.id, "answer": luck.choice(check.outcomes).answer})
    for quantity in book.quantities.values():
        if luck.random() < 0.3 and not (quantity.several or quantity.text):
            answers.append({"measured": quantity.id, "value": str(value_of(quantity, luck))})
    for name in list(book.findings)[:1]:
        answers.append({"finding": name, "is": luck.choice(("present", "absent"))})
    case = {"id": "drawn", "title": luck.choice(texts.TEXTS), "invented": True, "report": report(book, luck)}
    confirmed = luck.sample(list(book.causes), min(2, len(book.causes)))
    (folder / "recorded").mkdir(exist_ok=True)
    text = yaml_of({**case, "confirmed": confirmed, "answers": answers})
    (folder / "recorded" / "drawn.yaml").write_text(text, encoding="utf-8")
    yield Use(("cases", "replay", str(folder / "recorded")), statuses=(0, 1), told=True)
    yield Use(("rules", "coverage", "--cases", str(folder / "recorded")), told=True)
    yield Use(("cases", "learn", "--format", "json"), schema="learning")
    yield Use(("cases", "statistics", "--format", "json"), schema="statistics")


WIDTHS = (str(NARROWEST // 2), "40", "80", "200")
"""Columns of screens on which things are shown."""
