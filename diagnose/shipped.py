"""Where the rule book and the cases are: in the checkout, or inside the installed package."""

from __future__ import annotations

from pathlib import Path


def shipped_folder(name: str) -> Path:
    """Return the folder ``rules`` or ``cases``, beside the package in a checkout, else inside it."""
    package = Path(__file__).resolve().parent
    beside = package.parent / name
    return beside if (package.parent / "pyproject.toml").is_file() and beside.is_dir() else package / "shipped" / name
