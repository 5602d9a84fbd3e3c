"""What the single words of a report say of the causes."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.language.lexicon import Lexicon
from diagnose.language.understanding import understand, understand_further
from diagnose.language.wording import CauseWords
from diagnose.observations import WordEvidence
from tests.benchmarks.wording import UNSEEN, Ticket, places, surprise, tickets
from tests.engines import real_engine
from tests.language.test_tickets import book, understood


def worded(text: str) -> WordEvidence:
    """Return what the words of a text say."""
    found = understood(text).worded
    assert found is not None
    return found.evidence()


def cause_words() -> CauseWords:
    """Return the words of the causes of the rule book."""
    found = real_engine().lexicon.cause_words
    assert found is not None
    return found


@pytest.fixture(scope="module")
def unseen() -> list[Ticket]:
    """Return the tickets that nothing was fitted to."""
    return tickets(real_engine(), UNSEEN)


@pytest.mark.parametrize(
    ("text", "cause"),
    [
        ("The braid of the measuring lead is cut back and taped, joined neither here nor there.", "shield-open"),
        ("Windings have 39 ohm, the tag of the sensor says 62; warm it gets less and less.", "coil-shorted-turns"),
        ("Rectifier and anodes of the corrosion people were put in.", "cathodic-protection-through-meter"),
        ("With a torch the faint figures are there, no glow behind them.", "backlight-failed"),
    ],
)
def test_words_that_no_phrase_has_still_speak_for_the_cause(text: str, cause: str) -> None:
    """A cause gains at least 6 dB, so four to one, and more than nine of ten others."""
    decibans = worded(text).decibans
    assert decibans[cause] >= 6
    assert sum(value > decibans[cause] for value in decibans.values()) < len(decibans) / 10


def test_words_are_told_as_they_were_written() -> None:
    """Whoever asks why reads words of the report, not stems."""
    text = "The anodes of the rectifier were installed in spring."
    for words in worded(text).words.values():
        assert all(word in text.lower() for word in words)
    assert "anodes" in worded(text).words["cathodic-protection-through-meter"]


@settings(max_examples=40, deadline=None)
@given(st.lists(st.sampled_from(sorted(cause_words().column)), min_size=1, max_size=60))
def test_together_the_causes_become_neither_more_nor_less_probable(stems: list[str]) -> None:
    """Weighted by their shares the factors have a mean of one, and none is below what a report off the point leaves."""
    model = cause_words()
    found = understand(" ".join(stems), real_engine().lexicon).worded
    if found is None:
        return
    decibans = found.evidence().decibans
    factors = 10 ** (np.array([decibans[name] for name in model.causes]) / 10)
    assert float(model.weighing.shares @ factors) == pytest.approx(1, rel=0.02)
    assert factors.min() >= model.weighing.off_the_point * 0.98


def test_the_cause_that_is_not_listed_stays_as_it_is() -> None:
    """Nothing is written of it that a report could be like."""
    unlisted = {cause.id for cause in book().causes.values() if cause.shows_others}
    assert unlisted
    assert unlisted.isdisjoint(worded("The anodes were installed.").decibans)


def test_words_that_the_rule_book_does_not_use_say_nothing() -> None:
    """Neither do greetings and what stands below a signature."""
    assert understood("Qwertz zyxel.").worded is None
    with_greeting = "Hello everybody,\n\nthe anodes were installed.\n\nBest regards\nThe shield of the north"
    assert worded(with_greeting).decibans == worded("the anodes were installed.").decibans


def test_what_was_told_before_counts_on() -> None:
    """Two messages say of the causes what one would that holds both; the findings are those of the second."""
    first, second = "The anodes of the rectifier were installed.", "The display is dark since then."
    together = worded(f"{first}\n\n{second}")
    further = understand_further(second, first, real_engine().lexicon)
    assert further.worded is not None
    assert further.worded.evidence() == together
    assert further.understood == understood(second).understood
    assert understand_further("Qwertz zyxel.", first, real_engine().lexicon).worded is None


def test_a_rule_book_without_a_weight_does_not_weigh_words() -> None:
    """At 0 only findings count."""
    plain = msgspec.structs.replace(book().settings, wording_weight=0.0)
    silent = msgspec.structs.replace(book(), settings=plain)
    assert understand("The anodes were installed.", Lexicon(silent)).worded is None


def test_on_tickets_of_strangers_words_add_much(unseen: list[Ticket]) -> None:
    """Held against the ranking by findings alone: half as many again come first, and the cause surprises less.

    First in three of five and among the first three in four of five of them, and not fewer.
    """
    weight = book().settings.wording_weight
    without, with_words = places(unseen, 0.0), places(unseen, weight)
    assert sum(place == 1 for place in with_words) >= 1.5 * sum(place == 1 for place in without)
    assert sum(place == 1 for place in with_words) >= 0.6 * len(unseen)
    assert sum(place <= 3 for place in with_words) >= 0.8 * len(unseen)
    assert surprise(unseen, weight) < 0.6 * surprise(unseen, 0.0)
