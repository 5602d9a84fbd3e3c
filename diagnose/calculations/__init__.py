"""The trade's calculations: pure functions, SI units inside, and the table by which rules name them.

``current_loop`` flow and loop current · ``flow`` velocity and deviation · ``electrodes`` resistance of the electrode
circuit · ``supply`` supply current · ``bus`` idle voltage and termination of an RS-485 line.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from inspect import signature

from diagnose.calculations import bus, current_loop, electrodes, flow, supply

FUNCTIONS: Mapping[str, Callable[..., float]] = {
    function.__name__.replace("_", "-"): function
    for function in (
        current_loop.current_from_flow,
        current_loop.flow_from_current,
        current_loop.highest_current,
        current_loop.current_from_shunt_voltage,
        flow.velocity,
        flow.deviation,
        flow.ratio,
        electrodes.electrode_to_earth_resistance,
        supply.supply_current,
        bus.idle_voltage,
        bus.parallel_resistance,
    )
}
"""Kebab-case name → function. Every argument and result is in SI units."""


def inputs_of(function: str) -> tuple[str, ...]:
    """Return the names of a calculation's inputs, as rules write them.

    >>> inputs_of("velocity")
    ('flow', 'bore')
    """
    return tuple(name.replace("_", "-") for name in signature(FUNCTIONS[function]).parameters)
