"""What people come to the calculations for, in their words, each with a worked call.

The first task of a subject is the example at the end of its help.
"""

from __future__ import annotations

import shlex
from collections.abc import Mapping
from typing import NamedTuple


class Task(NamedTuple):
    """A question, and what is given to have it answered."""

    question: str
    given: str

    @property
    def arguments(self) -> tuple[str, ...]:
        """What is given, as a shell hands it on."""
        return tuple(shlex.split(self.given))


TASKS: Mapping[str, tuple[Task, ...]] = {
    "flow": (
        Task("How fast does the liquid move in this meter?", "--flow 60m3/h --bore 100mm"),
        Task("How far off is the reading with a wrong bore set?", "--bore-entered 102mm --bore 100mm"),
        Task("How far off is it with gas in the liquid?", "--void-fraction 5% --indicated 60m3/h"),
        Task("What does a zero that is off do at this velocity?", "--velocity 0.5m/s --zero-offset 0.01m/s"),
    ),
    "installation": (
        Task(
            "Is there enough straight pipe before and after the meter?",
            "--flow-disturbance pump --straight-run-upstream 7",
        ),
    ),
    "electrodes": (
        Task("Are these coils sound?", "--coil-resistance 70ohm --coil-resistance-nominal 100ohm"),
        Task(
            "What does the coil cable take, and what does the transmitter see behind it?",
            "--cable-length 300m --conductor-area 0.75mm2 --coil-resistance-nominal 80ohm --excitation-current 100mA",
        ),
        Task(
            "Does the liquid still conduct enough when it is cold?",
            "--reference-conductivity 12uS/cm --temperature 5degC --least-conductivity 5uS/cm",
        ),
        Task(
            "What should an electrode measure to earth in this liquid?",
            "--conductivity 500uS/cm --electrode-diameter 10mm",
        ),
    ),
    "loop": (
        Task(
            "Is the loop's supply enough for this cable?",
            "--loop-supply 24V --least-terminal-voltage 12V --receiver 250ohm --cable-length 500m --awg 18",
        ),
        Task("What should the milliammeter show at this flow?", "--flow 37.5m3/h --urv 100m3/h"),
        Task("Which flow does this current stand for?", "--current 13.6mA --urv 250m3/h"),
        Task("Which slip makes the control system show this?", "--share 50% --receiver-reading 37.5%"),
        Task("Which two units were mixed up?", "--flow 22.7m3/h --receiver-shows 100m3/h"),
    ),
    "pulse": (
        Task(
            "Does the counter lose pulses at this flow?",
            "--flow 100m3/h --pulse-value 10L --counter-highest-frequency 2Hz",
        ),
        Task("How long must I count?", "--resolution 0.1% --flow 100m3/h --pulse-value 10L"),
    ),
    "supply": (
        Task(
            "How much voltage does the supply cable lose?",
            "--voltage 24V --power 10W --cable-length 200m --conductor-area 0.75mm2",
        ),
        Task("Is this supply voltage still within limits?", "--supply-voltage 206V --voltage 230V --supply-kind a.c."),
        Task(
            "Is the right fuse fitted?",
            "--fuse-rating 1A --fuse-characteristic F --fuse-rating-marked 500mA --fuse-characteristic-marked T",
        ),
        Task("Is the insulation good enough?", "--supply-insulation '>20 Mohm' --voltage 230V"),
    ),
    "bus": (
        Task("What do these raw registers mean?", "--registers '17142 59769' --value-expected 120"),
        Task("What does this frame say, and is it whole?", "--frame '01 83 02 C0 F1'"),
        Task("Which address is register 40001 on the line?", "--register 40001"),
        Task("Are both ends of the line terminated?", "--measured-line-resistance 118ohm --terminations 2"),
        Task("Is the line too long for this baud rate?", "--line-length 900m --baud 19200"),
    ),
    "comparison": (
        Task(
            "Is the difference from the reference more than the uncertainties explain?",
            "--deviation 2.5% --relative-indicated-uncertainty 0.5% --relative-reference-uncertainty 1%",
        ),
        Task("Which volume went through, by the level in a tank?", "--tank-diameter 3m --level-change 0.5m"),
        Task(
            "Which volume is this weight of water?",
            "--weighed-mass 998kg --water-temperature 20degC --air-density 1.2kg/m3",
        ),
    ),
}
"""Subject → its tasks."""
