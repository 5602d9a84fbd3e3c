"""Counting pulses: count, time, volume, resolution; and a totaliser that starts again from zero."""

from __future__ import annotations

from diagnose.calculations.calculation import calculation
from diagnose.errors import OutOfRange


@calculation(gives="pulse-value", formula="V_p = V / N", source="definition")
def pulse_value_from_volume(counted_volume: float, pulse_count: float) -> float:
    """Return the volume [m³] of one pulse, from a volume [m³] that passed and the pulses that came with it.

    Raises OutOfRange unless both are positive. Source: definition; 1 m³ with 100 pulses is 10 L each.

    >>> 1000 * pulse_value_from_volume(1.0, 100.0)
    10.0
    """
    return counted_volume / pulse_count


@calculation(gives="pulse-frequency", formula="f = N / t", source="definition")
def frequency_from_count(pulse_count: float, counting_time: float) -> float:
    """Return the frequency [Hz] of pulses that were counted for a time [s]: N/t.

    Raises OutOfRange unless both are positive. Source: definition; 1000 in 100 s are 10 Hz.

    >>> frequency_from_count(1000.0, 100.0)
    10.0
    """
    return pulse_count / counting_time


@calculation(gives="pulse-count", formula="N = f t", source="definition")
def pulse_count(pulse_frequency: float, counting_time: float) -> float:
    """Return the number of pulses that come in a time [s] at a frequency [Hz]: f t.

    Raises OutOfRange without pulses. Source: definition; 10 Hz for 100 s are 1000.

    >>> pulse_count(10.0, 100.0)
    1000.0
    """
    return pulse_frequency * counting_time


@calculation(gives="pulse-count", formula="N = 1 / r", source="one pulse more or less")
def count_for_resolution(pulse_resolution: float) -> float:
    """Return the number of pulses that must be counted for a resolution: 1/r.

    Raises OutOfRange unless the resolution is above 0 and not above 100 %. Source: one pulse more or less; 0.1 %
    needs 1000.

    >>> count_for_resolution(0.001)
    1000.0
    """
    return 1 / pulse_resolution


@calculation(gives="counting-time", formula="t = N / f", source="definition")
def counting_time(pulse_count: float, pulse_frequency: float) -> float:
    """Return the time [s] in which a number of pulses comes at a frequency [Hz]: N/f.

    Raises OutOfRange without pulses. Source: definition; 1000 at 10 Hz take 100 s.

    >>> counting_time(1000.0, 10.0)
    100.0
    """
    if pulse_frequency == 0:
        raise OutOfRange("without pulses the count is never reached")
    return pulse_count / pulse_frequency


@calculation(gives="pulse-resolution", formula="r = 1 / N", source="one pulse more or less")
def pulse_resolution(pulse_count: float) -> float:
    """Return the resolution of a count, a ratio: one pulse more or less, 1/N.

    Raises OutOfRange for less than one pulse. Source: one pulse more or less; 1000 pulses are 0.1 %.

    >>> 100 * pulse_resolution(1000.0)
    0.1
    """
    return 1 / pulse_count


@calculation(gives="flow-step", formula="dQ = V_p / t", source="one pulse more or less")
def flow_step(pulse_value: float, counting_time: float) -> float:
    """Return the step [m³/s] of a flow worked out from pulses of a volume [m³] counted for a time [s]: V_p/t.

    Raises OutOfRange unless both are positive. Source: one pulse more or less; 10 L counted for 1 s are 36 m³/h.

    >>> 3600 * flow_step(0.010, 1.0)
    36.0
    """
    return pulse_value / counting_time


@calculation(gives="counted-volume", formula="V = N V_p", source="definition")
def counted_volume(pulse_count: float, pulse_value: float) -> float:
    """Return the volume [m³] that a number of pulses stands for, with ``pulse_value`` [m³] each: N V_p.

    Raises OutOfRange unless both are positive. Source: definition; 100 of 10 L are 1 m³.

    >>> counted_volume(100.0, 0.010)
    1.0
    """
    return pulse_count * pulse_value


@calculation(gives="overflow-time", formula="t = capacity / Q", source="definition", valid="steady flow")
def overflow_time(totaliser_capacity: float, flow: float) -> float:
    """Return the time [s] in which a flow [m³/s] fills a totaliser of a capacity [m³]: V/Q.

    Raises OutOfRange unless the flow is forward. Source: definition; 36 m³/h fill 36000 m³ in 1000 h.

    >>> overflow_time(36000.0, 36 / 3600) / 3600
    1000.0
    """
    if flow <= 0:
        raise OutOfRange("a totaliser fills only with forward flow")
    return totaliser_capacity / flow
