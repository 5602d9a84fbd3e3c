"""Models of two mistakes that come together, for one thing left both behind."""

from __future__ import annotations

from diagnose.comparison import curves
from diagnose.comparison.mechanism import Model
from diagnose.comparison.parameters import Branch

TWO_MISTAKES = (
    Model(
        name="square-root-of-zero-twenty",
        through_receiver=True,
        formula=lambda r, parameters, scene: curves.root_live_receiver_dead(r, scene.range_(parameters)),
        branches=lambda scene: scene.with_range(Branch(1.0)),
    ),
)
