"""Writes the table of conversions anew, as pint works them out, after spellings were added.

``python -m tests.conversions``
"""

from __future__ import annotations

from pathlib import Path

import diagnose.unit_conversions as table
from diagnose.unit_spellings import in_use
from diagnose.units import UnitInfo, worked_out

SPELT = in_use().called
"""Every unit that the shipped rule book spells, as pint calls it."""


def renewed(text: str) -> str:
    """Return the module with its table worked out anew."""
    start = text.index("{\n") + 2
    rows = (f'    "{name}": ({each.factor!r}, {each.offset!r}, "{each.dimension}"),\n' for name, each in _all())
    return text[:start] + "".join(rows) + text[text.index("}\n", start) :]


def _all() -> list[tuple[str, UnitInfo]]:
    return [(name, worked_out(name)) for name in sorted(SPELT)]


if __name__ == "__main__":
    path = Path(str(table.__file__))
    path.write_text(renewed(path.read_text(encoding="utf-8")), encoding="utf-8")
