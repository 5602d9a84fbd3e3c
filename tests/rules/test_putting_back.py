"""What the rule book says of putting back, of big remedies and of what is done once."""

from __future__ import annotations

import re

import pytest

from diagnose.observations import FindingSeen, RemedyTried, State
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.diagnosis import diagnose
from diagnose.reasoning.proposal import proposal_for
from tests.engines import real_engine

BOOK = real_engine().rule_book

DISTURBS = {
    "a lead lifted": ("coil-resistance", "sensor-leads-off"),
    "a bridge in place": ("short-electrode-inputs", "electrode-inputs-bridged"),
    "a meter in the loop": ("loop-current", "milliammeter-in-the-loop"),
    "a temporary bond": ("temporary-bond", "temporary-bond-on"),
    "a simulation": ("fixed-current", "output-simulated"),
    "the loop in manual": ("current-into-receiver", "loop-in-manual"),
    "a total": ("bridge-counter-input", "total-not-true"),
    "an opened pipe": ("look-into-bore", "pipe-open"),
}


@pytest.mark.parametrize(("check", "what"), DISTURBS.values(), ids=DISTURBS)
def test_what_a_check_disturbs_is_named(check: str, what: str) -> None:
    """And how it is put back."""
    assert what in BOOK.checks[check].disturbs
    assert BOOK.disturbances[what].steps


def test_whoever_has_the_loop_put_in_manual_has_it_put_back() -> None:
    """Checks and remedies alike."""
    works = (*BOOK.checks.values(), *BOOK.remedies.values())
    forced = [each for each in works if any("the loop put in manual" in step for step in each.steps)]
    assert forced
    assert [each.id for each in forced if "loop-in-manual" not in each.disturbs] == []


@pytest.mark.parametrize(
    "name", ["sensor-leads-off", "electrode-inputs-bridged", "supply-wires-off", "fuse-out", "protective-earth-off"]
)
def test_what_came_off_dead_goes_back_proved_dead(name: str) -> None:
    """However the check ended: switched off, opened as if live, proved dead, and only then touched."""
    proposal = proposal_for(Dangers(BOOK, {}), "done", BOOK.disturbances[name], State().standing(BOOK), "")
    assert proposal.changes == (("supply", "isolated"), ("enclosure", "open"), ("conductors", "proved dead"))


SAID_TWICE = re.compile(
    r"back (in|to) automatic|loop put back|put the (\S+ )?(leads?|cores?|cable|plug) back|as it was|as they were",
    re.IGNORECASE,
)


def test_no_step_says_again_what_is_asked_for_anyway() -> None:
    """But where the order inside the step wants it: the recorder stays in a loop that is back in automatic."""
    works = (*BOOK.checks.values(), *BOOK.remedies.values())
    said = {each.id for each in works if each.disturbs and any(SAID_TWICE.search(step) for step in each.steps)}
    assert said <= {"log-the-loop"}


def test_whatever_drains_the_line_is_big() -> None:
    """And what only sets or tightens something is not."""
    has = BOOK.settings.big_remedies.has
    assert all(has(each) for each in BOOK.remedies.values() if "drained" in each.needs.get("line", ()))
    assert not any(has(BOOK.remedies[name]) for name in ("damping-too-long", "loop-terminal-loose", "fuse-blown"))


def test_a_fuse_that_blew_again_is_not_renewed_before_the_short_is_looked_for() -> None:
    """Told of, or done here."""
    dead = tuple(FindingSeen(finding=name, present=True) for name in ("fuse-open", "display-dark"))
    for before in (
        FindingSeen(finding="fuse-blows-repeatedly", present=True),
        RemedyTried(remedy="fuse-blown", verdict="not cured"),
    ):
        proposals = diagnose(real_engine(), {}, (*dead, before), State()).proposals
        offered = {proposals.next.id, *(each.id for each in (*proposals.checks, *proposals.remedies))}
        assert not offered & {"fuse-blown", "new-fuse-holds"}
