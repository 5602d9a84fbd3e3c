"""The README tells the truth."""

from __future__ import annotations

import pytest

from tests.readme import BLOCK, README, commands_of, run_block

BLOCKS = BLOCK.findall(README.read_text(encoding="utf-8"))


@pytest.mark.parametrize("block", BLOCKS, ids=[commands_of(block)[0][:40] for block in BLOCKS])
def test_the_example_prints_what_the_readme_shows(block: str) -> None:
    """Each console example, run as it stands, prints what stands below it."""
    assert run_block(block) == block


def test_the_readme_opens_with_the_job_and_holds_two_set_up_commands() -> None:
    """One paragraph on the job first; then exactly the two commands that the gate runs."""
    lines = README.read_text(encoding="utf-8").splitlines()
    paragraph = next(line for line in lines[1:] if line.strip())
    assert "electromagnetic flow meter" in paragraph
    assert sum(line.startswith("python3 -m venv ") for line in lines) == 2
