"""Many drawn rule books, for as long as it takes: ``python -m tests.drawn --examples 2000 --seed 1``.

Nothing is shrunk; whatever fails is told once for each place in the code, and its rule book is kept.
"""

from __future__ import annotations

import re
import shutil
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import Any

import click
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from tests.drawn.books import rule_books
from tests.drawn.judging import Failure, wrong_with_reading, wrong_with_use
from tests.drawn.mutations import mutated_books
from tests.drawn.writing import write_book

FOREVER = {
    "database": None, "deadline": None, "derandomize": False, "phases": [Phase.generate],
    "suppress_health_check": list(HealthCheck),
}  # fmt: skip


class Count:
    """What has been drawn and found so far."""

    def __init__(self, keep: Path) -> None:
        self.keep, self.begun = keep, time.monotonic()
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
                import traceback

                book, failures = None, [Failure("rules check", traceback.format_exc())]
            self.accepted += book is not None
            self.spent -= time.monotonic()
            if book is not None:
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
            (kept / "failure.txt").write_text(f"{failure.command!r}\n{failure.text}", encoding="utf-8", errors="replace")
            click.echo(f"--- {kept}\n{failure.command!r}\n{failure.text[-1800:]}")

    def print_so_far(self) -> None:
        """Print the figures."""
        spent = time.monotonic() - self.begun
        click.echo(f"{self.drawn} drawn, {self.accepted} accepted, {len(self.failures)} kinds of failures, {spent:.0f} s ({self.spent:.0f} s in commands)")


@click.command()
@click.option("--examples", default=200, show_default=True)
@click.option("--seed", "start", default=1, show_default=True)
@click.option("--kind", type=click.Choice(["drawn", "mutated"]), default="drawn", show_default=True)
@click.option("--keep", type=click.Path(path_type=Path), default=Path(tempfile.gettempdir()) / "drawn-failures")
def main(examples: int, start: int, kind: str, keep: Path) -> None:
    """Draw rule books, run every command on them, and tell what fails."""
    count = Count(keep)
    books = rule_books() if kind == "drawn" else mutated_books()

    @seed(start)
    @settings(max_examples=examples, **FOREVER)
    @given(books, st.integers(0, 10**6), st.randoms(use_true_random=False))
    def judge(files: dict[str, Any], number: int, luck: Any) -> None:
        count.judge(files, number, luck.randrange)

    judge()
    count.print_so_far()
    for counted in (count.commands, count.failures):
        for name, times in counted.most_common():
            click.echo(f"{times:6} {name}")


if __name__ == "__main__":
    main()
