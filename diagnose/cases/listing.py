"""Which cases somebody wants to see, out of the index: by columns, by words, or by likeness to another case."""

from __future__ import annotations

import json
import math
import re
import sqlite3
from collections.abc import Iterable
from typing import NamedTuple

from diagnose.cases.index import Index
from diagnose.cases.summary import Summary
from diagnose.errors import BadInput

MOST_COMPARED = 500
"""So many of the cases that share most are compared in full."""

_CONDITIONS = {
    "meter": " AND lower(meter) GLOB :meter",
    "cause": " AND lower(cause) GLOB :cause",
    "state": " AND state = :state",
    "since": " AND changed >= :since",
    "until": " AND substr(changed, 1, length(:until)) <= :until",  # the last day includes all its hours
    "to_review": " AND to_review",
    "words": " AND id IN (SELECT rowid FROM said WHERE said MATCH :words)",
    "each_word": """
        AND NOT EXISTS (SELECT 1 FROM json_each(:each_word) WHERE instr(apart(words), ' ' || lower(value)) = 0)
        """,
}
"""What each part of what is wanted means in SQL; nothing else is ever put into a query."""

_CASES = " FROM cases WHERE problem = ''"
_LATEST = " ORDER BY changed DESC, name LIMIT :limit"


class Wanted(NamedTuple):
    """What is asked of the cases; what is empty is not asked.

    ``meter`` and ``cause`` may hold ``*``. ``since`` and ``until`` are days or times of the last change, both
    included. ``words`` must all be said somewhere in the case, each at the start of a word.
    """

    meter: str = ""
    state: str = ""
    cause: str = ""
    since: str = ""
    until: str = ""
    to_review: bool = False
    words: str = ""


EVERY = Wanted()
"""Nothing is asked: every case."""


class CasesFound(NamedTuple):
    """Cases, the latest first, and how many there are of the kind altogether."""

    cases: tuple[Summary, ...]
    of: int


class Alike(NamedTuple):
    """A case like another one: how like from 0 to 1, and the findings that they share, the rarest first."""

    case: Summary
    likeness: float
    shared: tuple[str, ...]


def cases_wanted(index: Index, wanted: Wanted, limit: int | None = None) -> CasesFound:
    """Return the cases that somebody wants, the latest first."""
    where, values = _conditions(index, wanted)
    ((of,),) = index.query("SELECT count(*)" + where, values)
    rows = index.query("SELECT *" + where + _LATEST, {**values, "limit": -1 if limit is None else limit})
    return CasesFound(tuple(map(_summary, rows)), of)


def _conditions(index: Index, wanted: Wanted) -> tuple[str, dict[str, str | int]]:
    """Return what comes behind the columns of a query for the cases that somebody wants, and its values."""
    words = re.findall(r"\w+", wanted.words)
    values: dict[str, str | int] = {
        **wanted._asdict(),
        "meter": _globbed(wanted.meter),
        "cause": _globbed(wanted.cause),
        "words": " ".join(f'"{word}"*' for word in words) if index.full_text else "",
        "each_word": json.dumps(words) if words and not index.full_text else "",
    }
    return _CASES + "".join(text for name, text in _CONDITIONS.items() if values[name]), values


def _globbed(pattern: str) -> str:
    """Return a pattern in which nothing but ``*`` means anything, in small letters."""
    return "".join(f"[{each}]" if each in "?[" else each for each in pattern.lower())


def cases_like(index: Index, name: str, limit: int | None = 10, wanted: Wanted = EVERY) -> tuple[Alike, ...]:
    """Return those of the wanted cases that share most with one: findings, a rare one tells more than a common one.

    A finding weighs as much as it surprises (the logarithm of all cases over those that have it), and likeness is the
    weight of what is shared over the weight of what either has (Jaccard 1912, weighted; from memory).

    Raises BadInput when there is no such case, or nothing was found in it.
    """
    row = index.query("SELECT id FROM cases WHERE name = ? AND problem = ''", (name,))
    if not row:
        raise BadInput(f"there is no case {name} to compare with")
    ((own,),) = row
    weights = _Weights(index)
    mine = _findings(index, own)
    if not mine:
        raise BadInput(
            f"{name} has words at most, and no findings to compare by, as a row of a table has none; "
            "look for its words instead: diagnose cases search WORDS"
        )
    shared = _sharing(index, own, [found for found in mine if weights[found] > 0])
    if wanted != EVERY:
        where, values = _conditions(index, wanted)
        among = {each for (each,) in index.query("SELECT id" + where, values)}
        shared = {each: findings for each, findings in shared.items() if each in among}
    first = sorted(shared, key=lambda each: (-weights.of(shared[each]), each))[:MOST_COMPARED]
    known = index.query("SELECT id, name FROM cases WHERE id IN (SELECT value FROM json_each(?))", (json.dumps(first),))
    names = {row["id"]: row["name"] for row in known}
    likeness = {each: weights.of(shared[each]) / weights.of(mine | _findings(index, each)) for each in first}
    return tuple(
        Alike(
            _summary(index.query("SELECT * FROM cases WHERE id = ?", (each,))[0]),
            likeness[each],
            tuple(sorted(mine & _findings(index, each), key=lambda found: (-weights[found], found))),
        )
        for each in sorted(first, key=lambda each: (-likeness[each], names[each]))[:limit]
    )


class _Weights(dict[str, float]):
    """What each finding tells, in bits, looked up once: nothing where every case has it."""

    def __init__(self, index: Index) -> None:
        self._index = index
        ((self._total,),) = index.query("SELECT count(*) FROM cases WHERE problem = ''")

    def __missing__(self, finding: str) -> float:
        ((having,),) = self._index.query("SELECT count(*) FROM evidence WHERE finding = ?", (finding,))
        self[finding] = math.log2(self._total / having) if having else 0.0
        return self[finding]

    def of(self, findings: Iterable[str]) -> float:
        """Return what several findings tell together."""
        return math.fsum(self[each] for each in findings)


def _findings(index: Index, case: int) -> set[str]:
    return {found for (found,) in index.query("SELECT finding FROM evidence WHERE id = ?", (case,))}


def _sharing(index: Index, own: int, findings: Iterable[str]) -> dict[int, list[str]]:
    """Return the other cases that have any of these findings, each with those that it has."""
    shared: dict[int, list[str]] = {}
    for finding in findings:
        for (each,) in index.query("SELECT id FROM evidence WHERE finding = ?", (finding,)):
            shared.setdefault(each, []).append(finding)
    shared.pop(own, None)
    return shared


def _summary(row: sqlite3.Row) -> Summary:
    values = {name: row[name] for name in Summary._fields if name not in ("words", "findings")}
    values |= {"confirmed": bool(row["confirmed"]), "to_review": bool(row["to_review"])}
    return Summary(**values, words="", findings=())
