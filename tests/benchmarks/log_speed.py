"""A log of a million readings: read and analysed, beside plain reading of the same file with the same library."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

from tests.trends.logs import ar1

ROWS = 1_000_000

_PLAIN = (
    "import numpy as np, sys; a = np.loadtxt(sys.argv[1], delimiter=';', skiprows=1, usecols=1); assert len(a) > 10"
)
_ANALYSED = """
import sys
from pathlib import Path
from diagnose.tables.log_reading import read_log
from diagnose.trends.trend import analyse
from tests.engines import real_engine
log = read_log(Path(sys.argv[1]))
if sys.argv[2] == "all":
    assert analyse(log, real_engine().rule_book.signs).signs
"""


def write_log(path: Path, rows: int) -> None:
    """Write a log of one reading a second: a steady flow with noise, one stretch stuck (invented)."""
    random = np.random.default_rng(11)
    flow = 80 * (1 + 0.01 * ar1(random, rows, 0.6))
    flow[rows // 2 : rows // 2 + 200] = flow[rows // 2]
    stamps = np.datetime64("2026-01-01T00:00:00") + np.arange(rows).astype("timedelta64[s]")
    lines = (f"{stamp};{value:.3f}\n" for stamp, value in zip(stamps.astype(str), flow, strict=True))
    with path.open("w", encoding="ascii") as file:
        file.write("time;flow [m3/h]\n")
        file.writelines(lines)


def measured(code: str, *arguments: str) -> tuple[float, float]:
    """Return processor seconds and peak memory [MB] of a process that runs ``code``."""
    child = subprocess.Popen([sys.executable, "-c", code, *arguments])
    _, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise subprocess.CalledProcessError(child.returncode, "diagnose")
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def report(size: int = ROWS) -> str:
    """Return times as ratios to plain reading, and the peak memory of each process, interpreter and all."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        write_log(path, size)
        megabytes = path.stat().st_size / 1e6
        reading, peak_reading = measured(_ANALYSED, str(path), "read")
        analysing, peak = measured(_ANALYSED, str(path), "all")
        plain, peak_plain = measured(_PLAIN, str(path))
    return "\n".join(
        (
            f"A log of {size:,} readings, {megabytes:.0f} MB; processor time with start of the interpreter",
            f"plain reading of its figures (numpy.loadtxt)   1.00   peak {peak_plain:.0f} MB   ({plain:.2f} s)",
            f"read with times, gaps and units                {reading / plain:.2f}   peak {peak_reading:.0f} MB",
            f"read and analysed by all detectors             {analysing / plain:.2f}   peak {peak:.0f} MB",
        )
    )
