"""What an author may write in words, put into numbers before it is decoded.

Strengths, frequencies and leaks from the scales of ``rules/book.yaml``; figures with units into SI; conditions; the
id of a source from its name.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from itertools import product
from typing import Any

from diagnose.errors import UnitError
from diagnose.place import Problem, did_you_mean
from diagnose.rule_book.amounts_prepared import prepared_amounts
from diagnose.rule_book.book import Settings
from diagnose.rule_book.condition_types import All
from diagnose.rule_book.conditions import ConditionReader
from diagnose.rule_book.decode import name_of
from diagnose.terms import ANY_UNIT, LIMITS, figures_in_si
from diagnose.units import read_measurement, to_si, unit_info
from diagnose.yaml_places import Document, KeyPath

Prepared = tuple[dict[str, Any], list[Problem]]
"""An entry, with something harmless in the place of what has a problem, so that the rest is looked at as well."""


def prepare(
    part: str,
    data: dict[str, Any],
    document: Document,
    path: KeyPath,
    settings: Settings,
    reader: ConditionReader,
) -> Prepared:
    """Return an entry with words turned into numbers, or problems."""
    data = _with_source_id(data)
    if part == "findings":
        spread, problems = _spread(data, document, path, settings)
        scaled, more = _scaled(spread, {"leak": settings.leaks}, document, path)
        return scaled, problems + more
    if part == "disturbances":
        return _spread(data, document, path, settings)
    if part == "causes":
        scales = {
            "frequency": settings.frequencies,
            "shows": settings.strengths,
            "shows-others": settings.strengths,
        }
        scaled, problems = _scaled(data, scales, document, path)
        rows, more = _scaled_rows(data.get("frequency-where"), settings, document, (*path, "frequency-where"))
        return {**scaled, **rows}, problems + more
    if part == "remedies":
        return _scaled({"works": settings.remedy_works, **data}, {"works": settings.strengths}, document, path)
    if part == "inference":
        return _rule(data, document, path, reader)
    if part == "contradictions":
        return _with_condition(data, path, reader), []
    if part == "mechanisms":
        return prepared_amounts(data, document, path)
    return data, []


UNITS_STAND = "write one that is known, or add its spelling to `units/`"

_FEWEST_TOGETHER = 2
_SET = re.compile(r"<([^<>]*)>")
_WITH_SETS = ("phrases", "may-tell", "word-for-word", "denied-by", "sounds-like", "not-with", "told-as", "words")


def _spread(
    data: dict[str, Any], document: Document, path: KeyPath, settings: Settings
) -> tuple[dict[str, Any], list[Problem]]:
    """Return an entry whose phrases name no set of words any more: one phrase for each word of the set."""
    problems: list[Problem] = []
    result = dict(data)
    for key in _WITH_SETS:
        phrases = listed(data.get(key))
        spread: list[Any] = []
        for number, phrase in enumerate(phrases):
            names = _SET.findall(phrase) if isinstance(phrase, str) else []
            unknown = [name for name in names if name not in settings.word_sets]
            for name in unknown:
                text = f"no set of words is called `{name}`"
                help = did_you_mean(name, settings.word_sets, "the sets are in book.yaml under `word-sets`")
                problems.append(document.problem((*path, key, number), "unknown-word", text, help))
            if not names or unknown:
                spread.append(phrase)
                continue
            sets = product(*(settings.word_sets[name] for name in names))
            spread += [_with_words(phrase, words) for words in sets]
        if key in data and data[key] is not None:
            result[key] = spread
    groups = data.get("together")
    if isinstance(groups, list):
        result["together"] = [
            _groups(text, document, (*path, "together", number), settings, problems)
            for number, text in enumerate(groups)
        ]
    return result, problems


def listed(written: Any) -> list[Any]:
    """Return what an author wrote where several may stand, as a list: one may stand there by itself."""
    return written if isinstance(written, list) else [] if written is None or isinstance(written, dict) else [written]


def _with_words(phrase: str, words: Iterable[str]) -> str:
    """Return a phrase with these words in the place of its sets; a brace in it is a brace, as the author wrote it."""
    each = iter(words)
    return _SET.sub(lambda _: next(each), phrase)


def _groups(
    text: Any, document: Document, path: KeyPath, settings: Settings, problems: list[Problem]
) -> list[list[str]]:
    """Return the groups of words that ``<touching> tickles`` stands for, each set and each word of its own a group."""
    found: list[list[str]] = []
    for word in str(text).split():
        name = word.removeprefix("<").removesuffix(">")
        if word == name:
            found.append([word])
        elif name in settings.word_sets:
            found.append(list(settings.word_sets[name]))
        else:
            help = did_you_mean(name, settings.word_sets, "the sets are in book.yaml under `word-sets`")
            problems.append(document.problem(path, "unknown-word", f"no set of words is called `{name}`", help))
    if len(found) < _FEWEST_TOGETHER and not problems:
        problems.append(document.problem(path, "bad-form", f"`{text}` is one word", "write at least two, or a phrase"))
    return found


def _with_source_id(data: dict[str, Any]) -> dict[str, Any]:
    source = data.get("source")
    if isinstance(source, str):
        return {**data, "source": source.strip().lower().replace(" ", "-")}
    return data


def _scaled(data: dict[str, Any], scales: dict[str, dict[str, float]], document: Document, path: KeyPath) -> Prepared:
    problems: list[Problem] = []
    result = dict(data)
    for key, scale in scales.items():
        value = data.get(key)
        if isinstance(value, dict):
            result[key] = {
                name: _number(word, scale, document, (*path, key, name), problems) for name, word in value.items()
            }
        elif value is not None:
            result[key] = _number(value, scale, document, (*path, key), problems)
    return result, problems


def _scaled_rows(rows: Any, settings: Settings, document: Document, path: KeyPath) -> Prepared:
    """Return how often a cause comes by the data sheet, its words turned into numbers; what is no row is told later."""
    if not isinstance(rows, list):
        return {}, []
    scale = {"frequency": settings.frequencies}
    pairs = [
        _scaled(row, scale, document, (*path, number)) if isinstance(row, dict) else (row, [])
        for number, row in enumerate(rows)
    ]
    return {"frequency-where": [row for row, _ in pairs]}, [problem for _, found in pairs for problem in found]


def _number(word: Any, scale: dict[str, float], document: Document, path: KeyPath, problems: list[Problem]) -> float:
    if isinstance(word, int | float) and not isinstance(word, bool):
        if word > 0:
            return float(word)
        problems.append(document.problem(path, "bad-figure", f"`{word}` is not above zero", "leave it out instead"))
        return 0.5
    if isinstance(word, str) and word in scale:
        return scale[word]
    listed = ", ".join(scale)
    shown = word if isinstance(word, str) else name_of(word)
    problems.append(
        document.problem(
            path,
            "unknown-word",
            f"`{shown}` is not on the scale",
            did_you_mean(str(word), scale, f"write one of: {listed}"),
        )
    )
    return 0.5


def _rule(data: dict[str, Any], document: Document, path: KeyPath, reader: ConditionReader) -> Prepared:
    problems: list[Problem] = []
    result = _with_condition({key: value for key, value in data.items() if key != "then"}, path, reader)
    then = data.get("then")
    if not isinstance(then, dict) or not then or then.keys() - {"present", "absent"}:
        problems.append(
            document.problem(
                (*path, "then"), "bad-rule", "`then` says what is `present` or `absent`", "then: {present: x}"
            )
        )
    else:
        result |= then
    return result, problems


def _with_condition(data: dict[str, Any], path: KeyPath, reader: ConditionReader) -> dict[str, Any]:
    if "when" not in data:
        return data
    condition = reader.read(data["when"], (*path, "when"))
    return {**data, "when": All(()) if condition is None else condition}


def prepare_quantity(data: dict[str, Any], document: Document, path: KeyPath, settings: Settings) -> Prepared:
    """Return a quantity with its limits in SI and the factors of its unit, or problems."""
    data, problems = _spread(_with_source_id(data), document, path, settings)
    if "figures" in data:
        data = {**data, "figures": _figures_of_words(data["figures"], document, (*path, "figures"), problems)}
    unit = data.get("unit", "")
    if not isinstance(unit, str):
        return data, []
    if unit == ANY_UNIT:
        return data, problems
    try:
        info = unit_info(unit)
    except UnitError as error:
        help = UNITS_STAND
        problems.append(document.problem((*path, "unit"), "unit", str(error), help))
        figures = ("plausible", "tolerance", "written-values", *LIMITS)
        return {key: value for key, value in data.items() if key not in figures}, problems
    result = {**data, "si-factor": info.factor, "si-offset": info.offset}
    usual = data.get("written-values")
    if isinstance(usual, list):
        result["written-values"] = [
            _figure(each, unit, document, (*path, "written-values", number), problems)
            for number, each in enumerate(usual)
        ]
    limits = data.get("plausible")
    if isinstance(limits, list):
        result["plausible"] = [
            _figure(each, unit, document, (*path, "plausible", number), problems) for number, each in enumerate(limits)
        ]
    for key in LIMITS:
        if key in data:
            result[key] = _figure(data[key], unit, document, (*path, key), problems)
    if "tolerance" in data:
        result |= _tolerance(data["tolerance"], unit, document, (*path, "tolerance"), problems)
    return result, problems


def _figures_of_words(raw: Any, document: Document, path: KeyPath, problems: list[Problem]) -> Any:
    """Return the figures that go with the words of a quantity, in SI; none, with problems, where one is no figure."""
    told = raw.items() if isinstance(raw, dict) else ()
    rows = [((*path, name, word), each) for name, row in told if isinstance(row, dict) for word, each in row.items()]
    wrong = [found for at, figures in rows for each in listed(figures) if (found := _no_figure(each, document, at))]
    problems += wrong
    return {} if wrong else figures_in_si(raw)


def _no_figure(raw: Any, document: Document, path: KeyPath) -> Problem | None:
    measured = read_measurement(str(raw))
    if measured is None:
        return document.problem(path, "bad-figure", f"`{raw}` is not a figure", "for example `5`, or `5 V`")
    try:
        unit_info(measured.unit)
    except UnitError as error:
        return document.problem(path, "unit", str(error), UNITS_STAND)
    return None


def _tolerance(raw: Any, unit: str, document: Document, path: KeyPath, problems: list[Problem]) -> dict[str, float]:
    """Return absolute and relative part of a tolerance: ``0.05 mA``, ``0.5 %``, or ``0.05 mA + 0.5 %``."""
    parts = {"tolerance": 0.0, "tolerance-share": 0.0}
    for part in str(raw).split("+"):
        measured = read_measurement(part)
        if measured is not None and measured.unit == "%" and unit != "%":
            parts["tolerance-share"] += measured.number / 100
        else:
            parts["tolerance"] += _figure(part.strip(), unit, document, path, problems) - unit_info(unit).offset
    return parts


def _figure(raw: Any, unit: str, document: Document, path: KeyPath, problems: list[Problem]) -> float:
    measured = read_measurement(str(raw))
    try:
        if measured is None or (unit and not measured.unit):
            raise UnitError(f"`{raw}` is not a figure with a unit")
        return to_si(measured.number, measured.unit, unit)
    except UnitError as error:
        problems.append(document.problem(path, "unit", str(error), f"write for example `1 {unit}`"))
        return 0.0


def settings_make_sense(settings: Settings, document: Document) -> list[Problem]:
    """Return a problem for every figure of ``book.yaml`` that cannot be meant, and for every set without a word."""
    may_be_left_out: dict[KeyPath, float] = {
        ("result-misread",): settings.result_misread,
        ("wording-off-the-point",): settings.wording_off_the_point,
        ("outside-below",): settings.outside_below,
        ("act-from",): settings.act_from,
    }
    shares: dict[KeyPath, float] = {
        ("several-at-once",): settings.several_at_once,
        ("seen-while-it-shows",): min(settings.seen_while_it_shows, 0.999_999),
        ("exposed-counts",): min(settings.exposed_counts, 0.999_999),
        ("remedy-works",): settings.remedy_works,
        **{at: value for at, value in may_be_left_out.items() if value},
        **{("strengths", word): value for word, value in settings.strengths.items()},
        **{("leaks", word): value for word, value in settings.leaks.items()},
        **{("misread", way): value for way, value in settings.misread.items()},
    }
    amounts: dict[KeyPath, float] = {
        ("call-out-minutes",): settings.call_out_minutes,
        ("question-minutes",): settings.question_minutes,
        ("outside-after-answers",): settings.outside_after_answers,
        ("outside-in-vain-counts",): settings.outside_in_vain_counts,
        ("outside-passed-over-counts",): settings.outside_passed_over_counts,
        ("wording-weight",): settings.wording_weight,
        ("needless-remedy-minutes",): settings.needless_remedy_minutes,
        ("big-remedies", "minutes"): settings.big_remedies.minutes,
        ("meaning-of-sentences",): settings.meaning_of_sentences,
        ("meaning-of-report",): settings.meaning_of_report,
        **{("exposure-minutes", word): value for word, value in settings.exposure_minutes.items()},
    }
    times = settings.comes_back.times
    wrong: list[tuple[KeyPath, str]] = [(("comes-back", "times"), "must be 1 or more")] if not times >= 1 else []
    wrong += [(at, "must lie between 0 and 1") for at, value in shares.items() if not 0 < value < 1]
    wrong += [(at, "must not be less than zero") for at, value in amounts.items() if value < 0]
    wrong += [
        (("frequencies", word), "must be above zero") for word, value in settings.frequencies.items() if value <= 0
    ]
    found = [
        document.problem(at, "bad-figure", f"this figure {rule}", "see what the shipped book.yaml says")
        for at, rule in wrong
    ]
    text = "there is no word in this set, so no phrase that names it would ever be found"
    empty = (name for name, words in settings.word_sets.items() if not words)
    return [*found, *(document.problem(("word-sets", name), "empty-text", text, "give it a word") for name in empty)]
