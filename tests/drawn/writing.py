"""A drawn rule book on disk, as an author may write YAML: quoted or plain, in blocks or on one line."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

_PLAIN = re.compile(r"[A-Za-zÀ-ž][\w'-]*(?: [\w'-]+)*", re.ASCII)
_NOT_PLAIN = ("true", "false", "null")
_RAW = re.compile(r"[\x20-\x7e\xa0-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]")

Pick = Callable[[int], int]
"""Returns a whole number below its argument: which of several ways to write something."""


def write_book(folder: Path, files: Mapping[str, Any], pick: Pick = lambda _: 0) -> Path:
    """Write the files of a rule book (name → data) into ``folder``."""
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(yaml_of(data, pick).encode("utf-8"))
    return folder


def yaml_of(data: Any, pick: Pick = lambda _: 0) -> str:
    """Return data as YAML that is read back as it is.

    >>> print(yaml_of({"a": ["no", 1.5, "x: y"], "b": {"c": True}}), end="")
    a:
      - no
      - 1.5
      - "x: y"
    b:
      c: true
    """
    return "\n".join(_block(data, 0, pick)) + "\n"


def _block(data: Any, depth: int, pick: Pick) -> list[str]:
    pad = "  " * depth
    lines = []
    if isinstance(data, dict) and data:
        for key, value in data.items():
            lines += _entry(f"{pad}{_scalar(key, pick, key=True)}:", value, depth, pick)
    elif isinstance(data, list) and data:
        for value in data:
            lines += _entry(f"{pad}-", value, depth, pick)
    else:
        lines.append(pad + _flow(data, pick))
    return lines


def _entry(head: str, value: Any, depth: int, pick: Pick) -> list[str]:
    if isinstance(value, dict | list) and value and (depth < 2 or not pick(2)):
        return [head, *_block(value, depth + 1, pick)]
    return [f"{head} {_flow(value, pick)}".rstrip(" ")]


def _flow(data: Any, pick: Pick) -> str:
    if isinstance(data, dict):
        return (
            "{" + ", ".join(f"{_scalar(key, pick, key=True)}: {_flow(each, pick)}" for key, each in data.items()) + "}"
        )
    if isinstance(data, list):
        return "[" + ", ".join(_flow(each, pick) for each in data) + "]"
    return _scalar(data, pick)


def _scalar(value: Any, pick: Pick, key: bool = False) -> str:
    if value is None:
        return "null"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int | float):
        return repr(value)
    way = pick(3)
    if way == 0 and _PLAIN.fullmatch(value) and value not in _NOT_PLAIN:
        return value
    if way == 1 and all(_RAW.match(letter) for letter in value) and not key:
        return "'" + value.replace("'", "''") + "'"
    return '"' + "".join(map(_quoted, value)) + '"'


def _quoted(letter: str) -> str:
    if letter in '"\\':
        return "\\" + letter
    if _RAW.match(letter):
        return letter
    return f"\\U{ord(letter):08x}" if ord(letter) > 0xFFFF else f"\\u{ord(letter):04x}"
