"""``diagnose cases show`` and ``resume``: one case as it stands, and going on with it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from diagnose.commands.main import load
from diagnose.commands.options import DIAGNOSIS_FORMAT
from diagnose.commands.printing import print_blocks, print_json
from diagnose.place import visible

if TYPE_CHECKING:
    from diagnose.cases.events import Case
    from diagnose.reasoning.engine import Engine


@click.command()
@click.argument("name")
@DIAGNOSIS_FORMAT
@click.pass_context
def show(ctx: click.Context, name: str, form: str) -> None:
    """Print on one page how an interview stands, for whoever takes over.

    NAME is its name or its file.

    \b
    diagnose cases show 20260301-101500
    diagnose cases show 20260301-101500 --format markdown > hand-over.md
    diagnose cases show 20260301-101500 --format json

    The meter and the complaint come first, then what nobody has put back, with how it is put back; then who should come
    with what, what is certain, the readings, and what is still possible. `diagnose interview --resume NAME` goes on
    with it, `diagnose cases report NAME` has all of it; the JSON is the whole diagnosis.
    """
    from diagnose.cases.fitting import fitting, misfits
    from diagnose.cases.journal import Journal, case_folder
    from diagnose.interview.kept import kept_document, kept_page
    from diagnose.learning.meter_history import at_case
    from diagnose.protocol.situation import Situation

    folder = case_folder()
    engine = load(ctx)
    case = Journal.read(folder, name)
    engine, found_before = at_case(engine, folder, case)
    for each in misfits(engine.rule_book, case):
        click.echo(
            f"left out, for this rule book does not know it: line {each.line} of the case: {each.text}", err=True
        )
    if form != "json":
        _print_what_is_written_down(engine, case, form, found_before)
    situation = Situation(engine, fitting(engine.rule_book, case))
    if form == "json":
        print_json(kept_document(situation, [found_before] if found_before else []))
    else:
        print_blocks(kept_page(situation), form)


def _print_what_is_written_down(engine: Engine, case: Case, form: str, found_before: str) -> None:
    """Print the meter, what was complained of, what was found before, is attached, and came of the case."""
    from diagnose.cases.standing import standing_of
    from diagnose.cases.summary import COMPLAINT_LETTERS
    from diagnose.documents.markdown import escaped
    from diagnose.language.results import shortened
    from diagnose.protocol.closing import closed_in_words

    standing = standing_of(case)
    kept = standing.kept
    lines = [("Meter", kept.meter)] if kept.meter else []
    lines += [("Complaint", shortened(standing.texts[0].text, COMPLAINT_LETTERS))] if standing.texts else []
    lines += [("Before", found_before)] if found_before else []
    lines += [("Attached", f"{each.name} ({each.size:,} bytes, SHA-256 {each.sha256[:16]}…)") for each in kept.attached]
    lines += [("Reopened", each.why) for each in kept.reopened]
    if kept.closed:
        lines += [("Closed", kept.closed_at[:10]), *closed_in_words(engine.rule_book, kept.closed)]
    for what, text in lines:
        click.echo(f"- {what}: {escaped(visible(text))}" if form == "markdown" else f"{what + ':':<11}{visible(text)}")
    if lines:
        click.echo()


@click.command()
@click.argument("name")
@click.pass_context
def resume(ctx: click.Context, name: str) -> None:
    """Go on with a case, as `diagnose interview --resume NAME` does.

    \b
    diagnose cases resume 20260301-101500

    A closed case is reopened first: `diagnose cases reopen NAME --because "…"`.
    """
    from diagnose.commands.technician import interview

    ctx.invoke(interview, resume=name)
