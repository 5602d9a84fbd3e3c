"""``python -m tests.interview.renew``: write the transcripts anew from what is typed in them. Read the difference."""

from __future__ import annotations

import tempfile
from pathlib import Path

from tests.interview.running import run
from tests.interview.test_transcripts import TRANSCRIPTS, typed_in


def renew(path: Path) -> None:
    """Type what a transcript shows, and keep what is printed."""
    with tempfile.TemporaryDirectory() as folder:
        _, printed = run(typed_in(path.read_text(encoding="utf-8")), Path(folder))
        path.write_text(printed.replace(folder, "CASES"), encoding="utf-8")


if __name__ == "__main__":
    for each in TRANSCRIPTS:
        renew(each)
