"""The pulse output: pulses and flow, limits of frequency, lost pulses."""

from __future__ import annotations

from diagnose.calculations.calculation import calculation
from diagnose.errors import OutOfRange


@calculation(gives="pulse-value", formula="V_p = 1 / K", source="definition")
def pulse_value(k_factor: float) -> float:
    """Return the volume [m³] of one pulse, from pulses by volume [1/m³]: 1/K.

    Raises OutOfRange for a K-factor that is not positive. Source: definition; 100 pulses/L are 10 mL each.

    >>> 1000 * pulse_value(100e3)
    0.01
    """
    return 1 / k_factor


@calculation(gives="k-factor", formula="K = 1 / V_p", source="definition")
def k_factor(pulse_value: float) -> float:
    """Return the pulses by volume [1/m³], from the volume [m³] of one pulse: 1/V_p.

    Raises OutOfRange for a volume that is not positive. Source: definition; 10 mL each are 100 pulses/L.

    >>> k_factor(0.01e-3) / 1000
    100.0
    """
    return 1 / pulse_value


@calculation(
    gives="pulse-frequency",
    formula="f = Q / V_p",
    source="definition",
    valid="pulses for forward flow; none for reverse",
)
def pulse_frequency(flow: float, pulse_value: float) -> float:
    """Return the frequency [Hz] of the pulses at a flow [m³/s], with ``pulse_value`` [m³] each: Q/V_p.

    Raises OutOfRange for reverse flow, which has an output of its own or none, and for a pulse value that is
    not positive. Source: definition; 36 m³/h with 100 pulses/L gives 1000 Hz.

    >>> pulse_frequency(36 / 3600, 0.01e-3)
    1000.0
    """
    if flow < 0:
        raise OutOfRange("pulses are counted for flow in one direction; give the flow in that direction")
    return flow / pulse_value


@calculation(gives="flow", formula="Q = f V_p", source="definition")
def flow_from_pulse_frequency(pulse_frequency: float, pulse_value: float) -> float:
    """Return the flow [m³/s] that a frequency [Hz] stands for, with ``pulse_value`` [m³] each: f V_p.

    Raises OutOfRange for a negative frequency or a pulse value that is not positive. Source: definition; 100 Hz with
    10 pulses/L is 36 m³/h (Q = 3.6 f/K).

    >>> 3600 * flow_from_pulse_frequency(100.0, 0.1e-3)
    36.0
    """
    return pulse_frequency * pulse_value


@calculation(gives="pulse-value", formula="V_p = Q / f", source="definition")
def pulse_value_from_frequency(flow: float, pulse_frequency: float) -> float:
    """Return the volume [m³] of one pulse as actually set, from a flow [m³/s] and the frequency [Hz]: Q/f.

    Raises OutOfRange without pulses, or without flow. Source: definition; 36 m³/h with 100 Hz is 0.1 L.

    >>> 1000 * pulse_value_from_frequency(36 / 3600, 100.0)
    0.1
    """
    if pulse_frequency == 0:
        raise OutOfRange(
            "without pulses the pulse value cannot be determined; is the output set to pulses, and powered?"
        )
    return flow / pulse_frequency


@calculation(
    gives="highest-pulse-frequency", formula="f_w = 1 / (2 w)", source="definition", valid="pulse and gap equally long"
)
def highest_pulse_frequency(pulse_width: float) -> float:
    """Return the highest frequency [Hz] at which pulses of a width [s] leave gaps of the same length: 1/(2 w).

    Raises OutOfRange for a width that is not positive. Source: definition (pulse not longer than half a period);
    50 ms allow 10 Hz.

    >>> highest_pulse_frequency(0.05)
    10.0
    """
    return 0.5 / pulse_width


@calculation(
    gives="counter-highest-frequency",
    formula="f_c = 1 / (2 w_c)",
    source="definition",
    valid="pulse and gap equally long",
)
def counter_frequency_from_width(counter_least_width: float) -> float:
    """Return the highest frequency [Hz] for a counter that needs pulse and gap of a least width [s]: 1/(2 w).

    Raises OutOfRange for a width that is not positive. Source: definition; 20 ms allow 25 Hz.

    >>> counter_frequency_from_width(0.02)
    25.0
    """
    return 0.5 / counter_least_width


@calculation(gives="passing-frequency", formula="f_max = lesser of f_w and f_c", source="definition")
def passing_frequency(highest_pulse_frequency: float, counter_highest_frequency: float) -> float:
    """Return the highest frequency [Hz] that both output and counter can handle.

    Raises OutOfRange unless both are positive. Source: definition.

    >>> passing_frequency(10.0, 25.0)
    10.0
    """
    return min(highest_pulse_frequency, counter_highest_frequency)


@calculation(gives="passing-frequency", formula="f_max = f_w", source="definition", valid="a counter without limit")
def passing_frequency_of_output(highest_pulse_frequency: float) -> float:
    """Return the highest frequency [Hz] that arrives where only the length of the pulses limits it.

    Raises OutOfRange for a frequency that is not positive. Source: definition.

    >>> passing_frequency_of_output(10.0)
    10.0
    """
    return highest_pulse_frequency


@calculation(gives="passing-frequency", formula="f_max = f_c", source="definition", valid="an output without limit")
def passing_frequency_of_counter(counter_highest_frequency: float) -> float:
    """Return the highest frequency [Hz] that arrives where only the counter or its filter limits it.

    Raises OutOfRange for a frequency that is not positive. Source: definition.

    >>> passing_frequency_of_counter(25.0)
    25.0
    """
    return counter_highest_frequency


@calculation(gives="pulse-duty", formula="w f", source="definition", valid="up to 50 % pulse and gap fit")
def pulse_duty(pulse_frequency: float, pulse_width: float) -> float:
    """Return the duty cycle of pulses of a width [s] at a frequency [Hz]: w f.

    Raises OutOfRange if the pulses overlap. Source: definition; 50 ms at 2 Hz are 10 %.

    >>> pulse_duty(2.0, 0.05)
    0.1
    """
    duty = pulse_frequency * pulse_width
    if duty > 1:
        raise OutOfRange("pulses of this length overlap at this frequency; use shorter pulses or a larger pulse value")
    return duty


@calculation(
    gives="counted-frequency",
    formula="f_count = lesser of f and f_max",
    source="definition",
    valid="where the count levels off; some counters fall back or stop altogether",
)
def counted_frequency(pulse_frequency: float, passing_frequency: float) -> float:
    """Return the frequency [Hz] that is counted when pulses come faster than they pass: it stays at the limit.

    Raises OutOfRange for a negative frequency or a limit that is not positive. Source: definition.

    >>> counted_frequency(40.0, 25.0)
    25.0
    """
    return min(pulse_frequency, passing_frequency)


@calculation(
    gives="lost-pulses",
    formula="1 - f_max / f above f_max, else 0",
    source="definition",
    valid="where the count levels off; some counters fall back or stop altogether",
)
def lost_pulses(pulse_frequency: float, passing_frequency: float) -> float:
    """Return the share of the pulses that is lost: 1 - f_max/f beyond the limit, none up to it.

    So pulses are lost at high flow only. Raises OutOfRange for a negative frequency or a limit that is not positive.
    Source: definition; of 40 Hz a limit of 25 Hz loses 37.5 %.

    >>> lost_pulses(40.0, 25.0)
    0.375
    """
    return 1 - passing_frequency / pulse_frequency if pulse_frequency > passing_frequency else 0.0


@calculation(gives="counted-flow", formula="Q_count = f_count V_c", source="definition")
def counted_flow(counted_frequency: float, counter_pulse_value: float) -> float:
    """Return the flow [m³/s] shown by a counter that adds ``counter_pulse_value`` [m³] for each pulse counted.

    Raises OutOfRange for a pulse value that is not positive. Source: definition; a wrong one gives a constant ratio.

    >>> 3600 * counted_flow(10.0, 0.001)
    36.0
    """
    return counted_frequency * counter_pulse_value


@calculation(
    gives="counted-flow", formula="Q_count = f_count V_p", source="definition", valid="counter set as the meter"
)
def counted_flow_of_output(counted_frequency: float, pulse_value: float) -> float:
    """Return the flow [m³/s] shown by a counter that is set to the meter's ``pulse_value`` [m³].

    Raises OutOfRange for a pulse value that is not positive. Source: definition.

    >>> 3600 * counted_flow_of_output(10.0, 0.001)
    36.0
    """
    return counted_frequency * pulse_value


@calculation(gives="counted-flow", formula="Q_count = f V_c", source="definition", valid="no pulse lost")
def counted_flow_of_all(pulse_frequency: float, counter_pulse_value: float) -> float:
    """Return the flow [m³/s] shown by a counter that loses no pulse and adds ``counter_pulse_value`` [m³] for each.

    Raises OutOfRange for a pulse value that is not positive. Source: definition; 1000 Hz taken as 0.1 L each instead
    of 0.01 L show 360 instead of 36 m³/h.

    >>> 3600 * counted_flow_of_all(1000.0, 0.1e-3)
    360.0
    """
    return pulse_frequency * counter_pulse_value


@calculation(gives="full-flow-frequency", formula="f_full = URV / V_p", source="definition")
def full_flow_frequency(upper_range_value: float, pulse_value: float) -> float:
    """Return the frequency [Hz] at full range [m³/s], with ``pulse_value`` [m³] each: URV/V_p.

    Raises OutOfRange for a range that ends below zero, or a pulse value that is not positive. Source: definition.

    >>> full_flow_frequency(100 / 3600, 0.001)
    27.7778
    """
    return upper_range_value / pulse_value


@calculation(gives="highest-pulse-flow", formula="Q_max = f_max V_p", source="definition")
def highest_pulse_flow(passing_frequency: float, pulse_value: float) -> float:
    """Return the flow [m³/s] above which pulses of ``pulse_value`` [m³] are lost: f_max V_p.

    Raises OutOfRange unless both are positive. Source: definition; 10 Hz of 1 L each carry 36 m³/h.

    >>> 3600 * highest_pulse_flow(10.0, 0.001)
    36.0
    """
    return passing_frequency * pulse_value


@calculation(gives="least-pulse-value", formula="V_min = URV / f_max", source="definition")
def least_pulse_value(upper_range_value: float, passing_frequency: float) -> float:
    """Return the smallest volume [m³] of a pulse at which none is lost at full range [m³/s]: URV/f_max.

    Raises OutOfRange for a frequency that is not positive. Source: definition; 36 m³/h through 10 Hz needs 1 L.

    >>> 1000 * least_pulse_value(36 / 3600, 10.0)
    1.0
    """
    return upper_range_value / passing_frequency
