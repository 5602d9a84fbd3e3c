"""A danger that is denied in words that may mean something else is asked about; a plain denial stands."""

from __future__ import annotations

import pytest

from diagnose.language.cleaning import clean
from diagnose.language.understanding import understand
from tests.engines import real_engine

ENGINE = real_engine()

ASKED = [
    "It hasn't stopped smoking",
    "It never stops smoking",
    "It won't stop smoking",
    "It's no longer just smoke, there are flames",
    "no smoke yesterday but today there is",
    "no ordinary tingle, a real shock",
    "not a tingle, a proper shock",
    "I didn't get a shock but my colleague did",
    "nobody believes me that the pipe gives shocks",
    "They say there is no shock hazard, I got one",
    "never had a shock like that",
    "without gloves you get a shock",
    "it hasn't stopped tingling",
    "Ralf says there is no smoke",
    "it is not merely a smell of gas",
]
DENIED = [
    "no smoke, but the display is dark",
    "2, no smoke, nobody got a shock",
    "no smoke any more",
    "there is no gas smell",
    "nobody got a shock",
    "no tingle at the pipe, no smoke",
    "I did not get a shock",
    "smoke: no",
]


@pytest.mark.parametrize("text", ASKED)
def test_it_is_asked(text: str) -> None:
    """Neither taken as absent, nor passed over."""
    read = understand(clean(text), ENGINE.lexicon)
    findings = ENGINE.rule_book.findings
    denied = [
        each for each in read.understood if each.finding and findings[each.finding].keep_away and not each.present
    ]
    stopped = [each for each in read.understood if each.finding and findings[each.finding].keep_away and each.present]
    assert not denied
    assert read.dangers or stopped


@pytest.mark.parametrize("text", DENIED)
def test_a_plain_denial_stands(text: str) -> None:
    """Nobody is asked what was said plainly."""
    read = understand(clean(text), ENGINE.lexicon)
    findings = ENGINE.rule_book.findings
    assert not read.dangers
    assert any(findings[each.finding].keep_away and not each.present for each in read.understood if each.finding)
