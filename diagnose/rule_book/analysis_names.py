"""Names by which a rule book calls what analyses of readings do; the analyses themselves stand in ``analyses``.

They are kept here as plain words, so that a rule book is checked without loading numpy; a test holds them to the models
and detectors that there are.
"""

from __future__ import annotations

MODELS: tuple[str, ...] = (
    "no-difference",
    "zero-offset",
    "reference-leak",
    "low-flow-cut-off",
    "cut-off-and-zero",
    "part-filling-at-low-flow",
    "gas-growing",
    "hysteresis",
    "zero-and-factor",
    "reversed",
    "no-signal",
    "held",
    "flow-constant",
    "bore",
    "unit-mix-up",
    "power-of-ten",
    "span-mismatch",
    "pulse-value",
    "gas",
    "part-filling",
    "insulating-deposit",
    "conducting-deposit",
    "electrode-film",
    "flow-profile",
    "small-factor",
    "reference-factor",
    "reference-time",
    "sender-4-20-receiver-0-20",
    "sender-0-20-receiver-4-20",
    "square-root",
    "squared",
    "square-root-and-span",
    "half-current",
    "wrong-shunt",
    "lower-range-value",
    "leakage",
    "saturation",
    "gradual-pulse-loss",
    "pulse-loss",
    "any-smooth-curve",
)
"""Curves of mechanisms (:mod:`diagnose.comparison.mechanisms`)."""

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
