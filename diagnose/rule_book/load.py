"""From a folder to a rule book, or to all of its problems.

A file holds one entry (a mapping with ``id``, named as the file) or several (``entries:``, with an optional
``source:`` that they inherit). The folder below ``rules/`` says which part an entry belongs to.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from diagnose.bounded import files_below
from diagnose.entry import Entry
from diagnose.errors import BadInput, ProblemsFound
from diagnose.place import Place, Problem, did_you_mean
from diagnose.rule_book.authored import Authored
from diagnose.rule_book.book import RuleBook, Settings
from diagnose.rule_book.conditions import ConditionReader
from diagnose.rule_book.cross_references import cross_check, settings_refer
from diagnose.rule_book.decode import decode, salvage
from diagnose.rule_book.entries import Area, Source
from diagnose.rule_book.faults import Cause, Finding
from diagnose.rule_book.patterns import Heading, Mechanism, Sign
from diagnose.rule_book.plant import Caution, PlantState
from diagnose.rule_book.prepare import prepare, prepare_quantity, settings_make_sense
from diagnose.rule_book.quantities import Quantity
from diagnose.rule_book.quantities_checked import of_another_kind
from diagnose.rule_book.rules import Contradiction, InferenceRule, Review
from diagnose.rule_book.safeguards import Safeguard
from diagnose.rule_book.work import Check, Disturbance, Outcome, Remedy
from diagnose.unit_spellings import UnitSpellings, shipped_spellings, use
from diagnose.yaml_places import Document, KeyPath, read_document

PARTS: dict[str, type[Entry]] = {
    "sources": Source,
    "areas": Area,
    "quantities": Quantity,
    "findings": Finding,
    "checks": Check,
    "inference": InferenceRule,
    "causes": Cause,
    "remedies": Remedy,
    "cautions": Caution,
    "states": PlantState,
    "reviews": Review,
    "contradictions": Contradiction,
    "mechanisms": Mechanism,
    "signs": Sign,
    "headings": Heading,
    "units": UnitSpellings,
    "disturbances": Disturbance,
    "safeguards": Safeguard,
}
"""Folder below ``rules/`` → what its entries are."""


@dataclass
class Reading:
    """What has been read so far: entries by part and id, and every problem.

    ``salvaged`` are files with an entry of which only a part could be read; ``unread`` says that some entry is missing
    altogether, so that names which lead nowhere may be its.
    """

    entries: dict[str, dict[str, Authored]] = field(default_factory=lambda: {part: {} for part in PARTS})
    problems: list[Problem] = field(default_factory=list)
    salvaged: set[str] = field(default_factory=set)
    settings: Document | None = None
    unread: bool = False


def load_folder(folder: Path) -> RuleBook:
    """Return the rule book in ``folder``.

    Raises ProblemsFound with all problems of all files, or BadInput when there is no such folder.
    """
    rule_book, problems = examine_folder(folder)
    if problems or rule_book is None:
        raise ProblemsFound(problems)
    return rule_book


def examine_folder(folder: Path) -> tuple[RuleBook | None, list[Problem]]:
    """Return the rule book in ``folder`` (None when it cannot be built) and all of its problems, sorted."""
    if not folder.is_dir():
        raise BadInput(f"there is no folder {folder}; give the folder that holds the rule book with --rules")
    reading = Reading()
    settings = _settings(folder, reading)
    files = files_below(folder, "*.y*ml")
    for path in files:
        if path.suffix == ".yaml" and path.parent != folder:
            _read_file(folder, path, reading)
    for path in (each for each in files if each.parent == folder and each.match("*.yaml") and each.name != "book.yaml"):
        help = f"move it into the folder of its part: {', '.join(PARTS)}"
        place = Place(shown(path, folder))
        reading.problems.append(Problem(place, "unknown-part", "the file is in no part of the rule book", help))
    for path in (each for each in files if each.suffix == ".yml"):
        place = Place(shown(path, folder))
        reading.problems.append(Problem(place, "file-name", "rule files end in .yaml", "rename the file"))
    if settings is None:
        return None, sorted(set(reading.problems))
    book = _decode_all(settings, reading)
    found = [*cross_check(book, reading.entries), *_settings_lead_somewhere(book, reading.settings)]
    reading.problems += [each for each in found if not reading.problems or _stands_by_itself(each, reading)]
    return book, sorted(set(reading.problems))


def _settings_lead_somewhere(book: RuleBook, document: Document | None) -> list[Problem]:
    """Return a problem for every name in ``book.yaml`` that leads nowhere."""
    if document is None:
        return []
    fields, groups = book.data_sheet_fields(), book.settings.data_sheet
    wrong_groups = [
        document.problem(
            ("data-sheet-applies", group),
            "unknown-field",
            f"the data sheet has no group `{group}`",
            did_you_mean(group, groups, f"the groups are: {', '.join(groups)}"),
            of_key=True,
        )
        for group in book.settings.data_sheet_applies
        if group not in groups
    ]
    wrong_choices = [
        document.problem(
            ("data-sheet-applies", group, name),
            "unknown-choice",
            f"`{name}` is not a field with such words",
            did_you_mean(name, fields, "only fields with choices can be named here"),
            of_key=True,
        )
        for group, wanted in book.settings.data_sheet_applies.items()
        for name, words in wanted.items()
        if name not in fields or not set(words) <= set(fields[name].choices)
    ]
    return [
        *wrong_groups,
        *wrong_choices,
        *_unknown_fields(book, document),
        *settings_refer(book, document),
    ]


def _unknown_fields(book: RuleBook, document: Document) -> list[Problem]:
    fields = book.data_sheet_fields()
    return [
        document.problem(
            ("data-sheet", group, number),
            "unknown-field",
            f"a data sheet has no field `{name}`",
            did_you_mean(name, fields, "see `diagnose rules ids data-sheet`"),
        )
        for group, names in book.settings.data_sheet.items()
        for number, name in enumerate(names)
        if name not in fields
    ]


_MAY_FOLLOW = ("idle-finding", "unreachable-finding", "unknown-name")
"""Problems that may only follow from an entry that could not be read."""


def _stands_by_itself(problem: Problem, reading: Reading) -> bool:
    """Tell whether a problem of the whole rule book is one beside those of single entries, not only their echo."""
    names = problem.code.startswith("unknown-")
    if problem.place.file in reading.salvaged:
        return names and not reading.unread and "``" not in problem.text
    follows = names or problem.code in ("bad-example", "wrong-example")
    return problem.code not in _MAY_FOLLOW and not (follows and reading.unread)


def shown(path: Path, folder: Path) -> str:
    """Return how a file of the rule book is named in messages: from the folder's own name on."""
    return (Path(folder.name) / path.relative_to(folder)).as_posix()


def _settings(folder: Path, reading: Reading) -> Settings | None:
    document = read_document(folder / "book.yaml", shown(folder / "book.yaml", folder))
    reading.problems += document.problems
    if document.problems:
        return None
    reading.settings = document
    settings, problems = decode(Settings, document.data, document, ())
    if settings is not None:
        problems = settings_make_sense(settings, document)
    reading.problems += problems
    return settings


def _read_file(folder: Path, path: Path, reading: Reading) -> None:
    name = shown(path, folder)
    part = path.relative_to(folder).parts[0]
    if part not in PARTS:
        known = ", ".join(PARTS)
        text = f"`{part}` is not a part of a rule book"
        reading.problems.append(Problem(Place(name), "unknown-part", text, f"the parts are: {known}"))
        return
    if path.exists() and not (path.is_file() or path.is_dir()):
        text = "it is a pipe or a device, and no file"
        reading.problems.append(Problem(Place(name), "cannot-read", text, "move it somewhere else"))
        return
    document = read_document(path, name)
    reading.problems += document.problems
    if document.problems:
        reading.unread = True
        return
    for authored in _entries(part, document, path, reading):
        _register(authored, reading)


def _entries(part: str, document: Document, path: Path, reading: Reading) -> list[Authored]:
    data = document.data
    if isinstance(data, dict) and "entries" in data:
        inherited = data.get("source", "")
        for key in data.keys() - {"entries", "source"}:
            text = f"`{key}` does not belong beside `entries`"
            reading.problems.append(
                document.problem((key,), "unknown-field", text, "move it into an entry", of_key=True)
            )
        items = data["entries"]
        if not isinstance(items, list):
            reading.problems.append(document.problem(("entries",), "wrong-type", "`entries` is a list", "use hyphens"))
            return []
        entries = []
        for number, item in enumerate(items):
            if not isinstance(item, dict):
                at: KeyPath = ("entries", number)
                reading.problems.append(document.problem(at, "wrong-type", "an entry is a mapping", "start with `id:`"))
                continue
            entries.append(Authored(part, {"source": inherited, **item}, document, ("entries", number)))
        return entries
    if not isinstance(data, dict):
        text = "a file holds one entry, or `entries:` with a list of them"
        reading.problems.append(document.problem((), "wrong-type", text, "start with `id:`"))
        return []
    wanted = str(data.get("id", "")).replace("-", "_")
    if wanted and wanted != path.stem:
        text = f"the file is called {path.name}, its entry `{data['id']}`"
        reading.problems.append(document.problem(("id",), "file-name", text, f"call it {wanted}.yaml"))
    return [Authored(part, data, document, ())]


def _register(authored: Authored, reading: Reading) -> None:
    entry_id = authored.data.get("id")
    if not isinstance(entry_id, str) or not _sayable(entry_id):
        text = "an entry needs an `id` of lower-case words joined by hyphens"
        reading.unread = True
        reading.problems.append(authored.problem(("id",), "bad-id", text, "for example `fuse-blown`"))
        return
    there = reading.entries[authored.part].get(entry_id)
    if there is not None:
        text = f"`{entry_id}` is defined twice in {authored.part}"
        reading.problems.append(authored.problem(("id",), "duplicate-id", text, f"the first is at {there.place('id')}"))
        return
    reading.entries[authored.part][entry_id] = authored


def _sayable(entry_id: str) -> bool:
    return all(word.isalnum() and word == word.lower() for word in entry_id.split("-")) and bool(entry_id)


def _decode_all(settings: Settings, reading: Reading) -> RuleBook:
    units = _spellings(settings, reading)
    quantities: dict[str, Quantity] = {}
    for entry_id, authored in sorted(reading.entries["quantities"].items()):
        data, problems = prepare_quantity(authored.data, authored.document, authored.path, settings)
        quantity, more = decode(Quantity, data, authored.document, authored.path)
        if (
            quantity is not None and problems
        ):  # figures of another kind are the echo of a unit that calculations know otherwise
            problems = list(of_another_kind(quantity, authored)) or problems
        reading.problems += problems + more
        if quantity is not None and not problems:
            quantities[entry_id] = quantity
        else:
            reading.unread = True
    _lift_remedies(reading)
    decoded: dict[str, dict[str, Any]] = {"quantities": quantities, "units": units}
    for part, struct in PARTS.items():
        if part not in decoded:
            decoded[part] = _decode_part(part, struct, settings, quantities, reading)
    _add_questions(settings, decoded)
    return RuleBook(settings=settings, **decoded)


def _spellings(settings: Settings, reading: Reading) -> dict[str, UnitSpellings]:
    """Return the spellings of units, its own laid over the shipped ones; all that follows is read by them."""
    own = _decode_part("units", UnitSpellings, settings, {}, reading)
    units = {**{name: each for name, each in shipped_spellings().items() if name not in own}, **own}
    use(units)
    return units


def _decode_part(
    part: str, struct: type[Entry], settings: Settings, quantities: Mapping[str, Quantity], reading: Reading
) -> dict[str, Any]:
    decoded: dict[str, Any] = {}
    unreadable = reading.entries["quantities"].keys() - quantities.keys()

    def reader(authored: Authored) -> ConditionReader:
        return ConditionReader(
            authored.document, reading.entries["findings"], quantities, reading.problems, frozenset(unreadable)
        )

    for entry_id, authored in sorted(reading.entries[part].items()):
        before = len(reading.problems)
        data, problems = prepare(part, authored.data, authored.document, authored.path, settings, reader(authored))
        entry, more = decode(struct, data, authored.document, authored.path)
        reading.problems += problems + more
        if entry is None or len(reading.problems) > before:
            entry = salvage(struct, authored.data if data is None else data, authored.document, authored.path)
            if isinstance(entry, InferenceRule | Contradiction) and not entry.when:
                continue
            reading.salvaged.add(authored.document.file)
        decoded[entry_id] = entry
    return decoded


def _lift_remedies(reading: Reading) -> None:
    """Make a remedy of its own from each that is written inside its cause; it takes the cause's id and source."""
    for entry_id, authored in reading.entries["causes"].items():
        remedy = authored.data.get("remedy")
        if not isinstance(remedy, dict):
            continue
        inherited = {"id": entry_id, "source": authored.data.get("source", "")}
        lifted = Authored("remedies", {**inherited, **remedy}, authored.document, (*authored.path, "remedy"))
        authored.data = {**authored.data, "remedy": entry_id}
        if entry_id in reading.entries["remedies"]:
            text = f"a remedy `{entry_id}` is in remedies/ as well"
            reading.problems.append(lifted.problem((), "duplicate-id", text, "write the remedy in one place"))
            continue
        reading.entries["remedies"][entry_id] = lifted


def _add_questions(settings: Settings, decoded: dict[str, dict[str, Any]]) -> None:
    """Make a check of every finding that has a question and that no other check's outcome sets."""
    checks: dict[str, Check] = decoded["checks"]
    settled = {
        name for check in checks.values() for outcome in check.outcomes for name in (*outcome.present, *outcome.absent)
    }
    for finding in decoded["findings"].values():
        if finding.question and finding.id not in settled and f"ask-{finding.id}" not in checks:
            checks[f"ask-{finding.id}"] = _question(finding, settings)
    decoded["checks"] = dict(sorted(checks.items()))


def _question(finding: Finding, settings: Settings) -> Check:
    return Check(
        id=f"ask-{finding.id}",
        source=finding.source,
        title=finding.question,
        ask=finding.question,
        steps=(),
        minutes=settings.question_minutes if finding.minutes is None else finding.minutes,
        applies=finding.applies,
        outcomes=(
            Outcome(answer="yes", present=(finding.id,)),
            Outcome(answer="no", absent=(finding.id,)),
        ),
    )
