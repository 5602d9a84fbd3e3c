"""``python -m tests.hardening``: tries to break the program, and counts what broke."""

from __future__ import annotations

import argparse
import time
from typing import Any

from tests.hardening import full_disk, fuzz, kills, page_kills, power_cut, writers

REPORTS = {
    "kills": kills.report,
    "page-kills": page_kills.report,
    "writers": writers.report,
    "disk-full": full_disk.report,
    "power-cut": power_cut.report,
    "fuzz": fuzz.report,
}


def main() -> None:
    """Run the harnesses that were asked for, and print their tables."""
    parser = argparse.ArgumentParser(prog="python -m tests.hardening", description=__doc__)
    parser.add_argument("which", choices=[*REPORTS, "all"], nargs="?", default="all", help="what to try")
    parser.add_argument("--size", type=int, help="how much of it: kills, rounds, inputs")
    parser.add_argument("--seed", type=int, default=1, help="the same seed tries the same")
    parser.add_argument("--area", default="", help="only areas of fuzz whose names begin so")
    chosen = parser.parse_args()
    for name in REPORTS if chosen.which == "all" else [chosen.which]:
        began = time.monotonic()
        given: dict[str, Any] = {"size": chosen.size} if chosen.size else {}
        if name == "fuzz":
            given["only"] = chosen.area
        print(REPORTS[name](seed=chosen.seed, **given), flush=True)
        print(f"  took {time.monotonic() - began:.0f} s\n", flush=True)


if __name__ == "__main__":
    main()
