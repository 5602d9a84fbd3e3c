"""The README's examples: run as they stand there, and compared with what the README says they print.

``python -m tests.readme`` writes the output anew after a change of rules or screens.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
README = ROOT / "README.md"
BLOCK = re.compile(r"```console\n(.*?)```", re.DOTALL)


def commands_of(block: str) -> list[str]:
    """Return the commands of a block: the lines that start with ``$ ``."""
    return [line[2:] for line in block.splitlines() if line.startswith("$ ")]


def run_block(block: str) -> str:
    """Return the block with what its commands print now."""
    parts = []
    with tempfile.TemporaryDirectory() as folder:
        env = {
            **os.environ,
            "COLUMNS": "80",
            "NO_COLOR": "1",
            "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
            "DIAGNOSE_CASES": f"{folder}/cases",
            "DIAGNOSE_MEANING": "off",
            "PYTHONIOENCODING": "utf-8",
            "HERE": folder,
        }
        for command in commands_of(block):
            done = subprocess.run(
                ["bash", "-c", command],
                cwd=ROOT,
                env=env,
                capture_output=True,
                text=True,
                encoding="utf-8",
                check=False,
            )
            printed = (done.stdout + done.stderr).replace(folder, "…")
            parts.append(f"$ {command}\n" + "\n".join(line.rstrip() for line in printed.splitlines()) + "\n")
    return "".join(parts)


def renewed(text: str) -> str:
    """Return the README with every example run anew."""
    return BLOCK.sub(lambda match: f"```console\n{run_block(match[1])}```", text)


if __name__ == "__main__":
    README.write_text(renewed(README.read_text(encoding="utf-8")), encoding="utf-8")
