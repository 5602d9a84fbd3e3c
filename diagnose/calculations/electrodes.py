"""The electrode circuit: effect of the liquid's resistance, the input and an unscreened cable on the signal."""

from __future__ import annotations

import math

from diagnose.calculations.calculation import Column, Table, calculation

SPREADING = "spreading resistance of a disc in an insulating wall (from memory)"
CLEAN = "pipe full, electrode clean; within a factor of two"


@calculation(gives="expected-electrode-resistance", formula="R = 1 / (2 σ d)", source=SPREADING, valid=CLEAN)
def electrode_to_earth_resistance(liquid_conductivity: float, electrode_diameter: float) -> float:
    """Return the resistance [ohm] from one disc electrode to the liquid: R = 1 / (2 σ d).

    ``liquid_conductivity`` in S/m, ``electrode_diameter`` in m; pipe full, electrode clean. An order of magnitude: the
    real shape adds a factor of up to two. Raises OutOfRange unless both are positive. Source: spreading resistance of a
    disc in an insulating wall; 10 mm at 500 µS/cm gives 1 kilohm (the pair 2 kilohm).

    >>> electrode_to_earth_resistance(0.05, 0.010)
    1000.0
    """
    return 1 / (2 * liquid_conductivity * electrode_diameter)


@calculation(gives="liquid-conductivity", formula="σ = 1 / (2 R d)", source=SPREADING, valid=CLEAN)
def conductivity_from_electrode(expected_electrode_resistance: float, electrode_diameter: float) -> float:
    """Return the conductivity [S/m] by the resistance [ohm] from one electrode [m] to the liquid: σ = 1 / (2 R d).

    An order of magnitude, see the inverse. Raises OutOfRange unless both are positive. Source: spreading resistance
    of a disc; 1 kilohm at 10 mm is 500 µS/cm.

    >>> 1e4 * conductivity_from_electrode(1000.0, 0.010)
    500.0
    """
    return 1 / (2 * expected_electrode_resistance * electrode_diameter)


@calculation(gives="source-resistance", formula="R_s = 1 / (σ d)", source=SPREADING, valid=CLEAN)
def source_resistance(liquid_conductivity: float, electrode_diameter: float) -> float:
    """Return the resistance [ohm] between the two electrodes: R_s = 1 / (σ d), twice that of one to the liquid.

    ``liquid_conductivity`` in S/m, ``electrode_diameter`` in m. Raises OutOfRange unless both are positive. Source:
    spreading resistance of a disc; 10 mm at 5 µS/cm gives 200 kilohm.

    >>> source_resistance(5e-4, 0.010)
    200000.0
    """
    return 1 / (liquid_conductivity * electrode_diameter)


@calculation(gives="liquid-conductivity", formula="σ = 1 / (R_s d)", source=SPREADING, valid=CLEAN)
def conductivity_from_pair(source_resistance: float, electrode_diameter: float) -> float:
    """Return the conductivity [S/m] by the resistance [ohm] between both electrodes [m]: σ = 1 / (R_s d).

    Raises OutOfRange unless both are positive. Source: spreading resistance of a disc; 2 kilohm at 10 mm.

    >>> 1e4 * conductivity_from_pair(2000.0, 0.010)
    500.0
    """
    return 1 / (source_resistance * electrode_diameter)


@calculation(gives="loading-error", formula="e = -R_s / (R_s + Z_in)", source="voltage divider")
def loading_error(source_resistance: float, input_impedance: float) -> float:
    """Return the loading error, a ratio: e = -R_s / (R_s + Z_in).

    ``source_resistance`` and ``input_impedance`` in ohm. Raises OutOfRange unless both are positive. Source: voltage
    divider; 200 kilohm into 10 megohm read 1.961 % low.

    >>> 100 * loading_error(200e3, 10e6)
    -1.961
    """
    return -source_resistance / (source_resistance + input_impedance)


@calculation(gives="least-input-impedance", formula="Z_min = R_s (1 / e_max - 1)", source="voltage divider")
def least_input_impedance(source_resistance: float, greatest_loading_error: float = 0.001) -> float:
    """Return the least input impedance [ohm] that keeps the error by loading within a ratio: Z = R_s (1/e - 1).

    ``source_resistance`` in ohm. Raises OutOfRange for an error that is not above 0 and up to 50 %. Source: voltage
    divider; 200 kilohm and 0.1 % want 199.8 megohm.

    >>> 1e-6 * least_input_impedance(200e3)
    199.8
    """
    return source_resistance * (1 / greatest_loading_error - 1)


@calculation(gives="cable-capacitance", formula="C = C' L", source="definition", valid="no driven shields")
def cable_capacitance(capacitance_by_length: float, cable_length: float) -> float:
    """Return the capacitance [F] of ``cable_length`` [m] of cable with ``capacitance_by_length`` [F/m]: C = C' L.

    Raises OutOfRange unless both are positive. Source: definition; 10 m of 100 pF/m are 1 nF.

    >>> 1e9 * cable_capacitance(100e-12, 10.0)
    1.0
    """
    return capacitance_by_length * cable_length


@calculation(gives="capacitive-impedance", formula="X_C = 1 / (2 π f C)", source="definition")
def capacitive_impedance(cable_capacitance: float, excitation_frequency: float) -> float:
    """Return the impedance [ohm] of a capacitance [F] at a frequency [Hz]: X_C = 1 / (2 π f C).

    Raises OutOfRange unless both are positive. Source: definition; 1 nF at 25 Hz is 6.366 megohm.

    >>> 1e-6 * capacitive_impedance(1e-9, 25.0)
    6.366
    """
    return 1 / (2 * math.pi * excitation_frequency * cable_capacitance)


@calculation(
    gives="cable-loading-error",
    formula="e_C = 1 / √(1 + (R_s / X_C)²) - 1",
    source="voltage divider",
    valid="sinusoidal; driven shields eliminate it",
)
def cable_loading_error(source_resistance: float, capacitive_impedance: float) -> float:
    """Return the signal loss due to the cable capacitance, a ratio: 1 / √(1 + (R_s/X_C)²) - 1.

    Both in ohm. Raises OutOfRange unless both are positive. Source: voltage divider; 200 kilohm with 6.366 megohm
    lose 0.049 %.

    >>> 100 * cable_loading_error(200e3, 6.366e6)
    -0.0493
    """
    return 1 / math.sqrt(1 + (source_resistance / capacitive_impedance) ** 2) - 1


@calculation(gives="cable-loading-phase", formula="φ = arctan(R_s / X_C)", source="voltage divider", valid="sinusoidal")
def cable_loading_phase(source_resistance: float, capacitive_impedance: float) -> float:
    """Return the phase lag [rad] due to the cable capacitance: φ = arctan(R_s / X_C).

    Both in ohm. Raises OutOfRange unless both are positive. Source: voltage divider; 200 kilohm with 6.366 megohm
    lag by 1.80 degrees.

    >>> math.degrees(cable_loading_phase(200e3, 6.366e6))
    1.80
    """
    return math.atan(source_resistance / capacitive_impedance)


@calculation(
    title="both electrodes compared with the expected resistance",
    formula="R_a / R, R_b / R",
    source="definition",
    valid="pipe full, cables off, measured with an a.c. ohmmeter",
)
def electrode_comparison(
    electrode_a_resistance: float, electrode_b_resistance: float, expected_electrode_resistance: float
) -> Table:
    """Compare the resistances to earth [ohm] of both electrodes with the expected one.

    Raises OutOfRange for a negative resistance. Source: definition; 1.6 kilohm for 1 kilohm are 1.6 times as much.

    >>> [row[3] for row in electrode_comparison(1600.0, 1400.0, 1000.0).rows]
    [1.6, 1.4]
    """
    measured = (electrode_a_resistance, electrode_b_resistance)
    shares = tuple(each / expected_electrode_resistance for each in measured)
    return Table(
        columns=(Column("electrode"), Column("to earth", "kohm"), Column("expected", "kohm"), Column("times expected")),
        rows=tuple(
            (name, each, expected_electrode_resistance, share)
            for name, each, share in zip(("first", "second"), measured, shares, strict=True)
        ),
    )
