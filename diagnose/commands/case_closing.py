"""``diagnose cases close`` and ``reopen``: what came of a case."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from diagnose.commands.main import load
from diagnose.errors import BadInput, WrongUse
from diagnose.place import did_you_mean, visible

if TYPE_CHECKING:
    from diagnose.cases.events import Case, Closed
    from diagnose.reasoning.engine import Engine
    from diagnose.rule_book.book import RuleBook

OFFERED = 5
"""Causes that are offered by number."""


@click.command()
@click.argument("name")
@click.option("--cause", metavar="ID", help="The cause that was found, by its id.")
@click.option("--not-found", is_flag=True, help="No cause was found.")
@click.option("--not-listed", metavar="WORDS", help="The cause, in words: the rule book does not list it.")
@click.option("--remedy", metavar="ID", default="", help="What was done, by its id or in words.")
@click.option("--proof", metavar="ID", default="", help="The check that proved it, by its id.")
@click.option("--reading", metavar="TEXT", default="", help="What the proof gave: a reading, or words.")
@click.option("--minutes", type=float, help="Time on site.")
@click.option("--part", "parts", metavar="TEXT", multiple=True, help="A part that was fitted; may be given again.")
@click.option("--by", metavar="WHO", default="", help="Who closes the case.")
@click.pass_context
def close(ctx: click.Context, /, name: str, **said: Any) -> None:
    """Close a case with what was found and done; without options it is asked.

    \b
    diagnose cases close 20260301-101500
    diagnose cases close 20260301-101500 --cause electrodes-coated --minutes 40 --reading "1.02 of 1.00 m3/h"
    diagnose cases close 20260301-101500 --not-listed "a bird nested in the wet box" --remedy "nest taken out"
    diagnose cases close 20260301-101500 --not-found

    A remedy that was proved in the interview need not be said again. Where the cause did not stand among the first
    three, or is not listed, the case goes to the trainer's list: `diagnose cases list --to-review`.
    """
    from diagnose.cases.fitting import fitting
    from diagnose.cases.journal import Journal, case_folder
    from diagnose.cases.summary import is_to_review
    from diagnose.commands.meters import not_kept
    from diagnose.documents.text import make_console, write
    from diagnose.interview.screens import left_behind
    from diagnose.learning.meter_history import at_case
    from diagnose.protocol.closing import closed_in_words, closing, names_known, nobody_in_danger
    from diagnose.protocol.situation import Situation

    said = {key: _clean(value) for key, value in said.items()}
    given = [key for key in ("cause", "not_found", "not_listed") if said[key]]
    if len(given) > 1:
        raise WrongUse("a case is closed with one of --cause, --not-found and --not-listed")
    engine = load(ctx)
    try:
        names_known(engine.rule_book, _closed(engine, said))
    except BadInput as error:
        raise WrongUse(str(error)) from error
    with Journal.resume(case_folder(), name) as journal:
        if journal.closed:
            raise BadInput(f"the case {journal.head.case} is closed already; `diagnose cases reopen` opens it again")
        case = fitting(engine.rule_book, journal.case)
        engine, found_before = at_case(engine, case_folder(), case)
        nobody_in_danger(Situation(engine, case))
        if found_before:
            click.echo(visible(found_before))
        closed = closing(engine, case, _closed(engine, said) if given else _asked(engine, case, said))
        journal.add(journal.new_turn(), closed)
        label = journal.head.case
        left = left_behind(Situation(engine, case))
    click.echo(f"Closed case {label}.")
    if left:
        write(make_console(), left)
    for what, text in closed_in_words(engine.rule_book, closed):
        click.echo(f"  {what + ':':<11}{visible(text)}")
    if is_to_review(closed):
        click.echo("It is on the trainer's list: diagnose cases list --to-review")
    for each in not_kept(engine.rule_book, case_folder(), case):
        click.echo(visible(each))


@click.command()
@click.argument("name")
@click.option("--because", metavar="WORDS", required=True, help="Why it is open again.")
@click.option("--by", metavar="WHO", default="", help="Who opens it again.")
def reopen(name: str, because: str, by: str) -> None:
    """Open a closed case again.

    \b
    diagnose cases reopen 20260301-101500 --because "the same again after two days"

    What it was closed with stays in its journal. `diagnose cases resume NAME` goes on with it.
    """
    from diagnose.cases.events import Reopened
    from diagnose.cases.journal import Journal, case_folder

    why = _clean(because)
    if not why:
        raise WrongUse("say why with --because: whoever goes on needs to know")
    with Journal.resume(case_folder(), name) as journal:
        if not journal.closed:
            raise BadInput(f"the case {journal.head.case} is not closed; go on with `diagnose cases resume`")
        journal.add(journal.new_turn(), Reopened(why=why, by=_clean(by)))
        label = journal.head.case
    click.echo(f"Case {label} is open again. Go on with: diagnose cases resume {label}")


def _clean(value: Any) -> Any:
    """Return words without what a terminal must not get; whatever else as it is."""
    from diagnose.language.cleaning import tidy

    if isinstance(value, tuple):
        return tuple(filter(None, map(_clean, value)))
    return " ".join(tidy(value).split()) if isinstance(value, str) else value


def _closed(engine: Engine, said: dict[str, Any]) -> Closed:
    """Return what was said with options."""
    from diagnose.cases.events import Closed
    from diagnose.protocol.closing import id_or_words

    remedy, remedy_words = id_or_words(said["remedy"], engine.rule_book.remedies)
    return Closed(
        outcome="found" if said["cause"] else "not listed" if said["not_listed"] else "not found",
        cause=said["cause"] or "",
        words=said["not_listed"] or "",
        remedy=remedy,
        remedy_words=remedy_words,
        proof=said["proof"],
        reading=said["reading"],
        minutes=said["minutes"],
        parts=said["parts"],
        by=said["by"],
    )


def _asked(engine: Engine, case: Case, said: dict[str, Any]) -> Closed:
    """Ask for what was not said."""
    said = {**said, **_asked_cause(engine, case)}
    if not said["not_found"]:
        said["remedy"] = said["remedy"] or _remedy(engine.rule_book)
        said["reading"] = said["reading"] or _line("What proved it (a reading, or in words; Enter: nothing)")
    if said["minutes"] is None:
        said["minutes"] = _minutes()
    parts = said["parts"] or _line("Parts fitted (with ; between them; Enter: none)").split(";")
    return _closed(engine, {**said, "parts": tuple(filter(None, map(_clean, parts)))})


def _asked_cause(engine: Engine, case: Case) -> dict[str, Any]:
    from diagnose.protocol.leaving import faults_in
    from diagnose.protocol.situation import Situation

    causes = engine.rule_book.causes
    situations = [Situation(engine, each) for each in reversed(faults_in(case))]
    first = [each for fault in situations if fault.standing.observations for each in fault.diagnosis.causes[:OFFERED]]
    for number, each in enumerate(first, 1):
        click.echo(f" {number}  {100 * each.probability:3.0f} %  {causes[each.id].title}  ({each.id})")
        if len(situations) > 1 and number == OFFERED:
            click.echo("Before what was mended:")
    while True:
        text = _line("What was it (a number, an id, or in words; Enter: not found)")
        if not text:
            return {"not_found": True}
        if text.isdecimal() and 1 <= int(text) <= len(first):
            return {"cause": first[int(text) - 1].id}
        if text in causes:
            return {"cause": text}
        meant = did_you_mean(text, causes)
        if not meant and " " in text:
            return {"not_listed": text}
        click.echo(
            f"  there is no cause `{visible(text)}`; {meant or 'say it in more than one word if it is none of them'}"
        )


def _remedy(book: RuleBook) -> str:
    """Ask what was done, until it is a remedy of the rule book, words, or nothing."""
    from diagnose.protocol.closing import id_or_words, known_remedy

    while True:
        text = _line("What was done (its id, or in words; Enter: as in the interview)")
        try:
            name, _ = id_or_words(text, book.remedies)
            if name:
                known_remedy(book, name)
        except BadInput as error:
            click.echo(f"  {visible(str(error))}")
        else:
            return text


def _minutes() -> float | None:
    from diagnose.cases.administration import minutes_on_site

    while True:
        text = _line("Minutes on site (Enter: nobody knows)").removesuffix("min").strip()
        try:
            return minutes_on_site(float(text.replace(",", "."))) if text else None
        except ValueError:
            click.echo("  that is no number of minutes")
        except BadInput as error:
            click.echo(f"  {error}")


def _line(question: str) -> str:
    text = click.prompt(question, default="", show_default=False)
    return str(_clean(text))
