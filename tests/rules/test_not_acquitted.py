"""Looks and proofs that would once have cleared the cause that is there, or called it cured: one row each."""

from __future__ import annotations

import pytest

from diagnose.observations import CheckDone, State
from diagnose.reasoning.diagnosis import Diagnosis, diagnose
from tests.engines import real_engine

BOOK = real_engine().rule_book
PULSE = {"output": ("pulse",)}


def found(*answers: tuple[str, str], sheet: dict[str, tuple[str, ...]] | None = None) -> Diagnosis:
    """Return the diagnosis after answers."""
    said = tuple(CheckDone(check=check, answer=answer) for check, answer in answers)
    return diagnose(real_engine(), sheet or {}, said, State(competence="skilled"))


DEAD = ("look-at-display", "dark, and no sign of life anywhere")
NO_COUNT = ("count-against-display", "nothing is counted")
STANDS_STILL = ("fixed-pulses", "none, and the output's level does not move either")

CAUSES = [
    ([DEAD, ("look-at-switches", "one has tripped")], {}, "supply-off-upstream", 1),
    ([NO_COUNT, STANDS_STILL], PULSE, "no-pull-up", 1),
    ([NO_COUNT, STANDS_STILL, ("own-battery-at-the-pulse-output", "it switches")], PULSE, "no-pull-up", 2),
    (
        [NO_COUNT, ("bridge-counter-input", "it counts, one for each touch"), ("pulse-level", "stays low")],
        PULSE,
        "pulse-line-shorted",
        3,
    ),
    (
        [("look-along-the-line", "the pump does not run, or makes no pressure or far too little")],
        {},
        "pump-turning-backwards",
        4,
    ),
]


@pytest.mark.parametrize(
    ("answers", "sheet", "cause", "place"), CAUSES, ids=[f"{each[2]}-{each[3]}" for each in CAUSES]
)
def test_a_cause_stays_among_the_first(
    answers: list[tuple[str, str]], sheet: dict[str, tuple[str, ...]], cause: str, place: int
) -> None:
    """What the look finds is what this cause shows as well."""
    ranked = [each.id for each in found(*answers, sheet=sheet).causes]
    assert cause in ranked[:place], ranked[: place + 2]


def test_a_sound_output_without_a_feed_is_not_replaced() -> None:
    """With an own battery it switches: feed, line or counter is at fault, not the output."""
    before = found(NO_COUNT, STANDS_STILL, sheet=PULSE)
    after = found(NO_COUNT, STANDS_STILL, ("own-battery-at-the-pulse-output", "it switches"), sheet=PULSE)
    assert after.probability("pulse-output-failed") < before.probability("pulse-output-failed") / 5


PASSED_WITH_THE_FAULT_THERE = [
    ("battery-exhausted", "look-at-display"),  # a fresh battery lights it, charged or not
    ("supply-cable-damaged", "look-at-display"),  # lit until the next rain
    ("supply-terminal-loose", "tap-and-wiggle"),  # signal cables only
    ("supply-low-at-source", "watch-the-meter"),  # 19 V will do for ten minutes
    ("dc-supply-rippled", "watch-the-meter"),  # works with ripple half the time
    ("wrong-fuse-fitted", "watch-the-meter"),  # blows when it is switched on
    ("fuse-blown", "watch-the-meter"),
    ("earth-leakage-in-meter", "trip-with-meter-disconnected"),  # half an hour without rain
    ("supply-too-high", "watch-the-meter"),
    ("pump-turning-backwards", "does-liquid-flow"),  # a centrifugal one delivers forwards all the same
    ("other-source-pushes-back", "look-for-another-source"),  # it is still there behind its new valve
    ("liquid-sloshing", "wait-after-the-stop"),  # it still swings; nobody counts it
    ("valve-shut-in-line", "does-liquid-flow"),  # so it did, throttled
]


@pytest.mark.parametrize(("cause", "proof"), PASSED_WITH_THE_FAULT_THERE)
def test_a_proof_that_passes_with_the_fault_there_proves_nothing(cause: str, proof: str) -> None:
    """Another one stands in its place, and looks for something that the cause shows."""
    chosen = BOOK.checks[BOOK.remedies[BOOK.causes[cause].remedy].proved_by]
    assert chosen.id != proof
    looked_for = {name for each in chosen.outcomes for name in (*each.present, *each.absent)}
    assert chosen.measures or looked_for & set(BOOK.causes[cause].shows)


CHEAP_FIRST = [
    ("non-return-valve-passing", "bypass or priming line"),
    ("valve-passing-at-standstill", "handwheel"),
    ("supply-low-at-source", "trim slowly"),
    ("supply-cable-too-long", "trim slowly"),
]


@pytest.mark.parametrize(("cause", "said"), CHEAP_FIRST)
def test_what_is_cheap_comes_before_what_is_opened_or_bought(cause: str, said: str) -> None:
    """As the remedy that does for now."""
    interim = BOOK.remedies[BOOK.remedies[BOOK.causes[cause].remedy].interim]
    assert said in " ".join(interim.steps)
