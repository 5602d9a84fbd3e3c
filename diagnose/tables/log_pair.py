"""Two logs given together: the readings of the second stand beside those of the first, aligned in time."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from diagnose.errors import BadInput
from diagnose.tables.log_aligned import at_times
from diagnose.tables.log_clock import count_of, duration
from diagnose.tables.log_reading import Log
from diagnose.tables.log_shift import clock_difference
from diagnose.units import unit_info

LEAST_SHARED = 3


def beside(log: Log, other: Log) -> Log:
    """Return a log with the readings of another as its second meter, at its own times; clocks that differ are aligned.

    Raises BadInput if they do not measure the same thing, or share no time.
    """
    own, others = unit_info(log.unit), unit_info(other.unit)
    if own.dimension != others.dimension:
        raise BadInput(
            f"{other.file} ({other.unit}) and {log.file} ({log.unit}) do not measure the same thing; give both as flows"
        )
    if log.clock.kind != other.clock.kind:
        raise BadInput(f"{log.file} and {other.file} have clocks of different kinds; give both with dates")
    flow = other.flow * (others.factor / own.factor)
    ahead = clock_difference(log.times, log.clock.step, log.flow, other.times, flow)
    second = at_times(log.times, log.clock.step, other.times - ahead, flow)
    shared = int(np.count_nonzero(np.isfinite(second) & np.isfinite(log.flow)))
    if shared < LEAST_SHARED:
        shown = log.clock.shown
        raise BadInput(
            f"{log.file} and {other.file} share no time: "
            f"{shown(float(log.times[0]))} to {shown(float(log.times[-1]))}, "
            f"and {shown(float(other.times[0]))} to {shown(float(other.times[-1]))}"
        )
    notes = [f"{other.file} is taken as the second meter, at {count_of(shared, 'reading')} of {log.file}"]
    if ahead:
        notes.append(
            f"the clocks differ by about {duration(abs(ahead))}: {other.file} agrees best when it is moved "
            f"{'back' if ahead > 0 else 'on'} by that, and is compared so; put the clocks right, "
            "unless the liquid takes so long from one to the other"
        )
    if log.second is not None:
        notes.append(f"the second meter within {log.file} is not used")
    notes += [f"{other.file}: {each}" for each in other.warnings]
    return replace(log, second=second, warnings=(*log.warnings, *notes))
