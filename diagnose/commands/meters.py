"""The meter that a command is told of: its tag, and its data sheet kept beside the cases."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING, NamedTuple

from diagnose.errors import BadInput, ProblemsFound

if TYPE_CHECKING:
    from diagnose.cases.events import Case
    from diagnose.rule_book.book import RuleBook
    from diagnose.rule_book.quantities import DataSheet, Value


class Known(NamedTuple):
    """What is known of a meter: its tag, what its kept data sheet says, and what is to be told about that."""

    tag: str = ""
    kept: Mapping[str, Value] = {}
    told: tuple[str, ...] = ()


def tag_of(text: str) -> str:
    """Return a tag as it is kept, on one line."""
    if not text:
        return ""
    from diagnose.cases.events import LONGEST_TAG
    from diagnose.language.cleaning import tidy

    return " ".join(tidy(text).split())[:LONGEST_TAG]


def known_of(rule_book: RuleBook, meter: str, given: DataSheet, named: Path | None) -> Known:
    """Return what is known of a meter beside the data sheet ``given`` in the file that was ``named``, which goes first.

    Raises ProblemsFound or BadInput where the kept one cannot be read.
    """
    tag = tag_of(meter)
    if not tag:
        return Known()
    from diagnose.cases.journal import case_folder
    from diagnose.cases.meter_sheets import kept_sheet

    kept = kept_sheet(case_folder(), tag, rule_book)
    return Known(tag, kept, tuple(_told(rule_book, tag, kept, given, named)))


def _told(rule_book: RuleBook, tag: str, kept: DataSheet, given: DataSheet, named: Path | None) -> Iterator[str]:
    from diagnose.rule_book.data_sheet_written import differences

    fields = f"{len(kept)} field{'s' if len(kept) > 1 else ''}"
    to_keep = f"diagnose data-sheet keep {quote(tag)} {quote(str(named))}"
    other = "; ".join(differences(rule_book, kept, given))
    if other:
        yield f"The data sheet kept of {tag} says otherwise: {other}. {named} goes first here."
        yield f"To keep it instead: {to_keep}"
    elif kept:
        yield f"{fields} known from the data sheet kept of {tag}."
    elif named:
        yield f"No data sheet is kept of {tag} yet. To keep this one: {to_keep}"


def keep_file(rule_book: RuleBook, tag: str, file: Path) -> Iterator[str]:
    """Keep the data sheet in a file as that of a meter; return what differs from the one that was kept.

    Raises ProblemsFound with all that is wrong with it, BadInput where it cannot be read or kept.
    """
    from diagnose.bounded import DATA_SHEET, read_file
    from diagnose.cases.journal import case_folder
    from diagnose.cases.meter_sheets import keep, kept_sheet, sheet_of
    from diagnose.rule_book.data_sheet import read_data_sheet
    from diagnose.rule_book.data_sheet_written import differences

    sheet, text = read_data_sheet(file, rule_book), read_file(file, DATA_SHEET).decode()
    folder = case_folder()
    try:
        before = kept_sheet(folder, tag, rule_book)
    except ProblemsFound:  # what is wrong with the one that was kept is mended by another one
        before = {}
    new = keep(sheet_of(folder, tag), lambda _: text)
    for each in differences(rule_book, before, sheet):
        yield f"Was {each}"
    gone = [rule_book.quantities[name].title for name in before if name not in sheet]
    if gone:
        yield f"No longer said: {', '.join(gone)}"
    yield f"{'Kept' if new else 'Kept already'} as the data sheet of {tag}: {sheet_of(folder, tag)}"


def keep_fields(rule_book: RuleBook, tag: str, name: str) -> Iterator[str]:
    """Keep what was answered in a case on the data sheet of a meter, where that says nothing yet.

    Raises BadInput where there is no such case, it is about another meter, or it cannot be kept.
    """
    from diagnose.cases.fitting import fitting
    from diagnose.cases.journal import Journal, case_folder
    from diagnose.cases.meter_sheets import keep, kept_sheet, sheet_of, with_fields
    from diagnose.cases.standing import standing_of
    from diagnose.rule_book.data_sheet_written import as_written, differences

    folder = case_folder()
    standing = standing_of(fitting(rule_book, Journal.read(folder, name)))
    of = standing.kept.meter
    if of and of.lower() != tag.lower():
        raise BadInput(f"the case {name} is about the meter {of}, not {tag}")
    before = kept_sheet(folder, tag, rule_book)
    new = {field: value for field, value in standing.data_sheet.items() if field not in before}
    written = {field: as_written(rule_book.quantities[field], value) for field, value in new.items()}
    added = {field: text for field, text in written.items() if text is not None}
    keep(sheet_of(folder, tag), lambda text: with_fields(text, added, tag))
    for each in differences(rule_book, before, standing.data_sheet):
        yield f"Left as it was: {each}"
    titles = ", ".join(rule_book.quantities[field].title for field in added)
    yield f"Kept on the data sheet of {tag}: {titles or 'nothing new'} ({sheet_of(folder, tag)})"


def not_kept(rule_book: RuleBook, folder: Path, case: Case) -> list[str]:
    """Return what to do with fields that were answered in a case and are not on the data sheet kept of its meter."""
    from diagnose.cases.meter_sheets import kept_sheet
    from diagnose.cases.standing import standing_of

    standing = standing_of(case)
    if not standing.kept.meter or not standing.data_sheet:
        return []
    kept = kept_sheet(folder, standing.kept.meter, rule_book)
    new = [name for name in standing.data_sheet if name not in kept and name in rule_book.quantities]
    if not new:
        return []
    titles = ", ".join(rule_book.quantities[name].title for name in new)
    tag = standing.kept.meter
    return [
        f"Not on the data sheet kept of {tag} yet: {titles}.",
        f"If they hold for good: diagnose data-sheet keep {quote(tag)} --case {case.name}",
    ]
