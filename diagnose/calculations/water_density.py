"""Density of water by temperature, at atmospheric pressure."""

from __future__ import annotations

from diagnose.calculations.calculation import calculation

# IAPWS SR6-08(2011), equation for the specific volume: coefficient and power of each term.
_SCALE = 0.046151805
"""Specific gas constant of water times 10 K / 0.1 MPa [m³/kg]."""
_CONSTANT = 1.93763157e-2
_BELOW_593 = ((6.74458446e3, 4), (-2.22521604e5, 5), (1.00231247e8, 7), (-1.63552118e9, 8), (8.32299658e9, 9))
_ABOVE_232 = (
    (5.78545292e-3, 1),
    (-1.53195665e-2, 2),
    (3.11337859e-2, 3),
    (-4.23546241e-2, 4),
    (3.38713507e-2, 5),
    (-1.19946761e-2, 6),
)


@calculation(
    gives="liquid-density",
    formula="ρ(t) of pure water at 0.1 MPa",
    source="IAPWS SR6-08(2011), Liquid Water at 0.1 MPa; Pátek et al., J. Phys. Chem. Ref. Data 38 (2009) 21",
    valid="pure water, 0 to 100 °C; each bar above atmospheric pressure adds 0.005 %",
)
def density_of_water(water_temperature: float) -> float:
    """Return the density [kg/m³] of pure water at ``water_temperature`` [K] and 0.1 MPa.

    v = R · 10 K / 0.1 MPa · (a + Σ aᵢ (10/(593 - T))ⁿ + Σ bᵢ (10/(T - 232))ᵐ), ρ = 1/v. Raises OutOfRange outside 0 to
    100 °C. Source: IAPWS SR6-08(2011), coefficients as in the `iapws` library; 20 °C gives 998.207 kg/m³.

    >>> density_of_water(293.15)
    998.207
    """
    below, above = 10 / (593 - water_temperature), 10 / (water_temperature - 232)
    terms = sum(a * below**n for a, n in _BELOW_593) + sum(b * above**m for b, m in _ABOVE_232)
    return 1 / (_SCALE * (_CONSTANT + terms))
