"""``python -m tests.benchmarks``: ratios to the optimum or another method, waiting times, what analyses find again."""

from __future__ import annotations

import argparse

from tests.benchmarks import cautions, false_alarms, log_speed, planning, posterior, reading, recovery, speed, wording

REPORTS = {
    "cautions": cautions.report,
    "planning": planning.report,
    "posterior": posterior.report,
    "recovery": recovery.report,
    "false-alarms": false_alarms.report,
    "log-speed": log_speed.report,
    "reading": reading.report,
    "speed": speed.report,
    "wording": wording.report,
}


def main() -> None:
    """Print the benchmarks that were asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("which", choices=[*REPORTS, "all"], nargs="?", default="all", help="what to compare")
    parser.add_argument("--size", type=int, help="random models of planning, or runs of the others")
    chosen = parser.parse_args()
    names = list(REPORTS) if chosen.which == "all" else [chosen.which]
    for name in names:
        print(REPORTS[name](chosen.size) if chosen.size else REPORTS[name](), flush=True)


if __name__ == "__main__":
    main()
