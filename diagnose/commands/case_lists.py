"""``diagnose cases list`` and ``search``: which cases are kept here."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from diagnose.commands.main import rules_folder
from diagnose.commands.options import with_options
from diagnose.errors import WrongUse

if TYPE_CHECKING:
    from diagnose.cases.index import Index
    from diagnose.cases.listing import CasesFound, Wanted
    from diagnose.rule_book.book import RuleBook

LATEST = 50
"""Cases on a screen where nobody says how many."""

MOST_ALIKE = 10
"""Cases like another one where nobody says how many."""

_DAY = re.compile(r"\d{4}(-\d\d(-\d\d(T\d\d(:\d\d(:\d\d)?)?)?)?)?")

_STATES = ["open", "waiting", "cured", "handed over", "closed"]
_FILTERS: dict[str, dict[str, Any]] = {
    "--meter": {"default": "", "metavar": "TAG", "help": "Of this meter; * stands for any letters."},
    "--state": {
        "type": click.Choice(_STATES),
        "metavar": "STATE",
        "help": ", ".join(_STATES) + ".",
    },
    "--cause": {"default": "", "metavar": "ID", "help": "Closed with this cause, or left with it first; * as above."},
    "--since": {"default": "", "metavar": "DAY", "help": "Changed on this day or later: 2026-03-01, or 2026-03."},
    "--until": {"default": "", "metavar": "DAY", "help": "Changed on this day or before."},
    "--limit": {
        "type": click.IntRange(min=0),
        "help": f"At most so many, 0 for all; {LATEST} on a screen, {MOST_ALIKE} by likeness.",
    },
    "--format": {"type": click.Choice(["text", "json", "csv"]), "default": "text", "help": "How to print the list."},
}


def _filtered(command: Callable[..., None]) -> Callable[..., None]:
    return with_options(_FILTERS)(command)


@click.command("list")
@_filtered
@click.option(
    "--to-review", is_flag=True, help="Closed with a cause that stood low, or is not listed: for the trainer."
)
@click.pass_context
def list_cases(ctx: click.Context, /, to_review: bool, **options: Any) -> None:
    """List the cases kept on this machine, the latest first.

    \b
    diagnose cases list
    diagnose cases list --meter 'FT-20*' --state closed --since 2026-01
    diagnose cases list --cause electrodes-coated --format csv > coated.csv
    diagnose cases list --to-review

    A cause with a share is the first of those that were likely when the case was left; without one it was confirmed.
    *waiting* is for a proof, a planned remedy, or the end of a hazard. `diagnose cases resume NAME` goes on with one,
    `diagnose schema case-list` describes the JSON. Exit status 1 if a case cannot be read; the others are listed.
    """
    from diagnose.cases.index import Index
    from diagnose.cases.journal import case_folder

    folder = case_folder()
    with Index.open(folder, _told) as index:
        found = _found(ctx, index, options, to_review=to_review)
        problems = index.problems()
        _print(ctx, found, problems, options["format"])
    shown = f"{len(found.cases):,} of {found.of:,}" if found.of > len(found.cases) else f"{found.of:,}"
    click.echo(f"{shown} in {folder}", err=True)
    ctx.exit(1 if problems else 0)


@click.command()
@click.argument("words", nargs=-1)
@click.option("--like", metavar="NAME", help="Cases like this one, by the findings that they share.")
@_filtered
@click.pass_context
def search(ctx: click.Context, /, words: tuple[str, ...], like: str | None, **options: Any) -> None:
    """Find cases by words, or by likeness to a case.

    WORDS must all stand in the case: in what was said, noted, closed with, or attached; the start of a word will do.

    \b
    diagnose cases search coating mill
    diagnose cases search dark --meter FT-2041
    diagnose cases search --like 20260301-101500 --state closed

    Likeness goes by findings, and one that few cases have weighs more than one that many have; the list says which
    are shared. A row of a table that was imported has words and no findings: look for those.
    `diagnose schema cases-alike` describes the JSON of --like, `case-list` that of the rest.
    """
    from diagnose.cases.index import Index
    from diagnose.cases.journal import case_folder

    if bool(words) == bool(like) or not (like or re.search(r"\w", " ".join(words))):
        raise WrongUse(
            "say which words to look for, as `diagnose cases search coating mill`, or name a case with --like; "
            "`diagnose cases list` shows all cases"
        )
    with Index.open(case_folder(), _told) as index:
        if like:
            _print_alike(ctx, index, like, options)
            return
        found = _found(ctx, index, options, words=" ".join(words))
        _print(ctx, found, (), options["format"])
    click.echo(f"{found.of:,} found", err=True)


def _found(ctx: click.Context, index: Index, options: dict[str, Any], **more: Any) -> CasesFound:
    from diagnose.cases.listing import cases_wanted

    limit = options["limit"]
    if limit is None and options["format"] == "text":
        limit = LATEST
    found = cases_wanted(index, _wanted(options, **more), limit or None)
    if not found.of:
        _cause_known(ctx, index, options["cause"])
    return found


def _cause_known(ctx: click.Context, index: Index, cause: str) -> None:
    """Refuse a cause that neither the rule book nor any case has: it was hardly meant."""
    from diagnose.cases.listing import Wanted, cases_wanted
    from diagnose.place import did_you_mean

    if not cause or cases_wanted(index, Wanted(cause=cause), 1).of:
        return
    causes = _book(ctx).causes
    pattern = ".*".join(map(re.escape, cause.lower().split("*")))
    if not any(re.fullmatch(pattern, each) for each in causes):
        meant = did_you_mean(cause, causes, "`diagnose rules ids causes` lists them")
        raise WrongUse(f"--cause: there is no cause `{cause}`: {meant}")


def _wanted(options: dict[str, Any], **more: Any) -> Wanted:
    from diagnose.cases.listing import Wanted

    for name in ("since", "until"):
        if options[name] and not _DAY.fullmatch(options[name]):
            raise WrongUse(f"--{name} {options[name]!r} is no day; write it as 2026-03-01, or 2026-03 for a month")
    asked: dict[str, Any] = {name: options[name] or "" for name in ("meter", "state", "cause", "since", "until")}
    return Wanted(**asked, **more)


def _print(ctx: click.Context, found: CasesFound, problems: list[str] | tuple[str, ...], form: str) -> None:
    from diagnose.documents.case_list import as_csv, case_list_document, table

    if form == "text":
        for line in table(found.cases, shutil.get_terminal_size().columns):
            click.echo(line)
    else:
        document = case_list_document(found, problems, _book(ctx))
        if form == "json":
            _print_json(document)
        else:
            click.echo(as_csv(document.cases), nl=False)
    for problem in problems:
        click.echo(f"cannot be read: {problem}", err=True)


def _print_alike(ctx: click.Context, index: Index, name: str, options: dict[str, Any]) -> None:
    from diagnose.cases.listing import cases_like
    from diagnose.documents.case_list import as_csv, cases_alike_document, table

    limit = options["limit"]
    alike = cases_like(index, name, MOST_ALIKE if limit is None else limit or None, _wanted(options))
    if not alike:
        _cause_known(ctx, index, options["cause"])
    document = cases_alike_document(name, alike, _book(ctx))
    if options["format"] == "json":
        _print_json(document)
    elif options["format"] == "csv":
        click.echo(as_csv(each.case for each in document.cases), nl=False)
    else:
        heading, *lines = table([each.case for each in alike], shutil.get_terminal_size().columns) or [""]
        click.echo(heading or f"no other case shares a finding with {name}")
        for line, each in zip(lines, document.cases, strict=True):
            shared = "; ".join(found.title for found in each.shared)
            click.echo(line)
            click.echo(click.wrap_text(f"{100 * each.likeness:.0f} % alike: {shared}", 78, "    ", "    "))


def _print_json(document: Any) -> None:
    from diagnose.commands.printing import print_json

    print_json(document)


def _book(ctx: click.Context) -> RuleBook:
    from diagnose.rule_book.cache import load_rule_book

    return load_rule_book(rules_folder(ctx))


def _told(text: str) -> None:
    click.echo(text, err=True)
