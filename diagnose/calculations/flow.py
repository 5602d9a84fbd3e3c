"""Flow, velocity and bore; the voltage at the electrodes; laminar or turbulent.

Chain: ``flow`` and ``bore`` → ``velocity`` → ``electrode-voltage`` (with ``flux-density``) and, with ``temperature`` or
``kinematic-viscosity``, ``reynolds-number`` → ``flow-regime``.
"""

from __future__ import annotations

import math

from diagnose.calculations.calculation import calculation
from diagnose.calculations.water_density import density_of_water
from diagnose.errors import OutOfRange

_VISCOSITY = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))
"""Factor [µPa s] and power of each term of IAPWS SR6-08(2011) for the dynamic viscosity."""

LAMINAR_UP_TO, TURBULENT_FROM = 2300.0, 4000.0
"""Reynolds numbers in a round pipe: textbook limits, from memory."""


@calculation(gives="velocity", formula="v = 4 Q / (π D²)", source="continuity", valid="pipe full")
def velocity(flow: float, bore: float) -> float:
    """Return the mean velocity [m/s] of ``flow`` [m³/s] in a full pipe of ``bore`` [m]: v = 4 Q / (π D²).

    Raises OutOfRange for a bore that is not positive. Source: continuity; 60 m³/h in 100 mm gives 2.12207 m/s.

    >>> velocity(60 / 3600, 0.1)
    2.12207
    """
    return 4 * flow / (math.pi * bore**2)


@calculation(
    gives="greatest-velocity",
    formula="v_max = 4 max(|Q|, |Q_max|) / (π D²)",
    source="continuity",
    valid="pipe full",
)
def greatest_velocity(usual_flow: float, bore: float, highest_flow: float = 0.0) -> float:
    """Return the greatest mean velocity [m/s] that occurs in a full pipe of ``bore`` [m], whichever its direction.

    Raises OutOfRange for a bore that is not positive. Source: continuity; 60 m³/h usually and 84.8230 m³/h at most in
    100 mm give 3 m/s.

    >>> greatest_velocity(60 / 3600, 0.1, 84.8230 / 3600)
    3.00000
    """
    return abs(velocity(max(abs(usual_flow), abs(highest_flow)), bore))


@calculation(gives="flow", formula="Q = v π D² / 4", source="continuity", valid="pipe full")
def flow_from_velocity(velocity: float, bore: float) -> float:
    """Return the flow [m³/s] of a mean ``velocity`` [m/s] in a full pipe of ``bore`` [m]: Q = v π D² / 4.

    Raises OutOfRange for a bore that is not positive. Source: continuity; 3 m/s in 100 mm gives 84.8230 m³/h.

    >>> 3600 * flow_from_velocity(3.0, 0.1)
    84.8230
    """
    return velocity * math.pi * bore**2 / 4


@calculation(gives="bore", formula="D = √(4 Q / (π v))", source="continuity", valid="pipe full")
def bore_from_velocity(flow: float, velocity: float) -> float:
    """Return the bore [m] in which ``flow`` [m³/s] runs at a mean ``velocity`` [m/s]: D = √(4 Q / (π v)).

    Raises OutOfRange unless flow and velocity have the same direction and neither is zero. Source: continuity;
    60 m³/h at 2.12207 m/s take 100 mm.

    >>> 1000 * bore_from_velocity(60 / 3600, 2.12207)
    100.000
    """
    if flow * velocity <= 0:
        raise OutOfRange("a bore follows only from a flow and a velocity in the same direction, neither of them zero")
    return math.sqrt(4 * flow / (math.pi * velocity))


@calculation(
    gives="electrode-voltage",
    formula="e = k B D v",
    source="Faraday's law; ISO 6817 (from memory)",
    valid="pipe full, axisymmetric profile, input that draws no current",
)
def electrode_voltage(velocity: float, bore: float, flux_density: float, sensor_factor: float = 1.0) -> float:
    """Return the voltage [V] between the electrodes: e = k B D v.

    ``velocity`` [m/s], ``bore`` [m], ``flux_density`` [T], ``sensor_factor`` (1 for a uniform field). Raises OutOfRange
    for a bore, flux density or factor that is not positive. Source: Faraday's law, ISO 6817 (from memory); 2 m/s in
    100 mm at 5 mT give 1.000 mV.

    >>> 1000 * electrode_voltage(2.0, 0.1, 0.005)
    1.000
    """
    return sensor_factor * flux_density * bore * velocity


@calculation(
    gives="velocity",
    formula="v = e / (k B D)",
    source="Faraday's law; ISO 6817 (from memory)",
    valid="pipe full, axisymmetric profile, input that draws no current",
)
def velocity_from_electrode_voltage(
    electrode_voltage: float, bore: float, flux_density: float, sensor_factor: float = 1.0
) -> float:
    """Return the mean velocity [m/s] that drives a voltage [V] between the electrodes: v = e / (k B D).

    ``bore`` [m], ``flux_density`` [T], ``sensor_factor`` (1 for a uniform field). Raises OutOfRange for a bore, flux
    density or factor that is not positive. Source: inverse of Faraday's law; 1 mV in 100 mm at 5 mT is 2 m/s.

    >>> velocity_from_electrode_voltage(0.001, 0.1, 0.005)
    2.000
    """
    return electrode_voltage / (sensor_factor * flux_density * bore)


@calculation(
    gives="flux-density",
    formula="B = e / (k D v)",
    source="Faraday's law; ISO 6817 (from memory)",
    valid="pipe full, axisymmetric profile, input that draws no current",
)
def flux_density_from_electrode_voltage(
    electrode_voltage: float, velocity: float, bore: float, sensor_factor: float = 1.0
) -> float:
    """Return the flux density [T] at which ``velocity`` [m/s] drives a voltage [V]: B = e / (k D v).

    ``bore`` [m], ``sensor_factor`` (1 for a uniform field). Raises OutOfRange unless voltage and velocity have the same
    sign and neither is zero. Source: inverse of Faraday's law; 1 mV at 2 m/s in 100 mm takes 5 mT.

    >>> 1000 * flux_density_from_electrode_voltage(0.001, 2.0, 0.1)
    5.000
    """
    if electrode_voltage * velocity <= 0:
        raise OutOfRange("a flux density follows only from a voltage and a velocity of the same sign, neither zero")
    return electrode_voltage / (sensor_factor * bore * velocity)


@calculation(
    gives="kinematic-viscosity",
    formula="ν = η / ρ, η = Σ aᵢ (T / 300 K)^bᵢ",
    source="IAPWS SR6-08(2011), Liquid Water at 0.1 MPa; Pátek et al., J. Phys. Chem. Ref. Data 38 (2009) 21",
    valid="water at 0 to 100 degC, about atmospheric pressure",
)
def kinematic_viscosity_of_water(temperature: float) -> float:
    """Return the kinematic viscosity [m²/s] of pure water at ``temperature`` [K] and 0.1 MPa: ν = η / ρ.

    η = Σ aᵢ (T / 300 K)^bᵢ. Raises OutOfRange beyond 0 to 100 °C. Source: IAPWS SR6-08(2011), coefficients as in the
    `iapws` library; 20 °C gives 1.0034 mm²/s.

    >>> 1e6 * kinematic_viscosity_of_water(293.15)
    1.0034
    """
    density = density_of_water(temperature)
    return _viscosity_of_water(temperature) / density


@calculation(gives="reynolds-number", formula="Re = |v| D / ν", source="definition", valid="round pipe, full")
def reynolds_number(velocity: float, bore: float, kinematic_viscosity: float) -> float:
    """Return the Reynolds number of ``velocity`` [m/s] in ``bore`` [m]: Re = |v| D / ν.

    ``kinematic_viscosity`` [m²/s]. Raises OutOfRange for a bore or viscosity that is not positive. Source: definition;
    2 m/s in 100 mm at 1 mm²/s are 200 000.

    >>> reynolds_number(2.0, 0.1, 1e-6)
    200000.0
    """
    return abs(velocity) * bore / kinematic_viscosity


@calculation(
    gives="flow-regime",
    formula="laminar below Re 2300, turbulent above 4000, transitional between",
    source="textbook limits (from memory)",
    valid="round pipe, Newtonian liquid, long straight run",
)
def flow_regime(reynolds_number: float) -> str:
    """Return in a word whether flow at a Reynolds number is laminar, transitional or turbulent.

    The profile, and with it what a disturbance does, changes from one to the other. Raises OutOfRange for a negative
    number. Source: textbook limits for round pipes, from memory.

    >>> flow_regime(200000.0)
    'turbulent'
    """
    if reynolds_number < LAMINAR_UP_TO:
        return "laminar"
    return "turbulent" if reynolds_number > TURBULENT_FROM else "transitional"


def _viscosity_of_water(temperature: float) -> float:
    """Return the dynamic viscosity [Pa s] of water at 0.1 MPa: IAPWS SR6-08(2011)."""
    relative = temperature / 300.0
    return 1e-6 * math.fsum(factor * math.pow(relative, power) for factor, power in _VISCOSITY)
