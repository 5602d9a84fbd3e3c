"""Rule books that are fine but for one edit at random, which may leave them fine."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from diagnose.shipped import shipped_folder
from diagnose.yaml_places import parse_document
from tests.drawn import texts
from tests.drawn.pen import Pen

TESTS = Path(__file__).parent.parent
SMALL = (TESTS / "rule_book" / "minimal", TESTS / "interview" / "lamp")
SHIPPED = shipped_folder("rules")
FIGURES = (0, 1, -1, 0.5, 2, 1e-300, 1e300, 1e18, 10**15, 10**25, 0.999999999, 1e-9, 3, 1e308)
Way = tuple[Any, ...]
_MISSING = object()


@cache
def files_of(folder: Path) -> dict[str, Any]:
    """Return the files of a rule book: name → data."""
    paths = sorted(folder.rglob("*.yaml"))
    return {path.relative_to(folder).as_posix(): parse_document(path.read_text("utf-8"), "x").data for path in paths}


@st.composite
def mutated_books(draw: st.DrawFn) -> dict[str, Any]:
    """Draw one of the small rule books with an edit."""
    return draw_mutated(Pen(draw))


def draw_mutated(pen: Pen, folders: tuple[Path, ...] = SMALL) -> dict[str, Any]:
    """Return a rule book with one edit, seldom two."""
    files = copy.deepcopy(files_of(pen.one(folders)))
    for _ in range(2 if pen.seldom(6) else 1):
        _edit(pen, files)
    return files


def _edit(pen: Pen, files: dict[str, Any]) -> None:
    name = pen.one(sorted(files))
    if pen.seldom(40):
        del files[name]
        return
    ways = list(_ways(files[name], ()))
    if ways:
        _change(pen, files, name, pen.one(ways))


def _ways(data: Any, so_far: Way) -> Iterator[Way]:
    items = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in items:
        yield (*so_far, key)
        yield from _ways(value, (*so_far, key))


def _change(pen: Pen, files: dict[str, Any], name: str, way: Way) -> None:
    around = files[name]
    for key in way[:-1]:
        around = around[key]
    key, value = way[-1], around[way[-1]]
    edit = pen.one(("value", "value", "value", "text", "text", "remove", "double", "other", "everywhere", "key"))
    if edit == "remove":
        del around[key]
    elif edit == "double" and isinstance(around, list):
        around.insert(key, copy.deepcopy(value))
    elif edit == "other":
        around[key] = pen.one((None, True, [], {}, "", 1, [value], {"a": value}, [None], "x"))
    elif edit == "everywhere" and isinstance(value, str):
        new = pen.one(texts.IDS)
        for each in files:
            files[each] = _renamed(files[each], value, new)
    elif edit == "key" and isinstance(around, dict):
        around[pen.one((*texts.IDS, *_words(files)))] = around.pop(key)
    elif edit == "text" and isinstance(value, str):
        around[key] = pen.text()
    else:
        around[key] = _other_value(pen, files, value)


def _other_value(pen: Pen, files: dict[str, Any], value: Any) -> Any:
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        return pen.one(FIGURES)
    if isinstance(value, list):
        return pen.one(([], value[:1], value[::-1], [*value, *value[:1]], [*value, pen.text()]))
    if isinstance(value, dict):
        return {each: value[each] for each in pen.some(list(value), 3)}
    return pen.one((pen.text(), pen.one(_words(files)), pen.one(texts.IDS), pen.one(FIGURES), f"{value} {value}"))


def _words(files: dict[str, Any]) -> list[str]:
    found: set[str] = set()
    for data in files.values():
        for way in _ways(data, ()):
            found.add(str(way[-1]))
        found |= set(_texts(data))
    return sorted(found)


def _texts(data: Any) -> Iterator[str]:
    for each in data.values() if isinstance(data, dict) else data if isinstance(data, list) else ():
        if isinstance(each, str):
            yield each
        else:
            yield from _texts(each)


def _renamed(data: Any, old: str, new: str) -> Any:
    if isinstance(data, dict):
        return {new if key == old else key: _renamed(each, old, new) for key, each in data.items()}
    if isinstance(data, list):
        return [_renamed(each, old, new) for each in data]
    return new if data == old else data
