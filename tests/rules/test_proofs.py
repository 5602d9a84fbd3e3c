"""A remedy is proved where its fault shows, and a signal that it makes jump is in manual meanwhile."""

from __future__ import annotations

import pytest

from tests.engines import real_engine

BOOK = real_engine().rule_book
OURS = [
    each.id
    for each in BOOK.causes.values()
    if each.area in ("settings", "receiver", "reference") and not BOOK.remedies[each.remedy].escalates
]
HALF_THE_TIME = 0.5


@pytest.mark.parametrize("name", OURS)
def test_a_proof_asks_for_what_the_cause_shows(name: str) -> None:
    """An answer to it speaks of something that this cause shows at least half the time."""
    cause = BOOK.causes[name]
    proof = BOOK.checks[BOOK.remedies[cause.remedy].proved_by]
    told = {finding for outcome in proof.outcomes for finding in (*outcome.present, *outcome.absent)}
    assert max((cause.shows.get(finding, 0.0) for finding in told), default=0.0) >= HALF_THE_TIME


@pytest.mark.parametrize(
    ("cause", "cleared", "said"),
    [
        # A cut-off, a number that stops, a sign: nothing is to be seen where all agreed before as well.
        ("low-flow-cut-off-too-high", "zero-while-flowing", "small flow"),
        ("receiver-cuts-low-flow", "control-system-disagrees", "very low"),
        ("receiver-number-format-wrong", "receiver-number-limited", "highest values"),
        ("output-drops-sign", "receiver-loses-sign", "reverse flow"),
        # Two ranges agree at one flow, a wrong shunt perhaps too.
        ("receiver-range-differs", "receiver-off-by-factor", "three flows"),
        ("range-in-meter-differs", "receiver-off-by-factor", "three flows"),
        ("shunt-wrong", "receiver-off-by-factor", "three flows"),
        ("inputs-share-a-common", "control-system-disagrees", "three flows"),
        # A steady flow says nothing of a lag.
        ("damping-too-long", "reading-slow", "change of flow"),
        # An empty pipe, a shifted record, another line's flow, the device that forgets.
        ("empty-pipe-detection-off", "reading-at-standstill", "pipe empty"),
        ("empty-pipe-threshold-wrong", "zero-while-flowing", "ten minutes"),
        ("outstation-clock-wrong", "record-shifted-in-time", "three days"),
        ("receiver-shows-another-signal", "wrong-signal-linked", "this line"),
        ("total-lost-at-power-off", "total-set-back-at-power-off", "that device"),
        ("receiver-total-too-large-to-count", "receiver-total-does-not-fit", "flow × time"),
    ],
)
def test_it_is_proved_where_the_fault_would_show(cause: str, cleared: str, said: str) -> None:
    """What the proof clears, and where it has people look."""
    proof = BOOK.checks[BOOK.remedies[BOOK.causes[cause].remedy].proved_by]
    assert cleared in BOOK.causes[cause].shows
    assert any(cleared in outcome.absent for outcome in proof.outcomes)
    assert said in " ".join(proof.steps).lower()


@pytest.mark.parametrize("name", OURS)
def test_a_proof_may_be_done_whatever_the_signal_is_for(name: str) -> None:
    """A trip that follows the signal forbids no proof."""
    proof = BOOK.checks[BOOK.remedies[BOOK.causes[name].remedy].proved_by]
    assert "signal-duty" not in proof.not_when


def test_a_total_is_not_compared_at_standstill() -> None:
    """Nothing added to nothing fits any scaling."""
    assert BOOK.checks["total-against-own-flow"].needs["line"] == ("flowing",)


@pytest.mark.parametrize(
    "name", [each for each in OURS if "signal-forced" in BOOK.remedies[BOOK.causes[each].remedy].meets]
)
def test_a_loop_is_in_manual_while_its_signal_is_made_to_jump(name: str) -> None:
    """And is asked for afterwards, so that nobody leaves it there."""
    assert "loop-in-manual" in BOOK.remedies[BOOK.causes[name].remedy].disturbs


@pytest.mark.parametrize(
    ("remedy", "hidden"),
    [
        ("damping-too-short", "no-equipotential-bonding"),
        ("damping-too-short", "entrained-gas"),
        ("low-flow-cut-off-off", "zero-adjusted-with-flow"),
        ("low-flow-cut-off-off", "valve-passing-at-standstill"),
        ("zero-adjusted-with-flow", "electrodes-coated"),
        ("zero-adjusted-with-flow", "stray-current-through-meter"),
    ],
)
def test_what_a_setting_covers_up_is_looked_for_before(remedy: str, hidden: str) -> None:
    """Damping, a cut-off and a new zero take the complaint away, whatever lies behind it."""
    assert hidden in BOOK.remedies[remedy].hides


def test_the_stored_zero_is_written_back_before_a_new_one_is_made() -> None:
    """It takes a minute, and a new zero may cover a false one."""
    steps = " | ".join(BOOK.remedies["zero-adjusted-with-flow"].steps)
    assert steps.index("write back the zero from the record") < steps.index("adjust anew")


def test_a_forced_value_is_not_let_go_before_what_comes_through_was_read() -> None:
    """At fault level it trips at once."""
    steps = " | ".join(BOOK.remedies["receiver-value-forced"].steps)
    assert steps.index("Read the unforced input first") < steps.index("have the forcing taken off")


def test_a_lock_inside_the_housing_is_left_to_a_skilled_person() -> None:
    """And a setting is tried by no ordinary person."""
    steps = " | ".join(BOOK.remedies["settings-locked-by-user"].steps)
    assert "inside: never with the supply live; for a skilled person, with the meter isolated and proved dead" in steps
    assert BOOK.checks["look-for-the-lock"].competence == "instructed"
