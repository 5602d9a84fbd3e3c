"""``python -m tests.benchmarks``: ratios to the optimum or another method, waiting times, what analyses find again.

``watch`` compares nothing: random people walk the protocol, and an independent judge looks at every step.
"""

from __future__ import annotations

import argparse

from tests.benchmarks import (
    calibration,
    case_list,
    cautions,
    complaints,
    false_alarms,
    growth,
    learning,
    log_speed,
    planning,
    posterior,
    reading,
    reading_speed,
    recovery,
    speed,
    watch,
    wording,
)

REPORTS = {
    "calibration": calibration.report,
    "case-list": case_list.report,
    "cautions": cautions.report,
    "complaints": complaints.report,
    "planning": planning.report,
    "posterior": posterior.report,
    "recovery": recovery.report,
    "false-alarms": false_alarms.report,
    "growth": growth.report,
    "learning": learning.report,
    "log-speed": log_speed.report,
    "reading": reading.report,
    "reading-speed": reading_speed.report,
    "speed": speed.report,
    "wording": wording.report,
}


def main() -> None:
    """Print the benchmarks that were asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("which", choices=[*REPORTS, "watch", "all"], nargs="?", default="all", help="what to compare")
    parser.add_argument("--size", type=int, help="random models of planning, or runs of the others")
    parser.add_argument("--steps", type=int, default=2000, help="steps of the watch")
    parser.add_argument("--seed", type=int, default=1, help="seed of the watch")
    parser.add_argument("--case", type=int, help="tell this one case of the watch, prompt by prompt")
    chosen = parser.parse_args()
    if chosen.which == "watch":
        one = chosen.case is not None
        print(watch.told(chosen.seed, chosen.case) if one else watch.report(chosen.steps, chosen.seed))
        return
    names = list(REPORTS) if chosen.which == "all" else [chosen.which]
    for name in names:
        print(REPORTS[name](chosen.size) if chosen.size else REPORTS[name](), flush=True)


if __name__ == "__main__":
    main()
