"""What a look or a trial cable finds keeps the cause that it proves in front: a row each, with what else was seen."""

from __future__ import annotations

import pytest

from diagnose.observations import FindingSeen, State
from diagnose.reasoning.diagnosis import diagnose
from diagnose.rule_book.quantities import DataSheet
from tests.engines import real_engine

ENGINE = real_engine()
REMOTE: DataSheet = {"build": "remote"}

ROWS = [
    (("reading-erratic", "shield-earthed-twice", "calms-with-loose-cable"), "shield-at-both-ends-earthed"),
    (("flow-negative", "electrode-cores-swapped", "calms-with-loose-cable"), "electrode-leads-swapped"),
    (("error-indicated", "cores-mixed-up", "calms-with-loose-cable"), "sensor-cores-mixed-up"),
    (("reading-erratic", "cable-type-wrong", "noise-follows-plant", "drive-is-near"), "cable-unsuited"),
    (("reads-low", "electrode-resistance-low", "signal-cable-insulation-low", "cable-hurt-seen"), "cable-damaged"),
    (("reading-erratic", "sensor-cable-of-other-meter"), "sensor-cables-crossed"),
    (("display-dark", "readable-by-torch", "backlight-setting-off"), "backlight-set-off"),
    (("electronics-dead", "comes-and-goes", "reseating-boards-helps"), "board-connector-loose"),
]


@pytest.mark.parametrize(("seen", "first"), ROWS, ids=[first for _, first in ROWS])
def test_the_cause_that_was_found_comes_first(seen: tuple[str, ...], first: str) -> None:
    """A cure by another cable, or noise with the plant, is no argument against it."""
    told = tuple(FindingSeen(finding=each, present=True) for each in seen)
    assert diagnose(ENGINE, REMOTE, told, State()).causes[0].id == first
