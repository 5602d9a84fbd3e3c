"""The trade's calculations: pure functions in SI units, with tables by which rules and the command line name them.

``flow`` velocity and deviation · ``electrodes`` the electrode circuit and the coils · ``current_loop`` the 4–20 mA
loop · ``supply`` supply, fuses, insulation · ``bus`` an RS-485 line · ``general`` arithmetic of no subject.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import ModuleType

from diagnose.calculations import (
    bus,
    bus_addresses,
    bus_length,
    bus_messages,
    bus_resistance,
    bus_timing,
    bus_values,
    coils,
    comparison,
    conductivity,
    conductors,
    current_loop,
    effects,
    electrodes,
    filling,
    flow,
    flow_units,
    fuse_choice,
    fuses,
    general,
    insulation,
    legal_limits,
    loop_budget,
    mounting,
    pulse,
    pulse_count,
    receiver,
    receiver_fits,
    receiver_mistakes,
    reference_volume,
    register_block,
    straight_line,
    straight_run,
    supply,
    supply_cable,
    uncertainty,
    water_density,
)
from diagnose.calculations.calculation import AnyCalculation, calculations_in


@dataclass(frozen=True, slots=True)
class Subject:
    """A subject on the command line: the modules with its calculations, and what rules judge with no calculation."""

    name: str
    title: str
    modules: tuple[ModuleType, ...]
    judged: tuple[str, ...] = ()

    @property
    def calculations(self) -> tuple[AnyCalculation, ...]:
        """The calculations of this subject."""
        return calculations_in(self.modules)


SUBJECTS: Mapping[str, Subject] = {
    each.name: each
    for each in (
        Subject("flow", "flow, velocity, bore, and errors of the reading", (flow, effects, filling)),
        Subject(
            "installation",
            "straight pipe, earthing, position and orientation of the meter",
            (straight_run, mounting),
            (
                "straight-run-upstream",
                "straight-run-downstream",
                "pipe",
                "earthing",
                "position",
                "orientation",
                "electrode-axis-angle",
            ),
        ),
        Subject(
            "electrodes",
            "electrode circuit, coils, conductivity",
            (conductivity, electrodes, coils, conductors),
            ("coil-insulation", "measured-conductivity", "electrode-insulation-drained"),
        ),
        Subject(
            "loop",
            "4–20 mA loop: current, load, cable, classic mistakes",
            (current_loop, conductors, loop_budget, receiver, receiver_fits, flow_units),
            ("loop-cable-insulation",),
        ),
        Subject("pulse", "pulse output: frequency, pulse value, lost pulses, counting", (pulse, pulse_count)),
        Subject(
            "supply",
            "supply, cable drop, fuses, insulation, earth continuity",
            (conductors, supply_cable, supply, fuses, fuse_choice, insulation),
            ("earth-continuity", "supply-insulation", "supply-ripple", "short-circuit-current", "leakage-current"),
        ),
        Subject(
            "bus",
            "RS-485 line and its messages",
            (bus_addresses, bus, bus_resistance, bus_length, bus_timing, bus_messages, bus_values, register_block),
            ("bus-common-voltage", "stub-length"),
        ),
        Subject(
            "comparison",
            "meter compared with a reference: volume, deviation, uncertainty, legal limits, straight line",
            (water_density, reference_volume, comparison, uncertainty, legal_limits, straight_line),
        ),
    )
}
"""Name → subject, as on the command line."""

CALCULATIONS: Mapping[str, AnyCalculation] = {
    each.name: each
    for modules in (*(subject.modules for subject in SUBJECTS.values()), (general, receiver_mistakes))
    for each in calculations_in(modules)
}
"""Kebab-case name → calculation."""

FUNCTIONS: Mapping[str, AnyCalculation] = {name: each for name, each in CALCULATIONS.items() if each.gives}
"""Kebab-case name → calculation for use in rules: those with a single figure (SI) or word as their result."""


def inputs_of(function: str) -> tuple[str, ...]:
    """Return the names of a calculation's inputs, as rules write them.

    >>> inputs_of("velocity")
    ('flow', 'bore')
    """
    return CALCULATIONS[function].inputs
