"""Words that only sound like a finding, hazards that are believed in, and hazards of long ago."""

from __future__ import annotations

import pytest

from diagnose.language.lexicon import Lexicon
from diagnose.language.understanding import understand
from diagnose.rule_book.book import RuleBook, Settings
from diagnose.rule_book.faults import Finding, KeepAway

SMOKE = Finding(
    id="smoke",
    title="there is smoke",
    question="Is there smoke?",
    phrases=("smoke",),
    denied_by=("smoke has gone",),
    sounds_like=("smoke detector", "smoked glass"),
    keep_away=KeepAway(do=("Get clear.",), who="A skilled person."),
)
COLOUR = Finding(id="glass-dark", title="the glass is dark", phrases=("glass dark", "smoked glass"))
BOOK = RuleBook(
    settings=Settings(
        title="Lamps",
        several_at_once=0.08,
        strengths={},
        frequencies={},
        leaks={},
        exposure_minutes={},
        call_out_minutes=180,
        question_minutes=1,
        remedy_works=0.95,
    ),
    findings={each.id: each for each in (COLOUR, SMOKE)},
    **{
        part: {}
        for part in (
            "sources",
            "areas",
            "quantities",
            "checks",
            "inference",
            "causes",
            "remedies",
            "cautions",
            "states",
        )
    },
)
LEXICON = Lexicon(BOOK)


def said(text: str) -> set[tuple[str, bool | None]]:
    """Return findings with what is said of them."""
    return {(each.finding, each.present) for each in understand(text, LEXICON).understood}


def doubted(text: str) -> bool:
    """Tell whether it is asked back whether there is smoke."""
    return any("there is smoke" in each for each in understand(text, LEXICON).doubts)


def test_what_sounds_like_it_says_neither() -> None:
    """A smoke detector is neither smoke nor no smoke; beside it smoke is smoke."""
    assert said("The smoke detector was tested") == set()
    assert said("No smoke detector here") == set()
    assert said("The smoke detector beeps and smoke comes up") == {("smoke", True)}
    assert said("smoke has gone") == {("smoke", False)}


def test_it_takes_words_from_its_own_finding_only() -> None:
    """The same words may be a phrase of another finding."""
    assert said("there is smoked glass in front") == {("glass-dark", True)}


@pytest.mark.parametrize("text", ["I think there is smoke", "smoke since last winter", "smoke again, as last year"])
def test_what_is_believed_or_lasts_counts(text: str) -> None:
    """What somebody believes to be dangerous, or what went on, is told."""
    assert said(text) == {("smoke", True)}


@pytest.mark.parametrize(
    "text", ["smoke in 2019", "there was smoke last week", "smoke two years ago", "last winter smoke came out of it"]
)
def test_what_was_long_ago_is_asked_back(text: str) -> None:
    """It stops nothing, and is not dropped without a word."""
    assert said(text) == set()
    assert doubted(text)


def test_what_was_seen_this_week_counts() -> None:
    """A few days are not long ago."""
    assert said("there was smoke yesterday") == {("smoke", True)}
