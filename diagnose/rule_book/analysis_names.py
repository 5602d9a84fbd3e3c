"""Names by which a rule book calls what analyses of readings do; the analyses themselves stand in ``analyses``.

They are kept here as plain words, so that a rule book is checked without loading numpy; a test holds them to the models
and detectors that there are.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

AmountKind = Literal["ratio", "share", "flow", "range", "current"]
"""What an open amount is: a plain ratio, a share (%), a share of the largest flow or of the range, a current."""

MODELS: Mapping[str, Mapping[str, AmountKind]] = {
    "no-difference": {},
    "zero-offset": {"zero": "flow"},
    "reference-leak": {"flow-past-the-reference": "flow"},
    "low-flow-cut-off": {"cut-off-below": "flow"},
    "cut-off-and-zero": {"zero": "flow", "cut-off-below": "flow"},
    "part-filling-at-low-flow": {"depth-at-no-flow": "share", "full-from": "flow"},
    "gravity-line": {"full-from": "flow", "electrodes-dry-below": "share"},
    "gas-growing": {"share-of-gas": "share"},
    "hysteresis": {"behind-by": "flow"},
    "zero-and-factor": {"zero": "flow", "factor": "ratio"},
    "reversed": {},
    "no-signal": {},
    "held": {"shown": "range"},
    "flow-constant": {"factor": "ratio"},
    "bore": {"entered-over-true": "ratio"},
    "unit-mix-up": {"factor": "ratio"},
    "power-of-ten": {"factor": "ratio"},
    "span-mismatch": {"span-ratio": "ratio"},
    "pulse-value": {"pulse-ratio": "ratio"},
    "gas": {"share-of-gas": "share"},
    "part-filling": {"depth": "share"},
    "insulating-deposit": {"thickness": "share"},
    "conducting-deposit": {"thickness": "share", "conductivity-ratio": "ratio"},
    "electrode-film": {"signal-lost": "share"},
    "flow-profile": {"factor": "ratio"},
    "small-factor": {"factor": "ratio"},
    "reference-factor": {"factor": "ratio"},
    "reference-time": {"error-of-the-time": "share"},
    "sender-4-20-receiver-0-20": {},
    "sender-0-20-receiver-4-20": {},
    "square-root": {},
    "squared": {},
    "square-root-and-span": {"span-ratio": "ratio"},
    "square-root-of-zero-twenty": {},
    "half-current": {},
    "wrong-shunt": {"part-of-current": "ratio"},
    "lower-range-value": {"steepness": "ratio"},
    "leakage": {"current-gained": "current"},
    "saturation": {"largest-flow-shown": "flow"},
    "number-wraps": {"largest-number": "flow", "jumps-by": "ratio"},
    "dead-time": {"busy-at-the-top": "share"},
    "gradual-pulse-loss": {"lost-above": "flow", "pulses-lost": "share"},
    "pulse-loss": {"lost-above": "flow", "pulses-lost": "share"},
    "any-smooth-curve": {},
}
"""Curves of mechanisms (:mod:`diagnose.comparison.mechanisms`), each with its open amounts in their order."""

CURVES = ("factor", "constant", "current", "upper-end", "limited", "flat")
"""Curves that several mechanisms have, so that pairs of readings cannot tell these apart."""

ON_RANGE = frozenset(
    {
        "sender-4-20-receiver-0-20",
        "sender-0-20-receiver-4-20",
        "square-root",
        "squared",
        "square-root-and-span",
        "square-root-of-zero-twenty",
        "half-current",
        "wrong-shunt",
        "lower-range-value",
        "leakage",
    }
)
"""Curves that hang on the range; where nobody tells it, its upper end is one more open amount."""

DETECTORS: tuple[str, ...] = (
    "fault-current",
    "no-current",
    "stuck",
    "zero-while-flowing",
    "negative",
    "total-back",
    "total-stands",
    "stands-once",
    "saturated",
    "drop-outs",
    "clipped",
    "second-meter",
    "zero-at-standstill",
    "noise",
    "spikes",
    "swings",
    "reverse-at-stop",
    "night-flow",
    "profile",
    "steps",
    "drift",
    "quantised",
    "steady-but-real",
)
"""Detectors of signs in a log (:mod:`diagnose.trends.trend`), what is gravest first."""
