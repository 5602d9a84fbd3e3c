"""How the work of reading grows with its length: every family of texts up to the limits, or until it takes seconds."""

from __future__ import annotations

from tests.engines import real_engine
from tests.growth.families import Family
from tests.growth.measuring import TIMES, seconds_of
from tests.growth.readers import Reader, tables

LONGEST_WAIT = 2.0
"""Seconds: nothing larger is read once a text of a family takes as long."""


def family_line(name: str, reads: Reader, family: Family, longest: int, wait: float = LONGEST_WAIT) -> str:
    """Return the seconds for each size, four times the last, and how much they grew at last."""
    sizes = [longest // TIMES**3 or 1]
    times = [seconds_of(reads, family(sizes[0]))]
    while times[-1] < wait and TIMES * sizes[-1] <= longest:
        sizes.append(TIMES * sizes[-1])
        times.append(seconds_of(reads, family(sizes[-1])))
    grown = f"{times[-1] / times[-2]:6.1f}" if len(times) > 1 and times[-2] > 0 else f"{'':6}"
    shown = "  ".join(f"{size:,}: {time:.3f} s" for size, time in zip(sizes, times, strict=True))
    return f"  {name:44}{grown}   {shown}"


def report(longest: int = 0) -> str:
    """Return the table that the benchmark command prints; ``longest`` cuts the sizes short."""
    lines = [f"growth: seconds for texts of so many characters, and the last over that of 1/{TIMES} the size"]
    for kind, table in tables(real_engine()).items():
        lines.append(kind)
        most = min(longest or table.longest, table.longest)
        lines += [family_line(name, table.reads, family, most) for name, family in table.families.items()]
    return "\n".join(lines)
