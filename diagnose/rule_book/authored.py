"""One entry of the rule book as it stands in its file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from diagnose.place import Place, Problem
from diagnose.yaml_places import Document, KeyPath


@dataclass
class Authored:
    """One entry as it stands in a file."""

    part: str
    data: dict[str, Any]
    document: Document
    path: KeyPath

    def place(self, *path: str | int, of_key: bool = False) -> Place:
        """Return the place of a field of this entry."""
        return self.document.place((*self.path, *path), of_key=of_key)

    def problem(self, path: KeyPath, code: str, text: str, help: str = "", of_key: bool = False) -> Problem:
        """Return a problem at a field of this entry."""
        return self.document.problem((*self.path, *path), code, text, help, of_key=of_key)
