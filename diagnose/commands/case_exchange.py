"""``diagnose cases export`` and ``import``: cases passed on, and taken over."""

from __future__ import annotations

import csv
import io
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryFile
from typing import IO, TYPE_CHECKING

import click

from diagnose.commands.files import write_bytes, write_pieces
from diagnose.commands.main import rules_folder
from diagnose.errors import MOST_TOLD, BadInput, WrongUse
from diagnose.place import visible

if TYPE_CHECKING:
    from diagnose.cases.archive import Archive
    from diagnose.cases.exchange import BadRow, Passed

_PIECE = 1 << 20
_FORMS = click.Choice(["jsonl", "csv", "zip"])
_ENDINGS = {".csv": "csv", ".zip": "zip"}
"""Endings of a file by which the format is known where none is named."""

_NO_TABLE = (
    "this is no table that can be read: its first line is no row of headings in plain text; "
    "save it as CSV in UTF-8, with an ordinary end of line after each row"
)
_NO_ROW = "it is no row of a table: it breaks off in the middle, or is no plain text; save it as CSV in UTF-8"


@click.command("export")
@click.argument("names", nargs=-1)
@click.option("--format", "form", type=_FORMS, help="One case a line (jsonl), a row, or an archive; by --output.")
@click.option("--output", type=click.Path(path_type=Path), help="Write into this file, whole or not at all.")
@click.pass_context
def export_cases(ctx: click.Context, names: tuple[str, ...], form: str | None, output: Path | None) -> None:
    """Pass on cases, whole, to `diagnose cases import` elsewhere.

    NAMES are the names of cases; without any, all are exported.

    \b
    diagnose cases export > cases.jsonl
    diagnose cases export 20260301-101500 --output one.jsonl
    diagnose cases export --output cases.csv
    diagnose cases export --output cases.zip

    An archive (zip) has the attached files too, and needs --output; the other forms have their names and hashes. CSV
    has the columns of `diagnose cases list --format csv` for people, and a last one, `journal`, with all of the case.
    Exit status 1 if a case or a file cannot be read; the others are exported.
    """
    from diagnose.cases.archive import files_of, write_archive
    from diagnose.cases.exchange import passed_on
    from diagnose.cases.journal import case_folder, journal_of, journals

    form = form or _ENDINGS.get(output.suffix.lower() if output else "", "jsonl")
    if form == "zip" and not output:
        raise WrongUse("an archive goes into a file: name it with --output cases.zip")
    folder = case_folder()
    paths = [journal_of(folder, name) for name in names] if names else journals(folder)
    bad = attached = 0

    def readable() -> Iterator[tuple[Path, Passed]]:
        nonlocal bad, attached
        for path in paths:
            try:
                case = passed_on(path)
                attached += len(files_of(case))
                yield path, case
            except (BadInput, OSError) as error:
                bad += 1
                click.echo(visible(f"left out: {error}"), err=True)

    wrong: list[str] = []
    if output and form == "zip":
        with TemporaryFile() as whole:
            wrong = write_archive(whole, readable())
            whole.seek(0)
            write_bytes(output, iter(lambda: whole.read(_PIECE), b""))
    elif output:
        write_pieces(output, _pieces(readable(), form))
    else:
        for piece in _pieces(readable(), form):
            click.echo(piece, nl=False)
    for each in wrong:
        click.echo(visible(f"left out: {each}"), err=True)
    click.echo(f"{len(paths) - bad:,} exported" + (f", {bad:,} left out" if bad else ""), err=True)
    if attached and form != "zip":
        click.echo(f"without {attached:,} attached files; --output cases.zip takes them along", err=True)
    ctx.exit(1 if bad or wrong else 0)


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--format", "form", type=_FORMS, help="What the file holds; by its name if left out.")
@click.pass_context
def import_cases(ctx: click.Context, file: Path, form: str | None) -> None:
    """Take over cases that were exported elsewhere; what is here already is not taken twice.

    FILE holds one case a line (JSON Lines) or a row (CSV), or is an archive (zip); - is the standard input.

    \b
    diagnose cases import cases.jsonl
    diagnose cases import cases.zip
    ssh pump-house diagnose cases export | diagnose cases import -
    diagnose cases import our-table.csv

    A table of your own has one closed case a row, under the headings name, meter, started, changed, complaint, outcome
    (found, not found, not listed), cause (an id; words where not listed; empty where not found), remedy, minutes: any
    of them, in any order. Bad rows are told with their line and heading, and passed over, the others are taken in;
    exit status 1 if there are any.
    Attached files come along in an archive alone, and only those that are what was attached, by their hash.
    """
    from diagnose.cases.exchange import BadRow, Importer
    from diagnose.cases.journal import case_folder, why_not

    form = form or _ENDINGS.get(file.suffix.lower(), "jsonl")
    bad = 0
    with _source(file, form) as (stream, files):
        importer = Importer(case_folder())
        for line, row in _csv_rows(ctx, stream) if form == "csv" else _json_rows(stream):
            try:
                if not isinstance(row, BadRow):
                    importer.take(row)
                    if files:
                        files.take(importer.path, row)
                    continue
                wrong = row
            except BadInput as error:
                wrong = BadRow(line, str(error))
            except OSError as error:
                importer.finish()
                said = f"stopped at line {line}; what came before it was taken in: the case cannot be written"
                raise BadInput(why_not(said, error)) from error
            bad += 1
            if bad <= MOST_TOLD:
                click.echo(visible(f"{file}:{wrong.line}: passed over, for {wrong.text}"), err=True)
        importer.finish()
    if bad > MOST_TOLD:
        click.echo(f"… and {bad - MOST_TOLD:,} more rows", err=True)
    counted = {"new": 0} | {str(what): number for what, number in importer.taken.items()}
    if bad:
        counted["passed over"] = bad
    if files:
        files.tell_others()
        counted |= files.counted()
    click.echo(", ".join(f"{number:,} {what}" for what, number in counted.items()), err=True)
    ctx.exit(1 if bad or (files and files.wrong) else 0)


class _Files:
    """The files of an archive, taken in with their cases."""

    def __init__(self, archive: Archive) -> None:
        self.archive = archive
        self.new = self.wrong = 0

    def take(self, journal: Path, case: Passed) -> None:
        """Take in what was attached to a case; what is not as it was attached is told and left out."""
        from diagnose.cases.archive import files_of
        from diagnose.cases.attached_files import take_in

        for each in files_of(case):
            try:
                self.new += take_in(journal, each, self.archive.file(each))
            except BadInput as error:
                self.wrong += 1
                if self.wrong <= MOST_TOLD:
                    click.echo(visible(f"left out: {case.case}: {error}"), err=True)

    def tell_others(self) -> None:
        """Tell what else stands in the archive: nothing of it was written anywhere."""
        others = self.archive.others()
        for name in others[:MOST_TOLD]:
            click.echo(visible(f"left out: {name}: no case and no file of one"), err=True)
        if len(others) > MOST_TOLD:
            click.echo(f"… and {len(others) - MOST_TOLD:,} more left out", err=True)

    def counted(self) -> dict[str, int]:
        """Return how many are new, and how many were left out."""
        return {"new files": self.new} | ({"files left out": self.wrong} if self.wrong else {})


@contextmanager
def _source(file: Path, form: str) -> Iterator[tuple[IO[bytes], _Files | None]]:
    """Give the lines of a file, and the files of an archive."""
    if form != "zip":
        with _opened(file) as stream:
            yield stream, None
        return
    from diagnose.cases.archive import opened

    if str(file) == "-":
        raise WrongUse("an archive is read from a file, not from standard input; name it")
    with opened(file) as archive, archive.cases() as stream:
        yield stream, _Files(archive)


def _pieces(cases: Iterable[tuple[Path, Passed]], form: str) -> Iterator[str]:
    import msgspec

    from diagnose.cases.exchange import row_of
    from diagnose.documents.csv_cells import written

    begun = False
    for _, case in cases:
        if form == "jsonl":
            yield msgspec.json.encode(case).decode() + "\n"
            continue
        row, text = row_of(case), io.StringIO()
        writer = csv.writer(text, lineterminator="\n")
        if not begun:
            writer.writerow(row)
            begun = True
        writer.writerow(map(written, row.values()))
        yield text.getvalue()


def _opened(file: Path) -> IO[bytes]:
    if str(file) == "-":
        return sys.stdin.buffer
    try:
        return file.open("rb")
    except (OSError, ValueError) as error:
        raise BadInput(f"{file} cannot be read: {getattr(error, 'strerror', '') or error}") from error


def _json_rows(stream: IO[bytes]) -> Iterator[tuple[int, Passed | BadRow]]:
    from diagnose.cases.exchange import BadRow, case_in, lines_of

    for number, line in lines_of(stream):
        if isinstance(line, BadRow):
            yield number, line
            continue
        if not line.strip():
            continue
        try:
            yield number, case_in(line)
        except BadInput as error:
            yield number, BadRow(number, str(error))


def _csv_rows(ctx: click.Context, stream: IO[bytes]) -> Iterator[tuple[int, Passed | BadRow]]:
    from diagnose.bounded import JOURNAL
    from diagnose.cases.exchange import BadRow, PlainRow

    csv.field_size_limit(JOURNAL.most)
    too_long: list[BadRow] = []
    reader = csv.reader(_text(stream, too_long))
    try:
        heading = [each.strip().lower() for each in next(reader, [])]
    except csv.Error as error:
        raise BadInput(_NO_TABLE) from error
    if too_long:
        raise BadInput(f"the first line of the table cannot be read, for {too_long[0].text}")
    if any("\ufffd" in each for each in heading):
        raise BadInput(_NO_TABLE)
    known = {"journal", *PlainRow._fields}
    if not known.intersection(heading):
        raise BadInput(f"the table has none of the headings {', '.join(PlainRow._fields)} in its first line")
    while True:
        first = reader.line_num + 1
        try:
            cells = next(reader, None)
        except csv.Error:
            yield first, BadRow(first, _NO_ROW)
            continue
        if too_long:  # what stood in it is gone, and with it any row that it was a part of
            yield from ((each.line, each) for each in too_long)
            too_long.clear()
        elif cells is None:
            return
        elif any(cells):
            row = _case_in_row(ctx, first, heading, cells)
            if isinstance(row, BadRow) and reader.line_num > first:
                row = row._replace(text=f"{row.text} (a quotation mark makes it go on to line {reader.line_num})")
            yield first, row


def _case_in_row(ctx: click.Context, line: int, heading: list[str], cells: list[str]) -> Passed | BadRow:
    from diagnose.cases.exchange import BadRow, PlainRow, case_in, case_of_row
    from diagnose.documents.csv_cells import read
    from diagnose.language.cleaning import tidy

    if len(cells) > len(heading):
        return BadRow(line, f"it has {len(cells)} cells under {len(heading)} headings")
    row = dict(zip(heading, map(read, cells), strict=False))
    try:
        if row.get("journal"):
            return case_in(row["journal"])
        said = {name: tidy(text) for name, text in row.items() if name in PlainRow._fields}
        return case_of_row(PlainRow(**said), lambda cause: _wrong_cause(ctx, cause))
    except BadInput as error:
        return BadRow(line, str(error))


def _wrong_cause(ctx: click.Context, cause: str) -> str:
    """Return what is wrong with the id of a cause; the rule book is loaded with the first one."""
    from diagnose.place import did_you_mean
    from diagnose.rule_book.cache import load_rule_book

    if "causes" not in ctx.meta:
        ctx.meta["causes"] = load_rule_book(rules_folder(ctx)).causes
    known = ctx.meta["causes"]
    listed = "`diagnose rules ids causes` lists them; `not listed` under outcome takes words"
    return "" if cause in known else f"there is no cause `{cause}`: {did_you_mean(cause, known, listed)}"


def _text(stream: IO[bytes], too_long: list[BadRow]) -> Iterator[str]:
    """Yield the lines of a table as text; a mark of byte order is no part of the first heading.

    One that is longer than a case may be is put into ``too_long``, and an empty line stands in its place.
    """
    from diagnose.cases.exchange import BadRow, lines_of

    for number, line in lines_of(stream):
        if isinstance(line, BadRow):
            too_long.append(line)
            yield "\n"
            continue
        text = line.decode("utf-8", errors="replace").replace("\0", "\ufffd")
        yield text.removeprefix("\ufeff") if number == 1 else text
