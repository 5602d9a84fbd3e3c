"""Long exports: one row for each tag and time, as historians give them; each tag is a channel of its own."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from diagnose.tables.arrays import Array
from diagnose.tables.log_bytes import Bytes, printable


@dataclass(slots=True)
class Tags:
    """The tags of a long export in order of appearance, and the number of each."""

    names: list[str] = field(default_factory=list)
    _known: dict[bytes, int] = field(default_factory=dict)

    def numbers(self, table: Bytes) -> Array:
        """Return the number of the tag in each cell."""
        keys = np.ascontiguousarray(table).view(f"S{table.shape[1]}").ravel()
        different, back = np.unique(keys, return_inverse=True)
        return np.array([self._number(each) for each in different.tolist()], np.float64)[back]

    def _number(self, cell: bytes) -> int:
        if cell not in self._known:
            self._known[cell] = len(self.names)
            self.names.append(printable(cell.decode("utf-8", errors="replace")))
        return self._known[cell]
