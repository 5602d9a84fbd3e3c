"""A data sheet filled in step by step; every answer is in the file before the next question."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml
from rich.text import Text

from diagnose.bounded import DATA_SHEET, read_file
from diagnose.documents.text import print_line
from diagnose.errors import BadInput, UnitError
from diagnose.interview.terminal import InputEnded, Terminal
from diagnose.reasoning.steps import applies
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.data_sheet import read_data_sheet, read_value
from diagnose.rule_book.quantities import DataSheet, Quantity
from diagnose.whole_files import write_whole

WORDS = "Enter: unknown, go on · b: back · g: next group · ?: where to find it · q: finish"


@dataclass
class Form:
    """A data sheet in a file, the rule book that says what belongs in it, and the terminal at which it is filled in."""

    path: Path
    rule_book: RuleBook
    terminal: Terminal

    def fill_in(self) -> dict[str, Any]:
        """Ask for every field that the file does not have yet, and return what was answered.

        Raises BadInput when the file cannot be written, ProblemsFound when what is in it already is not right.
        """
        there = read_data_sheet(self.path, self.rule_book) if self.path.exists() else {}
        text = read_file(self.path, DATA_SHEET).decode() if there or self.path.exists() else ""
        self.answers: dict[str, Any] = {}
        asked = [(group, field) for group, field in self._fields() if field.id not in there]
        print_line(self.terminal.console, WORDS, indent=0)
        at = 0
        while at < len(asked):
            group, quantity = asked[at]
            if not self._concerns(group, there):
                at = self._moved("g", at, asked)
                continue
            if at == 0 or asked[at - 1][0] != group:
                self._head(group)
            try:
                typed = self._ask(quantity)
            except InputEnded:
                break
            if typed == "q":
                break
            at = self._moved(typed, at, asked)
            self._write(text)
        return self.answers

    def _fields(self) -> Iterator[tuple[str, Quantity]]:
        fields = self.rule_book.data_sheet_fields()
        for group, names in self.rule_book.settings.data_sheet.items():
            yield from ((group, fields[name]) for name in names)

    def _concerns(self, group: str, there: DataSheet) -> bool:
        """Tell whether a group of fields concerns this meter, as far as is known."""
        wanted = self.rule_book.settings.data_sheet_applies.get(group, {})
        fields = self.rule_book.data_sheet_fields()
        typed = {name: read_value(fields[name], self.answers[name]) for name in wanted if name in self.answers}
        return applies(wanted, {**there, **typed})

    def _moved(self, typed: Any, at: int, asked: list[tuple[str, Quantity]]) -> int:
        """Return where to go after what was typed: the next field, the one before, or the next group."""
        if typed == "b":
            return max(0, at - 1)
        if typed == "g":
            return next((n for n in range(at, len(asked)) if asked[n][0] != asked[at][0]), len(asked))
        self.answers.pop(asked[at][1].id, None)
        if typed:
            self.answers[asked[at][1].id] = typed
        return at + 1

    def _ask(self, quantity: Quantity) -> Any:
        """Return a value that can be read, "" for unknown, or one of the letters."""
        title = quantity.title[:1].upper() + quantity.title[1:]
        unit = f" [{quantity.unit}]" if quantity.unit else ""
        print_line(self.terminal.console, Text(f"{title}{unit}", "head"), indent=0)
        for number, word in enumerate(quantity.choices, start=1):
            print_line(self.terminal.console, f"{number}  {word}")
        while True:
            typed = self.terminal.ask()
            if typed.lower() in ("", "b", "g", "q"):
                return typed.lower()
            if typed == "?":
                self._help(quantity)
                continue
            try:
                return self._read(quantity, typed)
            except UnitError as error:
                print_line(self.terminal.console, Text(f"? {error}", "warning-text"))

    def _read(self, quantity: Quantity, typed: str) -> Any:
        if not quantity.choices:
            read_value(quantity, typed)
            return typed
        words = [self._word(quantity, part) for part in (typed.split(",") if quantity.several else [typed])]
        value = words if quantity.several else words[0]
        read_value(quantity, value)
        return value

    def _word(self, quantity: Quantity, part: str) -> str:
        part = part.strip()
        if part.isascii() and part.isdigit() and 1 <= int(part) <= len(quantity.choices):
            return quantity.choices[int(part) - 1]
        return next((word for word in quantity.choices if word.casefold() == part.casefold()), part)

    def _help(self, quantity: Quantity) -> None:
        if quantity.where_to_find:
            print_line(self.terminal.console, f"where to find it: {quantity.where_to_find}")
        if quantity.several:
            print_line(self.terminal.console, "several answers: separate them with commas")
        if quantity.unit:
            print_line(self.terminal.console, f"a figure with its unit, from {quantity.plausible_range()}")
        print_line(self.terminal.console, WORDS)

    def _head(self, group: str) -> None:
        self.terminal.console.print()
        print_line(self.terminal.console, Text(f"{group[:1].upper()}{group[1:]}", "bar"), indent=0)

    def _write(self, before: str) -> None:
        """Write what was there and all answers so far, in one go."""
        if not self.answers and not before:
            return
        if before and not before.endswith("\n"):
            before += "\n"
        answers = yaml.safe_dump(self.answers, allow_unicode=True, sort_keys=False) if self.answers else ""
        try:
            write_whole(self.path, [(before + answers).encode()], devices=True)
        except OSError as error:
            raise BadInput(f"{self.path} cannot be written: {error.strerror or error}") from error
