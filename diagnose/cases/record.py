"""Recorded cases: report, data sheet, answers in order, the confirmed cause, and what the diagnosis must say."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import msgspec

from diagnose.bounded import RECORDED_CASE, files_below
from diagnose.errors import DiagnoseError, ProblemsFound, UnitError
from diagnose.observations import CheckDone, FindingSeen, Measurement, Observation
from diagnose.place import Problem, did_you_mean
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.data_sheet import data_sheet_from, read_value
from diagnose.rule_book.decode import decode
from diagnose.rule_book.quantities import DataSheet
from diagnose.yaml_places import Document, KeyPath, read_document


class Answer(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """One answer: the outcome of a check (or the readings given at it), a measured value, or a finding as it is."""

    check: str = ""
    answer: str = ""
    readings: str = ""
    measured: str = ""
    value: str = ""
    finding: str = ""
    is_: str = msgspec.field(name="is", default="")


class AuthoredCase(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """A case as it stands in its file.

    ``invented`` or a published ``source`` says where it comes from; ``note`` what of it the source says and what was
    added, for whoever reads the case.
    """

    id: str
    title: str
    confirmed: tuple[str, ...]
    invented: bool = False
    source: str = ""
    note: str = ""
    report: str = ""
    data_sheet: dict[str, str | tuple[str, ...]] = {}
    answers: tuple[Answer, ...] = ()
    understood: dict[str, str] = {}
    within_first: int | None = None


class RecordedCase(msgspec.Struct, frozen=True, kw_only=True):
    """A case checked against the rule book.

    ``within_first``: every confirmed cause must be among so many; one for a single cause, three for several.
    ``understood``: what the report must be understood to say.
    """

    id: str
    title: str
    file: str
    invented: bool
    report: str
    data_sheet: DataSheet
    answers: tuple[Observation, ...]
    confirmed: tuple[str, ...]
    understood: dict[str, bool]
    within_first: int


def read_cases(path: Path, rule_book: RuleBook) -> list[RecordedCase]:
    """Return the case in a file, or all of a folder.

    Raises ProblemsFound with all problems of all files.
    """
    files = files_below(path, "*.yaml") if path.is_dir() else [path]
    cases: list[RecordedCase] = []
    problems: list[Problem] = []
    for file in files:
        case, found = _read_case(file, rule_book)
        problems += found
        if case is not None:
            cases.append(case)
    if problems:
        raise ProblemsFound(problems)
    return cases


def _read_case(path: Path, rule_book: RuleBook) -> tuple[RecordedCase | None, list[Problem]]:
    document = read_document(path, str(path), RECORDED_CASE)
    if document.problems:
        return None, document.problems
    data = document.data
    sheet: DataSheet = {}
    problems: list[Problem] = []
    if isinstance(data, dict) and "data-sheet" in data:
        sheet, problems = data_sheet_from(data["data-sheet"], document, ("data-sheet",), rule_book)
        data = {**data, "data-sheet": {}}
    authored, found = decode(AuthoredCase, _as_text(data), document, ())
    problems += found
    if authored is None:
        return None, problems
    problems += _names_exist(authored, document, rule_book)
    answers, found = _answers(authored, document, sheet, rule_book)
    problems += found
    if problems:
        return None, problems
    case = RecordedCase(
        id=authored.id,
        title=authored.title,
        file=str(path),
        invented=authored.invented,
        report=authored.report,
        data_sheet=sheet,
        answers=tuple(answers),
        confirmed=authored.confirmed,
        understood={name: word == "present" for name, word in authored.understood.items()},
        within_first=authored.within_first or (1 if len(authored.confirmed) == 1 else 3),
    )
    return case, []


def _answers(
    authored: AuthoredCase, document: Document, sheet: DataSheet, rule_book: RuleBook
) -> tuple[list[Observation], list[Problem]]:
    answers: list[Observation] = []
    problems: list[Problem] = []
    for number, answer in enumerate(authored.answers):
        if answer.readings:
            made, problem = _readings(answer, document, ("answers", number), sheet, rule_book)
        else:
            observation, problem = _observation(answer, document, ("answers", number), rule_book)
            made = [observation] if observation else []
        problems += [problem] if problem else []
        answers += made
    return answers, problems


def _as_text(data: Any) -> Any:
    """Return case data in which figures of answers are text, as they may be written with and without a unit."""
    if not isinstance(data, dict) or not isinstance(data.get("answers"), list):
        return data
    return {
        **data,
        "answers": [
            {key: str(value) if isinstance(value, int | float) else value for key, value in item.items()}
            if isinstance(item, dict)
            else item
            for item in data["answers"]
        ],
    }


def _names_exist(case: AuthoredCase, document: Document, rule_book: RuleBook) -> list[Problem]:
    problems = []
    if case.id.replace("-", "_") != Path(document.file).stem:
        problems.append(document.problem(("id",), "file-name", "id and file name differ", "name the file as the id"))
    problems += _comes_from_somewhere(case, document)
    if not case.report and not case.answers:
        problems.append(document.problem((), "empty-case", "there is neither a report nor an answer", "give one"))
    if not case.confirmed:
        problems.append(document.problem(("confirmed",), "missing-field", "no cause is confirmed", "name at least one"))
    for name, word in case.understood.items():
        if word not in ("present", "absent"):
            text = f"a finding is `present` or `absent`, not `{word}`"
            problems.append(document.problem(("understood", name), "bad-answer", text, "write one of the two"))
    problems += _known(case.confirmed, rule_book.causes, "cause", document, ("confirmed",))
    problems += _known(tuple(case.understood), rule_book.findings, "finding", document, ("understood",))
    return problems


def _comes_from_somewhere(case: AuthoredCase, document: Document) -> list[Problem]:
    text = "a case is either `invented: true` or names its published `source`"
    if case.invented and case.source:
        return [document.problem(("source",), "both-invented-and-published", text, "take one of the two out")]
    if not case.invented and not case.source.strip():
        return [document.problem((), "missing-source", text, "write one of the two")]
    return []


def _known(
    names: tuple[str, ...], known: Mapping[str, object], what: str, document: Document, path: KeyPath
) -> list[Problem]:
    return [
        document.problem(path, f"unknown-{what}", f"no {what} is called `{name}`", did_you_mean(name, known))
        for name in names
        if name not in known
    ]


def _observation(
    answer: Answer, document: Document, path: KeyPath, rule_book: RuleBook
) -> tuple[Observation | None, Problem | None]:
    if answer.check:
        return _check_done(answer, document, path, rule_book)
    if answer.measured:
        quantity = rule_book.quantities.get(answer.measured)
        if quantity is None:
            text = f"no quantity is called `{answer.measured}`"
            help = did_you_mean(answer.measured, rule_book.quantities)
            return None, document.problem((*path, "measured"), "unknown-quantity", text, help)
        try:
            return Measurement(quantity=quantity.id, value=read_value(quantity, answer.value)), None
        except UnitError as error:
            return None, document.problem((*path, "value"), "bad-value", str(error), f"it is in {quantity.unit}")
    if answer.finding in rule_book.findings and answer.is_ in ("present", "absent"):
        return FindingSeen(finding=answer.finding, present=answer.is_ == "present"), None
    text = "an answer is `check` with `answer`, `measured` with `value`, or `finding` with `is: present` or `absent`"
    return None, document.problem(path, "bad-answer", text, did_you_mean(answer.finding, rule_book.findings))


def _readings(
    answer: Answer, document: Document, path: KeyPath, sheet: DataSheet, rule_book: RuleBook
) -> tuple[list[Observation], Problem | None]:
    """Return what readings say that were given in place of an answer."""
    check = rule_book.checks.get(answer.check)
    if check is None or not check.takes or check.takes == "log":
        takers = [each.id for each in rule_book.checks.values() if each.takes not in ("", "log")]
        text = f"`{answer.check}` is no check that takes pairs of readings"
        help = did_you_mean(answer.check, takers, f"these do: {', '.join(takers)}")
        return [], document.problem((*path, "check"), "unknown-check", text, help)
    from diagnose.analyses.answering import analyse_typed  # numerics only where a case holds readings
    from diagnose.reasoning.engine import Engine

    try:
        return list(analyse_typed(Engine(rule_book), sheet, check, answer.readings).observations), None
    except DiagnoseError as error:
        help = "write pairs, `10 12.1; 50 52.2 m3/h`"
        return [], document.problem((*path, "readings"), "bad-value", str(error), help)


def _check_done(
    answer: Answer, document: Document, path: KeyPath, rule_book: RuleBook
) -> tuple[Observation | None, Problem | None]:
    check = rule_book.checks.get(answer.check)
    if check is None:
        text = f"no check is called `{answer.check}`"
        return None, document.problem(
            (*path, "check"), "unknown-check", text, did_you_mean(answer.check, rule_book.checks)
        )
    known = [outcome.answer for outcome in check.outcomes]
    if answer.answer not in known:
        text = f"`{answer.answer}` is no answer of `{check.id}`"
        help = did_you_mean(answer.answer, known, f"the answers are: {'; '.join(known)}")
        return None, document.problem((*path, "answer"), "unknown-answer", text, help)
    return CheckDone(check=check.id, answer=answer.answer), None
