"""Many drawn rule books, for as long as it takes: ``python -m tests.drawn --examples 2000 --seed 1``.

Plain luck draws them, so nothing is shrunk, and every number is a rule book of its own; whatever fails is told once
for each place in the code, and its rule book is kept.
"""

from __future__ import annotations

import random
import re
import shutil
import tempfile
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import click

from diagnose.rule_book.load import examine_folder
from tests.drawn.books import draw_book
from tests.drawn.judging import Failure, wrong_with_reading, wrong_with_use
from tests.drawn.mutations import SHIPPED, draw_mutated
from tests.drawn.pen import Pen
from tests.drawn.writing import write_book


class Count:
    """What has been drawn and found so far."""

    def __init__(self, keep: Path, use: bool) -> None:
        self.keep, self.use, self.begun = keep, use, time.monotonic()
        self.drawn = self.accepted = 0
        self.spent = 0.0
        self.commands: Counter[str] = Counter()
        self.refused: Counter[str] = Counter()
        self.failures: Counter[str] = Counter()

    def judge(self, files: dict[str, Any], number: int, pick: Any) -> None:
        """Judge one rule book and count."""
        self.drawn += 1
        with tempfile.TemporaryDirectory(prefix="drawn-") as name:
            folder = Path(name)
            rules = write_book(folder / "rules", files, pick)
            try:
                book, failures = wrong_with_reading(rules, both_parsers=number % 3 == 0)
            except Exception:
                book, failures = None, [Failure("rules check", traceback.format_exc())]
            self.accepted += book is not None
            self.refused.update(
                {each.code for each in examine_folder(rules)[1]} if book is None and not failures else ()
            )
            self.spent -= time.monotonic()
            if book is not None and self.use:
                failures = [*failures, *wrong_with_use(book, folder, number, self.commands)]
            self.spent += time.monotonic()
            for each in failures:
                self.tell(each, rules, number)
        if self.drawn % 50 == 0:
            self.print_so_far()

    def tell(self, failure: Failure, rules: Path, number: int) -> None:
        """Tell a failure that was not told before, and keep its rule book."""
        where = re.findall(r'File ".*?/([^/]+)", line (\d+)', failure.text)
        key = f"{where[-1]} {failure.text.strip().splitlines()[-1][:60]}" if where else failure.text[:70]
        self.failures[key] += 1
        if self.failures[key] == 1:
            kept = self.keep / f"{len(self.failures)}-{number}"
            shutil.copytree(rules, kept / "rules", dirs_exist_ok=True)
            (kept / "failure.txt").write_text(
                f"{failure.command!r}\n{failure.text}", encoding="utf-8", errors="replace"
            )
            click.echo(f"--- {kept}\n{failure.command!r}\n{failure.text[-1800:]}")

    def print_so_far(self) -> None:
        """Print the figures."""
        spent = time.monotonic() - self.begun
        kinds = f"{len(self.failures)} kinds of failures"
        click.echo(f"{self.drawn} drawn, {self.accepted} accepted, {kinds}, {spent:.0f} s ({self.spent:.0f} s in use)")


KINDS: dict[str, Callable[[Pen], dict[str, Any]]] = {
    "drawn": draw_book,
    "mutated": draw_mutated,
    "shipped": partial(draw_mutated, folders=(SHIPPED,)),
}
"""Kind of rule books → how one is drawn; the last is the shipped one with an edit."""


@click.command()
@click.option("--examples", default=200, show_default=True)
@click.option("--seed", default=1, show_default=True, help="Number of the first rule book.")
@click.option("--kind", type=click.Choice(list(KINDS)), default="drawn", show_default=True)
@click.option("--use/--check-only", default=True, help="Run every command on those that are called fine.")
@click.option("--keep", type=click.Path(path_type=Path), default=Path(tempfile.gettempdir()) / "drawn-failures")
def main(examples: int, seed: int, kind: str, use: bool, keep: Path) -> None:
    """Draw rule books, run every command on them, and tell what fails."""
    warnings.simplefilter("error")  # what divides by zero is told on people's terminals
    count = Count(keep, use)
    for number in range(seed, seed + examples):
        luck = random.Random(number)
        count.judge(KINDS[kind](Pen(luck)), number, luck.randrange)
    count.print_so_far()
    for counted in (count.commands, count.refused, count.failures):
        click.echo()
        for name, times in counted.most_common():
            click.echo(f"{times:6} {name}")


if __name__ == "__main__":
    main()
