"""The small invented rule book about a lamp: copied, changed, loaded."""

from __future__ import annotations

import shutil
from pathlib import Path

from diagnose.place import Problem
from diagnose.rule_book.load import examine_folder

MINIMAL = Path(__file__).parent / "minimal"


def lamp_book(folder: Path, **files: str | bytes | None) -> Path:
    """Copy the rule book into ``folder`` and put files into it, named with ``__`` for a slash; None deletes one."""
    rules = folder / "rules"
    shutil.copytree(MINIMAL, rules)
    for name, content in files.items():
        put(rules, name.replace("__", "/") + ".yaml", content)
    return rules


def put(rules: Path, name: str, content: str | bytes | None) -> Path:
    """Write one file into a rule book; None deletes it."""
    path = rules / name
    path.parent.mkdir(parents=True, exist_ok=True)
    if content is None:
        path.unlink()
    else:
        path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def problems_of(rules: Path) -> list[Problem]:
    """Return all problems of a rule book."""
    return examine_folder(rules)[1]
