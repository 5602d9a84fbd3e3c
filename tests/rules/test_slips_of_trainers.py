"""Steps that once slipped past the safeguards, a row each with what is told of it; and good ones that were refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.place import Problem
from tests.rules.test_trades import problems, written

ISOLATED = "needs: {supply: isolated, enclosure: open}"
OPEN = "needs: {supply: live, enclosure: open}"
LIVE = "needs: {supply: live, enclosure: closed}"
SKILLED = "competence: skilled"
NOT_EX = 'not-when: {hazardous-area: "yes"}'

SLIPS: dict[str, tuple[str, tuple[str, ...]]] = {
    "Confirm the supply first": ("unsafe-state", (ISOLATED, SKILLED)),
    "Save or write down all settings": ("unsafe-state", (ISOLATED, SKILLED)),
    "Measure volts between the loose cores": ("unsafe-state", (ISOLATED, SKILLED)),
    "Measure the pipe to earth": ("unmet-hazard", (OPEN, SKILLED)),
    "Wash it with dilute acid": ("unmet-hazard", (SKILLED,)),
    "Dry it with a hot-air gun": ("unmet-hazard", ("meets: [warm-air]", NOT_EX, SKILLED)),
    "Dry it with warm air": ("not-ruled-out", ("meets: [warm-air]", SKILLED)),
    "Draw a sample at the drain": ("unmet-hazard", (SKILLED,)),
    "Hold a neodymium magnet to it": ("unmet-hazard", (SKILLED,)),
    "Set the cut-off to zero": ("unsaid-disturbance", (LIVE, SKILLED)),
    "Try another display": ("unsaid-disturbance", (ISOLATED, SKILLED)),
    "Have the cathodic protection switched off": ("unsaid-disturbance", (SKILLED,)),
    "Look at the fuse": ("unmet-hazard", ("meets: [fuse-replacement]", SKILLED)),
    "Climb into the tank": ("unmet-hazard", ("meets: [at-the-meter, work-at-height]", SKILLED)),
    "Apply 2500 V to the cores": ("unmet-hazard", (SKILLED,)),
    "Replace display and keys": ("unsafe-state", (SKILLED,)),
    "Fit new boards": ("unsafe-state", (SKILLED,)),
    "Pull a new cable through the conduit": ("unmet-hazard", ("meets: [earth-in-doubt]", SKILLED)),
    "Dig a trench for it": ("unmet-hazard", (SKILLED,)),
    "Change the damping": ("nobody-told", ("meets: [settings-changed]", LIVE, SKILLED)),
    "Charge the damper": ("too-little-competence", ("meets: [compressed-gas]", "competence: instructed")),
}
"""Titles, the problem that is told, and what the step says already."""

GOOD: dict[str, tuple[str, ...]] = {
    "Take a cable the next size up": (SKILLED,),
    "Fit a gland one size larger": (SKILLED,),
    "Join both halves of the strap with a spanner": (SKILLED,),
    "Tap the window lightly": (SKILLED,),
    "Tap a relay lightly": (SKILLED,),
}
"""What was refused, or taken for another deed, and is nothing of the kind."""


def named(title: str) -> str:
    """Return the id that such a remedy gets."""
    return "trade-" + title.lower().replace(" ", "-")


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[Problem]]:
    """Return what is told of all of them, from one reading of the rule book."""
    folder: Path = tmp_path_factory.mktemp("slips")
    said = {**{title: lines for title, (_, lines) in SLIPS.items()}, **GOOD}
    return problems(folder, {named(title): written(title, lines) for title, lines in said.items()})


@pytest.mark.parametrize("title", SLIPS)
def test_a_slip_is_told(title: str, told: dict[str, list[Problem]]) -> None:
    """With what to write."""
    found = [each for each in told[named(title)] if each.code == SLIPS[title][0]]
    assert found
    assert all(each.help for each in found)


@pytest.mark.parametrize("title", GOOD)
def test_a_good_step_is_taken(title: str, told: dict[str, list[Problem]]) -> None:
    """Nothing is asked for."""
    assert [each.in_one_line() for each in told[named(title)]] == []
