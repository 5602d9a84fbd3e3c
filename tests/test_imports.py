"""The rooms of the package stand in an order; a module imports only what stands above it."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import diagnose

PACKAGE = Path(diagnose.__file__).parent

ORDER = [
    {"place", "shipped", "entry", "unit_conversions", "whole_files", "__init__"},
    {"errors"},
    {"bounded"},
    {"yaml_places"},
    {"unit_spellings"},
    {"units"},
    {"terms"},
    {"calculations"},
    {"rule_book"},
    {"observations"},
    {"language", "tables"},
    {"comparison", "trends"},
    {"reasoning"},
    {"analyses"},
    {"cases"},
    {"reading"},
    {"learning"},
    {"protocol", "documents"},
    {"interview", "triage", "authoring"},
    {"serving"},
    {"commands"},
    {"__main__"},
]
"""Rooms in layers, leaves first. A room imports itself and what stands in layers above, never one of its own layer."""

LAYER = {room: number for number, rooms in enumerate(ORDER) for room in rooms}

METER_WORDS = frozenset(
    {"flow", "meter", "magmeter", "electrode", "coil", "loop", "pipe", "liquid", "liner", "conductivity", "bore"}
    | {"ma", "milliampere", "supply", "mains", "fuse", "display", "transmitter", "sensor", "excitation", "namur"}
    | {"pump", "valve", "velocity", "pulse", "bus", "modbus", "earth", "earthing", "cable", "terminal"}
)
"""Words of the trade; whatever reasons must not know them."""


def modules() -> list[Path]:
    """Return every module of the package."""
    return sorted(PACKAGE.rglob("*.py"))


def name_of(path: Path) -> str:
    """Return a module's name below the package, as a sayable id."""
    return path.relative_to(PACKAGE).with_suffix("").as_posix()


def room_of(path: Path) -> str:
    """Return the room (folder, or module of the package itself) that a module stands in."""
    return path.relative_to(PACKAGE).with_suffix("").parts[0]


def imported(path: Path) -> Iterator[str]:
    """Go through the full names of everything that a module imports, inside its functions too."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{name_of(path)} imports relatively"
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def test_every_room_has_its_place_in_the_order() -> None:
    """A new folder or module is put into the order first."""
    assert {room_of(path) for path in modules()} == set(LAYER)


@pytest.mark.parametrize("path", modules(), ids=name_of)
def test_a_module_imports_only_what_stands_above_it(path: Path) -> None:
    """Nothing below imports anything above, and rooms of one layer leave each other alone."""
    own = room_of(path)
    for name in imported(path):
        parts = name.split(".")
        if parts[0] != "diagnose":
            continue
        room = parts[1] if parts[1] in LAYER else "__init__"  # a name that the package itself gives
        assert room == own or LAYER[room] < LAYER[own], f"{name_of(path)} imports {name}"


def test_interview_triage_and_authoring_never_import_each_other() -> None:
    """Three audiences, three rooms."""
    rooms = {"interview", "triage", "authoring"}
    for path in modules():
        if room_of(path) in rooms:
            others = {f"diagnose.{room}" for room in rooms - {room_of(path)}}
            assert not [name for name in imported(path) if name.startswith(tuple(others))], name_of(path)


def test_only_compiled_rules_import_experta() -> None:
    """The engine stands behind one module."""
    users = [name_of(path) for path in modules() if any(name.startswith("experta") for name in imported(path))]
    assert users == ["reasoning/compiled_rules"]


@pytest.mark.parametrize("path", sorted((PACKAGE / "reasoning").glob("*.py")), ids=name_of)
def test_whatever_reasons_knows_nothing_of_meters(path: Path) -> None:
    """Neither names nor texts of the code in ``reasoning`` speak of the trade; docstrings may, to explain."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = {(line, word) for line, text in _names_and_texts(tree) for word in _words(text) & METER_WORDS}
    assert not found


def _names_and_texts(tree: ast.Module) -> Iterator[tuple[int, str]]:
    docstrings = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        line = getattr(node, "lineno", 0)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docstrings:
            yield line, node.value
        for field in ("id", "attr", "name", "arg"):
            text = getattr(node, field, None)
            if isinstance(text, str):
                yield line, text


def _words(text: str) -> set[str]:
    apart = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", text)
    words = {word.lower() for word in re.findall(r"[A-Za-z]+", apart)}
    return words | {word.removesuffix("s") for word in words}


def test_the_search_for_words_of_the_trade_finds_them() -> None:
    """The search sees names, texts and parts of both, and lets docstrings be."""
    tree = ast.parse('"""A flow meter."""\nloopCurrent = f"{x} of the pipes"\ndef coil_open(fuse): return meter.x\n')
    seen = {word for _, text in _names_and_texts(tree) for word in _words(text) & METER_WORDS}
    assert seen == {"loop", "pipe", "coil", "fuse", "meter"}
